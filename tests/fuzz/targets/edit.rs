//! A text and edits of it: after each, text, lines and tree are those of a document that was opened afresh.
//!
//! The input is the text, a zero byte, then for each edit its place and how much it removes (two bytes each) and what
//! it inserts, up to a zero byte.
#![no_main]

use acceptance::trees;
use fuzz::{Bytes, boundary};
use libfuzzer_sys::fuzz_target;
use syntax::{LineIndex, TextEdit, TextRange, TextSize};

fuzz_target!(|data: &[u8]| {
    let mut bytes = Bytes::new(data);
    let mut text = bytes.text();
    let mut tree = syntax::parse(&text);
    let mut lines = LineIndex::new(&text);
    while !bytes.is_empty() {
        let start = boundary(&text, bytes.number() % (text.len() + 1));
        let removed = bytes.number();
        // Most edits are small.
        let removed = if removed < 0xF000 {
            removed % 16
        } else {
            removed
        };
        let end = boundary(&text, (start + removed).min(text.len())).max(start);
        let insert = bytes.text();
        text.replace_range(start..end, &insert);
        let edit = TextEdit::replace(TextRange::new(size(start), size(end)), insert);
        tree = tree.edited(&edit);
        lines.edit(&tree, edit.change());
        assert_eq!(lines, LineIndex::new(&text), "lines of {text:?}");
        let fresh = syntax::parse(&text);
        if let Some(difference) = trees::difference(&tree, &fresh) {
            panic!("after {edit:?}: {difference}\n{text}");
        }
    }
});

fn size(offset: usize) -> TextSize {
    TextSize::new(u32::try_from(offset).expect("fuzzers make small texts"))
}
