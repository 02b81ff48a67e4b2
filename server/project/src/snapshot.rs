//! All that is known at one moment. Immutable and cheap to clone.

use crate::{
    ahead::Ahead,
    disk::{Disk, MOST_FILES},
    document::Document,
    folder::{MOST_DOCUMENTS, ModFolder, candidates},
    libraries::Libraries,
    settings::SettingsStore,
    view::{self, Known, View},
    workspace::WorkspaceError,
};
use machine::{both, in_parallel, is_one_of_many};
use std::{
    collections::{HashMap, HashSet},
    fs,
    path::{Path, PathBuf},
    sync::{
        Arc, Mutex, OnceLock, PoisonError,
        atomic::{AtomicBool, Ordering},
    },
    thread,
};

/// The open documents at one moment, with the disk around them.
#[derive(Debug, Clone)]
pub struct Snapshot {
    slots: Arc<HashMap<PathBuf, Arc<Slot>>>,
    disk: Arc<Disk>,
    settings: Arc<SettingsStore>,
    libraries: Arc<Libraries>,
}

/// In bytes. Enough of what cannot be read to see what it is.
const HEAD: usize = 16 << 10;

/// So many files are told in one message.
const MOST_TOLD: usize = 5;

/// The documents in a folder.
#[derive(Debug, Default)]
pub struct Below {
    pub views: Vec<Arc<View>>,
    /// What could not be read: which files, why and what to do, in sentences.
    pub unread: Vec<String>,
}

/// The beginning of a text that may be none.
fn head_of(bytes: &[u8]) -> String {
    String::from_utf8_lossy(&bytes[..bytes.len().min(HEAD)]).into_owned()
}

impl Below {
    /// What could not be read, for a message; none if all could.
    pub fn left_out(&self) -> Option<String> {
        let mut lines: Vec<&str> = self.unread.iter().map(String::as_str).collect();
        let more = format!("and {} more", lines.len().saturating_sub(MOST_TOLD));
        if lines.len() > MOST_TOLD {
            lines.splice(MOST_TOLD.., [more.as_str()]);
        }
        (!lines.is_empty()).then(|| lines.join("\n"))
    }
}

/// One version of a document and, once somebody asked, what it means.
#[derive(Debug)]
pub(crate) struct Slot {
    /// None: out of step with the editor.
    pub(crate) document: Option<Arc<Document>>,
    view: OnceLock<Arc<View>>,
    /// Somebody makes the view, or has made it.
    begun: AtomicBool,
    /// The newest earlier version that somebody asked for, until the view is there.
    before: Mutex<Option<Before>>,
}

/// An earlier version of a document, from which a view can be made in less time.
#[derive(Debug, Clone)]
pub(crate) enum Before {
    Known(Box<Known>),
    /// Its view is being made. To wait for that takes less time than to read all of the document once more.
    InTheMaking(Arc<Slot>),
}

impl Slot {
    pub(crate) fn of(document: Arc<Document>, before: Option<Before>) -> Arc<Self> {
        Self::with(Some(document), before)
    }

    pub(crate) fn out_of_step() -> Arc<Self> {
        Self::with(None, None)
    }

    fn with(document: Option<Arc<Document>>, before: Option<Before>) -> Arc<Self> {
        Arc::new(Self {
            document,
            view: OnceLock::new(),
            begun: AtomicBool::new(false),
            before: Mutex::new(before),
        })
    }

    /// The same document, to be looked at afresh: the disk has changed.
    pub(crate) fn renewed(self: &Arc<Self>) -> Arc<Self> {
        Self::with(self.document.clone(), self.before())
    }

    /// What the next version can be made from.
    pub(crate) fn before(self: &Arc<Self>) -> Option<Before> {
        match self.view.get() {
            Some(view) => view.known().map(|known| Before::Known(Box::new(known))),
            None if self.is_begun() => Some(Before::InTheMaking(self.clone())),
            None => {
                let before = self.before.lock();
                before.unwrap_or_else(PoisonError::into_inner).clone()
            }
        }
    }

    fn is_begun(&self) -> bool {
        self.begun.load(Ordering::Acquire)
    }

    /// The document with all that it means; waits if somebody is making it.
    fn view(&self, document: Arc<Document>, snapshot: &Snapshot) -> Arc<View> {
        let make = || {
            let _until_panic = Begun::by(self);
            let before = self.before.lock();
            let before = before.unwrap_or_else(PoisonError::into_inner).take();
            let known = before.and_then(|before| match before {
                Before::Known(known) => Some(*known),
                Before::InTheMaking(slot) if slot.is_begun() => {
                    slot.view(slot.document.clone()?, snapshot).known()
                }
                Before::InTheMaking(_) => None,
            });
            let mut view = view::build(document, &snapshot.disk, &snapshot.settings, known);
            view.library = snapshot.libraries.ready(&view.settings);
            Arc::new(view)
        };
        self.view.get_or_init(make).clone()
    }
}

