# Installs what the tests borrow: tests/packages says what. Python and npm packages go to the cache, Debian's to the system.
. tests/steps/lib.sh
python="$TRUNNION_TEST_CACHE/python"
npm="$TRUNNION_TEST_CACHE/npm"

# unchanged FOLDER FILE: was all that FILE lists installed into FOLDER by an earlier run?
unchanged() { cmp -s "$2" "$1/installed"; }

make_venv() {
    [ -x "$python/bin/pip" ] && return 0
    rm -rf "$python"
    python3 -m venv "$python" >/dev/null 2>&1 || { debian python3-venv && rm -rf "$python" && python3 -m venv "$python"; }
}

list=tests/packages/requirements.txt
if ! unchanged "$python" "$list"; then
    if ! make_venv; then
        skip "all Python packages" "python3 -m venv failed"
    elif "$python/bin/pip" install --quiet --disable-pip-version-check --requirement "$list"; then
        cp "$list" "$python/installed"
    else # One that cannot be had must not keep the others out.
        while read -r package; do
            "$python/bin/pip" install --quiet --disable-pip-version-check "$package" || skip "$package" "pip could not install it"
        done <"$list"
    fi
fi

descriptions="$TRUNNION_TEST_CACHE/descriptions"
for package in pybullet==3.2.7 example-robot-data==6.0.0 dm-control==1.0.50 gymnasium-robotics==1.4.2; do
    python3 tests/packages/descriptions.py "$descriptions" "$package" || skip "$package" "pip could not fetch it"
done

npm_install() { npm install --silent --no-audit --no-fund --ignore-scripts --fetch-retries=1 "$@" </dev/null; }

list=tests/packages/package.json
if ! command -v npm >/dev/null; then
    skip "all npm packages" "there is no npm here"
elif ! unchanged "$npm" "$list"; then
    rm -rf "$npm"
    mkdir -p "$npm"
    cp "$list" "$npm/package.json"
    if (cd "$npm" && npm_install); then
        cp "$list" "$npm/installed"
    else
        echo '{"private": true}' >"$npm/package.json"
        node -p 'Object.entries(JSON.parse(fs.readFileSync(process.argv[1])).dependencies).map((pair) => pair.join("@")).join("\n")' "$list" |
            while read -r package; do
                (cd "$npm" && npm_install "$package") || skip "$package" "npm could not install it"
            done
    fi
fi

while read -r package; do
    debian "$package" || true
done <tests/packages/debian.txt
