//! Looking up many names at once.

use crate::model::{Alias, Definition, Machine, NodeRef, NodeTarget, Use, UseTarget};
use dialect::{Kind, NodePath};
use foldhash::HashMap;
use std::sync::Arc;
use syntax::TextSize;

/// The names of one machine: made in one pass, each look-up then takes one step. For a single question the
/// methods of [`Machine`] do.
#[derive(Debug)]
pub struct NameIndex<'m> {
    /// By kind (there are few) and name: what gives it first.
    definitions: Vec<(&'m Kind, HashMap<&'m str, &'m Definition>)>,
    /// By where its name stands.
    aliases: HashMap<TextSize, &'m Alias>,
    animations: HashMap<Arc<str>, usize>,
}

impl Machine {
    /// For looking up many names: making it takes a walk through all of them.
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
        let aliases = self.aliases.iter();
        let named = aliases.filter_map(|alias| Some((alias.name.as_ref()?.range.start(), alias)));
        NameIndex {
            definitions,
            aliases: named.collect(),
            animations: self.animations_by_name(),
        }
    }

    /// By name: the position of the first animation that is called so; see [`Machine::animation`].
    pub fn animations_by_name(&self) -> HashMap<Arc<str>, usize> {
        let mut animations = HashMap::default();
        for (at, animation) in self.animations.iter().enumerate() {
            if let Some(name) = &animation.name {
                animations.entry(name.value.clone()).or_insert(at);
            }
        }
        animations
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

    /// The animation of this name, the first one; see [`Machine::animation`].
    pub fn animation(&self, name: &str) -> Option<usize> {
        self.animations.get(name).copied()
    }

    /// The alias that a definition names; see [`Machine::alias`].
    pub fn alias(&self, named: &Definition) -> Option<&'m Alias> {
        self.aliases.get(&named.name.range.start()).copied()
    }

    /// What a use leads to, if it is written in this document; see [`Machine::target_of`].
    pub fn target_of(&self, machine: &'m Machine, used: &Use) -> Option<&'m Definition> {
        match &used.target {
            UseTarget::Name { kinds, name, .. } => self.definition(kinds, name),
            _ => machine.target_of(used),
        }
    }

    /// The node path that a node is asked for by: its own, or its alias's; see [`Machine::path_of`].
    pub fn path_of(&self, node: &'m NodeRef) -> Option<&'m NodePath> {
        match &node.target {
            NodeTarget::Path(path) => Some(path),
            NodeTarget::Name { kinds, or_node } => {
                let Some(definition) = self.definition(kinds, &node.text) else {
                    return or_node.as_deref();
                };
                match &self.alias(definition)?.path.as_ref()?.target {
                    NodeTarget::Path(path) => Some(path),
                    _ => None,
                }
            }
            NodeTarget::Unreadable => None,
        }
    }
}
