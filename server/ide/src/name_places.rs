//! Where a dialect has names of a kind given or used.

use dialect::{Dialect, ItemType, Kind, ValueType};

pub(crate) fn value_types(dialect: &Dialect) -> impl Iterator<Item = &ValueType> + Clone {
    let declared = dialect.elements().iter();
    declared.flat_map(|element| {
        element
            .attributes
            .iter()
            .chain(&element.text)
            .map(|value| &value.value)
    })
}

/// Whether a place of this type gives or takes a name of the kind.
pub(crate) fn names_kind(item: &ItemType, kind: &Kind) -> bool {
    match item {
        ItemType::NameOf(named) => named == kind,
        ItemType::Reference(kinds) | ItemType::Node { aliases: kinds, .. } => kinds.contains(kind),
        _ => false,
    }
}

/// Whether a name is read as itself wherever one of the kind may stand.
pub(crate) fn keep(dialect: &Dialect, kind: &Kind, name: &str) -> bool {
    let mut places = value_types(dialect).filter(|value| names_kind(&value.item, kind));
    places.all(|value| value.keeps(name))
}
