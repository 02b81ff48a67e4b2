//! Edits to a text and its tree.

use syntax::{TextEdit, TextRange, TextSize, Tree};

/// Numbers that are random enough, the same in every run.
pub(crate) struct Numbers(pub(crate) u64);

impl Numbers {
    pub(crate) fn below(&mut self, below: usize) -> usize {
        self.0 = self
            .0
            .wrapping_mul(6364136223846793005)
            .wrapping_add(1442695040888963407);
        (self.0 >> 33) as usize % below.max(1)
    }
}

/// Replaces a part of a text, and makes its tree of the one before.
pub(crate) fn edit(
    text: &mut String,
    tree: &Tree,
    at: std::ops::Range<usize>,
    insert: &str,
) -> Tree {
    let size = |at: usize| TextSize::new(at as u32);
    let range = TextRange::new(size(at.start), size(at.end));
    text.replace_range(at, insert);
    tree.edited(&TextEdit::replace(range, insert))
}
