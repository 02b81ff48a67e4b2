//! Byte offsets to line and column, and back, in the three encodings that editors count columns in.

use std::fmt;
use std::ops::RangeInclusive;
use std::sync::OnceLock;

use memchr::{memchr_iter, memchr2_iter};
use rowan::{TextRange, TextSize};

use crate::{Change, Source};

/// What a column counts.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Encoding {
    /// Bytes of UTF-8.
    Utf8,
    /// 16-bit units of UTF-16; what an editor counts unless another way was agreed on.
    #[default]
    Utf16,
    /// Characters (Unicode scalar values).
    Utf32,
}

/// A place in a text: line and column, both from zero; the column counts units of an [`Encoding`].
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Position {
    pub line: u32,
    pub column: u32,
}

/// A position on a line that the text does not have.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PositionError {
    pub line: u32,
    pub line_count: u32,
}

impl fmt::Display for PositionError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { line, line_count } = self;
        write!(
            f,
            "there is no line {} in a text of {line_count} lines",
            u64::from(*line) + 1
        )
    }
}

impl std::error::Error for PositionError {}

/// Where the lines of one text start. Lines end with `\n`, `\r\n` or `\r`.
///
/// The index holds no text: every method that takes one expects the very text the index was made for.
/// With another text the answers are wrong, but nothing panics.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LineIndex {
    /// Byte offsets, ascending; the first is 0.
    starts: Vec<u32>,
    len: u32,
    counted: Counted,
}

/// Bytes: in shorter lines columns are counted each time anew.
const STRETCH: usize = 1 << 14;

/// How many units there are before each [`STRETCH`] of the text. Counted when somebody asks for a place in a long line:
/// thousands may be asked for, and each would have the line counted from its start.
#[derive(Debug, Default)]
struct Counted {
    utf16: OnceLock<Vec<u32>>,
    utf32: OnceLock<Vec<u32>>,
}

impl Counted {
    /// How many units there are before `offset`, which is at a character's start.
    fn before(&self, text: &(impl Source + ?Sized), offset: TextSize, encoding: Encoding) -> u32 {
        let Some(known) = self.stretches(text, encoding) else {
            return offset.into();
        };
        let stretch = (usize::from(offset) / STRETCH).min(known.len() - 1);
        let start = start_of(stretch);
        known[stretch] + encoding.units(&text.slice(TextRange::new(start, offset.max(start))))
    }

    /// The start of the character that holds the unit of this number; the text's end if there is none.
    fn place(&self, text: &(impl Source + ?Sized), unit: u32, encoding: Encoding) -> TextSize {
        let Some(known) = self.stretches(text, encoding) else {
            return text.floor(unit.into());
        };
        let stretch = known.partition_point(|&before| before <= unit) - 1;
        let range = TextRange::new(start_of(stretch), start_of(stretch + 1));
        let within = offset_of_unit(
            &text.slice(range),
            (unit - known[stretch]) as usize,
            encoding,
        );
        text.floor(range.start()) + TextSize::new(within as u32)
    }

    /// None: units are bytes.
    fn stretches(&self, text: &(impl Source + ?Sized), encoding: Encoding) -> Option<&Vec<u32>> {
        let known = match encoding {
            Encoding::Utf8 => return None,
            Encoding::Utf16 => &self.utf16,
            Encoding::Utf32 => &self.utf32,
        };
        Some(known.get_or_init(|| {
            let mut sum = 0;
            let count = usize::from(text.text_len()).div_ceil(STRETCH).max(1);
            let stretches = (0..count).map(|stretch| {
                let before = sum;
                let range = TextRange::new(start_of(stretch), start_of(stretch + 1));
                sum += encoding.units(&text.slice(range));
                before
            });
            stretches.collect()
        }))
    }
}

fn start_of(stretch: usize) -> TextSize {
    TextSize::new((stretch * STRETCH).min(u32::MAX as usize) as u32)
}

/// What is counted is counted again when somebody asks.
impl Clone for Counted {
    fn clone(&self) -> Self {
        Self::default()
    }
}

