# No warning from the compiler or from clippy; not from the fuzz targets either, which nothing else builds.
. tests/steps/lib.sh
cargo clippy --version >/dev/null 2>&1 || leave_out "the search for warnings" "cargo clippy is not installed"
cargo clippy --quiet --keep-going --workspace --all-targets -- -D warnings
cargo clippy --quiet --keep-going --manifest-path tests/fuzz/Cargo.toml --no-default-features --target-dir "${CARGO_TARGET_DIR:-target}" -- -D warnings
