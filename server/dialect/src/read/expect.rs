//! What kind of value each part of a role needs.

use crate::grammar::AttributeDecl;
use crate::kinds::Kind;
use crate::roles::Property;
use crate::units::Quantity;
use crate::value_type::{ItemType, ValueType};

/// What a role expects to find at one of its paths.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Expect {
    /// A name that is given here.
    Name,
    /// A node's place in the scene: an index path, or its name there.
    NodePath,
    /// A node.
    Node,
    /// A number, perhaps of a quantity.
    Number(Option<Quantity>),
    /// A list of two such numbers.
    Numbers(Option<Quantity>),
    /// A value of one of these properties.
    End(Vec<Property>),
    /// A list of two such values.
    Ends(Vec<Property>),
    /// Three numbers that say which way.
    Axis,
    /// Anything that reads as text.
    Text,
    /// An input.
    Input,
    /// Something that tells which thing of these kinds is meant.
    Pointer(Vec<Kind>, &'static str),
    /// The same, or the name itself where it is given.
    PointerOrName(Vec<Kind>, &'static str),
    /// The same for wheels, or something that tells which node they turn on.
    Wheels {
        wheels: Vec<Kind>,
        aliases: Vec<Kind>,
    },
    /// A file.
    File,
    /// A word.
    Word,
}

/// How a declaration meets what is expected.
pub(super) enum Match {
    /// As it is.
    Fits,
    /// If it is read in the usual unit of a quantity.
    FitsIn(Quantity),
    /// Not at all: what to declare instead.
    No(String),
}

impl Expect {
    pub(super) fn check(&self, declared: &AttributeDecl) -> Match {
        let value = &declared.value;
        let list = value.list.is_some();
        match self {
            Expect::Numbers(_) if !list => Match::No("`type = \"number\", list = true`".into()),
            Expect::Numbers(quantity) => number(value, *quantity),
            Expect::Ends(_) if !list => Match::No("`type = \"moved-value\", list = true`".into()),
            Expect::Ends(properties) | Expect::End(properties) => end(value, properties),
            Expect::Pointer(kinds, role) => pointer(value, kinds, role),
            Expect::PointerOrName(kinds, role) => match &value.item {
                ItemType::NameOf(kind) if kinds.contains(kind) => Match::Fits,
                _ => pointer(value, kinds, role),
            },
            Expect::Wheels { wheels, aliases } => match &value.item {
                ItemType::Node { .. } | ItemType::IndexPath => Match::Fits,
                ItemType::Reference(kinds) if kinds.iter().any(|kind| aliases.contains(kind)) => {
                    Match::Fits
                }
                _ => pointer(value, wheels, "wheel"),
            },
            _ if list => Match::No("a single value; remove `list`".into()),
            Expect::Number(quantity) => number(value, *quantity),
            Expect::Name => fits(matches!(value.item, ItemType::NameOf(_)), "name"),
            Expect::NodePath => fits(
                value.item.is_node_path(),
                "index-path\"` or `type = \"node-name",
            ),
            Expect::Node => {
                let node = matches!(value.item, ItemType::Node { .. } | ItemType::IndexPath);
                fits(node, "node")
            }
            Expect::Axis => {
                let vector = matches!(value.item, ItemType::Vector { count: 3, .. });
                fits(vector, "vector")
            }
            Expect::Text => {
                let text = matches!(
                    value.item,
                    ItemType::Text | ItemType::Word(_) | ItemType::NameOf(_)
                );
                fits(text, "text")
            }
            Expect::Input => fits(matches!(value.item, ItemType::Input(_)), "input"),
            Expect::File => fits(matches!(value.item, ItemType::File { .. }), "file"),
            Expect::Word => {
                let word = matches!(value.item, ItemType::Word(_) | ItemType::Text);
                fits(word, "word")
            }
        }
    }
}

fn fits(fits: bool, type_name: &str) -> Match {
    match fits {
        true => Match::Fits,
        false => Match::No(format!("`type = \"{type_name}\"`")),
    }
}

fn number(value: &ValueType, quantity: Option<Quantity>) -> Match {
    match (&value.item, quantity) {
        (ItemType::Integer { .. }, _) => Match::Fits,
        (ItemType::Number { unit: None, .. }, Some(quantity)) => Match::FitsIn(quantity),
        (
            ItemType::Number {
                unit: Some(unit), ..
            },
            Some(quantity),
        ) if unit.quantity != quantity => Match::No(format!(
            "a unit of {quantity} (its unit `{}` measures {})",
            unit.name, unit.quantity
        )),
        (ItemType::Number { .. }, _) => Match::Fits,
        _ => Match::No("`type = \"number\"`".into()),
    }
}

fn end(value: &ValueType, properties: &[Property]) -> Match {
    let only = match properties {
        [property] => Some(*property),
        _ => None,
    };
    match (&value.item, only) {
        (ItemType::MovedValue { .. }, _) => Match::Fits,
        (ItemType::Boolean { .. }, Some(Property::Visibility)) => Match::Fits,
        (ItemType::Number { unit: None, .. }, Some(Property::Scale)) => Match::Fits,
        (ItemType::Vector { count: 3, unit, .. }, Some(property))
            if property != Property::Visibility =>
        {
            match (unit, property.quantity()) {
                (None, Some(quantity)) => Match::FitsIn(quantity),
                (None, None) => Match::Fits,
                (Some(unit), Some(quantity)) if unit.quantity == quantity => Match::Fits,
                (Some(unit), wanted) => Match::No(format!(
                    "{} (its unit `{}` measures {})",
                    wanted.map_or("no unit".into(), |wanted| format!("a unit of {wanted}")),
                    unit.name,
                    unit.quantity
                )),
            }
        }
        _ => Match::No("`type = \"moved-value\"`".into()),
    }
}

fn pointer(value: &ValueType, kinds: &[Kind], role: &str) -> Match {
    let fits = match &value.item {
        ItemType::Reference(named) => named.iter().any(|kind| kinds.contains(kind)),
        ItemType::PositionOf { kind, .. } => kinds.contains(kind),
        _ => false,
    };
    match (fits, kinds.first()) {
        (true, _) => Match::Fits,
        (false, Some(kind)) => Match::No(format!(
            "`type = \"reference\", of = \"{kind}\"` (or \"position\")"
        )),
        (false, None) => Match::No(format!("something to refer to: add a `[[role.{role}]]`")),
    }
}
