# The program as users get it; later steps find it as $TRUNNION_BIN.
. tests/steps/lib.sh
cargo build --quiet --release --package trunnion
test -x "$TRUNNION_BIN"
