# A real Kakoune in a terminal of its own, with kak-lsp, its client for language servers. That comes as source only: building it takes a minute or two
# (without optimising; with that, ten), so it is kept outside of the checkout, in ~/.cache/trunnion-tests.
. tests/steps/lib.sh
needs "Kakoune" kakoune tmux

version=22.0.0
client="${XDG_CACHE_HOME:-$HOME/.cache}/trunnion-tests/kak-lsp-$version"
install_client() {
    CARGO_TARGET_DIR="$client/building" CARGO_PROFILE_DEV_DEBUG=0 CARGO_INCREMENTAL=0 \
        timeout 900 cargo install --quiet --debug --locked --root "$client" --version "$version" kak-lsp || return 1
    rm -rf "$client/building"
}
[ -x "$client/bin/kak-lsp" ] || install_client || leave_out "Kakoune" "kak-lsp could not be built"
PATH="$client/bin:$PATH" timeout --kill-after=10 600 python3 tests/editors/kakoune.py
