# The table of editors and features against what the tests of the editors have printed.
. tests/steps/lib.sh
command -v node >/dev/null || leave_out "the table of editors" "there is no node here"
node tests/editors/table.mjs "$TRUNNION_TEST_CACHE/logs"
