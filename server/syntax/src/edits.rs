//! Text edits as values, and their application to a text.

use std::fmt;

use rowan::{TextRange, TextSize};

/// Replaces the bytes of `range` by `insert`. Ranges are byte offsets into the text before the edit.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct TextEdit {
    pub range: TextRange,
    pub insert: String,
}

impl TextEdit {
    /// Puts text in the place of another.
    pub fn replace(range: TextRange, insert: impl Into<String>) -> Self {
        Self {
            range,
            insert: insert.into(),
        }
    }

    /// Puts text in before the byte at `offset`.
    pub fn insert(offset: TextSize, insert: impl Into<String>) -> Self {
        Self::replace(TextRange::empty(offset), insert)
    }

    /// Takes text out.
    pub fn delete(range: TextRange) -> Self {
        Self::replace(range, "")
    }

    /// The shape of this edit, for what follows a document through its changes.
    pub fn change(&self) -> Change {
        Change {
            range: self.range,
            inserted: TextSize::of(self.insert.as_str()),
        }
    }
}

/// The shape of one edit: `range` of the text before it gave way to `inserted` bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Change {
    pub range: TextRange,
    pub inserted: TextSize,
}

/// Why a set of edits does not fit a text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum EditError {
    OutOfBounds {
        range: TextRange,
        text_len: TextSize,
    },
    InsideCharacter {
        offset: TextSize,
    },
    Overlap {
        first: TextRange,
        second: TextRange,
    },
}

impl fmt::Display for EditError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::OutOfBounds { range, text_len } => {
                write!(
                    f,
                    "the edit of bytes {range:?} does not fit a text of {text_len:?} bytes"
                )
            }
            Self::InsideCharacter { offset } => {
                write!(
                    f,
                    "the edit would cut a character in two at byte {offset:?}"
                )
            }
            Self::Overlap { first, second } => {
                write!(
                    f,
                    "two edits touch the same text: bytes {first:?} and {second:?}"
                )
            }
        }
    }
}

impl std::error::Error for EditError {}

/// Applies all `edits` to `text` at once; every range is in `text`, the order of the slice is free.
///
/// Insertions at the same offset land in the order of the slice, and before a replacement that starts there
/// (LSP 3.17, "TextEdit[]").
///
/// # Errors
/// An edit outside the text or inside a character, or two edits of the same bytes. The text is then left alone.
pub fn apply(text: &str, edits: &[TextEdit]) -> Result<String, EditError> {
    let mut sorted: Vec<&TextEdit> = edits.iter().collect();
    sorted.sort_by_key(|edit| (edit.range.start(), edit.range.end()));
    for pair in sorted.windows(2) {
        if pair[1].range.start() < pair[0].range.end() {
            return Err(EditError::Overlap {
                first: pair[0].range,
                second: pair[1].range,
            });
        }
    }
    let grown: usize = edits.iter().map(|edit| edit.insert.len()).sum();
    let mut result = String::with_capacity(text.len() + grown);
    let mut done = TextSize::new(0);
    for edit in sorted {
        result.push_str(slice(text, TextRange::new(done, edit.range.start()))?);
        slice(text, edit.range)?;
        result.push_str(&edit.insert);
        done = edit.range.end();
    }
    result.push_str(&text[usize::from(done)..]);
    Ok(result)
}

fn slice(text: &str, range: TextRange) -> Result<&str, EditError> {
    let (start, end) = (usize::from(range.start()), usize::from(range.end()));
    if end > text.len() {
        return Err(EditError::OutOfBounds {
            range,
            text_len: TextSize::of(text),
        });
    }
    for (at, offset) in [(start, range.start()), (end, range.end())] {
        if !text.is_char_boundary(at) {
            return Err(EditError::InsideCharacter { offset });
        }
    }
    Ok(&text[start..end])
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn range(start: u32, end: u32) -> TextRange {
        TextRange::new(start.into(), end.into())
    }

    #[test]
    fn edits_in_any_order_refer_to_the_text_before() {
        let edits = [
            TextEdit::delete(range(4, 5)),
            TextEdit::replace(range(0, 1), "long"),
        ];
        assert_eq!(apply("abcdef", &edits).unwrap(), "longbcdf");
    }

    #[test]
    fn insertions_at_one_offset_keep_their_order_and_precede_a_replacement() {
        let edits = [
            TextEdit::replace(range(1, 2), "X"),
            TextEdit::insert(1.into(), "1"),
            TextEdit::insert(1.into(), "2"),
        ];
        assert_eq!(apply("abc", &edits).unwrap(), "a12Xc");
    }

    #[test]
    fn neighbours_do_not_overlap() {
        let edits = [
            TextEdit::delete(range(0, 2)),
            TextEdit::replace(range(2, 3), "Z"),
        ];
        assert_eq!(apply("abc", &edits).unwrap(), "Z");
    }

    #[test]
    fn overlapping_edits_are_refused() {
        let edits = [TextEdit::delete(range(0, 2)), TextEdit::delete(range(1, 3))];
        assert_eq!(
            apply("abc", &edits),
            Err(EditError::Overlap {
                first: range(0, 2),
                second: range(1, 3)
            })
        );
    }

    #[test]
    fn an_insertion_inside_a_replaced_range_is_refused() {
        let edits = [
            TextEdit::delete(range(0, 2)),
            TextEdit::insert(1.into(), "x"),
        ];
        assert!(matches!(
            apply("abc", &edits),
            Err(EditError::Overlap { .. })
        ));
    }

    #[test]
    fn an_edit_past_the_end_is_refused() {
        let edit = TextEdit::insert(4.into(), "x");
        assert!(matches!(
            apply("abc", &[edit]),
            Err(EditError::OutOfBounds { .. })
        ));
        assert_eq!(
            apply("abc", &[TextEdit::insert(3.into(), "x")]).unwrap(),
            "abcx"
        );
    }

    #[test]
    fn an_edit_inside_a_character_is_refused() {
        let edit = TextEdit::delete(range(0, 1));
        assert_eq!(
            apply("ö", &[edit]),
            Err(EditError::InsideCharacter { offset: 1.into() })
        );
    }

    proptest! {
        /// All edits at once give what one edit after the other gives, the last first.
        #[test]
        fn at_once_equals_one_by_one(
            pieces in prop::collection::vec(("[a-dö😀]{0,3}", "[a-dö😀]{1,3}", "[xyé]{0,2}"), 0..6),
        ) {
            let (mut text, mut edits) = (String::new(), Vec::new());
            for (kept, replaced, insert) in &pieces {
                text.push_str(kept);
                let start = TextSize::of(&text);
                text.push_str(replaced);
                edits.push(TextEdit::replace(TextRange::new(start, TextSize::of(&text)), insert));
            }
            let mut one_by_one = text.clone();
            for edit in edits.iter().rev() {
                one_by_one.replace_range(std::ops::Range::<usize>::from(edit.range), &edit.insert);
            }
            edits.reverse();
            prop_assert_eq!(apply(&text, &edits).unwrap(), one_by_one);
        }
    }
}
