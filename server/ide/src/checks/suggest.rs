//! "Did you mean …?" for names, elements, attributes and words.

use std::cell::Cell;

use crate::Trust;

/// What may have been meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Suggestion<'c> {
    pub(super) word: &'c str,
    /// Safe if nothing else comes close.
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
    let trust = if second.is_none() {
        Trust::Safe
    } else {
        Trust::Review
    };
    Some(Suggestion {
        word: nearest,
        trust,
    })
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
