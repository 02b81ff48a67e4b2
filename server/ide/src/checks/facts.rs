//! What several checks need to know of a document, looked up once.

use std::collections::HashSet;

use dialect::{Dialect, Kind};
use machine::{Definition, Machine, NameIndex, NodeRef, NodeTarget, Spanned};
use project::{Meaning, View};
use scene::Scene;
use syntax::{TextRange, Tree};

use super::unread::Unread;

/// A document that a dialect fits, with indexes into it.
#[derive(Debug)]
pub(super) struct Facts<'v> {
    pub(super) view: &'v View,
    pub(super) meaning: &'v Meaning,
    pub(super) dialect: &'v Dialect,
    pub(super) machine: &'v Machine,
    /// None: no scene, or none that can be read.
    pub(super) scene: Option<&'v Scene>,
    pub(super) unread: Unread<'v>,
    /// Values of which the grammar's checks have said already that they are wrong.
    pub(super) faulty: HashSet<TextRange>,
    /// Where the first definition of each kind and name stands.
    first: HashSet<TextRange>,
    names: NameIndex<'v>,
}

impl<'v> Facts<'v> {
    pub(super) fn of(view: &'v View) -> Option<Self> {
        let meaning = view.meaning.as_ref()?;
        let machine = meaning.machine();
        let names = machine.index();
        let first = machine.definitions.iter().filter(|definition| {
            let first = names.definition(
                std::slice::from_ref(&definition.kind),
                &definition.name.value,
            );
            first.is_some_and(|first| first.name.range == definition.name.range)
        });
        let first = first.map(|definition| definition.name.range).collect();
        Some(Self {
            view,
            meaning,
            dialect: &meaning.dialect,
            machine,
            scene: view.scene(),
            unread: Unread::default(),
            faulty: HashSet::new(),
            first,
            names,
        })
    }

    /// With what the grammar's checks found out.
    pub(super) fn with(self, unread: Unread<'v>, faulty: HashSet<TextRange>) -> Self {
        Self {
            unread,
            faulty,
            ..self
        }
    }

    /// Whether this is the first of the names of its kind that are the same.
    pub(super) fn is_first(&self, name: &Spanned<String>) -> bool {
        self.first.contains(&name.range)
    }

    pub(super) fn tree(&self) -> &'v Tree {
        self.view.tree()
    }

    /// The document's text at `range`.
    pub(super) fn text(&self, range: TextRange) -> &'v str {
        self.view
            .text()
            .get(std::ops::Range::<usize>::from(range))
            .unwrap_or_default()
    }

    /// What gives this name to something of one of these kinds, the first one first.
    pub(super) fn definition(&self, kinds: &[Kind], name: &str) -> Option<&'v Definition> {
        self.names.definition(kinds, name)
    }

    /// The index path that a node is asked for by: its own, or its alias's.
    pub(super) fn path_of(&self, node: &'v NodeRef) -> Option<&'v [u32]> {
        self.names.path_of(node)
    }

    /// A node as a message calls it: what the definition calls it, and its own name if that is a path only.
    pub(super) fn node_label(&self, node: &'v NodeRef) -> String {
        let own = match &node.target {
            NodeTarget::Path(path) => self
                .scene
                .and_then(|scene| Some(&scene[scene.walk(path).ok()?])),
            _ => None,
        };
        match own
            .map(|own| own.name.as_str())
            .filter(|name| !name.is_empty())
        {
            Some(name) => format!("`{}` (`{name}`)", node.text),
            None => format!("`{}`", node.text),
        }
    }

    /// An index path as the dialect writes it.
    pub(super) fn written_path(&self, path: &[u32]) -> String {
        self.dialect.notation.index_path.write(path)
    }

    /// The place for what concerns the whole document: the root element's name.
    pub(super) fn root_name(&self) -> TextRange {
        self.tree()
            .root()
            .map(|root| root.name_range())
            .unwrap_or_default()
    }
}
