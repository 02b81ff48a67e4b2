//! From the entries of a document's node list to a scene.

use glam::{DMat4, DQuat, DVec3};
use serde::{Deserialize, Deserializer};

use super::hierarchy;
use super::json::{Document, Number, Piece};
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

/// A node as it is written.
#[derive(Deserialize, Default, Debug, PartialEq)]
#[serde(expecting = "an object")]
pub(super) struct Written {
    pub(super) name: Option<String>,
    #[serde(default, deserialize_with = "whole_numbers")]
    pub(super) children: Option<Vec<u32>>,
    pub(super) matrix: Option<Box<[f64; 16]>>,
    pub(super) translation: Option<[f64; 3]>,
    pub(super) rotation: Option<[f64; 4]>,
    pub(super) scale: Option<[f64; 3]>,
    #[serde(default, deserialize_with = "whole_number")]
    pub(super) mesh: Option<u32>,
    pub(super) extensions: Option<Extensions>,
}

#[derive(Deserialize, Debug, PartialEq)]
#[serde(expecting = "an object")]
pub(super) struct Extensions {
    #[serde(rename = "KHR_node_visibility")]
    pub(super) visibility: Option<Visibility>,
}

#[derive(Deserialize, Debug, PartialEq)]
#[serde(expecting = "an object")]
pub(super) struct Visibility {
    pub(super) visible: Option<bool>,
}

fn whole_number<'de, D: Deserializer<'de>>(from: D) -> Result<Option<u32>, D::Error> {
    Ok(Option::<Number>::deserialize(from)?.map(|number| number.0))
}

fn whole_numbers<'de, D: Deserializer<'de>>(from: D) -> Result<Option<Vec<u32>>, D::Error> {
    let numbers = Option::<Vec<Number>>::deserialize(from)?;
    Ok(numbers.map(|numbers| numbers.into_iter().map(|number| number.0).collect()))
}

/// Reads the nodes and puts those of the default scene in document order.
pub(super) fn build(
    document: &mut Document<'_>,
    mut builder: SceneBuilder,
) -> Result<Scene, SceneError> {
    let written = std::mem::take(&mut document.nodes);
    let nodes = written.into_iter().enumerate();
    let mut nodes: Vec<NodeEntry<'_>> = nodes
        .map(|(index, (piece, node))| NodeEntry::of(piece, node, index, &mut builder))
        .collect();
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

impl<'a> NodeEntry<'a> {
    fn of(piece: Piece<'a>, written: Written, index: usize, builder: &mut SceneBuilder) -> Self {
        let mut rest = match written.matrix {
            Some(matrix) => Rest::from_matrix(DMat4::from_cols_array(&matrix)),
            None => Rest {
                translation: written.translation.map_or(DVec3::ZERO, DVec3::from_array),
                rotation: written.rotation.map_or(DQuat::IDENTITY, |given| {
                    unit(DQuat::from_array(given), piece, index, builder)
                }),
                scale: written.scale.map_or(DVec3::ONE, DVec3::from_array),
                ..Rest::default()
            },
        };
        rest.visible = written
            .extensions
            .and_then(|extensions| extensions.visibility)
            .map(|visibility| visibility.visible.unwrap_or(true));
        Self {
            piece,
            name: written.name,
            children: written.children.unwrap_or_default(),
            rest,
            mesh: written.mesh,
        }
    }
}

/// A rotation as the file gives it, made one.
fn unit(given: DQuat, piece: Piece<'_>, index: usize, builder: &mut SceneBuilder) -> DQuat {
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
    if unit.is_normalized() {
        unit
    } else {
        DQuat::IDENTITY
    }
}
