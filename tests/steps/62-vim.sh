# A real Vim in a terminal of its own, with ALE.
. tests/steps/lib.sh
needs "Vim" vim vim-ale
export TRUNNION_VIM_LOG="$TRUNNION_TEST_CACHE/logs/vim.log"
rm -f "$TRUNNION_VIM_LOG"
status=0
TERM=xterm timeout --kill-after=10 240 \
    script --quiet --return --command "vim -u tests/editors/vim.vim" "$TRUNNION_TEST_CACHE/logs/vim.screen" </dev/null >/dev/null || status=$?
cat "$TRUNNION_VIM_LOG" || echo "Vim ended before the test did; its screen is in tests/.cache/logs/vim.screen"
exit "$status"
