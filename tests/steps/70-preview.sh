# The live preview in a real Chromium. Screenshots: tests/.cache/preview.
. tests/steps/lib.sh
[ -s editor-clients/preview-page/built/page.js ] || leave_out "the preview in Chromium" "its page has not been built (step 25)"
chromium "the preview in Chromium" preview
node_test 300 tests/preview/preview.mjs