/// It follows from the text.
impl PartialEq for Counted {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

impl Eq for Counted {}

impl LineIndex {
    /// Texts are shorter than 4 GiB ([`crate::decode::bytes`] refuses longer ones).
    pub fn new(text: &str) -> Self {
        let mut starts = vec![0];
        push_starts(text.as_bytes(), 0, 1..=text.len(), &mut starts);
        Self {
            starts,
            len: text.len() as u32,
            counted: Counted::default(),
        }
    }

    /// Makes this the index of `text`, the text after `change`: the lines behind the change are shifted in place, only
    /// what was inserted is scanned.
    pub fn edit(&mut self, text: &(impl Source + ?Sized), change: Change) {
        let (old_start, old_end) = (
            u32::from(change.range.start()),
            u32::from(change.range.end()),
        );
        let inserted = u32::from(change.inserted);
        // Whether a line starts at an offset depends on the bytes on both sides of it. So the starts before the
        // change's first byte and behind its last byte stand; those at its edges may be split or joined \r\n.
        let kept = self
            .starts
            .partition_point(|&start| start < old_start || start == 0);
        let tail = self
            .starts
            .partition_point(|&start| start <= old_end || start == 0);
        let moved = old_start.wrapping_add(inserted).wrapping_sub(old_end);
        for start in self.starts.get_mut(tail..).unwrap_or_default() {
            *start = start.wrapping_add(moved);
        }
        let mut new = Vec::new();
        let (first, last) = (old_start.max(1), old_start.saturating_add(inserted));
        // With the bytes on both sides of it.
        let from = text.floor((first - 1).into());
        let around = text.slice(TextRange::new(
            from,
            from.max((last.saturating_add(1)).into()),
        ));
        push_starts(
            around.as_bytes(),
            from.into(),
            first as usize..=last as usize,
            &mut new,
        );
        self.starts.splice(kept..tail.max(kept), new);
        self.len = text.text_len().into();
        self.counted = Counted::default();
    }

    /// At least 1: an empty text has one empty line, and so has a text behind its last line break.
    pub fn line_count(&self) -> u32 {
        self.starts.len() as u32
    }

    /// The line that holds `offset`; the last line for an offset past the end.
    pub fn line_of(&self, offset: TextSize) -> u32 {
        self.starts
            .partition_point(|&start| start <= u32::from(offset)) as u32
            - 1
    }

    /// The whole line with its line break; None past the last line.
    pub fn line_range(&self, line: u32) -> Option<TextRange> {
        let start = *self.starts.get(line as usize)?;
        let end = self
            .starts
            .get(line as usize + 1)
            .copied()
            .unwrap_or(self.len);
        Some(TextRange::new(start.into(), end.into()))
    }

    /// The line without its line break; None past the last line.
    pub fn line_content_range(
        &self,
        text: &(impl Source + ?Sized),
        line: u32,
    ) -> Option<TextRange> {
        let range = self.line_range(line)?;
        let longest = TextSize::of("\r\n");
        let last = range.end().checked_sub(longest).unwrap_or_default();
        let last = text.slice(TextRange::new(last.max(range.start()), range.end()));
        let ending = match last.as_bytes() {
            [.., b'\r', b'\n'] => longest,
            [.., b'\n' | b'\r'] => TextSize::of("\n"),
            _ => TextSize::new(0),
        };
        Some(TextRange::new(range.start(), range.end() - ending))
    }

    /// Line and column of `offset`. An offset inside a character or inside a `\r\n` means the place before it; an
    /// offset past the end of the text means its end.
    pub fn position(
        &self,
        text: &(impl Source + ?Sized),
        offset: TextSize,
        encoding: Encoding,
    ) -> Position {
        let line = self.line_of(offset);
        let range = self.line_range(line).unwrap_or_default();
        // What is not at the end of its line needs no look at it: that may be far away.
        let offset = match offset + TextSize::of("\r\n") <= range.end() {
            true => offset,
            false => {
                let content = self.line_content_range(text, line).unwrap_or_default();
                offset.min(content.end())
            }
        };
        let start = range.start();
        let column = match usize::from(offset - start) > STRETCH {
            true => {
                let before = |offset| self.counted.before(text, text.floor(offset), encoding);
                before(offset).saturating_sub(before(start))
            }
            false => encoding.units(&text.slice(TextRange::new(start, offset))),
        };
        Position { line, column }
    }

