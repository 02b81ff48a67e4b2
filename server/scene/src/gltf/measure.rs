//! How large meshes are: the accessors of their positions state it, so no buffer is opened.

use std::collections::HashMap;

use glam::DVec3;
use serde::Deserialize;

use super::json::{Document, List, Number, counted};
use crate::{Bounds, SceneError};

/// The bounds of a document's meshes, each read once.
pub(super) struct Meshes<'d, 'a> {
    document: &'d Document<'a>,
    known: HashMap<u32, Option<Bounds>>,
}

#[derive(Deserialize)]
#[serde(expecting = "an object")]
struct Mesh {
    primitives: Vec<Primitive>,
}

#[derive(Deserialize)]
#[serde(expecting = "an object")]
struct Primitive {
    attributes: Attributes,
}

#[derive(Deserialize)]
#[serde(expecting = "an object")]
struct Attributes {
    #[serde(rename = "POSITION")]
    position: Option<Number>,
}

#[derive(Deserialize)]
#[serde(expecting = "an object")]
struct Accessor {
    #[serde(rename = "componentType")]
    component: Option<Number>,
    normalized: Option<bool>,
    min: Option<[f64; 3]>,
    max: Option<[f64; 3]>,
}

impl<'d, 'a> Meshes<'d, 'a> {
    pub(super) fn of(document: &'d Document<'a>) -> Self {
        Self {
            document,
            known: HashMap::new(),
        }
    }

    /// The box around all primitives of a mesh. `Ok(None)`: it has none, or a fault already told.
    /// Part of a box would be worse than none, so one primitive of unknown size makes the mesh unknown.
    pub(super) fn bounds(&mut self, mesh: u32) -> Result<Option<Bounds>, SceneError> {
        if let Some(known) = self.known.get(&mesh) {
            return Ok(*known);
        }
        let bounds = self.measure(mesh);
        self.known.insert(mesh, bounds.clone().ok().flatten());
        bounds
    }

    fn measure(&self, index: u32) -> Result<Option<Bounds>, SceneError> {
        let Some(piece) = self.document.entry(List::Meshes, index as usize) else {
            return Err(SceneError::new(format!(
                "A node asks for mesh {index}, but the file has {}. Its size stays unknown: export the scene \
                 again.",
                counted(self.document.count(List::Meshes), List::Meshes)
            )));
        };
        let mesh: Mesh = piece.object(format_args!("Mesh {index}"))?;
        // A primitive without positions is not drawn (section 3.7.2.1).
        let positions = mesh
            .primitives
            .iter()
            .filter_map(|primitive| primitive.attributes.position);
        let mut whole: Option<Bounds> = None;
        for accessor in positions {
            let part = self.accessor(accessor.0, index)?;
            whole = Some(whole.map_or(part, |whole| whole.union(part)));
        }
        Ok(whole)
    }

    fn accessor(&self, index: u32, mesh: u32) -> Result<Bounds, SceneError> {
        let Some(piece) = self.document.entry(List::Accessors, index as usize) else {
            return Err(SceneError::new(format!(
                "Mesh {mesh} asks for accessor {index}, but the file has {}. Its size stays unknown: export \
                 the scene again.",
                counted(self.document.count(List::Accessors), List::Accessors)
            )));
        };
        let accessor: Accessor = piece.object(format_args!("Accessor {index}"))?;
        let (Some(min), Some(max)) = (accessor.min, accessor.max) else {
            return Err(SceneError::at(
                piece.start,
                format!(
                    "Accessor {index} holds the positions of mesh {mesh} but does not state “min” and “max”. \
                     The mesh's size stays unknown: export the scene again."
                ),
            ));
        };
        let scale = normalisation(accessor.component, accessor.normalized);
        // Signed numbers reach one step below -1, which counts as -1 (section 3.11).
        let value = |given: [f64; 3]| match scale {
            Some(most) => (DVec3::from_array(given) / most).max(DVec3::NEG_ONE),
            None => DVec3::from_array(given),
        };
        Bounds::new(value(min), value(max)).ok_or_else(|| {
            SceneError::at(
                piece.start,
                format!(
                    "Accessor {index} states a “min” above its “max”. The size of mesh {mesh} stays unknown: \
                     export the scene again."
                ),
            )
        })
    }
}

/// What stands for one, if positions are stored as whole numbers that mean fractions
/// (extension KHR_mesh_quantization; glTF 2.0, section 3.11). Such accessors state their bounds as stored.
fn normalisation(component: Option<Number>, normalized: Option<bool>) -> Option<f64> {
    normalized.filter(|normalized| *normalized)?;
    match component?.0 {
        5120 => Some(f64::from(i8::MAX)),
        5121 => Some(f64::from(u8::MAX)),
        5122 => Some(f64::from(i16::MAX)),
        5123 => Some(f64::from(u16::MAX)),
        _ => None,
    }
}
