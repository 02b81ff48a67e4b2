//! What stands in long elements, listed portion by portion: an operation is about one of thousands, and the next one about
//! another, while nearly all of them stay as they are.

use std::hash::BuildHasher;
use std::rc::Rc;

use foldhash::{HashMap, HashSet, fast::FixedState};
use syntax::{Element, Identity, Item, Portion, TextSize, Tree};

use crate::select::string_value;
use crate::selector::{Condition, Step};

/// What is known of portions, from one operation to the next.
#[derive(Default)]
pub(crate) struct Listings {
    known: HashMap<Identity, Rc<Listing>>,
}

/// What is known of a portion.
struct Listing {
    /// As long as it is there its identity means it, and no other.
    portion: Portion,
    /// Where the elements start, from the start of the portion, that have a value in an attribute, in a child, or are all of
    /// it; sorted by the hash of the value.
    valued: Vec<(u32, TextSize)>,
    /// Names as they are written, and where elements of each start.
    named: Vec<(Box<str>, Vec<TextSize>)>,
    /// Whether prefixes are declared by elements: what such a one is called, only a look at it tells.
    declares: bool,
}

/// The elements in a long one, as far as they come into question for a step.
pub(crate) enum Listed {
    /// All that may fulfil the conditions up to the first place, in their order.
    Candidates(Vec<TextSize>),
    /// The one at the place that the first condition asks for, if there are so many.
    Placed(Option<TextSize>),
}

impl Listings {
    /// What is listed of an element, if it is a long one and a condition asks for a value or a place. `is_called`: whether
    /// an element in it is meant that has this name, as it is written.
    pub(crate) fn listed(
        &mut self,
        tree: &Tree,
        parent: Element<'_>,
        step: &Step,
        is_called: &dyn Fn(&str) -> bool,
    ) -> Option<Listed> {
        let first = step.conditions.first()?;
        let portions = tree.portions();
        let start = parent.range().start();
        let at = portions.partition_point(|portion| portion.range.start() < start);
        let is_long = |portion: &Portion| {
            portion
                .element()
                .is_some_and(|element| element.range() == parent.range())
        };
        portions.get(at).filter(|portion| is_long(portion))?;
        let inside = portions[at + 1..]
            .iter()
            .take_while(|portion| portion.range.start() < parent.range().end())
            .filter(|portion| portion.holder == Some(at));
        let values = values(step);
        let mut candidates = Vec::new();
        let mut place = match first {
            Condition::Position(place) => Some(*place),
            _ => None,
        };
        for portion in inside {
            let start = portion.range.start();
            if let Some(element) = portion.element() {
                // A long one by itself.
                if place.is_some() && declares(element) {
                    return None;
                }
                match &mut place {
                    None => candidates.push(start),
                    Some(_) if !is_called(element.name()) => {}
                    Some(1) => return Some(Listed::Placed(Some(start))),
                    Some(place) => *place -= 1,
                }
                continue;
            }
            let listing = self.of(portion);
            if place.is_some() && listing.declares {
                return None;
            }
            match &mut place {
                None => candidates.extend(listing.with_values(&values).map(|at| start + at)),
                Some(place) => {
                    let named = listing.called(is_called);
                    match named.get(*place - 1) {
                        Some(at) => return Some(Listed::Placed(Some(start + at))),
                        None => *place -= named.len(),
                    }
                }
            }
        }
        if self.known.len() > 2 * portions.len() {
            let there: HashSet<&Identity> =
                portions.iter().map(|portion| &portion.identity).collect();
            self.known.retain(|identity, _| there.contains(identity));
        }
        Some(match place {
            None => Listed::Candidates(candidates),
            Some(_) => Listed::Placed(None),
        })
    }

    fn of(&mut self, portion: &Portion) -> Rc<Listing> {
        if let Some(known) = self.known.get(&portion.identity) {
            return known.clone();
        }
        let listing = Rc::new(Listing::of(portion));
        let identity = listing.portion.identity.clone();
        self.known.insert(identity, listing.clone());
        listing
    }
}

/// The hashes of the values that are asked for before a place is.
fn values(step: &Step) -> Vec<u32> {
    let values = step
        .conditions
        .iter()
        .map_while(|condition| match condition {
            Condition::Position(_) => None,
            Condition::Attribute(_, value)
            | Condition::Child(_, value)
            | Condition::OwnText(value) => Some(hash(value)),
        });
    values.collect()
}

fn hash(value: &str) -> u32 {
    FixedState::default().hash_one(value) as u32
}

fn declares(element: Element<'_>) -> bool {
    let mut attributes = element.attributes();
    attributes.any(|attribute| attribute.declared_prefix().is_some())
}

impl Listing {
    fn of(portion: &Portion) -> Self {
        let mut listing = Self {
            portion: portion.clone(),
            valued: Vec::new(),
            named: Vec::new(),
            declares: false,
        };
        for element in portion.items().filter_map(Item::into_element) {
            let at = element.range().start() - portion.range.start();
            let name = element.name();
            match listing.named.iter_mut().find(|(known, _)| **known == *name) {
                Some((_, known)) => known.push(at),
                None => listing.named.push((name.into(), vec![at])),
            }
            listing.declares |= declares(element);
            let mut note = |value: &str| listing.valued.push((hash(value), at));
            for attribute in element.attributes() {
                note(&attribute.value());
            }
            note(&string_value(element));
            for child in element.children() {
                note(&string_value(child));
            }
        }
        listing.valued.sort_unstable();
        listing.valued.dedup();
        listing
    }

    /// The elements that have all of these values, and perhaps some that have another one of the same hash.
    fn with_values(&self, values: &[u32]) -> impl Iterator<Item = TextSize> {
        let (first, others) = values
            .split_first()
            .map_or((0, values), |(first, others)| (*first, others));
        let start = self.valued.partition_point(|(value, _)| *value < first);
        let found = self.valued[start..].iter();
        let found = found.take_while(move |(value, _)| *value == first);
        found.map(|(_, at)| *at).filter(|at| {
            let mut others = others.iter();
            others.all(|value| self.valued.binary_search(&(*value, *at)).is_ok())
        })
    }

    /// The elements whose names are meant, in their order.
    fn called(&self, is_called: &dyn Fn(&str) -> bool) -> Vec<TextSize> {
        let named = self.named.iter().filter(|(name, _)| is_called(name));
        let mut found: Vec<TextSize> = named.flat_map(|(_, at)| at).copied().collect();
        found.sort_unstable();
        found
    }
}
