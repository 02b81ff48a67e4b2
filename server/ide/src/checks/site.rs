//! What the checks need to know of a document.

use std::borrow::Cow;

use dialect::{Dialect, NodePath};
use machine::{NodeRef, NodeTarget, Outline};
use project::{Meaning, View};
use scene::Scene;
use syntax::{Source, TextRange, Tree};

use crate::repath::Followed;

/// A document that a dialect fits.
#[derive(Debug, Clone, Copy)]
pub(super) struct Site<'v> {
    pub(super) view: &'v View,
    pub(super) meaning: &'v Meaning,
    pub(super) dialect: &'v Dialect,
    pub(super) outline: &'v Outline,
    /// None: no scene, or none that can be read.
    pub(super) scene: Option<&'v Scene>,
    /// The definition was written for the scene as it was before.
    pub(super) followed: Option<&'v Followed>,
}

impl<'v> Site<'v> {
    pub(super) fn of(view: &'v View) -> Option<Self> {
        let meaning = view.meaning.as_ref()?;
        Some(Self {
            view,
            meaning,
            dialect: &meaning.dialect,
            outline: &meaning.outline,
            scene: view.scene(),
            followed: None,
        })
    }

    pub(super) fn tree(&self) -> &'v Tree {
        self.view.tree()
    }

    /// The document's text at `range`.
    pub(super) fn text(&self, range: TextRange) -> Cow<'v, str> {
        self.view.document.slice(range)
    }

    /// A node as a message calls it: what the definition calls it, and its own name if that is a path only.
    pub(super) fn node_label(&self, node: &NodeRef) -> String {
        let own = match &node.target {
            NodeTarget::Path(path @ NodePath::Positions(_)) => self
                .scene
                .and_then(|scene| Some(&scene[scene.find(path).ok()?])),
            _ => None,
        };
        match own.map(|own| &*own.name).filter(|name| !name.is_empty()) {
            Some(name) => format!("`{}` (`{name}`)", node.text),
            None => format!("`{}`", node.text),
        }
    }

    /// A node path as the dialect writes it.
    pub(super) fn written_path(&self, path: &NodePath) -> String {
        self.dialect.notation.write_node_path(path)
    }

    /// An index path as the dialect writes it.
    pub(super) fn written_positions(&self, path: &[u32]) -> String {
        self.dialect.notation.index_path.label(path)
    }

    /// The place for what concerns the whole document: the root element's name.
    pub(super) fn root_name(&self) -> TextRange {
        self.tree()
            .root()
            .map(|root| root.name_range())
            .unwrap_or_default()
    }
}
