//! Names that are given within an element, and referred to within it.
//!
//! Where the same few names come again and again in all documents, it says nothing that a
//! document gives a name that it refers to. It says much that the very page, cabin or group does.

use super::Form;
use super::places::Place;
use super::reading::{FITTING, STRAY};
use super::readings::Desk;
use crate::contexts::ContextId;
use crate::survey::Seen;
use crate::symbols::Symbol;
use foldhash::{HashMap, HashMapExt as _, HashSet, HashSetExt as _};

/// The elements of one context that names are given within.
struct Homes {
    context: ContextId,
    /// Document, element, name.
    given: HashSet<(u32, u32, Symbol)>,
    /// In how many of them each name is given.
    counts: HashMap<Symbol, u32>,
    all: u32,
    /// How many names each gives.
    sizes: HashMap<(u32, u32), u32>,
}

impl Homes {
    fn of(desk: &Desk<'_, '_, '_>, place: &Place<'_>) -> Self {
        let mut homes = Self {
            context: place.home_context(),
            given: HashSet::new(),
            counts: HashMap::new(),
            all: 0,
            sizes: HashMap::new(),
        };
        for seen in &place.slot.seen {
            let home = place.home(desk.survey, seen);
            let size = homes.sizes.entry((seen.document, home)).or_default();
            if homes.given.insert((seen.document, home, seen.value)) {
                *homes.counts.entry(seen.value).or_default() += 1;
                *size += 1;
            }
        }
        homes.all = homes.sizes.len() as u32;
        homes
    }

    /// How likely another home gives the name as well.
    fn chance(&self, name: Symbol, is_given: bool) -> f64 {
        let own = u32::from(is_given);
        let others = self.counts.get(&name).map_or(0, |count| count - own);
        (f64::from(others) + 0.5) / f64::from(self.all.saturating_sub(own) + 1)
    }
}

/// The score, in nats, of reading places as references to names that `to` gives within elements
/// around both. `None` if it is not within such elements that the names are found.
pub(super) fn score(
    desk: &Desk<'_, '_, '_>,
    members: &[usize],
    form: &Form,
    to: &Place<'_>,
) -> Option<f64> {
    let homes = Homes::of(desk, to);
    let symbols = &desk.survey.corpus.symbols;
    let (mut score, mut hits, mut misses) = (0.0, 0, 0);
    let mut known = HashSet::new();
    for place in members.iter().map(|member| &desk.places[*member]) {
        if place.at.group != to.at.group {
            return None;
        }
        for seen in &place.slot.seen {
            let Some(home) = around(desk, place, seen, homes.context) else {
                misses += 1;
                continue;
            };
            // Where there is only one to choose, two values are equal rather than that one of
            // them is a choice.
            if homes.sizes.get(&(seen.document, home)) == Some(&1) {
                continue;
            }
            for name in form.names(symbols.text(seen.value)) {
                let Some(name) = symbols.find(name) else {
                    misses += 1;
                    continue;
                };
                if !known.insert((seen.document, home, name)) {
                    continue;
                }
                let is_given = homes.given.contains(&(seen.document, home, name));
                let chance = homes
                    .chance(name, is_given)
                    .max(desk.looks.floor(name))
                    .min(0.97);
                if is_given {
                    hits += 1;
                    score += libm::log((1.0 - STRAY) / chance).max(0.0);
                } else {
                    misses += 1;
                    score += libm::log(STRAY / (1.0 - chance)).min(-1.0);
                }
            }
        }
    }
    let fit = f64::from(hits) / f64::from((hits + misses).max(1));
    (fit >= FITTING).then_some(score)
}

/// The element of a context that a value stands in.
fn around(
    desk: &Desk<'_, '_, '_>,
    place: &Place<'_>,
    seen: &Seen,
    context: ContextId,
) -> Option<u32> {
    let contexts = &place.group.elements[seen.document as usize];
    let elements = &desk.survey.corpus.documents[place.document(seen) as usize].elements;
    let mut chain = std::iter::successors(Some(seen.element), |at| elements[*at as usize].parent);
    chain.find(|at| contexts[*at as usize] == context)
}
