//! Kinds of names.
//!
//! All that were ever made stay, each once, and who has one has its place: each name of a document has one, and threads
//! that read portions of it would otherwise count back and forth who holds it.

use std::cmp::Ordering;
use std::fmt;
use std::hash::{Hash, Hasher};
use std::ops::Deref;
use std::sync::{LazyLock, Mutex, PoisonError};

use foldhash::HashSet;

/// What a name names: `alias`, `wheel`, `animation` or whatever else the dialect says. One pointer, since each name in a
/// document has one.
#[derive(Clone, Copy)]
pub struct Kind(&'static Word);

/// The kinds of names among which one is looked for. One pointer, since each use of a name in a document has one.
#[derive(Clone, Copy)]
pub struct Kinds(&'static List);

#[derive(Hash, PartialEq, Eq)]
struct Word(Box<str>);

#[derive(Hash, PartialEq, Eq)]
struct List(Box<[Kind]>);

/// The only place of a thing.
struct Places<T: 'static>(LazyLock<Mutex<HashSet<&'static T>>>);

impl<T: Hash + Eq> Places<T> {
    const fn new() -> Self {
        Self(LazyLock::new(Mutex::default))
    }

    fn of(&self, thing: T) -> &'static T {
        // Who panicked while it was locked has left a whole set.
        let mut all = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        match all.get(&thing) {
            Some(known) => known,
            None => {
                let kept = Box::leak(Box::new(thing));
                all.insert(kept);
                kept
            }
        }
    }
}

impl Kind {
    /// The kind with this name.
    pub fn new(name: &str) -> Self {
        static WORDS: Places<Word> = Places::new();
        Self(WORDS.of(Word(name.into())))
    }

    /// Its name.
    pub fn as_str(&self) -> &'static str {
        &self.0.0
    }
}

impl PartialEq for Kind {
    fn eq(&self, other: &Self) -> bool {
        std::ptr::eq(self.0, other.0)
    }
}

impl Eq for Kind {}

// By its name, so that no order depends on where it lies.
impl Hash for Kind {
    fn hash<H: Hasher>(&self, state: &mut H) {
        self.as_str().hash(state);
    }
}

impl Ord for Kind {
    fn cmp(&self, other: &Self) -> Ordering {
        self.as_str().cmp(other.as_str())
    }
}

impl PartialOrd for Kind {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl fmt::Debug for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_tuple("Kind").field(&self.as_str()).finish()
    }
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

impl Deref for Kinds {
    type Target = [Kind];

    fn deref(&self) -> &[Kind] {
        &self.0.0
    }
}

impl<K: Into<Box<[Kind]>>> From<K> for Kinds {
    fn from(kinds: K) -> Self {
        static LISTS: Places<List> = Places::new();
        Self(LISTS.of(List(kinds.into())))
    }
}

impl Default for Kinds {
    fn default() -> Self {
        Self::from([])
    }
}

impl PartialEq for Kinds {
    fn eq(&self, other: &Self) -> bool {
        std::ptr::eq(self.0, other.0)
    }
}

impl Eq for Kinds {}

impl fmt::Debug for Kinds {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        (**self).fmt(f)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equal_kinds_are_one() {
        let (one, same, other) = (Kind::new("crane"), Kind::new("crane"), Kind::new("barge"));
        assert!(one == same && one != other);
        assert!(std::ptr::eq(one.as_str(), same.as_str()));
        assert!(other < one && one.cmp(&same).is_eq());
        let list = |kinds: &[Kind]| Kinds::from(kinds);
        assert!(list(&[one, other]) == list(&[same, other]));
        assert!(list(&[one, other]) != list(&[other, one]));
        assert!(Kinds::default() == list(&[]) && list(&[]).is_empty());
    }
}
