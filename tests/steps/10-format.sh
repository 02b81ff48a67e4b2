# The code is laid out as rustfmt lays it out.
. tests/steps/lib.sh
cargo fmt --all --check
