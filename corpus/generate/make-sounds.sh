#!/usr/bin/env bash
# Makes the demo's sounds anew. Needs Debian's sox and vorbis-tools; the results are committed, so nobody else needs them.
set -euo pipefail
here=$(cd "$(dirname "$0")/.." && pwd)
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT

sound() { # file, then the sox effects that make it
    local file=$1; shift
    sox -R -n -r 8000 -c 1 -b 16 "$scratch/sound.wav" "$@"
    oggenc --quiet --serial 1 --quality 0 --output "$file" "$scratch/sound.wav"
}

sound "$here/ternholt/machines/sounds/pump.ogg"   synth 0.4 brownnoise synth 0.4 sine amod 12 vol 0.5
sound "$here/ternholt/machines/sounds/winch.ogg"  synth 0.4 sawtooth 90 synth 0.4 sine amod 7 vol 0.4
sound "$here/ternholt/machines/sounds/clunk.ogg"  synth 0.2 pinknoise fade t 0 0.2 0.19 vol 0.7
sound "$here/ternholt/machines/sounds/beeper.ogg" synth 0.3 sine 1200 fade t 0.01 0.3 0.01 vol 0.4
cp "$here/ternholt/machines/sounds/pump.ogg" "$here/faults/shared/pump.ogg"
