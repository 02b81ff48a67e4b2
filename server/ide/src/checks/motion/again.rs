//! What of a changed animation has to be looked at again.
//!
//! An animation may have thousands of channels, of which a keystroke changes one. What is said of the motions of a part
//! depends on nothing but these. So only the parts are looked at again of which something has changed, and those of
//! which there was something to tell: that is told with places and names that may be others now.

use foldhash::HashSet;
use std::sync::Arc;

use machine::{Entry, Facts};

use super::super::index::Part;
use super::animated::is_among;

/// What an animation was like when it was looked at.
#[derive(Debug, Default)]
pub(super) struct Seen {
    /// What its entries said, by label.
    pub(super) entries: Box<[(u64, Arc<Facts>)]>,
    /// The parts of its channels, each with the label of the entry that has the channel.
    pub(super) parts: Box<[(u64, Part)]>,
    /// Of most animations there is nothing to tell.
    pub(super) loud: Option<Box<Loud>>,
}

/// The entries and parts of which there was something to tell.
#[derive(Debug)]
pub(super) struct Loud {
    entries: Vec<u64>,
    parts: Vec<Part>,
}

impl Loud {
    pub(super) fn boxed(entries: HashSet<u64>, parts: HashSet<Part>) -> Option<Box<Self>> {
        let is_nothing = entries.is_empty() && parts.is_empty();
        (!is_nothing).then(|| {
            Box::new(Self {
                entries: entries.into_iter().collect(),
                parts: parts.into_iter().collect(),
            })
        })
    }
}

impl Seen {
    /// Whether it is the same still. `affected`: the labels of the entries that use names which mean another node.
    pub(super) fn is_same(&self, entries: &[Entry], affected: &HashSet<u64>) -> bool {
        entries.len() == self.entries.len() && self.same(entries, affected).count() == entries.len()
    }

    /// The entries from the first on that are the same still.
    fn same<'s>(
        &'s self,
        entries: &'s [Entry],
        affected: &'s HashSet<u64>,
    ) -> impl Iterator<Item = &'s Entry> {
        let both = entries.iter().zip(&*self.entries);
        let same = both.take_while(|(entry, seen)| is_same(entry, seen, affected));
        same.map(|(entry, _)| entry)
    }
}

fn is_same(entry: &Entry, (label, facts): &(u64, Arc<Facts>), affected: &HashSet<u64>) -> bool {
    entry.label == *label && Arc::ptr_eq(&entry.facts, facts) && !affected.contains(label)
}

/// The entries and parts that have to be looked at again. Sorted: all of an animation are asked for, and mostly these are
/// one or two.
#[derive(Debug, Default)]
pub(super) struct Again {
    is_all: bool,
    entries: Vec<u64>,
    parts: Vec<Part>,
}

impl Again {
    pub(super) fn all() -> Self {
        Self {
            is_all: true,
            ..Self::default()
        }
    }

    /// `parts`: those of the channels that there are now, as in [`Seen`].
    pub(super) fn of(
        seen: &Seen,
        entries: &[Entry],
        parts: &[(u64, Part)],
        affected: &HashSet<u64>,
    ) -> Self {
        let front = seen.same(entries, affected).count();
        let (now, then) = (&entries[front..], &seen.entries[front..]);
        let from_back = now.iter().rev().zip(then.iter().rev());
        let back = from_back.take_while(|(entry, seen)| is_same(entry, seen, affected));
        let back = back.count();
        let (mut again, mut touched) = match &seen.loud {
            Some(loud) => (loud.entries.clone(), loud.parts.clone()),
            None => Default::default(),
        };
        again.extend(now[..now.len() - back].iter().map(|entry| entry.label));
        again.extend(then[..then.len() - back].iter().map(|(label, _)| *label));
        again.sort_unstable();
        again.dedup();
        for parts in [&seen.parts[..], parts] {
            let of_one = parts.chunk_by(|(one, _), (next, _)| one == next);
            for of_one in of_one.filter(|parts| again.binary_search(&parts[0].0).is_ok()) {
                touched.extend(of_one.iter().map(|(_, part)| *part));
            }
        }
        touched.sort_unstable();
        touched.dedup();
        Self {
            is_all: false,
            parts: touched,
            entries: again,
        }
    }

    pub(super) fn has_entry(&self, label: u64) -> bool {
        self.is_all || is_among(&self.entries, &label)
    }

    /// The parts, if not all.
    pub(super) fn parts(&self) -> Option<&[Part]> {
        (!self.is_all).then_some(&self.parts)
    }

    pub(super) fn has_part(&self, part: Part) -> bool {
        self.is_all || is_among(&self.parts, &part)
    }
}
