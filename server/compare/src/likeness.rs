//! How alike two elements are.

use foldhash::HashMap;

use crate::document::{Document, Id};

/// From 0 to 1.
pub(crate) type Likeness = f64;

/// So alike must things be that have different names.
pub(crate) const ALIKE: Likeness = 0.5;
/// So alike must things be that have no names.
pub(crate) const SOMEWHAT: Likeness = 0.25;

/// So many children are looked at.
const ENOUGH: usize = 50;

/// The share of attributes and children that both have.
pub(crate) fn of(old: &Document<'_>, one: Id, new: &Document<'_>, other: Id) -> Likeness {
    let (Some(first), Some(second)) = (old.element(one), new.element(other)) else {
        return 0.0;
    };
    let (mut same, mut all) = (0.0, 0.0);
    let mut names = 0.0;
    for attribute in first.attributes() {
        all += 1.0;
        if let Some(there) = second.attribute(attribute.name()) {
            names += 1.0;
            if there.value() == attribute.value() {
                same += 1.0;
            }
        }
    }
    all += second.attributes().count() as f64 - names;
    let children = |document: &Document<'_>, id: Id| -> Vec<u64> {
        let all = document.nodes[id].children.iter().copied();
        all.filter(|child| {
            let node = &document.nodes[*child];
            !matches!(
                node.kind,
                crate::document::Kind::Text { is_blank: true } | crate::document::Kind::Comment
            )
        })
        .take(ENOUGH)
        .map(|child| document.nodes[child].meaning)
        .collect()
    };
    let mut counts: HashMap<u64, usize> = HashMap::default();
    let own = children(old, one);
    for child in &own {
        *counts.entry(*child).or_default() += 1;
    }
    let theirs = children(new, other);
    let mut common = 0.0;
    for child in &theirs {
        if let Some(count) = counts.get_mut(child).filter(|count| **count > 0) {
            *count -= 1;
            common += 1.0;
        }
    }
    same += common;
    all += own.len() as f64 + theirs.len() as f64 - common;
    if all == 0.0 { 1.0 } else { same / all }
}

/// The share of words that two texts have in common.
pub(crate) fn of_words(one: &str, other: &str) -> Likeness {
    fn words(text: &str) -> Vec<&str> {
        let words = text.split(|sign: char| !sign.is_alphanumeric());
        words.filter(|word| !word.is_empty()).take(ENOUGH).collect()
    }
    let (own, mut left) = (words(one), words(other));
    let all = own.len() + left.len();
    for word in own {
        if let Some(at) = left.iter().position(|other| *other == word) {
            left.swap_remove(at);
        }
    }
    let common = words(other).len() - left.len();
    if all == 0 {
        1.0
    } else {
        common as f64 / (all - common) as f64
    }
}
