# No warning from the compiler or from clippy.
. tests/steps/lib.sh
cargo clippy --quiet --workspace --all-targets -- -D warnings