/// Marks a view as begun. A panic takes that back, so that later versions do not run into it.
struct Begun<'s>(&'s AtomicBool);

impl<'s> Begun<'s> {
    fn by(slot: &'s Slot) -> Self {
        slot.begun.store(true, Ordering::Release);
        Self(&slot.begun)
    }
}

impl Drop for Begun<'_> {
    fn drop(&mut self) {
        if thread::panicking() {
            self.0.store(false, Ordering::Release);
        }
    }
}

impl Snapshot {
    /// The settings that count here, for looking at the disk afresh: see [`crate::Workspace::with`].
    pub fn settings(&self) -> &Arc<SettingsStore> {
        &self.settings
    }

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
        Ok(slot.view(document, self))
    }

    /// The folder of the mod that a file or folder belongs to. Reads the disk.
    pub fn mod_around(&self, path: &Path) -> PathBuf {
        let settings = self.settings.for_document(path);
        ModFolder::around(path, false, &self.disk, &settings).root
    }

    /// The documents of a dialect in a mod's folder, open or not, but for `known`. Those that are open are as the editor
    /// has them. Reads the disk.
    pub fn views_below(&self, root: &Path, known: &HashSet<PathBuf>) -> Below {
        let settings = self.settings.for_folder(root);
        let files = self.disk.files_below(root);
        let mut below = Below::default();
        let candidates = candidates(&files, &settings).map(|file| root.join(file));
        let mut waiting = candidates.filter(|path| !known.contains(path));
        let paths: Vec<PathBuf> = waiting.by_ref().take(MOST_DOCUMENTS).collect();
        let read = in_parallel(paths.len(), 4, |at| self.of_dialect(paths[at].clone()));
        for (path, view) in paths.iter().zip(read) {
            match view {
                Ok(view) => below.views.extend(view),
                Err(reason) => {
                    let name = path.strip_prefix(root).unwrap_or(path).display();
                    below.unread.push(format!("{name}: {reason}"));
                }
            }
        }
        let is_cut = waiting.next().is_some() || files.len() >= MOST_FILES;
        // A folder with so much in it that is no document of ours is no mod.
        if is_cut && !below.views.is_empty() {
            below.unread.push(format!(
                "{}: only the first {MOST_DOCUMENTS} documents and {MOST_FILES} files of a folder are read.",
                root.display()
            ));
        }
        below
    }

    /// A document, open or not. None: no dialect knows it. Reads the disk.
    ///
    /// # Errors
    /// Why it cannot be read, in sentences.
    fn of_dialect(&self, path: PathBuf) -> Result<Option<Arc<View>>, String> {
        let (reason, head) = match self.slots.contains_key(&path) {
            true => {
                let view = self.view(&path).map_err(|error| format!("{error}."))?;
                match view.document.too_large() {
                    Some(reason) => (reason, head_of(view.text().as_bytes())),
                    None => return Ok(Some(view).filter(|view| view.meaning.is_some())),
                }
            }
            false => {
                let limit = self.settings.for_document(&path).config.limits.document;
                let about = fs::metadata(&path).ok();
                let Some(about) = about.filter(fs::Metadata::is_file) else {
                    return Ok(None);
                };
                let read = self.disk.files().read(&path, limit.bytes());
                let bytes = read.map_err(|error| format!("it cannot be read: {error}."))?;
                let text = match about.len() > limit.bytes() {
                    true => Err(limit.passed_by(about.len())),
                    false => syntax::decode::bytes(&bytes).map_err(|error| error.to_string()),
                };
                match text {
                    Ok(text) => {
                        let view = view_of(path, text, &self.disk, &self.settings);
                        return Ok(Some(Arc::new(view)).filter(|view| view.meaning.is_some()));
                    }
                    Err(reason) => (reason, head_of(&bytes)),
                }
            }
        };
        match self.kind_of(path, head) {
            Some(_) => Err(reason),
            None => Ok(None),
        }
    }

    /// The name of the kind that a dialect has a file as, open or not, by its name and the beginning of its text; the
    /// root's start tag is enough. Reads settings and dialects.
    pub fn kind_of(&self, path: PathBuf, beginning: String) -> Option<String> {
        let settings = self.settings.for_document(&path);
        let document = Document::new(path, None, beginning);
        let name = view::file_name(&document.path);
        let fitting = view::fit(&document.tree, name, &settings)?;
        Some(fitting.kind.name.clone())
    }
}

/// A document from disk that nobody has open, with all that it means.
pub fn view_of(path: PathBuf, text: String, disk: &Disk, settings: &SettingsStore) -> View {
    // Of many documents each is read by one thread, from beginning to end.
    let ahead = Ahead::of(&path, &text).filter(|_| !is_one_of_many());
    let read = || Document::new(path, None, text);
    let document = match ahead {
        Some(ahead) => both(read, || ahead.look(disk, settings)).0,
        None => read(),
    };
    view::build(Arc::new(document), disk, settings, None)
}