    /// The byte offset of `position`. A column past the end of its line means the end of the line, before its line
    /// break; a column inside a character (half of a surrogate pair, the middle of a UTF-8 sequence) means the
    /// place before that character. The line after the last means the end of the text: editors write a range to
    /// the end of a document that way.
    ///
    /// # Errors
    /// The text has no such line.
    pub fn offset(
        &self,
        text: &(impl Source + ?Sized),
        position: Position,
        encoding: Encoding,
    ) -> Result<TextSize, PositionError> {
        let Position { line, column } = position;
        if line == self.line_count() {
            return Ok(text.text_len());
        }
        let content = self.line_content_range(text, line).ok_or(PositionError {
            line,
            line_count: self.line_count(),
        })?;
        let start = content.start();
        if column as usize > STRETCH {
            let unit = self
                .counted
                .before(text, start, encoding)
                .saturating_add(column);
            return Ok(self.counted.place(text, unit, encoding).min(content.end()));
        }
        // A character has no more bytes than four for each of its units.
        let most = TextSize::new(4 * (column + 1)).min(content.len());
        let text = text.slice(TextRange::at(start, most));
        let within = offset_of_unit(&text, column as usize, encoding);
        Ok(start + TextSize::new(within as u32))
    }
}

/// Adds the line starts among these offsets of a text, of which these are the `bytes` from `base` on, up to one behind the
/// last offset. The first offset is behind `base`. Takes room for just so many: as they come, a list of millions would take
/// three times its room.
fn push_starts(bytes: &[u8], base: usize, offsets: RangeInclusive<usize>, starts: &mut Vec<u32>) {
    let (from, to) = (offsets.start() - base, *offsets.end() - base);
    let Some(breaks) = bytes.get(from - 1..to.min(bytes.len())) else {
        return;
    };
    let is_behind_line =
        |start: &usize| bytes[start - 1] == b'\n' || bytes.get(*start) != Some(&b'\n');
    let behind = |at: usize| from + at;
    let offset = |start: usize| (base + start) as u32;
    if memchr_iter(b'\r', breaks)
        .map(behind)
        .any(|start| is_behind_line(&start))
    {
        let both = memchr2_iter(b'\n', b'\r', breaks)
            .map(behind)
            .filter(is_behind_line);
        starts.reserve_exact(both.clone().count());
        starts.extend(both.map(offset));
    } else {
        // One byte to look for is found sooner than one of two, and counted much sooner.
        starts.reserve_exact(memchr_iter(b'\n', breaks).count());
        starts.extend(memchr_iter(b'\n', breaks).map(behind).map(offset));
    }
}

impl Encoding {
    /// How many columns a text takes.
    pub fn units(self, text: &str) -> u32 {
        let count = match self {
            Self::Utf8 => text.len(),
            _ if text.is_ascii() => text.len(),
            Self::Utf16 => text.chars().map(char::len_utf16).sum(),
            Self::Utf32 => text.chars().count(),
        };
        count as u32
    }
}

/// The byte offset of the character that holds the `column`-th unit; the text's length if there is none.
fn offset_of_unit(text: &str, column: usize, encoding: Encoding) -> usize {
    // A character has at least as many bytes as units in any encoding, so an ASCII text needs no counting.
    if encoding == Encoding::Utf8 || text.is_ascii() {
        return text.floor_char_boundary(column);
    }
    let mut counted = 0;
    for (offset, character) in text.char_indices() {
        counted += match encoding {
            Encoding::Utf8 => character.len_utf8(),
            Encoding::Utf16 => character.len_utf16(),
            Encoding::Utf32 => 1,
        };
        if counted > column {
            return offset;
        }
    }
    text.len()
}

#[cfg(test)]
mod tests;
