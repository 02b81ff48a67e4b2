//! Meshes that a glTF file brings along for no node.

use serde::Deserialize;

use super::container;
use crate::skim::Gaps;

#[derive(Deserialize)]
struct File {
    #[serde(default)]
    nodes: Vec<Node>,
    #[serde(default)]
    meshes: Vec<Mesh>,
}

#[derive(Deserialize)]
struct Node {
    mesh: Option<usize>,
}

#[derive(Deserialize)]
struct Mesh {
    name: Option<String>,
}

/// Whether the first bytes of a file are such as a glTF file has.
pub fn may_be_gltf(head: &[u8]) -> bool {
    let text = head.strip_prefix(b"\xef\xbb\xbf").unwrap_or(head);
    head.starts_with(b"glTF") || text.trim_ascii_start().starts_with(b"{")
}

/// The names, or else the numbers, of the meshes of a glTF or GLB file that none of its nodes has. None of a file that
/// is something else.
pub fn spare_meshes(bytes: &[u8]) -> Vec<String> {
    let json = match bytes.starts_with(b"glTF") {
        true => container::read(bytes, &Gaps::default())
            .ok()
            .and_then(|container| bytes.get(container.json)),
        false => Some(bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes)),
    };
    let file: Option<File> = json.and_then(|json| serde_json::from_slice(json).ok());
    let Some(File { nodes, meshes }) = file else {
        return Vec::new();
    };
    let mut is_spare = vec![true; meshes.len()];
    for mesh in nodes.iter().filter_map(|node| node.mesh) {
        if let Some(spare) = is_spare.get_mut(mesh) {
            *spare = false;
        }
    }
    let spare = meshes
        .into_iter()
        .enumerate()
        .filter(|(at, _)| is_spare[*at]);
    spare
        .map(|(at, mesh)| mesh.name.unwrap_or_else(|| at.to_string()))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn meshes_that_no_node_has_are_spare() {
        let json = r#"{"asset":{"version":"2.0"},"nodes":[{"mesh":1},{"name":"a"},{"mesh":9}],"meshes":[{"name":"old"},{"name":"used"},{}]}"#;
        assert_eq!(spare_meshes(json.as_bytes()), ["old", "2"]);
        let mut binary = b"glTF\x02\0\0\0".to_vec();
        binary.extend((20 + json.len() as u32).to_le_bytes());
        binary.extend((json.len() as u32).to_le_bytes());
        binary.extend(b"JSON");
        binary.extend(json.as_bytes());
        assert_eq!(spare_meshes(&binary), ["old", "2"]);
        for other in [&b"{}"[..], b"glTF", b"<a/>", b"{\"nodes\": 1}", b"[]"] {
            assert_eq!(spare_meshes(other), Vec::<String>::new());
        }
    }
}
