//! What cannot be told apart, itself and all below it (Moore, 1956).

use std::collections::HashMap;
use std::hash::Hash;

/// The class of each thing; classes are numbered as they come. `own`: what each thing is by itself. `below`: the classes
/// of what is below a thing, as they are known so far.
pub(crate) fn classes<O: Hash + Eq, B: Hash + Eq>(
    own: impl Iterator<Item = O>,
    below: impl Fn(usize, &[usize]) -> B,
) -> Vec<usize> {
    let mut classes = numbered(own);
    loop {
        let seen = classes.iter().enumerate();
        let finer = numbered(seen.map(|(at, class)| (*class, below(at, &classes))));
        if finer.iter().max() == classes.iter().max() {
            return classes;
        }
        classes = finer;
    }
}

/// Equal things get equal numbers, in the order in which they come.
fn numbered<T: Hash + Eq>(things: impl Iterator<Item = T>) -> Vec<usize> {
    let mut known: HashMap<T, usize> = HashMap::new();
    let numbers = things.map(|thing| {
        let next = known.len();
        *known.entry(thing).or_insert(next)
    });
    numbers.collect()
}
