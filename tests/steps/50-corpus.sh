# The corpus is what its generator makes, and its scenes are glTF by the word of Khronos's own validator.
. tests/steps/lib.sh
python3 corpus/generate --check
[ -d "$TRUNNION_TEST_CACHE/npm/node_modules/gltf-validator" ] || { skip "validation of the scenes" "gltf-validator is not installed"; exit 0; }
find corpus -name cut-short.gltf -prune -o -name not-a-scene.glb -prune -o -name doubtful.gltf -prune -o \( -name '*.gltf' -o -name '*.glb' \) -print0 | sort -z | xargs -0 node tests/scenes/validate.mjs
