# The page of `trunnion try` in a real Chromium. Screenshots: tests/.cache/try.
. tests/steps/lib.sh
for page in try-page preview-page; do
    [ -s "editor-clients/$page/built/page.js" ] || leave_out "trunnion try in Chromium" "its page has not been built (step 25)"
done
[ -d "$TRUNNION_TEST_CACHE/npm/node_modules/playwright-core" ] || leave_out "trunnion try in Chromium" "playwright-core is not installed"
debian chromium || leave_out "trunnion try in Chromium" "there is no Chromium here"
export CHROMIUM=/usr/bin/chromium TRUNNION_NPM="$TRUNNION_TEST_CACHE/npm" TRUNNION_PICTURES="$TRUNNION_TEST_CACHE/try"
node_test 300 tests/try/try.mjs
