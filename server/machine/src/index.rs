//! Looking up many names at once.

use crate::model::{Definition, Machine, NodeRef, NodeTarget};
use dialect::{Kind, NodePath};
use foldhash::HashMap;
use syntax::TextSize;

/// The names of one machine: made in one pass, each look-up then takes one step. For a single question the
/// methods of [`Machine`] do.
#[derive(Debug)]
pub struct NameIndex<'m> {
    /// By kind (there are few) and name: what gives it first.
    definitions: Vec<(&'m Kind, HashMap<&'m str, &'m Definition>)>,
    /// By where the name of an alias stands: the path it names.
    alias_paths: HashMap<TextSize, &'m NodePath>,
}

impl Machine {
    pub fn index(&self) -> NameIndex<'_> {
        let mut definitions: Vec<(&Kind, HashMap<&str, &Definition>)> = Vec::new();
        for definition in &self.definitions {
            let known = definitions
                .iter()
                .position(|(kind, _)| **kind == definition.kind);
            let at = known.unwrap_or_else(|| {
                definitions.push((&definition.kind, HashMap::default()));
                definitions.len() - 1
            });
            definitions[at]
                .1
                .entry(&*definition.name.value)
                .or_insert(definition);
        }
        let alias_paths =
            self.aliases
                .iter()
                .filter_map(|alias| match &alias.path.as_ref()?.target {
                    NodeTarget::Path(path) => Some((alias.name.as_ref()?.range.start(), path)),
                    _ => None,
                });
        NameIndex {
            definitions,
            alias_paths: alias_paths.collect(),
        }
    }
}

impl<'m> NameIndex<'m> {
    /// What gives this name to something of one of these kinds, the first one first; see [`Machine::definition`].
    pub fn definition(&self, kinds: &[Kind], name: &str) -> Option<&'m Definition> {
        let wanted = self
            .definitions
            .iter()
            .filter(|(kind, _)| kinds.contains(kind));
        let named = wanted.filter_map(|(_, names)| names.get(name).copied());
        named.min_by_key(|definition| definition.name.range.start())
    }

    /// The node path that a node is asked for by: its own, or its alias's; see [`Machine::path_of`].
    pub fn path_of(&self, node: &'m NodeRef) -> Option<&'m NodePath> {
        match &node.target {
            NodeTarget::Path(path) => Some(path),
            NodeTarget::Name { kinds, or_node } => {
                let Some(definition) = self.definition(kinds, &node.text) else {
                    return or_node.as_deref();
                };
                self.alias_paths
                    .get(&definition.name.range.start())
                    .copied()
            }
            NodeTarget::Unreadable => None,
        }
    }
}
