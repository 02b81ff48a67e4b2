//! All that is known at one moment. Immutable and cheap to clone.

use crate::{
    disk::Disk,
    document::Document,
    folder::{ModFolder, candidates},
    libraries::Libraries,
    settings::SettingsStore,
    view::{self, Known, View},
    workspace::WorkspaceError,
};
use std::{
    collections::HashMap,
    fs,
    path::{Path, PathBuf},
    sync::{Arc, OnceLock},
};

/// The open documents at one moment, with the disk around them.
#[derive(Debug, Clone)]
pub struct Snapshot {
    slots: Arc<HashMap<PathBuf, Arc<Slot>>>,
    disk: Arc<Disk>,
    settings: Arc<SettingsStore>,
    libraries: Arc<Libraries>,
}

/// One version of a document and, once somebody asked, what it means.
#[derive(Debug)]
pub(crate) struct Slot {
    /// None: out of step with the editor.
    pub(crate) document: Option<Arc<Document>>,
    view: OnceLock<Arc<View>>,
    /// Of the newest earlier version that somebody asked for.
    before: Option<Known>,
}

impl Slot {
    pub(crate) fn new(document: Document) -> Arc<Self> {
        Self::of(Arc::new(document), None)
    }

    pub(crate) fn of(document: Arc<Document>, before: Option<Known>) -> Arc<Self> {
        Arc::new(Self {
            document: Some(document),
            view: OnceLock::new(),
            before,
        })
    }

    pub(crate) fn out_of_step() -> Arc<Self> {
        Arc::new(Self {
            document: None,
            view: OnceLock::new(),
            before: None,
        })
    }

    /// The same document, to be looked at afresh: the disk has changed.
    pub(crate) fn renewed(&self) -> Arc<Self> {
        Arc::new(Self {
            document: self.document.clone(),
            view: OnceLock::new(),
            before: self.known(),
        })
    }

    /// What the next version can be made from.
    pub(crate) fn known(&self) -> Option<Known> {
        match self.view.get() {
            Some(view) => view.known(),
            None => self.before.clone(),
        }
    }
}

impl Snapshot {
    pub(crate) fn new(
        slots: HashMap<PathBuf, Arc<Slot>>,
        disk: Arc<Disk>,
        settings: Arc<SettingsStore>,
        libraries: Arc<Libraries>,
    ) -> Self {
        Self {
            slots: Arc::new(slots),
            disk,
            settings,
            libraries,
        }
    }

    /// The text of an open document, without its meaning. Never waits.
    ///
    /// # Errors
    /// When the document is not open or out of step.
    pub fn document(&self, path: &Path) -> Result<Arc<Document>, WorkspaceError> {
        let slot = self.slots.get(path).ok_or(WorkspaceError::NotOpen)?;
        slot.document.clone().ok_or(WorkspaceError::OutOfStep)
    }

    /// An open document with all that it means. Made once per version; may
    /// read the disk, so ask on a thread that may wait.
    ///
    /// # Errors
    /// When the document is not open or out of step.
    pub fn view(&self, path: &Path) -> Result<Arc<View>, WorkspaceError> {
        let document = self.document(path)?;
        let slot = self.slots.get(path).ok_or(WorkspaceError::NotOpen)?;
        Ok(slot
            .view
            .get_or_init(|| {
                let before = slot.before.clone();
                let mut view = view::build(document, &self.disk, &self.settings, before);
                view.library = self.libraries.ready(&view.settings);
                Arc::new(view)
            })
            .clone())
    }

    /// The folder of the mod that a file or folder belongs to. Reads the disk.
    pub fn mod_around(&self, path: &Path) -> PathBuf {
        let settings = self.settings.for_document(path);
        ModFolder::around(path, false, &self.disk, &settings).root
    }

    /// All documents of a dialect in a mod's folder, open or not, as far as they can be read. Those that are open are
    /// as the editor has them. Reads the disk.
    pub fn views_below(&self, root: &Path) -> Vec<Arc<View>> {
        let settings = self.settings.for_folder(root);
        let files = self.disk.files_below(root);
        candidates(&files, &settings)
            .filter_map(|file| {
                let path = root.join(file);
                if self.slots.contains_key(&path) {
                    return self.view(&path).ok();
                }
                let limit = self.settings.for_document(&path).config.limits.document;
                let about = fs::metadata(&path).ok()?;
                let is_readable = about.is_file() && about.len() <= limit.bytes();
                let bytes = is_readable.then(|| fs::read(&path))?.ok()?;
                let text = syntax::decode::bytes(&bytes).ok()?;
                Some(Arc::new(view_of(path, text, &self.disk, &self.settings)))
            })
            .filter(|view| view.meaning.is_some())
            .collect()
    }

    /// The name of the kind that a dialect has a file as, open or not, by its name and the beginning of its text; the
    /// root's start tag is enough. Reads settings and dialects.
    pub fn kind_of(&self, path: PathBuf, beginning: String) -> Option<String> {
        let settings = self.settings.for_document(&path);
        let document = Document::new(path, None, beginning);
        let name = view::file_name(&document.path);
        let (_, kind) = view::fit(&document.tree, name, &settings)?;
        Some(kind.name)
    }

    /// The open documents, in the order of their paths.
    pub fn open_documents(&self) -> Vec<PathBuf> {
        let mut paths: Vec<_> = self.slots.keys().cloned().collect();
        paths.sort();
        paths
    }
}

/// A document from disk that nobody has open, with all that it means.
pub fn view_of(path: PathBuf, text: String, disk: &Disk, settings: &SettingsStore) -> View {
    view::build(
        Arc::new(Document::new(path, None, text)),
        disk,
        settings,
        None,
    )
}
