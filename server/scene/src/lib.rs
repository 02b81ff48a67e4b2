//! Node trees: glTF 2.0 (`.gltf`, `.glb`) and the XML scenes that a dialect describes.
//!
//! A [`Scene`] is the tree of nodes that a definition's index paths point into. Only what the tree needs
//! is read: names, rest transforms and the bounds of meshes. Buffers, images and animations of a scene
//! file are never opened.
//!
//! Lengths are metres and all numbers are 64-bit floats. Matrices are column-major and act on column
//! vectors, as in glTF and glam. The axes are those of the file.

mod bounds;
mod build;
mod error;
mod euler;
mod gltf;
mod matching;
mod read;
mod rest;
mod skim;
mod tree;
mod world;
mod xml;

pub use bounds::Bounds;
pub use build::{NodeParts, SceneBuilder};
pub use error::SceneError;
pub use euler::{angles, rotation};
pub use gltf::{may_be_gltf, spare_meshes};
pub use matching::{Candidate, Fate, Matching, SURE};
pub use read::{MOST_NODES, MOST_NODES_EVER, read, read_at_most};
pub use rest::Rest;
pub use skim::Skimmed;
pub use tree::{NoNode, Node, NodeIndex, Scene, WalkError};
