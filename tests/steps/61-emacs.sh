# A real Emacs in batch mode, with eglot.
. tests/steps/lib.sh
needs "Emacs" emacs-nox elpa-eglot
timeout --kill-after=10 240 emacs -Q --batch -l tests/editors/emacs.el 2>"$TRUNNION_TEST_CACHE/logs/emacs.stderr" || {
    status=$?
    tail -n 20 "$TRUNNION_TEST_CACHE/logs/emacs.stderr"
    exit "$status"
}
