//! The open documents by the names that the client gives them.
//!
//! Every change goes through [`Documents`], in the order it arrived. Readers take a [`Snapshot`]; it never changes,
//! whatever happens to the documents afterwards.

use std::collections::{BTreeSet, HashMap, HashSet};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use ide::Finding;
use ide::checks::Checker;
use project::{
    Below, ContentChange, Document, Libraries, SettingsStore, View, Workspace, WorkspaceError,
};
use syntax::{Encoding, LineIndex, TextRange, TextSize};
use tower_lsp::jsonrpc::{Error, ErrorCode, Result};
use tower_lsp::lsp_types::{Location, Range, TextDocumentContentChangeEvent, TextEdit, Url};

use super::convert::{self, Places};
use super::features::tokens::Told;
use super::pace::Pace;
use super::uris;

/// Files that lead elsewhere are read to find the line of a place; larger ones are opened at their start.
const LARGEST_TARGET: u64 = 64 << 20;

#[derive(Debug, Default)]
pub(crate) struct Documents {
    workspace: Workspace,
    known: Arc<HashMap<PathBuf, Known>>,
    /// Those that the client works in.
    folders: Arc<BTreeSet<PathBuf>>,
}

/// What lasts as long as a document is open.
#[derive(Clone, Debug)]
struct Known {
    /// As the client wrote it: it knows the document by no other name.
    uri: Url,
    checker: Arc<Mutex<Checker>>,
    tokens: Arc<Mutex<Option<Told>>>,
    pace: Pace,
}

/// In bytes. More comes from no key.
const MOST_TYPED: usize = 4096;

/// All open documents at one moment. Cheap to clone.
#[derive(Clone, Debug)]
pub(crate) struct Snapshot {
    project: project::Snapshot,
    known: Arc<HashMap<PathBuf, Known>>,
    /// Those that the client works in.
    folders: Arc<BTreeSet<PathBuf>>,
}

/// One open document at one moment.
#[derive(Clone, Debug)]
pub(crate) struct Open {
    pub(crate) uri: Url,
    pub(crate) document: Arc<Document>,
    checker: Arc<Mutex<Checker>>,
    tokens: Arc<Mutex<Option<Told>>>,
    pace: Pace,
    snapshot: Snapshot,
}

impl Known {
    fn new(uri: Url) -> Self {
        Self {
            uri,
            checker: Arc::default(),
            tokens: Arc::default(),
            pace: Pace::default(),
        }
    }
}

impl Documents {
    /// To be called before any document is opened: settings may have been written by a stranger.
    pub(crate) fn distrust(&self) {
        self.workspace.distrust();
    }

    pub(crate) fn snapshot(&self) -> Snapshot {
        Snapshot {
            project: self.workspace.snapshot(),
            known: self.known.clone(),
            folders: self.folders.clone(),
        }
    }

    /// The client works in other folders from now on.
    pub(crate) fn change_folders<'u>(
        &mut self,
        come: impl IntoIterator<Item = &'u Url>,
        gone: impl IntoIterator<Item = &'u Url>,
    ) {
        let folders = Arc::make_mut(&mut self.folders);
        for uri in gone {
            folders.remove(&uris::path(uri));
        }
        let come = come.into_iter().map(uris::path);
        folders.extend(come.filter(|path| path.is_absolute()));
    }

    /// See [`Workspace::expect`].
    pub(crate) fn expect(&mut self, uri: &Url, head: &str) {
        self.workspace.expect(uris::path(uri), head);
    }

    pub(crate) fn open(&mut self, uri: Url, version: i32, text: String) {
        let path = uris::path(&uri);
        self.workspace.open(path.clone(), Some(version), text);
        let known = Known::new(uri);
        Arc::make_mut(&mut self.known).insert(path, known);
    }

    /// Whether the next look at it will be over in no time.
    pub(crate) fn is_quick(&self, uri: &Url) -> bool {
        let known = self.known.get(&uris::path(uri));
        known.is_some_and(|known| known.pace.is_quick())
    }

    /// Applies `changes` one after the other; each is placed in the text that the one before left behind.
    ///
    /// # Errors
    /// A change does not fit. Then the document is out of step until its whole text comes again.
    pub(crate) fn change(
        &mut self,
        uri: &Url,
        version: i32,
        changes: Vec<TextDocumentContentChangeEvent>,
        encoding: Encoding,
    ) -> std::result::Result<(), WorkspaceError> {
        let size: usize = changes.iter().map(|change| change.text.len()).sum();
        let path = uris::path(uri);
        if size > MOST_TYPED
            && let Some(known) = self.known.get(&path)
        {
            known.pace.forget();
        }
        let changes = changes.into_iter().map(|change| match change.range {
            None => ContentChange::Whole(change.text),
            Some(Range { start, end }) => ContentChange::Part {
                start: convert::position(start),
                end: convert::position(end),
                text: change.text,
            },
        });
        self.workspace
            .change(&path, Some(version), changes.collect(), encoding)
    }

    /// A message about a document, or about any of them, could not be read. The documents that were in step until
    /// then: they are out of step until their whole text comes again.
    pub(crate) fn lose(&mut self, uri: Option<&Url>) -> Vec<Url> {
        let of_one = uri.map(uris::path);
        let known = self.known.clone();
        let lost = known
            .iter()
            .filter(|(path, _)| of_one.as_ref().is_none_or(|one| one == *path))
            .filter(|(path, _)| self.workspace.lose(path));
        lost.map(|(_, known)| known.uri.clone()).collect()
    }

    pub(crate) fn close(&mut self, uri: &Url) {
        let path = uris::path(uri);
        self.workspace.close(&path);
        Arc::make_mut(&mut self.known).remove(&path);
    }

    pub(crate) fn libraries(&self) -> &Arc<Libraries> {
        self.workspace.libraries()
    }

    /// From now on answers are given with the library that was read.
    pub(crate) fn library_is_there(&mut self) {
        self.known.values().for_each(|known| known.pace.forget());
        self.workspace.renew();
    }

    /// Files beside the documents may have changed.
    pub(crate) fn disk_changed(&mut self) {
        self.known.values().for_each(|known| known.pace.forget());
        self.workspace.disk_changed();
    }
}

