# The page of `trunnion try` in a real Chromium. Screenshots: tests/.cache/try.
. tests/steps/lib.sh
for page in try-page preview-page; do
    [ -s "editor-clients/$page/built/page.js" ] || leave_out "trunnion try in Chromium" "its page has not been built (step 25)"
done
chromium "trunnion try in Chromium" try
node_test 300 tests/try/try.mjs
