//! What two versions of an outline have in common.

use super::{Entry, Outline};
use syntax::Portion;

/// How much of a document is cut into the same portions as before, at its front and at its back.
#[derive(Debug)]
pub(super) struct Same {
    pub(super) front: usize,
    /// From where on.
    pub(super) back: usize,
    /// How many entries there were before.
    before: usize,
    now: usize,
}

impl Same {
    pub(super) fn of(portions: &[Portion], before: &Outline) -> Self {
        let old = &before.entries;
        let same = |(new, old): &(&Portion, &Entry)| new.is_same_but_for_content(&old.portion);
        let front = portions.iter().zip(old).take_while(same).count();
        let rest = portions[front..].iter().zip(&old[front..]).len();
        let from_back = portions.iter().rev().zip(old.iter().rev()).take(rest);
        Self {
            front,
            back: portions.len() - from_back.take_while(same).count(),
            before: old.len(),
            now: portions.len(),
        }
    }

    /// From where on before.
    pub(super) fn back_before(&self) -> usize {
        self.back + self.before - self.now
    }

    /// The place that a portion had.
    pub(super) fn place_before(&self, at: usize) -> Option<usize> {
        match at {
            at if at < self.front => Some(at),
            at if at >= self.back => Some(at + self.before - self.now),
            _ => None,
        }
    }
}