impl Snapshot {
    /// The settings that count here, as far as they are trusted.
    pub(crate) fn settings(&self) -> &Arc<SettingsStore> {
        self.project.settings()
    }

    /// # Errors
    /// The document is not open, or its text is not the client's any more.
    pub(crate) fn document(&self, uri: &Url) -> Result<Open> {
        let path = uris::path(uri);
        let document = self
            .project
            .document(&path)
            .map_err(|error| failed(format!("{uri}: {error}.")))?;
        let known = self.known.get(&path).cloned();
        let known = known.unwrap_or_else(|| Known::new(uri.clone()));
        Ok(Open {
            uri: known.uri,
            document,
            checker: known.checker,
            tokens: known.tokens,
            pace: known.pace,
            snapshot: self.clone(),
        })
    }

    /// What the kind of document is called that a file is, open or not, as far as its name and the beginning of its text show.
    pub(crate) fn kind_of(&self, path: PathBuf, beginning: String) -> Option<String> {
        self.project.kind_of(path, beginning)
    }

    pub(crate) fn is_out_of_step(&self, uri: &Url) -> bool {
        self.project.document(&uris::path(uri)).err() == Some(WorkspaceError::OutOfStep)
    }

    /// All documents of a dialect in the mods around these files, open or not. Reads the disk.
    pub(crate) fn views_around(&self, files: &[PathBuf]) -> Below {
        let roots: BTreeSet<PathBuf> = files
            .iter()
            .map(|file| self.project.mod_around(file))
            .collect();
        self.views_in(roots, HashSet::new())
    }

    /// The same in folders, without those that are `known`.
    fn views_in(
        &self,
        roots: impl IntoIterator<Item = PathBuf>,
        mut known: HashSet<PathBuf>,
    ) -> Below {
        let mut all = Below::default();
        for root in roots {
            let below = self.project.views_below(&root, &known);
            // One mod may lie in another's folder.
            let paths = below.views.iter().map(|view| view.document.path.clone());
            known.extend(paths);
            all.views.extend(below.views);
            all.unread.extend(below.unread);
        }
        all
    }

    /// The folder of the mod that a file belongs to. Reads the disk.
    pub(crate) fn mod_around(&self, file: &Path) -> PathBuf {
        self.project.mod_around(file)
    }

    /// Whether the client has this text of an open document. A byte order mark is none of it.
    pub(crate) fn has_text(&self, path: &Path, text: &str) -> bool {
        let plain = |text: &str| text.trim_start_matches('\u{feff}').to_owned();
        let document = self.project.document(path);
        document.is_ok_and(|document| plain(document.text()) == plain(text))
    }

    /// The URI of a file, as the client wrote it if it has the file open.
    pub(crate) fn uri(&self, path: &Path) -> Option<Url> {
        match self.known.get(path) {
            Some(known) => Some(known.uri.clone()),
            None => uris::uri(path),
        }
    }

    /// All open documents whose text is the client's, those of the mods that they belong to, and those of the client's
    /// folders. Reads the disk.
    pub(crate) fn known_views(&self) -> Below {
        let mut open: Vec<(&Url, &PathBuf)> = self
            .known
            .iter()
            .map(|(path, known)| (&known.uri, path))
            .collect();
        open.sort();
        let views = open
            .iter()
            .filter_map(|(uri, _)| self.document(uri).ok()?.view().ok());
        let mut views: Vec<Arc<View>> = views.collect();
        let paths = open.into_iter().map(|(_, path)| path.clone());
        let known: HashSet<PathBuf> = paths.collect();
        let on_disk = known.iter().filter(|path| path.is_absolute());
        let mods: BTreeSet<PathBuf> = on_disk.map(|path| self.mod_around(path)).collect();
        // Of large folders not all is read, so what is likely to be meant comes first.
        let folders = self.folders.iter().cloned();
        let folders: Vec<PathBuf> = folders.filter(|folder| !mods.contains(folder)).collect();
        let mut all = self.views_in(mods.into_iter().chain(folders), known);
        views.append(&mut all.views);
        Below { views, ..all }
    }

