//! The values of a place, counted.

use crate::survey::{Group, Slot};
use crate::symbols::Symbol;
use foldhash::{HashMap, HashMapExt as _};

/// How often something was seen.
#[derive(Copy, Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Tally {
    /// In how many places.
    pub places: u32,
    /// In how many files.
    pub files: u32,
}

/// All values of some slots together.
#[derive(Clone, Debug, Default)]
pub struct Values {
    /// Each value once: the most frequent first, of equals the one met first.
    pub each: Vec<(Symbol, Tally)>,
    /// All places and files together.
    pub all: Tally,
}

impl Values {
    /// Counts the values of slots, each with its group. What stands in files that are not to
    /// be trusted is left out.
    pub fn of<'s>(slots: impl IntoIterator<Item = (&'s Group, &'s Slot)>) -> Self {
        let mut seen: Vec<(u32, Symbol)> = Vec::new();
        for (group, slot) in slots {
            let trusted = slot.seen.iter().filter(|seen| group.trusts(seen.document));
            seen.extend(trusted.map(|seen| (group.documents[seen.document as usize], seen.value)));
        }
        // Slots of one group share files; the values of one file must lie together.
        if !seen.is_sorted_by_key(|(document, _)| *document) {
            seen.sort_by_key(|(document, _)| *document);
        }
        let mut known: HashMap<Symbol, (usize, u32)> = HashMap::new();
        let mut values = Self::default();
        let mut before = None;
        for (document, value) in seen {
            values.all.places += 1;
            values.all.files += u32::from(before.replace(document) != Some(document));
            let at = values.each.len();
            match known.get_mut(&value) {
                Some((at, last)) => {
                    let tally = &mut values.each[*at].1;
                    tally.places += 1;
                    tally.files += u32::from(*last != document);
                    *last = document;
                }
                None => {
                    known.insert(value, (at, document));
                    let (places, files) = (1, 1);
                    values.each.push((value, Tally { places, files }));
                }
            }
        }
        values
            .each
            .sort_by_key(|(_, tally)| std::cmp::Reverse(tally.places));
        values
    }

    /// Whether a claim about values holds: the exceptions are few and far between. A value that
    /// comes again in several files is no slip.
    pub fn hold(&self, mut fits: impl FnMut(Symbol) -> bool) -> bool {
        let rare = 1 + self.all.files / 100;
        let most = self.all.places / 20;
        let mut exceptions = 0;
        for (value, tally) in &self.each {
            if !fits(*value) {
                exceptions += tally.places;
                if exceptions > most || tally.files > rare {
                    return false;
                }
            }
        }
        true
    }
}
