# A real Kate on a screen that nobody sees, read over AT-SPI. Pictures: tests/.cache/kate.
. tests/steps/lib.sh
needs "Kate" kate xvfb xdotool imagemagick dbus-daemon at-spi2-core python3-gi gir1.2-atspi-2.0
version=$(dpkg-query -W -f '${Version}' kate)
# Menus and lists have other names in other versions.
[[ $version == *22.12.* ]] || leave_out "Kate" "the test is for Kate 22.12, the package here is $version"
runtime=$(mktemp -d)
trap 'rm -rf "$runtime"' EXIT
# Of the desktop that the tests may be run on, Kate is to know nothing.
env -u DISPLAY -u WAYLAND_DISPLAY XDG_RUNTIME_DIR="$runtime" PYTHONPATH=tests/editors PYTHONWARNINGS=ignore \
    timeout --kill-after=10 600 dbus-run-session -- /usr/bin/python3 tests/editors/kate/kate.py "$TRUNNION_TEST_CACHE/kate" 2>"$TRUNNION_TEST_CACHE/logs/kate.stderr" || {
    status=$?
    tail -n 20 "$TRUNNION_TEST_CACHE/logs/kate.stderr"
    exit "$status"
}
