//! "Did you mean …?" for names, elements, attributes and words.

use std::cell::Cell;

use crate::Trust;

/// What may have been meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Suggestion<'c> {
    pub(super) word: &'c str,
    /// Safe if nothing else comes close, and if it is no sibling of what was written.
    pub(super) trust: Trust,
}

impl Suggestion<'_> {
    /// For the end of a message, with a blank before it.
    pub(super) fn question(&self) -> String {
        format!(" Did you mean `{}`?", self.word)
    }
}

/// The candidate that is closest to `word`, if one is close.
pub(super) fn nearest<'c>(
    word: &str,
    candidates: impl IntoIterator<Item = &'c str, IntoIter: Clone>,
) -> Option<Suggestion<'c>> {
    let candidates = candidates.into_iter();
    let nearest = dialect::nearest(word, candidates.clone())?;
    let second = dialect::nearest(word, candidates.filter(|candidate| *candidate != nearest));
    let trust = match second {
        None if !are_siblings(word, nearest) => Trust::Safe,
        _ => Trust::Review,
    };
    Some(Suggestion {
        word: nearest,
        trust,
    })
}

/// Whether two words differ in nothing but what tells one of several things from another: numbers, or a letter or two, as
/// for the left and the right one.
fn are_siblings(one: &str, other: &str) -> bool {
    let (one, other) = (parts(one), parts(other));
    let differ = |pair: &(&String, &String)| pair.0 != pair.1;
    let is_mark = |part: &str| part.starts_with(char::is_numeric) || part.chars().count() <= 2;
    let mut pairs = one.iter().zip(&other).filter(differ);
    one != other
        && one.len() == other.len()
        && pairs.all(|(one, other)| is_mark(one) && is_mark(other))
}

/// Runs of letters and of digits, in small letters; a capital begins one.
fn parts(word: &str) -> Vec<String> {
    let mut parts: Vec<String> = Vec::new();
    let mut before = ' ';
    for c in word.chars() {
        let is_new = before.is_numeric() != c.is_numeric()
            || before.is_alphabetic() != c.is_alphabetic()
            || before.is_lowercase() && c.is_uppercase();
        if is_new {
            parts.push(String::new());
        }
        if let Some(part) = parts.last_mut().filter(|_| c.is_alphanumeric()) {
            part.extend(c.to_lowercase());
        }
        before = c;
    }
    parts.retain(|part| !part.is_empty());
    parts
}

/// Among more candidates than this nothing is suggested that would have to be looked for in each place anew.
pub(super) const FEW: usize = 500;

/// [`nearest`] where there are only a few candidates.
pub(super) fn of_few<'c>(
    word: &str,
    count: usize,
    candidates: impl IntoIterator<Item = &'c str, IntoIter: Clone>,
) -> Option<Suggestion<'c>> {
    (count <= FEW).then(|| nearest(word, candidates)).flatten()
}

/// Keeps suggestions from taking longer than the checks: a document full of unknown names and of known ones would
/// make it compare each with each.
#[derive(Debug)]
pub(super) struct Budget {
    comparisons: Cell<usize>,
}

impl Budget {
    pub(super) fn new() -> Self {
        Self {
            comparisons: Cell::new(50_000),
        }
    }

    /// [`nearest`] as long as the budget lasts, then none. `count` is how many candidates there are.
    pub(super) fn nearest<'c>(
        &self,
        word: &str,
        count: usize,
        candidates: impl IntoIterator<Item = &'c str, IntoIter: Clone>,
    ) -> Option<Suggestion<'c>> {
        self.take(count)
            .then(|| nearest(word, candidates))
            .flatten()
    }

    /// Whether there is enough left for `count` comparisons; takes them if so.
    pub(super) fn take(&self, count: usize) -> bool {
        let left = self.comparisons.get().checked_sub(count);
        self.comparisons.set(left.unwrap_or(self.comparisons.get()));
        left.is_some()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_single_close_word_is_safe() {
        let found = nearest("mats", ["mast", "beacon"]).unwrap();
        assert_eq!((found.word, found.trust), ("mast", Trust::Safe));
    }

    #[test]
    fn of_several_close_words_one_is_a_guess() {
        let found = nearest("leg.1", ["leg.2", "leg.3"]).unwrap();
        assert_eq!(found.trust, Trust::Review);
    }

    #[test]
    fn the_other_side_and_another_number_are_never_sure() {
        let trust = |word, other| nearest(word, [other]).map(|found| found.trust);
        for (word, other) in [
            ("leg_l", "leg_r"),
            ("legL", "legR"),
            ("fl", "fr"),
            ("wheel 12", "wheel13"),
        ] {
            assert_eq!(trust(word, other), Some(Trust::Review), "{word} {other}");
        }
        for (word, other) in [("leg-l", "leg_l"), ("lge_l", "leg_l"), ("FL", "fl")] {
            assert_eq!(trust(word, other), Some(Trust::Safe), "{word} {other}");
        }
    }

    #[test]
    fn a_far_word_is_no_suggestion() {
        assert_eq!(nearest("boom", ["mast", "beacon"]), None);
    }

    #[test]
    fn the_budget_ends() {
        let budget = Budget {
            comparisons: Cell::new(3),
        };
        assert!(budget.nearest("mats", 2, ["mast", "leg"]).is_some());
        assert!(budget.nearest("mats", 2, ["mast", "leg"]).is_none());
    }
}
