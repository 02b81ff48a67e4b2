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
#[derive(Debug)]
pub(super) struct NodeEntry<'a> {
    pub(super) piece: Piece<'a>,
    pub(super) written: Written,
}

impl NodeEntry<'_> {
    /// What hangs on it.
    pub(super) fn children(&self) -> &[u32] {
        self.written.children.as_deref().unwrap_or_default()
    }
}

/// A node as it is written. What most do not have is boxed: all of a file are in memory at once.
#[derive(Deserialize, Default, Debug, PartialEq)]
#[serde(expecting = "an object")]
pub(super) struct Written {
    pub(super) name: Option<Box<str>>,
    #[serde(default, deserialize_with = "whole_numbers")]
    pub(super) children: Option<Box<[u32]>>,
    pub(super) matrix: Option<Box<[f64; 16]>>,
    pub(super) translation: Option<[f64; 3]>,
    pub(super) rotation: Option<Box<[f64; 4]>>,
    pub(super) scale: Option<Box<[f64; 3]>>,
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

fn whole_numbers<'de, D: Deserializer<'de>>(from: D) -> Result<Option<Box<[u32]>>, D::Error> {
    let numbers = Option::<Vec<Number>>::deserialize(from)?;
    Ok(numbers.map(|numbers| numbers.into_iter().map(|number| number.0).collect()))
}

/// Reads the nodes and puts those of the default scene in document order.
pub(super) fn build(
    document: &mut Document<'_>,
    mut builder: SceneBuilder,
) -> Result<Scene, SceneError> {
    let mut nodes = std::mem::take(&mut document.nodes);
    for (index, node) in nodes.iter_mut().enumerate() {
        make_unit(node, index, &mut builder);
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
    builder.reserve(nodes.len());
    // What is left of the children of the nodes that are open.
    let mut waiting = vec![roots.into_iter()];
    while let Some(siblings) = waiting.last_mut() {
        let Some(index) = siblings.next() else {
            waiting.pop();
            builder.close();
            continue;
        };
        let NodeEntry { piece, written } = &mut nodes[index as usize];
        let bounds = written.mesh.and_then(|mesh| match meshes.bounds(mesh) {
            Ok(bounds) => bounds,
            Err(note) => {
                builder.note(note);
                None
            }
        });
        builder.open(NodeParts {
            name: written.name.take().unwrap_or_default().into(),
            rest: rest(written),
            bounds,
            source: Some(piece.start as u32..piece.end() as u32),
        });
        let children = written.children.take().unwrap_or_default();
        waiting.push(children.into_vec().into_iter());
    }
    Ok(builder.finish())
}

fn rest(written: &Written) -> Rest {
    let mut rest = match &written.matrix {
        Some(matrix) => Rest::from_matrix(DMat4::from_cols_array(matrix)),
        // Most are only moved.
        None if written.rotation.is_none() && written.scale.is_none() => {
            Rest::at(written.translation.map_or(DVec3::ZERO, DVec3::from_array))
        }
        None => Rest::of(
            written.translation.map_or(DVec3::ZERO, DVec3::from_array),
            written
                .rotation
                .as_deref()
                .map_or(DQuat::IDENTITY, |rotation| DQuat::from_array(*rotation)),
            written
                .scale
                .as_deref()
                .map_or(DVec3::ONE, |scale| DVec3::from_array(*scale)),
        ),
    };
    let visibility = written.extensions.as_ref();
    let visibility = visibility.and_then(|extensions| extensions.visibility.as_ref());
    rest.visible = visibility.map(|visibility| visibility.visible.unwrap_or(true));
    rest
}

/// Makes the rotation that a file gives a node one of length 1.
fn make_unit(node: &mut NodeEntry<'_>, index: usize, builder: &mut SceneBuilder) {
    // Beside a matrix it says nothing.
    let Written {
        rotation: Some(rotation),
        matrix: None,
        ..
    } = &mut node.written
    else {
        return;
    };
    let given = DQuat::from_array(**rotation);
    if (given.length() - 1.0).abs() > UNIT_TOLERANCE {
        builder.note(SceneError::at(
            node.piece.start,
            format!(
                "The rotation of node {index} is a quaternion of length {:.3}; it should be 1. \
                 It is read as if it were.",
                given.length()
            ),
        ));
    }
    let unit = given.normalize();
    **rotation = match unit.is_normalized() {
        true => unit.to_array(),
        false => DQuat::IDENTITY.to_array(),
    };
}
