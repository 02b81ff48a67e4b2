//! One open document: its lines and its tree, kept in step. The tree holds the text.

use crate::config::Size;
use machine::both;
use std::{
    borrow::Cow,
    path::PathBuf,
    sync::{Arc, OnceLock},
};
use syntax::{
    Encoding, LineIndex, Position, PositionError, Source, TextEdit, TextRange, TextSize, Tree,
};

/// No document grows beyond this, read or not: offsets have 32 bits.
const LARGEST: usize = 1 << 30;

/// From this size on, the text is read by two threads.
const LARGE: usize = 512 << 10;

/// A version of a document. Cheap to clone.
#[derive(Debug, Clone)]
pub struct Document {
    pub path: PathBuf,
    /// The client's number; none for files read from disk.
    pub version: Option<i32>,
    /// All of it in one piece, once somebody has asked for this version or for one before it; that of a document that is too
    /// large from the start.
    text: OnceLock<Arc<String>>,
    pub lines: LineIndex,
    /// That of an empty text if the document is too large.
    pub tree: Tree,
    /// So much is read at most; none: any number, or not asked yet.
    pub(crate) limit: Option<Size>,
}

/// One change as an editor reports it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ContentChange {
    Whole(String),
    Part {
        start: Position,
        end: Position,
        text: String,
    },
}

impl ContentChange {
    /// How many bytes it brings.
    pub(crate) fn inserted(&self) -> usize {
        match self {
            Self::Whole(text) | Self::Part { text, .. } => text.len(),
        }
    }
}

/// Why a change cannot have been meant for this text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ChangeError {
    Position(PositionError),
    /// The end lies before the start.
    Backwards {
        start: Position,
        end: Position,
    },
    /// The position is in the middle of a character, as editors never are.
    InsideCharacter(Position),
    /// A part of an older version than the one that is known.
    OldVersion {
        known: i32,
        told: i32,
    },
    TooLarge,
}

impl std::fmt::Display for ChangeError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Position(error) => error.fmt(f),
            Self::Backwards { start, end } => write!(
                f,
                "the change ends at {}:{}, before it starts at {}:{}",
                end.line, end.column, start.line, start.column
            ),
            Self::InsideCharacter(at) => write!(
                f,
                "{}:{} is in the middle of a character",
                at.line, at.column
            ),
            Self::OldVersion { known, told } => {
                write!(f, "version {told} comes after version {known}")
            }
            Self::TooLarge => write!(f, "the document would grow beyond {} MB", LARGEST >> 20),
        }
    }
}

impl std::error::Error for ChangeError {}

impl Document {
    pub fn new(path: PathBuf, version: Option<i32>, text: String) -> Self {
        Self::within(None, path, version, text)
    }

    /// A document whose text is kept but not read if it has more bytes than
    /// `limit`.
    pub fn within(limit: Option<Size>, path: PathBuf, version: Option<i32>, text: String) -> Self {
        let is_read = limit.is_none_or(|limit| text.len() as u64 <= limit.bytes());
        let read = if is_read { text.as_str() } else { "" };
        let (tree, lines) = match text.len() < LARGE {
            true => (syntax::parse(read), LineIndex::new(&text)),
            false => read_by_two(read, &text),
        };
        let text = match is_read {
            true => OnceLock::new(),
            false => OnceLock::from(Arc::new(text)),
        };
        Self {
            path,
            version,
            text,
            lines,
            tree,
            limit,
        }
    }

    /// The whole text. Put together when first asked for, then held and changed along: who needs a piece of it, or something
    /// at some places, reads the document as a [`Source`].
    pub fn text(&self) -> &Arc<String> {
        self.text.get_or_init(|| Arc::new(self.tree.text()))
    }

    /// What to tell about a text that goes beyond the limit: then nothing is
    /// known of the document but its text.
    pub fn too_large(&self) -> Option<String> {
        let size = u64::from(u32::from(self.text_len()));
        let passed = self.limit.filter(|limit| size > limit.bytes());
        passed.map(|limit| limit.passed_by(size))
    }

    /// Applies changes in order, each to what the one before left.
    ///
    /// # Errors
    /// The first change that does not fit; the document is then half changed
    /// and must not be used any more.
    pub fn change(
        &mut self,
        version: Option<i32>,
        changes: Vec<ContentChange>,
        encoding: Encoding,
    ) -> Result<(), ChangeError> {
        for change in changes {
            match change {
                ContentChange::Whole(text) if text.len() > LARGEST => {
                    return Err(ChangeError::TooLarge);
                }
                ContentChange::Whole(text) => {
                    *self = Self::within(self.limit, std::mem::take(&mut self.path), version, text)
                }
                ContentChange::Part { start, end, text } => {
                    self.splice(start, end, text, encoding)?
                }
            }
        }
        self.version = version;
        Ok(())
    }