    /// The open documents' URIs.
    pub(crate) fn uris(&self) -> impl Iterator<Item = &Url> {
        self.known.values().map(|known| &known.uri)
    }

    /// The place of a range in a file, open or not. Reads the disk for a file that is not open, unless only its start is
    /// meant; what cannot be read as text is opened at its start.
    pub(crate) fn locate(
        &self,
        path: &Path,
        range: TextRange,
        encoding: Encoding,
    ) -> Option<Location> {
        let uri = self.uri(path)?;
        if let Ok(document) = self.project.document(path) {
            return Some(Location::new(uri, places(&document, encoding).range(range)));
        }
        // Files that are pointed at as a whole are often large, and no text.
        let is_start = range.end() == TextSize::new(0);
        let text = (!is_start).then(|| text_of(path)).flatten();
        let range = match text {
            Some(text) => Places {
                text: &text,
                lines: &LineIndex::new(&text),
                encoding,
                is_on_disk: true,
            }
            .range(range),
            None => Range::default(),
        };
        Some(Location::new(uri, range))
    }

    /// Edits of the text of a file, open or not, with the version that the client has. Reads the disk for one that is not.
    pub(crate) fn edits(
        &self,
        path: &Path,
        encoding: Encoding,
        edits: impl FnOnce(&str) -> Vec<syntax::TextEdit>,
    ) -> Option<(Option<i32>, Vec<TextEdit>)> {
        if let Ok(document) = self.project.document(path) {
            let places = places(&document, encoding);
            return Some((document.version, places.edits(&edits(document.text()))));
        }
        let text = text_of(path)?;
        let places = Places {
            text: &text,
            lines: &LineIndex::new(&text),
            encoding,
            is_on_disk: true,
        };
        Some((None, places.edits(&edits(&text))))
    }
}

impl Open {
    pub(crate) fn version(&self) -> Option<i32> {
        self.document.version
    }

    pub(crate) fn places(&self, encoding: Encoding) -> Places<'_> {
        places(&self.document, encoding)
    }

    pub(crate) fn few_places(&self, encoding: Encoding) -> Places<'_> {
        few_places(&self.document, encoding)
    }

    /// The document with all that it means. May read the disk: ask for it on a thread that may wait.
    ///
    /// # Errors
    /// The document is too large to be read.
    pub(crate) fn view(&self) -> Result<Arc<View>> {
        if let Some(reason) = self.too_large() {
            return Err(failed(format!("{} is not read. {reason}", self.uri)));
        }
        self.snapshot
            .project
            .view(&self.document.path)
            .map_err(|error| failed(format!("{}: {error}.", self.uri)))
    }

    /// All that is wrong with the document. Takes as long as what is new since somebody asked last.
    pub(crate) fn findings(&self, view: &View) -> Vec<Finding> {
        // A check that panicked left nothing behind that could be wrong.
        let mut checker = self.checker.lock().unwrap_or_else(PoisonError::into_inner);
        checker.run(view)
    }

    /// How long a look at it takes.
    pub(crate) fn pace(&self) -> &Pace {
        &self.pace
    }

    /// The words for colours that the client has of it.
    pub(crate) fn tokens(&self) -> MutexGuard<'_, Option<Told>> {
        self.tokens.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Why the document is not read, if it is too large for that.
    pub(crate) fn too_large(&self) -> Option<String> {
        self.document.too_large()
    }

    pub(crate) fn snapshot(&self) -> &Snapshot {
        &self.snapshot
    }
}

/// For any number of places, each found quickly in the whole text.
pub(crate) fn places(document: &Document, encoding: Encoding) -> Places<'_> {
    document.text();
    few_places(document, encoding)
}

/// For some places, which are not worth putting the text together.
pub(crate) fn few_places(document: &Document, encoding: Encoding) -> Places<'_> {
    Places {
        text: document,
        lines: &document.lines,
        encoding,
        is_on_disk: document.version.is_none(),
    }
}

fn text_of(path: &Path) -> Option<String> {
    // Devices and pipes can be read without an end.
    let about = fs::metadata(path).ok()?;
    let is_readable = about.is_file() && about.len() <= LARGEST_TARGET;
    let bytes = is_readable.then(|| fs::read(path))?.ok()?;
    syntax::decode::bytes(&bytes).ok()
}

/// A request that is right but cannot be answered.
pub(crate) fn failed(message: String) -> Error {
    // LSP 3.17, "RequestFailed".
    Error {
        code: ErrorCode::ServerError(-32803),
        message: message.into(),
        data: None,
    }
}
