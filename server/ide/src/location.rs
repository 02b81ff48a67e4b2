//! A place to go to.

use std::path::PathBuf;
use syntax::TextRange;

/// A place in this or another document.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Location {
    /// None: the document that was asked about.
    pub path: Option<PathBuf>,
    /// The whole construct. Bytes of the file.
    pub range: TextRange,
    /// The part of it to select.
    pub name: TextRange,
}

impl Location {
    /// A place in the document that was asked about.
    pub fn here(range: TextRange, name: TextRange) -> Self {
        Self {
            path: None,
            range,
            name,
        }
    }

    /// A place in another file.
    pub fn in_file(path: PathBuf, range: TextRange) -> Self {
        Self {
            path: Some(path),
            range,
            name: range,
        }
    }
}
