# All Rust tests. They are built without optimisation, so that overflows are caught, and drive the optimised program.
# --show-output lets the SKIPPED lines of passing tests through.
. tests/steps/lib.sh
cargo test --quiet --workspace --no-fail-fast -- --show-output
