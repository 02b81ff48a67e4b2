//! One open document: its text, its lines and its tree, kept in step.

use std::{path::PathBuf, sync::Arc};
use syntax::{Change, Encoding, LineIndex, Position, PositionError, TextRange, TextSize, Tree};

/// Documents larger than this are not analysed.
pub const LARGEST_DOCUMENT: usize = 256 << 20;

/// A version of a document. Cheap to clone.
#[derive(Debug, Clone)]
pub struct Document {
    pub path: PathBuf,
    /// The client's number; none for files read from disk.
    pub version: Option<i32>,
    pub text: Arc<String>,
    pub lines: LineIndex,
    pub tree: Tree,
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
            Self::TooLarge => write!(
                f,
                "the document would grow beyond {} MB",
                LARGEST_DOCUMENT >> 20
            ),
        }
    }
}

impl std::error::Error for ChangeError {}

impl Document {
    pub fn new(path: PathBuf, version: Option<i32>, text: String) -> Self {
        Self {
            path,
            version,
            lines: LineIndex::new(&text),
            tree: syntax::parse(&text),
            text: Arc::new(text),
        }
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
                ContentChange::Whole(text) if text.len() > LARGEST_DOCUMENT => {
                    return Err(ChangeError::TooLarge);
                }
                ContentChange::Whole(text) => {
                    *self = Self::new(std::mem::take(&mut self.path), version, text)
                }
                ContentChange::Part { start, end, text } => {
                    self.splice(start, end, &text, encoding)?
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
        insert: &str,
        encoding: Encoding,
    ) -> Result<(), ChangeError> {
        let from = self.place(start, encoding)?;
        let to = self.place(end, encoding)?;
        if to < from {
            return Err(ChangeError::Backwards { start, end });
        }
        if self.text.len() + insert.len() > LARGEST_DOCUMENT {
            return Err(ChangeError::TooLarge);
        }
        let range = TextRange::new(from, to);
        let change = Change {
            range,
            inserted: TextSize::of(insert),
        };
        Arc::make_mut(&mut self.text).replace_range(std::ops::Range::<usize>::from(range), insert);
        self.lines.edit(&self.text, change);
        self.tree = self.tree.edited(&self.text, change);
        Ok(())
    }

    /// Stricter than the place of a question: half of a character cannot be meant.
    fn place(&self, at: Position, encoding: Encoding) -> Result<TextSize, ChangeError> {
        let offset = self
            .lines
            .offset(&self.text, at, encoding)
            .map_err(ChangeError::Position)?;
        let text = self.text.as_bytes();
        // Past the end of its line a column is none, and means the end (LSP 3.17, "Position").
        let is_line_end = matches!(text.get(usize::from(offset)), None | Some(b'\r' | b'\n'));
        if !is_line_end && self.lines.position(&self.text, offset, encoding) != at {
            return Err(ChangeError::InsideCharacter(at));
        }
        Ok(offset)
    }
}
