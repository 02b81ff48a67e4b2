# Schemas in and out: what others' validators say about ours, and what Trunnion makes of others'.
. tests/steps/lib.sh
python3 -c 'import lxml, xmlschema' 2>/dev/null || leave_out "the schemas" "lxml or xmlschema is not installed"
[ -x "$TRUNNION_BIN" ] || leave_out "the schemas" "$TRUNNION_BIN is not built"

python3 tests/schemas/exporting.py

# The source of xmlschema brings the schemas of its own tests along.
source="$TRUNNION_TEST_CACHE/xmlschema-4.3.2"
if [ ! -d "$source" ]; then
    pip download --quiet --disable-pip-version-check --no-deps --no-binary :all: --dest "$TRUNNION_TEST_CACHE" xmlschema==4.3.2 &&
        tar -xzf "$source.tar.gz" -C "$TRUNNION_TEST_CACHE" || skip "the schemas of xmlschema" "pip could not download its source"
fi

# Folders that are not there are named as skipped.
references="${TRUNNION_REFERENCES:-../shared/references}"
python3 tests/schemas/importing.py "$source" "$references" "$TRUNNION_TEST_CACHE/descriptions"
python3 tests/schemas/learning.py "SDF=$references/sdf/test/sdf:*.sdf" "URDF=$TRUNNION_TEST_CACHE/descriptions/example-robot-data:*.urdf" \
    "X3D=$references/x3d-examples:*.x3d" "COLLADA=$references/collada:*.dae"
