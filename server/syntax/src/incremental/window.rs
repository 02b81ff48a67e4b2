//! A part of the text after an edit: all that its parse looks at.

use rowan::{TextRange, TextSize};

use crate::error::FormError;
use crate::parser::Fragment;
use crate::tag::size;
use crate::tree::Watch;

/// In bytes. So much before a part is seen at least: more than any indentation that counts (`chars::indentation`).
pub(super) const BEFORE: TextSize = TextSize::new(512);
/// In bytes. So much behind what was parsed must have been there to see, beside what was watched: more than any mark.
const BEHIND: usize = 16;

pub(super) struct Window {
    pub(super) text: String,
    /// Where it starts in the text after the edit.
    pub(super) base: TextSize,
    /// It ends where the text ends.
    pub(super) is_to_end: bool,
}

impl Window {
    /// Where a place in the text after the edit is in the window.
    pub(super) fn place(&self, offset: TextSize) -> usize {
        usize::from(offset - self.base)
    }

    /// The place in the text after the edit.
    pub(super) fn offset(&self, at: usize) -> TextSize {
        self.base + size(at)
    }

    /// Whether a parse that went up to `at` might have come out otherwise with more text.
    pub(super) fn is_short(&self, at: usize, watches: &[Watch]) -> bool {
        let len = self.text.len();
        let is_inside = at + BEHIND <= len && watches.iter().all(|watch| watch.to < size(len));
        !self.is_to_end && !is_inside
    }

    /// What was found in the window, as it is in the text.
    pub(super) fn in_text(&self, mut fragment: Fragment) -> Fragment {
        for error in &mut fragment.errors {
            move_ranges(error, |range| range + self.base);
        }
        for at in &mut fragment.notes.hoisted {
            *at += self.base;
        }
        for watch in &mut fragment.notes.watches {
            watch.from += self.base;
            watch.to += self.base;
        }
        fragment
    }
}

/// Moves all that an error points at.
pub(super) fn move_ranges(error: &mut FormError, moved: impl Fn(TextRange) -> TextRange) {
    let related = error.related.iter_mut().map(|(range, _)| range);
    let edits = error.fix.iter_mut().flat_map(|fix| &mut fix.edits);
    let ranges = related.chain(edits.map(|edit| &mut edit.range));
    for range in ranges.chain([&mut error.range]) {
        *range = moved(*range);
    }
}
