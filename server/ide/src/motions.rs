//! Which end of which motion a value is.

use crate::spot::{ValueSpot, reader};
use dialect::{Ends, ItemType, Leaf, Place, Property, Rule};
use machine::{Chain, Channel, Found, Reader};
use project::View;

/// A value at one end of a motion.
#[derive(Debug)]
pub(crate) struct End<'v> {
    pub(crate) channel: Channel,
    /// What moves, if the document says it.
    pub(crate) property: Option<Property>,
    /// What is written at the other end, where that is one place of its own.
    pub(crate) other: Option<Found<'v>>,
    /// Whether the value is added to where the node is, or rests, instead of being where it goes; factors are multiplied.
    pub(crate) is_added: bool,
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
        let leads = |place: &Place| leads_to(&reader, &chain, place, spot);
        let other = match &motion.ends {
            Ends::Pair { from, to } if leads(from) => value(&reader, &chain, to),
            Ends::Pair { from, to } if leads(to) => value(&reader, &chain, from),
            Ends::List(place) | Ends::To(place) | Ends::By(place) if leads(place) => None,
            Ends::Keyframes(keyframes) => {
                let mut frames = reader.elements(&chain, &keyframes.at).into_iter();
                let value = &keyframes.value;
                if !frames.any(|frame| leads_to(&reader, &frame, value, spot)) {
                    continue;
                }
                None
            }
            _ => continue,
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
            is_added: motion.from_rest || matches!(motion.ends, Ends::By(_)),
        });
    }
    None
}

fn leads_to<'v>(
    reader: &Reader<'v>,
    chain: &Chain<'v>,
    place: &Place,
    spot: &ValueSpot<'v>,
) -> bool {
    let Place::Whole(path) = place else {
        return false;
    };
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

fn value<'v>(reader: &Reader<'v>, chain: &Chain<'v>, place: &Place) -> Option<Found<'v>> {
    match place {
        Place::Whole(path) => reader.value(chain, path),
        Place::Axes(_) | Place::Along { .. } => None,
    }
}

/// What the motion around a value moves, if the value is at one of its ends.
pub(crate) fn property_at(view: &View, spot: &ValueSpot<'_>) -> Option<Property> {
    let item = &spot.declared?.value.item;
    matches!(item, ItemType::MovedValue { .. })
        .then(|| end_at(view, spot)?.property)
        .flatten()
}
