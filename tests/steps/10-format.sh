# The code is laid out as rustfmt lays it out.
. tests/steps/lib.sh
cargo fmt --version >/dev/null 2>&1 || leave_out "the layout of the code" "cargo fmt is not installed"
cargo fmt --all --check
