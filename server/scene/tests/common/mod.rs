//! Shared by the tests of this crate.
#![allow(dead_code, unreachable_pub)] // each test file uses its own part

use std::fmt::Write as _;

use scene::{NodeIndex, Scene, SceneError};

/// The tree as indented text: name, place if it is not the origin, size if known.
pub fn outline(scene: &Scene) -> String {
    let mut text = String::new();
    for id in scene.ids() {
        let node = &scene[id];
        let depth = scene.upward(id).count() - 1;
        let name = if node.name.is_empty() {
            "(no name)"
        } else {
            &node.name
        };
        let _ = write!(text, "{}{name}", "  ".repeat(depth));
        let place = node.rest.translation;
        if place != glam::DVec3::ZERO {
            let _ = write!(text, " at {} {} {}", place.x, place.y, place.z);
        }
        if let Some(bounds) = &node.bounds {
            let size = bounds.size();
            let _ = write!(text, " measures {} {} {}", size.x, size.y, size.z);
        }
        match node.rest.visible {
            Some(true) => text.push_str(" shown"),
            Some(false) => text.push_str(" hidden"),
            None => {}
        }
        text.push('\n');
    }
    for note in &scene.notes {
        let _ = writeln!(text, "note: {note}");
    }
    text
}

/// The bytes of a node in the file it was read from.
pub fn source<'f>(scene: &Scene, id: NodeIndex, file: &'f str) -> &'f str {
    let range = scene[id].source().expect("a text file gives sources");
    &file[range.start as usize..range.end as usize]
}

pub fn read(text: &str) -> Result<Scene, SceneError> {
    scene::read(text.as_bytes(), "test.gltf", &[])
}

/// A GLB file of chunks.
pub fn glb(chunks: &[(&[u8; 4], &[u8])]) -> Vec<u8> {
    let mut body = Vec::new();
    for (kind, data) in chunks {
        let padding = data.len().next_multiple_of(4) - data.len();
        body.extend(((data.len() + padding) as u32).to_le_bytes());
        body.extend(*kind);
        body.extend(*data);
        let fill = if *kind == b"JSON" { b' ' } else { 0 };
        body.extend(std::iter::repeat_n(fill, padding));
    }
    let mut file = b"glTF".to_vec();
    file.extend(2u32.to_le_bytes());
    file.extend((12 + body.len() as u32).to_le_bytes());
    file.extend(body);
    file
}
