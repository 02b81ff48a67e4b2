# The pages that the program takes in when it is built: of the live preview, and to try Trunnion without an editor.
. tests/steps/lib.sh
command -v npm >/dev/null || leave_out "the pages" "there is no npm here to build them with"
for page in preview-page try-page; do
    "editor-clients/$page/build" || leave_out "the pages" "npm could not install what they are made of"
done
