# The live preview in a real Chromium. Screenshots: tests/.cache/preview.
. tests/steps/lib.sh
[ -s editor-clients/preview-page/built/page.js ] || leave_out "the preview in Chromium" "its page has not been built (step 25)"
[ -d "$TRUNNION_TEST_CACHE/npm/node_modules/playwright-core" ] || leave_out "the preview in Chromium" "playwright-core is not installed"
debian chromium || leave_out "the preview in Chromium" "there is no Chromium here"
export CHROMIUM=/usr/bin/chromium TRUNNION_NPM="$TRUNNION_TEST_CACHE/npm" TRUNNION_PICTURES="$TRUNNION_TEST_CACHE/preview"
node_test 300 tests/preview/preview.mjs
