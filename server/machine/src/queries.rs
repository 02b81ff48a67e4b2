//! Questions to a [`Machine`].

use crate::model::{
    Alias, Animation, Definition, Machine, NodeRef, NodeTarget, Use, UseTarget, Wheel, WheelRef,
    WheelTarget,
};
use dialect::{Kind, NodePath};
use syntax::{TextRange, TextSize};

/// A name as it stands somewhere in a document: what rename, references and
/// highlight work on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Symbol {
    pub kind: Kind,
    pub name: String,
    /// Where the question was asked.
    pub range: TextRange,
}

impl Machine {
    /// What gives this name, first one first. Names are unique in a sound
    /// document.
    pub fn definition<'m>(&'m self, kinds: &[Kind], name: &str) -> Option<&'m Definition> {
        self.definitions
            .iter()
            .find(|definition| *definition.name.value == *name && kinds.contains(&definition.kind))
    }

    /// The definitions of a kind, in document order.
    pub fn definitions_of<'m>(&'m self, kind: &Kind) -> impl Iterator<Item = &'m Definition> {
        self.definitions
            .iter()
            .filter(move |definition| definition.kind == *kind)
    }

    /// The elements that positions of a kind count, in document order.
    pub fn counted<'m>(&'m self, kind: &Kind) -> impl Iterator<Item = TextRange> + 'm {
        let kind = *kind;
        let of_kind = self.counted.iter().filter(move |thing| thing.kind == kind);
        of_kind.map(|thing| thing.element)
    }

    /// What a use leads to, if it is written in this document.
    pub fn target_of<'m>(&'m self, used: &Use) -> Option<&'m Definition> {
        match &used.target {
            UseTarget::Name { kinds, name, .. } => self.definition(kinds, name),
            UseTarget::Position { kind, index } => {
                let element = self.counted(kind).nth(usize::try_from(*index).ok()?)?;
                self.definitions
                    .iter()
                    .find(|definition| definition.element == element)
            }
            UseTarget::Path(_) | UseTarget::Input { .. } => None,
        }
    }

    /// The name at an offset: given or used there. The end of a name counts.
    pub fn symbol_at(&self, offset: TextSize) -> Option<Symbol> {
        if let Some(definition) = self
            .definitions
            .iter()
            .find(|definition| touches(definition.name.range, offset))
        {
            return Some(Symbol {
                kind: definition.kind,
                name: definition.name.value.to_string(),
                range: definition.name.range,
            });
        }
        let used = self.use_at(offset)?;
        let UseTarget::Name { kinds, name, .. } = &used.target else {
            return None;
        };
        let kind = self.definition(kinds, name).map_or_else(
            || kinds.first().cloned(),
            |definition| Some(definition.kind),
        )?;
        Some(Symbol {
            kind,
            name: name.to_string(),
            range: used.range,
        })
    }

    /// The use at an offset. Its end counts.
    pub fn use_at(&self, offset: TextSize) -> Option<&Use> {
        self.uses.iter().find(|used| touches(used.range, offset))
    }

    /// The node path that a node is asked for by: its own, or its alias's.
    pub fn path_of<'m>(&'m self, node: &'m NodeRef) -> Option<&'m NodePath> {
        match &node.target {
            NodeTarget::Path(path) => Some(path),
            NodeTarget::Name { kinds, or_node } => {
                let Some(definition) = self.definition(kinds, &node.text) else {
                    return or_node.as_deref();
                };
                let alias = self.alias(definition)?;
                match &alias.path.as_ref()?.target {
                    NodeTarget::Path(path) => Some(path),
                    _ => None,
                }
            }
            NodeTarget::Unreadable => None,
        }
    }

    /// The alias that a definition names. Its element need not be the one that
    /// carries the name: in some dialects that is a child.
    pub fn alias(&self, named: &Definition) -> Option<&Alias> {
        self.aliases.iter().find(|alias| {
            let name = alias.name.as_ref();
            name.is_some_and(|name| name.range == named.name.range)
        })
    }

    /// The wheel that a control's word means.
    pub fn wheel(&self, word: &WheelRef) -> Option<usize> {
        match &word.target {
            WheelTarget::Position(index) => {
                let index = usize::try_from(*index).ok()?;
                (index < self.wheels.len()).then_some(index)
            }
            WheelTarget::Name(name) => self.wheels.iter().position(|wheel| {
                wheel
                    .name
                    .as_ref()
                    .is_some_and(|known| known.value == *name)
            }),
            WheelTarget::Node(node) => {
                let path = self.path_of(node)?;
                self.wheels.iter().position(|wheel| {
                    let node = wheel.node.as_ref();
                    node.is_some_and(|node| self.path_of(node) == Some(path))
                })
            }
        }
    }

    /// The animation of this name.
    pub fn animation(&self, name: &str) -> Option<usize> {
        self.animations
            .iter()
            .position(|animation| animation.is_called(name))
    }
}

impl Animation {
    /// Whether it has this name.
    pub fn is_called(&self, name: &str) -> bool {
        self.name
            .as_ref()
            .is_some_and(|known| *known.value == *name)
    }
}

impl Wheel {
    /// What it is called in messages: its name, or that of its node.
    pub fn label(&self) -> Option<&str> {
        let node = self.node.as_ref();
        let named = node.filter(|node| matches!(node.target, NodeTarget::Name { .. }));
        let name = self.name.as_ref().map(|name| &*name.value);
        name.or_else(|| named.map(|node| &*node.text))
    }
}

fn touches(range: TextRange, offset: TextSize) -> bool {
    range.contains_inclusive(offset)
}
