# No warning from the compiler or from clippy.
. tests/steps/lib.sh
cargo clippy --version >/dev/null 2>&1 || leave_out "the search for warnings" "cargo clippy is not installed"
cargo clippy --quiet --keep-going --workspace --all-targets -- -D warnings
