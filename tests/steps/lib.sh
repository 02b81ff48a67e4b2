# What the steps share. Sourced, never run.
set -euo pipefail

# skip WHAT, WHY: says that something is left out. The step goes on.
skip() { echo "SKIPPED: $1, $2"; }

# leave_out WHAT, WHY: the same for a whole step; ends it.
leave_out() {
    skip "$1" "$2"
    exit 77
}

# debian PACKAGE: makes sure that it is installed; false if that cannot be.
debian() {
    dpkg-query -W -f '${Status}' "$1" 2>/dev/null | grep -q 'ok installed' && return 0
    command -v apt-get >/dev/null || { skip "$1" "no apt-get here to install it with"; return 1; }
    [ "$(id -u)" -eq 0 ] || { skip "$1" "only root may install it: apt-get install $1"; return 1; }
    apt_install "$1" || { apt-get update -qq && apt_install "$1"; } || { skip "$1" "apt-get could not install it"; return 1; }
}

apt_install() { DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "$1" >/dev/null 2>&1; }

# needs WHAT, PACKAGE...: leaves the step out, which is about WHAT, unless these are installed.
needs() {
    local what="$1" package
    shift
    for package; do
        debian "$package" || leave_out "$what" "it needs $package"
    done
}

# chromium WHAT, NAME: the same for a page that is worked in a real Chromium. Screenshots: tests/.cache/NAME.
chromium() {
    [ -d "$TRUNNION_TEST_CACHE/npm/node_modules/playwright-core" ] || leave_out "$1" "playwright-core is not installed"
    needs "$1" chromium
    export CHROMIUM=/usr/bin/chromium TRUNNION_NPM="$TRUNNION_TEST_CACHE/npm" TRUNNION_PICTURES="$TRUNNION_TEST_CACHE/$2"
}

# node_test SECONDS, FILE: runs a file of Node's tests, not longer than that.
node_test() { timeout --kill-after=10 "$1" node --test --test-reporter=./tests/reporter.mjs "$2"; }
