# The page of the live preview, which the program takes in when it is built.
. tests/steps/lib.sh
command -v npm >/dev/null || leave_out "the preview's page" "there is no npm here to build it with"
editor-clients/preview-page/build || leave_out "the preview's page" "npm could not install what it is made of"
