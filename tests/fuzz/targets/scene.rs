//! Any bytes as a scene: glTF, GLB, and the XML scenes of two dialects.
#![no_main]

use std::io::Cursor;
use std::sync::{Arc, LazyLock};

use dialect::Dialect;
use libfuzzer_sys::fuzz_target;
use scene::Skimmed;

const YARD: &str = include_str!("../../../corpus/dialects/yard/yard.dialect.toml");
const SLIP: &str = include_str!("../../../corpus/dialects/slip/slip.dialect.toml");

static DIALECTS: LazyLock<Vec<Arc<Dialect>>> = LazyLock::new(|| {
    let read = |toml| Arc::new(Dialect::read(toml, None).expect("the corpus has sound dialects"));
    vec![read(YARD), read(SLIP), Dialect::house()]
});

fuzz_target!(|data: &[u8]| {
    for name in ["x.gltf", "x.glb", "x.limbs.xml", "x.frame.xml"] {
        let read = scene::read(data, name, &DIALECTS);
        let skimmed = Skimmed::of(Cursor::new(data), u64::MAX, 0).expect("memory can be read");
        let from_skimmed = skimmed.scene(scene::MOST_NODES, name, &DIALECTS);
        // What data says is not looked at then.
        if !data.windows(5).any(|part| part == b"data:") {
            assert_eq!(from_skimmed, read, "nothing that matters is left out");
        }
        let scene = match read {
            Ok(scene) => scene,
            Err(error) => {
                assert!(!error.message.is_empty(), "a refusal has a reason");
                // Places in UTF-16 are those of its text.
                let text = syntax::decode::bytes(data).map_or(0, |text| text.len());
                assert!(
                    error
                        .offset
                        .is_none_or(|offset| offset <= data.len().max(text))
                );
                continue;
            }
        };
        for id in scene.ids() {
            let path = scene.index_path(id);
            assert_eq!(
                scene.walk(&path).ok(),
                Some(id),
                "the path of a node leads to it"
            );
            scene.tree_path(id);
            scene.world_rest(id);
        }
    }
});
