//! A part of the text after an edit: all that its parse looks at.

use rowan::{TextRange, TextSize};

use super::Edit;
use crate::error::FormError;
use crate::parser::Fragment;
use crate::source::Source;
use crate::tag::size;
use crate::tree::Watch;

/// How much text behind a part the window shows at first. In bytes.
pub(super) const ROOM: TextSize = TextSize::new(2 << 10);
/// How many times more it shows each time that was too little.
const MORE: u32 = 16;
/// How much text before a part it shows at least: more than any indentation that counts (`chars::indentation`). In bytes.
const BEFORE: TextSize = TextSize::new(512);
/// How much text it must show behind what was parsed: more than the longest mark that a parser looks for (watches say by
/// themselves how far they looked). In bytes.
const BEHIND: usize = 16;

/// The window showed too little text.
pub(super) struct Short;

impl Edit<'_> {
    /// A piece of the text after the edit; without its last character, if the piece ends inside of that.
    pub(super) fn text(&self, from: TextSize, to: TextSize) -> String {
        let inserted = TextRange::at(self.start, TextSize::of(self.insert));
        let (start, end) = (inserted.start(), inserted.end());
        let before = TextRange::new(from.min(start), to.min(start));
        let within = TextRange::new(from.clamp(start, end), to.clamp(start, end)) - start;
        let behind = TextRange::new(self.before(from.max(end)), self.before(to.max(end)));
        let mut text = String::with_capacity(usize::from(to - from));
        text.push_str(&self.tree.slice(before));
        text.push_str(&self.insert.slice(within));
        text.push_str(&self.tree.slice(behind));
        text
    }

    /// What `parse` makes of the text from `start` on, of which it is expected to look at about as much as up to `end`;
    /// both in the text after the edit. With too little text it is asked again with more.
    pub(super) fn with_text<T>(
        &self,
        start: TextSize,
        end: TextSize,
        parse: impl Fn(&Window) -> Result<Option<T>, Short>,
    ) -> Option<T> {
        let whole = self.after(self.tree.text_len());
        let from = start.checked_sub(BEFORE).unwrap_or_default();
        let base = self.tree.floor(from);
        let mut room = self.room;
        loop {
            let to = TextSize::new(u32::from(end).saturating_add(room.into()).min(whole.into()));
            let to = self.after(self.tree.floor(self.before(to)));
            let window = Window {
                text: self.text(base, to),
                base,
                is_to_end: to == whole,
            };
            match parse(&window) {
                Ok(result) => return result,
                Err(Short) => room = TextSize::new(u32::from(room).saturating_mul(MORE)),
            }
        }
    }
}

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
