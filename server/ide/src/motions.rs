//! Which end of which motion a value is.

use crate::spot::{ValueSpot, reader};
use dialect::{Ends, ItemType, Leaf, Path, Property, Rule};
use machine::{Chain, Channel, Found, Reader};
use project::View;

/// A value at one end of a motion.
#[derive(Debug)]
pub(crate) struct End<'v> {
    pub(crate) channel: Channel,
    /// What moves, if the document says it.
    pub(crate) property: Option<Property>,
    /// What is written at the other end; none if both ends share one list.
    pub(crate) other: Option<Found<'v>>,
}

/// The motion that a value belongs to, also while the value is still empty.
pub(crate) fn end_at<'v>(view: &'v View, spot: &ValueSpot<'v>) -> Option<End<'v>> {
    let (meaning, reader) = (view.meaning.as_ref()?, reader(view)?);
    let dialect = &meaning.dialect;
    let channel = meaning.outline.channel_around(spot.element.range())?;
    let depth = spot
        .chain
        .iter()
        .position(|located| located.element.range() == channel.element)?;
    let chain: Chain<'v> = spot.chain[..=depth].to_vec();
    for motion in dialect.roles.channels.iter().flat_map(|role| &role.motions) {
        let other = match &motion.ends {
            Ends::Pair { from, to } if leads_to(&reader, &chain, from, spot) => {
                reader.value(&chain, to)
            }
            Ends::Pair { from, to } if leads_to(&reader, &chain, to, spot) => {
                reader.value(&chain, from)
            }
            Ends::List(list) if leads_to(&reader, &chain, list, spot) => None,
            Ends::Pair { .. } | Ends::List(_) => continue,
        };
        let property = match &motion.property {
            Rule::Fixed(property) => Some(*property),
            Rule::Read(rule) => reader
                .value(&chain, &rule.at)
                .and_then(|word| rule.meaning(&word.text)),
        };
        return Some(End {
            channel,
            property,
            other,
        });
    }
    None
}

fn leads_to<'v>(reader: &Reader<'v>, chain: &Chain<'v>, path: &Path, spot: &ValueSpot<'v>) -> bool {
    let same_leaf = match (path.leaf(), spot.attribute) {
        (Leaf::Attribute(name), Some(attribute)) => attribute.name() == name,
        (Leaf::Text | Leaf::Element, None) => true,
        _ => false,
    };
    same_leaf
        && reader.elements(chain, path).iter().any(|found| {
            found
                .last()
                .is_some_and(|last| last.element == spot.element)
        })
}

/// What the motion around a value moves, if the value is at one of its ends.
pub(crate) fn property_at(view: &View, spot: &ValueSpot<'_>) -> Option<Property> {
    let item = &spot.declared?.value.item;
    matches!(item, ItemType::MovedValue { .. })
        .then(|| end_at(view, spot)?.property)
        .flatten()
}
