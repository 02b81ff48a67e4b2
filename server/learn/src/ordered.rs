//! A table by name that remembers in which order the names were met.

use crate::symbols::Symbol;
use foldhash::HashMap;

#[derive(Clone, Debug)]
pub(crate) struct Ordered<T> {
    list: Vec<(Symbol, T)>,
    places: HashMap<Symbol, usize>,
}

impl<T> Default for Ordered<T> {
    fn default() -> Self {
        Self {
            list: Vec::new(),
            places: HashMap::default(),
        }
    }
}

impl<T: Default> Ordered<T> {
    /// The entry of a name; a new one if need be.
    pub(crate) fn entry(&mut self, name: Symbol) -> &mut T {
        let next = self.list.len();
        let at = *self.places.entry(name).or_insert(next);
        if at == next {
            self.list.push((name, T::default()));
        }
        &mut self.list[at].1
    }
}

impl<T> Ordered<T> {
    pub(crate) fn get(&self, name: Symbol) -> Option<&T> {
        self.places.get(&name).map(|at| &self.list[*at].1)
    }

    pub(crate) fn iter(&self) -> impl Iterator<Item = (Symbol, &T)> {
        self.list.iter().map(|(name, value)| (*name, value))
    }

    pub(crate) fn len(&self) -> usize {
        self.list.len()
    }

    pub(crate) fn clear(&mut self) {
        self.list.clear();
        self.places.clear();
    }
}
