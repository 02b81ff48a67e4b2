//! From the entries of a document's node list to a scene.

use glam::{DMat4, DQuat, DVec3};
use serde::Deserialize;

use super::hierarchy;
use super::json::{Document, List, Number, Piece};
use super::measure::Meshes;
use crate::{NodeParts, Rest, Scene, SceneBuilder, SceneError};

/// How far a rotation's length may be from one before it is worth a note.
const UNIT_TOLERANCE: f64 = 1e-3;

/// A node of the file.
pub(super) struct NodeEntry<'a> {
    pub(super) piece: Piece<'a>,
    pub(super) name: Option<String>,
    pub(super) children: Vec<u32>,
    rest: Rest,
    mesh: Option<u32>,
}

#[derive(Deserialize)]
#[serde(expecting = "an object")]
struct Written {
    name: Option<String>,
    children: Option<Vec<Number>>,
    matrix: Option<[f64; 16]>,
    translation: Option<[f64; 3]>,
    rotation: Option<[f64; 4]>,
    scale: Option<[f64; 3]>,
    mesh: Option<Number>,
    extensions: Option<Extensions>,
}

#[derive(Deserialize)]
#[serde(expecting = "an object")]
struct Extensions {
    #[serde(rename = "KHR_node_visibility")]
    visibility: Option<Visibility>,
}

#[derive(Deserialize)]
#[serde(expecting = "an object")]
struct Visibility {
    visible: Option<bool>,
}

/// Reads the nodes and puts those of the default scene in document order.
pub(super) fn build(
    document: &Document<'_>,
    mut builder: SceneBuilder,
) -> Result<Scene, SceneError> {
    let mut nodes = Vec::with_capacity(document.count(List::Nodes));
    for index in 0..document.count(List::Nodes) {
        if let Some(piece) = document.entry(List::Nodes, index) {
            nodes.push(read_node(piece, index, &mut builder)?);
        }
    }
    let parents = hierarchy::parents(&nodes)?;
    let roots = match document.scene_roots()? {
        Some((roots, listed)) => {
            hierarchy::check_roots(&roots, listed, &nodes, &parents)?;
            roots
        }
        None => (0..nodes.len() as u32)
            .filter(|&node| parents[node as usize].is_none())
            .collect(),
    };
    let mut meshes = Meshes::of(document);
    // Children of the nodes that are open, each list reversed so that the next one is at its end.
    let mut waiting: Vec<Vec<u32>> = vec![roots.into_iter().rev().collect()];
    while let Some(siblings) = waiting.last_mut() {
        let Some(index) = siblings.pop() else {
            waiting.pop();
            builder.close();
            continue;
        };
        let node = &mut nodes[index as usize];
        let bounds = node.mesh.and_then(|mesh| match meshes.bounds(mesh) {
            Ok(bounds) => bounds,
            Err(note) => {
                builder.note(note);
                None
            }
        });
        builder.open(NodeParts {
            name: node.name.take().unwrap_or_default(),
            rest: std::mem::take(&mut node.rest),
            bounds,
            source: Some(node.piece.start as u32..node.piece.end() as u32),
        });
        waiting.push(
            std::mem::take(&mut node.children)
                .into_iter()
                .rev()
                .collect(),
        );
    }
    Ok(builder.finish())
}

fn read_node<'a>(
    piece: Piece<'a>,
    index: usize,
    builder: &mut SceneBuilder,
) -> Result<NodeEntry<'a>, SceneError> {
    let written: Written = piece.object(format_args!("Node {index}"))?;
    let mut rest = match written.matrix {
        Some(matrix) => Rest::from_matrix(DMat4::from_cols_array(&matrix)),
        None => Rest {
            translation: written.translation.map_or(DVec3::ZERO, DVec3::from_array),
            rotation: written.rotation.map_or(DQuat::IDENTITY, |given| {
                let given = DQuat::from_array(given);
                if (given.length() - 1.0).abs() > UNIT_TOLERANCE {
                    builder.note(SceneError::at(
                        piece.start,
                        format!(
                            "The rotation of node {index} is a quaternion of length {:.3}; it should be 1. \
                             It is read as if it were.",
                            given.length()
                        ),
                    ));
                }
                let unit = given.normalize();
                if unit.is_normalized() { unit } else { DQuat::IDENTITY }
            }),
            scale: written.scale.map_or(DVec3::ONE, DVec3::from_array),
            ..Rest::default()
        },
    };
    rest.visible = written
        .extensions
        .and_then(|extensions| extensions.visibility)
        .and_then(|visibility| visibility.visible)
        .unwrap_or(true);
    Ok(NodeEntry {
        piece,
        name: written.name,
        children: written
            .children
            .unwrap_or_default()
            .into_iter()
            .map(|child| child.0)
            .collect(),
        rest,
        mesh: written.mesh.map(|mesh| mesh.0),
    })
}
