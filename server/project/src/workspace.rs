//! The one writer: takes what the editor says, in the order in which it is
//! said, and gives out snapshots.

use crate::{
    ahead::Ahead,
    config::Size,
    disk::Disk,
    document::{ChangeError, ContentChange, Document},
    libraries::Libraries,
    settings::SettingsStore,
    snapshot::{Before, Slot, Snapshot},
};
use std::{
    collections::{HashMap, VecDeque},
    path::{Path, PathBuf},
    sync::Arc,
    thread,
};
use syntax::{Encoding, Source};

/// So many closed documents are remembered.
const MOST_CLOSED: usize = 16;
/// What is larger is forgotten when it is closed: what was read in it takes room.
const LARGEST_CLOSED: usize = 1 << 20;

/// All open documents and what is known of the disk around them.
#[derive(Debug, Default)]
pub struct Workspace {
    slots: HashMap<PathBuf, Arc<Slot>>,
    /// What was known of documents when they were closed, above all which scene they were written for; the last one
    /// was closed last.
    closed: VecDeque<(PathBuf, Before)>,
    /// A document for which the files beside it are read already.
    expected: Option<PathBuf>,
    disk: Arc<Disk>,
    settings: Arc<SettingsStore>,
    libraries: Arc<Libraries>,
}

impl Workspace {
    /// With settings that somebody else reads too, and trusts or not.
    pub fn with(settings: Arc<SettingsStore>) -> Self {
        Self {
            settings,
            ..Self::default()
        }
    }

    /// To be called before any document is opened: see [`SettingsStore::distrust`].
    pub fn distrust(&self) {
        self.settings.distrust();
    }

    /// Has the files read beside a large document that will be opened next, of whose text no more than the head
    /// ([`crate::HEAD_LENGTH`]) need have come.
    pub fn expect(&mut self, path: PathBuf, head: &str) {
        self.disk.changed();
        self.look_ahead(Ahead::of_head(&path, head));
        self.expected = Some(path);
    }

    /// Opens a document, or opens it again with a new text.
    pub fn open(&mut self, path: PathBuf, version: Option<i32>, text: String) {
        self.disk.changed();
        if self.expected.take().as_ref() != Some(&path)
            && let Some(ahead) = Ahead::of(&path, &text)
        {
            self.look_ahead(ahead);
        }
        let limit = limit(&self.settings, &path, text.len());
        let document = Document::within(limit, path.clone(), version, text);
        let closed = self.closed.iter().position(|(known, _)| *known == path);
        let before = closed.and_then(|at| self.closed.remove(at));
        let before = before.map(|(_, before)| before);
        let slot = Slot::of(Arc::new(document), before);
        self.slots.insert(path, slot);
    }

    /// Has the files beside a large document read while the document itself is.
    fn look_ahead(&self, ahead: Ahead) {
        let (disk, settings) = (self.disk.clone(), self.settings.clone());
        // A thread that cannot be had is no loss.
        let _ = thread::Builder::new().spawn(move || ahead.look(&disk, &settings));
    }

    /// Applies an editor's changes to an open document.
    ///
    /// # Errors
    /// When the document is not open, or a change cannot have been meant for
    /// its text: it lies outside, or belongs to an older version than the one
    /// that is known. (An equal version is taken: changes come in order, and
    /// some editors do not count.) The document is then out of step until its
    /// whole text comes again.
    pub fn change(
        &mut self,
        path: &Path,
        version: Option<i32>,
        mut changes: Vec<ContentChange>,
        encoding: Encoding,
    ) -> Result<(), WorkspaceError> {
        let slot = self.slots.get_mut(path).ok_or(WorkspaceError::NotOpen)?;
        // What comes before a whole text does not matter any more.
        let whole = changes
            .iter()
            .rposition(|change| matches!(change, ContentChange::Whole(_)));
        changes.drain(..whole.unwrap_or(0));
        let mut document = match (slot.document.clone(), whole) {
            (Some(document), _) => document,
            (None, Some(_)) => Arc::new(Document::new(path.to_path_buf(), version, String::new())),
            (None, None) => return Err(WorkspaceError::OutOfStep),
        };
        let before = slot.before();
        // The old version's hold on the text goes first, so that the text
        // can be edited in place when no worker reads it any more.
        *slot = Slot::out_of_step();
        if let (Some(known), Some(told), None) = (document.version, version, whole)
            && told < known
        {
            return Err(WorkspaceError::Change(ChangeError::OldVersion {
                known,
                told,
            }));
        }
        let document_then = Arc::make_mut(&mut document);
        let most = changes.iter().map(ContentChange::inserted).sum::<usize>();
        if document_then.limit.is_none() {
            let most = most + usize::from(document_then.text_len());
            document_then.limit = limit(&self.settings, path, most);
        }
        document_then
            .change(version, changes, encoding)
            .map_err(WorkspaceError::Change)?;
        *slot = Slot::of(document, before);
        Ok(())
    }

    /// A change got lost: the document is out of step until its whole text
    /// comes again. Whether it was in step before.
    pub fn lose(&mut self, path: &Path) -> bool {
        match self.slots.get_mut(path) {
            Some(slot) if slot.document.is_some() => {
                *slot = Slot::out_of_step();
                true
            }
            _ => false,
        }
    }

    /// Closes a document. What its scene was stays known for when it is opened again.
    pub fn close(&mut self, path: &Path) {
        let Some(slot) = self.slots.remove(path) else {
            return;
        };
        let document = slot.document.as_ref();
        let is_small =
            document.is_some_and(|document| usize::from(document.text_len()) <= LARGEST_CLOSED);
        if let Some(before @ Before::Known(_)) = slot.before().filter(|_| is_small) {
            self.closed.push_back((path.to_path_buf(), before));
            if self.closed.len() > MOST_CLOSED {
                self.closed.pop_front();
            }
        }
    }

    /// Files may have come, gone or changed: every view is made anew.
    pub fn disk_changed(&mut self) {
        self.disk.changed();
        self.renew();
    }

    /// The libraries that documents are compared with.
    pub fn libraries(&self) -> &Arc<Libraries> {
        &self.libraries
    }

    /// Every view is made anew when it is asked for: a library is there now.
    pub fn renew(&mut self) {
        for slot in self.slots.values_mut() {
            *slot = slot.renewed();
        }
    }

    /// What is known now. Cheap; later changes do not reach it.
    pub fn snapshot(&self) -> Snapshot {
        Snapshot::new(
            self.slots.clone(),
            self.disk.clone(),
            self.settings.clone(),
            self.libraries.clone(),
        )
    }
}

/// How much of this document is read, if it may come to more than the
/// smallest limit that can be set. Looks at the disk only then.
fn limit(settings: &SettingsStore, path: &Path, bytes: usize) -> Option<Size> {
    (bytes as u64 > Size::SMALLEST.bytes())
        .then(|| settings.for_document(path).config.limits.document)
}

/// Why a document cannot be changed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum WorkspaceError {
    NotOpen,
    /// An earlier change did not fit.
    OutOfStep,
    Change(ChangeError),
}

impl std::fmt::Display for WorkspaceError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NotOpen => f.write_str("the document is not open"),
            Self::OutOfStep => f.write_str(
                "an earlier change did not fit, so the text is out of step with the editor's: close the file and open it again",
            ),
            Self::Change(error) => error.fmt(f),
        }
    }
}

impl std::error::Error for WorkspaceError {}
