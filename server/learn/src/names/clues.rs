//! What speaks for or against a reading besides the names that are met: what things are called, and what else they hold.

use super::places::{Place, Unique};
use super::reading::Reading;
use super::readings::Desk;
use crate::survey::Seen;

/// What it says, in nats, that a place is called after the elements that it leads to.
pub(super) const CALLED: f64 = 4.0;

/// What it says that it is called after what these stand in.
pub(super) const CALLED_AROUND: f64 = 2.0;

/// How much more such elements account for what is found than others with the same names.
pub(super) const PREFERRED: f64 = 1.1;

/// Shorter words are in others by chance.
const SHORTEST_CALLED: usize = 3;

/// Whether a value is called after a thing; both in small letters.
pub(super) fn is_called(value: &str, thing: &str) -> bool {
    thing.chars().count() >= SHORTEST_CALLED && value.contains(thing)
}

impl Desk<'_, '_, '_> {
    /// Whether places are called after one that they may lead to.
    pub(super) fn called(&self, members: &[usize], to: u32) -> bool {
        let thing = &self.places[to as usize].thing_called;
        let mut members = members.iter().map(|member| &self.places[*member].called);
        members.all(|called| is_called(called, thing))
    }

    /// Whether places are called after what such things stand in.
    pub(super) fn called_around(&self, members: &[usize], to: u32) -> bool {
        let to = &self.places[to as usize];
        let around = to.group.contexts.parent(to.thing_context());
        let is_root = |context| to.group.contexts.parent(context).is_none();
        let Some(around) = around.filter(|around| !is_root(*around)) else {
            return false;
        };
        let around = self
            .survey
            .corpus
            .text(to.group.contexts.name(around))
            .to_lowercase();
        let mut members = members.iter().map(|member| &self.places[*member].called);
        members.all(|called| is_called(called, &around))
    }

    /// What a reading loses, in nats, for what it looks like otherwise.
    pub(super) fn doubts(&self, members: &[usize], reading: &Reading) -> f64 {
        let mut doubts = 0.0;
        // Names of different things that happen to be equal.
        let namesakes = members.iter().any(|member| {
            let place = &self.places[*member];
            place.unique != Unique::Not
                && place.slot.attribute.is_some()
                && reading.to.iter().all(|to| {
                    let to = &self.places[*to as usize];
                    to.slot.attribute == place.slot.attribute && to.element != place.element
                })
        });
        // One number in each document is a count, and numbers of the same things number them twice.
        let counts = reading.numeric
            && members.iter().any(|member| {
                let place = &self.places[*member];
                let twice = |to: &u32| {
                    let to = &self.places[*to as usize];
                    (to.at.group, to.thing_context()) == (place.at.group, place.thing_context())
                };
                place.unique == Unique::Single
                    || (place.unique != Unique::Not && reading.to.iter().any(twice))
            });
        if counts {
            doubts = f64::INFINITY;
        }
        if namesakes {
            let rich = members.iter().all(|member| {
                let place = &self.places[*member];
                self.rich(place) || (place.gives() && self.described(place))
            });
            doubts += match rich {
                true => f64::INFINITY,
                false if reading.files < 3 => 40.0,
                false => 10.0,
            };
        }
        doubts
    }

    /// Whether most elements of a place hold more than a reference does, if only another attribute.
    pub(super) fn described(&self, place: &Place<'_>) -> bool {
        let more = |seen: &&Seen| {
            let document = &self.survey.corpus.documents[place.document(seen) as usize];
            let element = &document.elements[seen.element as usize];
            document.attributes_of(element).len() > 1
        };
        let attribute = place.slot.attribute.is_some();
        let seen = &place.slot.seen;
        self.rich(place) || (attribute && 2 * seen.iter().filter(more).count() >= seen.len())
    }
}
