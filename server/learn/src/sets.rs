//! Which names of children were met together in one element.

use crate::symbols::Symbol;
use foldhash::HashMap;

/// Elements with more different sets of children are not looked at for choices.
const MOST: usize = 1000;

/// Sets of names, each with how many elements have just these children.
#[derive(Clone, Debug, Default)]
pub(crate) struct Sets {
    known: HashMap<Box<[Symbol]>, u32>,
    too_many: bool,
}

impl Sets {
    /// `names`: sorted, each once.
    pub(crate) fn add(&mut self, names: &[Symbol], times: u32) {
        if self.too_many {
            return;
        }
        if let Some(known) = self.known.get_mut(names) {
            *known += times;
        } else if self.known.len() < MOST {
            self.known.insert(names.into(), times);
        } else {
            self.too_many = true;
            self.known = HashMap::default();
        }
    }

    pub(crate) fn take_in(&mut self, other: &Sets) {
        self.too_many |= other.too_many;
        for (names, times) in &other.known {
            self.add(names, *times);
        }
        if self.too_many {
            self.known = HashMap::default();
        }
    }

    /// Whether they are all known.
    pub(crate) fn are_known(&self) -> bool {
        !self.too_many
    }

    /// In how many elements at least one of these is.
    pub(crate) fn any(&self, names: &[Symbol]) -> u32 {
        self.count(|set| names.iter().any(|name| set.binary_search(name).is_ok()))
    }

    /// In how many elements both are.
    pub(crate) fn both(&self, one: Symbol, other: Symbol) -> u32 {
        self.count(|set| {
            [one, other]
                .iter()
                .all(|name| set.binary_search(name).is_ok())
        })
    }

    fn count(&self, holds: impl Fn(&[Symbol]) -> bool) -> u32 {
        let sets = self.known.iter().filter(|(set, _)| holds(set));
        sets.map(|(_, times)| times).sum()
    }
}
