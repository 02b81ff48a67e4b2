//! Things that have a number each, found by what they are.

use foldhash::fast::RandomState;
use hashbrown::HashTable;
use std::borrow::Borrow;
use std::hash::{BuildHasher, Hash};

/// Different things, each kept once, with numbers from 0 on. A thing keeps its number until it is forgotten.
#[derive(Debug)]
pub(super) struct Numbered<T> {
    /// By number. What is forgotten stays until its number is given again.
    all: Vec<T>,
    /// Only numbers: the table has room for up to twice as many things as there are.
    numbers: HashTable<u32>,
    free: Vec<u32>,
    hasher: RandomState,
}

impl<T> Default for Numbered<T> {
    fn default() -> Self {
        Self {
            all: Vec::new(),
            numbers: HashTable::new(),
            free: Vec::new(),
            hasher: RandomState::default(),
        }
    }
}

impl<T: Eq + Hash> Numbered<T> {
    /// Makes room for so many more.
    pub(super) fn reserve(&mut self, more: usize) {
        let (all, hasher) = (&self.all, &self.hasher);
        let hash = |number: &u32| hasher.hash_one(&all[*number as usize]);
        self.numbers.reserve(more, hash);
        self.all.reserve(more);
    }

    /// How many there are.
    pub(super) fn len(&self) -> usize {
        self.numbers.len()
    }

    /// By number, with what is forgotten.
    pub(super) fn all(&self) -> &[T] {
        &self.all
    }

    pub(super) fn number<Q: Eq + Hash + ?Sized>(&self, thing: &Q) -> Option<u32>
    where
        T: Borrow<Q>,
    {
        self.hashed(self.hasher.hash_one(thing), thing)
    }

    fn hashed<Q: Eq + ?Sized>(&self, hash: u64, thing: &Q) -> Option<u32>
    where
        T: Borrow<Q>,
    {
        let is_it = |number: &u32| self.all[*number as usize].borrow() == thing;
        self.numbers.find(hash, is_it).copied()
    }

    /// The number of a thing, which it gets if it has none.
    pub(super) fn number_or_new(&mut self, thing: &T) -> u32
    where
        T: Clone,
    {
        let of_thing = self.hasher.hash_one(thing);
        if let Some(known) = self.hashed(of_thing, thing) {
            return known;
        }
        let number = match self.free.pop() {
            Some(number) => {
                self.all[number as usize] = thing.clone();
                number
            }
            None => {
                self.all.push(thing.clone());
                // A document has fewer bytes than that.
                u32::try_from(self.all.len() - 1).unwrap_or(u32::MAX)
            }
        };
        let (all, hasher) = (&self.all, &self.hasher);
        let hash = |number: &u32| hasher.hash_one(&all[*number as usize]);
        self.numbers.insert_unique(of_thing, number, hash);
        number
    }

    /// Gives the number to the next new thing.
    pub(super) fn forget(&mut self, number: u32) {
        let of_thing = self.hasher.hash_one(&self.all[number as usize]);
        if let Ok(known) = self.numbers.find_entry(of_thing, |known| *known == number) {
            known.remove();
            self.free.push(number);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Numbered;
    use crate::random::Random;
    use std::collections::HashMap;

    #[test]
    fn a_thing_is_found_by_what_it_is_as_long_as_it_is_known() {
        let mut names: Numbered<String> = Numbered::default();
        let mut known: HashMap<String, u32> = HashMap::new();
        let mut random = Random::new(7);
        for _ in 0..5_000 {
            let name = format!("n{}", random.below(400));
            match known.remove(&name) {
                Some(number) if random.below(2) == 0 => {
                    names.forget(number);
                    assert_eq!(names.number(name.as_str()), None);
                }
                _ => {
                    let number = names.number_or_new(&name);
                    assert!(known.values().all(|other| *other != number));
                    known.insert(name, number);
                }
            }
            assert_eq!(names.len(), known.len());
        }
        assert!(names.all().len() <= 400, "numbers are given again");
        for (name, number) in &known {
            assert_eq!(names.number(name.as_str()), Some(*number));
            assert_eq!(names.all()[*number as usize], *name);
        }
    }
}