    fn splice(
        &mut self,
        start: Position,
        end: Position,
        insert: String,
        encoding: Encoding,
    ) -> Result<(), ChangeError> {
        let from = self.place(start, encoding)?;
        let to = match start == end {
            true => from,
            false => self.place(end, encoding)?,
        };
        if to < from {
            return Err(ChangeError::Backwards { start, end });
        }
        let len = usize::from(self.text_len());
        if len + insert.len() > LARGEST {
            return Err(ChangeError::TooLarge);
        }
        let edit = TextEdit::replace(TextRange::new(from, to), insert);
        let grown = (len - usize::from(edit.range.len()) + edit.insert.len()) as u64;
        let is_too_large = self.limit.is_some_and(|limit| grown > limit.bytes());
        let was_too_large = self.too_large().is_some();
        if is_too_large {
            // It is all that will be known.
            self.text();
        }
        if let Some(text) = self.text.get_mut() {
            let range = std::ops::Range::<usize>::from(edit.range);
            Arc::make_mut(text).replace_range(range, &edit.insert);
        }
        self.tree = match (was_too_large, is_too_large) {
            (false, false) => self.tree.edited(&edit),
            (true, false) => syntax::parse(self.text()),
            (_, true) => syntax::parse(""),
        };
        match self.text.get() {
            Some(text) => self.lines.edit(text.as_str(), edit.change()),
            None => self.lines.edit(&self.tree, edit.change()),
        }
        Ok(())
    }

    /// Stricter than the place of a question: half of a character cannot be meant.
    fn place(&self, at: Position, encoding: Encoding) -> Result<TextSize, ChangeError> {
        let offset = self
            .lines
            .offset(self, at, encoding)
            .map_err(ChangeError::Position)?;
        // Past the end of its line a column is none, and means the end (LSP 3.17, "Position").
        let next = self.slice(TextRange::at(offset, TextSize::of('\n')));
        let is_line_end = offset == self.text_len() || matches!(&*next, "\r" | "\n");
        if !is_line_end && self.lines.position(self, offset, encoding) != at {
            return Err(ChangeError::InsideCharacter(at));
        }
        Ok(offset)
    }
}

/// The tree of what is read of a text, and the lines of all of it.
fn read_by_two(read: &str, text: &str) -> (Tree, LineIndex) {
    let may_hold_forbidden = OnceLock::new();
    // Whoever comes first looks.
    let look = || *may_hold_forbidden.get_or_init(|| syntax::may_hold_forbidden(read));
    let (near, far) = syntax::in_two(read);
    let beside = || {
        look();
        let lines = LineIndex::new(text);
        far.parse();
        lines
    };
    both(|| near.parse(look), beside)
}

impl Source for Document {
    fn text_len(&self) -> TextSize {
        match self.text.get() {
            Some(text) => text.text_len(),
            None => self.tree.text_len(),
        }
    }

    fn floor(&self, offset: TextSize) -> TextSize {
        match self.text.get() {
            Some(text) => text.floor(offset),
            None => self.tree.floor(offset),
        }
    }

    fn slice(&self, range: TextRange) -> Cow<'_, str> {
        match self.text.get() {
            Some(text) => text.slice(range),
            None => self.tree.slice(range),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn document(text: &str) -> Document {
        Document::new(PathBuf::new(), None, text.to_owned())
    }

    #[test]
    fn what_may_not_stand_in_a_text_is_found_in_a_large_document_as_in_any() {
        for repeated in [1, 50_000] {
            let comments = "<!-- \u{FEFC} -->\r\n".repeat(repeated);
            assert_eq!(repeated > 1, comments.len() > LARGE);
            for odd in ["", "\u{1}", "\u{FFFE}"] {
                let text = format!("<machine>{comments}{odd}</machine>");
                let tree = document(&text).tree;
                assert_eq!(tree.errors(), syntax::parse(&text).errors());
                assert_eq!(tree.errors().is_empty(), odd.is_empty(), "{odd:?}");
            }
        }
    }

    #[test]
    fn a_document_has_its_lines_and_its_tree_however_large_it_is() {
        for repeated in [1, 10, 100_000] {
            let row = "<a b=\"1\"><!-- a --></a>\r\n";
            let text = format!("<machine>{}</machine>", row.repeat(repeated));
            let document = document(&text);
            assert_eq!(document.lines, LineIndex::new(&text));
            assert_eq!(document.lines.line_count() as usize, repeated + 1);
            assert_eq!(document.tree.text(), text);
            assert!(document.tree.errors().is_empty());
            let rows = document.tree.root().map(|root| root.children().count());
            assert_eq!(rows, Some(repeated));
        }
    }
}
