# The oldest Neovim that the setup is for: Debian's 0.7.
. tests/steps/lib.sh
needs "Neovim 0.7" neovim
version=$(/usr/bin/nvim --version | head -1)
[[ $version == *v0.7.* ]] || leave_out "Neovim 0.7" "the package here is $version"
timeout --kill-after=10 120 /usr/bin/nvim -u NONE --headless -S tests/editors/neovim-old.lua
