//! Reading the files beside a large document, its scene above all, while the document itself is read: what it names, it
//! mostly names in its head.

use crate::{disk::Disk, document::Document, settings::SettingsStore, view};
use std::{
    path::{Path, PathBuf},
    sync::Arc,
};

/// From this size on it pays to look ahead.
const LARGE: usize = 64 << 10;
/// How much of the text is looked at for that, in bytes.
pub const HEAD_LENGTH: usize = 4 << 10;

/// The head of a large document.
#[derive(Debug)]
pub(crate) struct Ahead {
    path: PathBuf,
    head: String,
}

impl Ahead {
    /// None: it is not large.
    pub(crate) fn of(path: &Path, text: &str) -> Option<Self> {
        (text.len() >= LARGE).then(|| Self::of_head(path, text))
    }

    /// The same of a document that is known to be large, and of which at least the head is there.
    pub(crate) fn of_head(path: &Path, text: &str) -> Self {
        Self {
            path: path.to_path_buf(),
            head: text[..text.floor_char_boundary(HEAD_LENGTH)].to_owned(),
        }
    }

    /// Reads what the head names. What is found stays in `disk`.
    pub(crate) fn look(self, disk: &Disk, settings: &SettingsStore) {
        let document = Document::new(self.path, None, self.head);
        drop(view::build(Arc::new(document), disk, settings, None));
    }
}
