//! One document with all that it means: what every feature gets to see.

use crate::{
    disk::{Disk, FileState},
    document::Document,
    folder::ModFolder,
    scene_change::{Earlier, SceneHistory},
    scene_file::SceneFile,
    settings::{Settings, SettingsStore},
};
use dialect::{Dialect, DocumentKind, FilesFrom, Fit, Marked};
use learn::Precedents;
use machine::{Machine, Outline, Sort};
use scene::Scene;
use std::{
    collections::HashMap,
    path::{Path, PathBuf},
    sync::{Arc, OnceLock},
};
use syntax::{Element, Tree, namespaces::Scope};

/// A document, the dialect that fits it, and everything it leads to, loaded.
/// Immutable.
#[derive(Debug)]
pub struct View {
    pub document: Arc<Document>,
    pub settings: Settings,
    /// None: no dialect fits, and nothing but form can be judged.
    pub meaning: Option<Meaning>,
    pub folder: Arc<ModFolder>,
    /// How others did it, if a library is configured and was read by the time the view was made.
    pub library: Option<Arc<Precedents>>,
}

/// What a document means in its dialect.
#[derive(Debug)]
pub struct Meaning {
    pub dialect: Arc<Dialect>,
    pub kind: Arc<DocumentKind>,
    /// Another dialect that fits as well, so that only the order of the settings decides.
    pub rival: Option<Arc<Dialect>>,
    /// What it says, portion by portion.
    pub outline: Arc<Outline>,
    pub scene: SceneState,
    /// How the scene changed while the document was open.
    history: SceneHistory,
    /// By name: whether the files are there that it names.
    files: Arc<HashMap<String, FileState>>,
    /// The state of the disk when these were looked for.
    generation: u64,
    machine: OnceLock<Machine>,
}

impl Meaning {
    /// All that the document says. Put together when first asked for, which takes time in proportion to the document.
    pub fn machine(&self) -> &Machine {
        self.machine
            .get_or_init(|| self.outline.machine(&self.dialect, &self.kind))
    }

    /// What it was before its scene changed, if that was seen.
    pub fn earlier(&self) -> Option<&Arc<Earlier>> {
        self.history.earlier()
    }

    /// Says that all its index paths were written for an earlier scene.
    pub fn was_written_for(&mut self, before: &Arc<SceneFile>, disk: &Disk) {
        if let SceneState::Loaded(now) = &self.scene {
            self.history = SceneHistory::of(before, now, &self.outline, disk.scene_changes());
        }
    }

    /// Whether a file is there that the document names. Files that it does not name were not looked for.
    pub fn file(&self, name: &str) -> &FileState {
        self.files.get(name).unwrap_or(&FileState::InGame)
    }
}

/// What is worth keeping of a view for that of the next version.
#[derive(Debug, Clone)]
pub(crate) struct Known {
    dialect: Arc<Dialect>,
    kind: Arc<DocumentKind>,
    outline: Arc<Outline>,
    history: SceneHistory,
    /// What was seen on the disk, and which state of the disk that was.
    files: Arc<HashMap<String, FileState>>,
    folder: Arc<ModFolder>,
    generation: u64,
}

impl Known {
    /// Whether it was seen with the eyes of this dialect.
    fn is_of(&self, fitting: &Fitting) -> bool {
        Arc::ptr_eq(&self.dialect, &fitting.dialect) && self.kind == fitting.kind
    }
}

impl View {
    pub(crate) fn known(&self) -> Option<Known> {
        let meaning = self.meaning.as_ref()?;
        Some(Known {
            dialect: meaning.dialect.clone(),
            kind: meaning.kind.clone(),
            outline: meaning.outline.clone(),
            history: meaning.history.clone(),
            files: meaning.files.clone(),
            folder: self.folder.clone(),
            generation: meaning.generation,
        })
    }
}

/// The scene that a machine drives.
#[derive(Debug, Clone)]
pub enum SceneState {
    /// The definition names none.
    NotNamed,
    /// The file is not there, or not looked for.
    NotThere(FileState),
    Unreadable {
        path: PathBuf,
        message: String,
    },
    Loaded(Arc<SceneFile>),
}

impl SceneState {
    /// The scene, if there is one.
    pub fn loaded(&self) -> Option<&SceneFile> {
        match self {
            Self::Loaded(file) => Some(file),
            _ => None,
        }
    }
}

impl View {
    /// Whether the document is a scene in a dialect's own format: no
    /// definition, but no stranger either.
    pub fn is_scene(&self) -> bool {
        let name = file_name(&self.document.path);
        with_root(&self.document.tree, |root| {
            self.settings
                .dialects
                .iter()
                .filter_map(|dialect| dialect.scene_format.as_ref())
                .any(|format| format.document.fit(root, name).is_some())
        })
    }

    /// The whole text of the document. Put together when first asked for.
    pub fn text(&self) -> &str {
        self.document.text()
    }

    /// Its tree, with the errors of form beside it.
    pub fn tree(&self) -> &Tree {
        &self.document.tree
    }

    /// See [`Meaning::machine`]; `None`: no dialect fits the document.
    pub fn machine(&self) -> Option<&Machine> {
        self.meaning.as_ref().map(Meaning::machine)
    }

    /// The dialect that fits the document best.
    pub fn dialect(&self) -> Option<&Dialect> {
        self.meaning.as_ref().map(|meaning| &*meaning.dialect)
    }

    /// The scene that the document names; `None`: it names none, or none that can be read.
    pub fn scene(&self) -> Option<&Scene> {
        Some(&self.meaning.as_ref()?.scene.loaded()?.scene)
    }
}

/// The dialect and the kind of document that fit best.
#[derive(Debug)]
pub(crate) struct Fitting {
    pub(crate) dialect: Arc<Dialect>,
    pub(crate) kind: Arc<DocumentKind>,
    rival: Option<Arc<Dialect>>,
}

/// What fits best; among equals the first.
pub(crate) fn fit(tree: &Tree, file_name: &str, settings: &Settings) -> Option<Fitting> {
    with_root(tree, |root| {
        best_fit(root, tree.root(), file_name, settings)
    })
}

type RootName<'r> = Option<(Option<&'r str>, &'r str)>;

/// Calls `then` with the namespace and the local name of the root element.
fn with_root<T>(tree: &Tree, then: impl FnOnce(RootName<'_>) -> T) -> T {
    let root = tree.root();
    let scope = root.map(|root| Scope::root().enter(&root));
    let namespace = root
        .zip(scope.as_ref())
        .and_then(|(root, scope)| scope.resolve(root.prefix()));
    then(root.map(|root| (namespace.as_deref(), root.local_name())))
}

fn best_fit(
    root: RootName<'_>,
    element: Option<Element<'_>>,
    file_name: &str,
    settings: &Settings,
) -> Option<Fitting> {
    let mut best: Option<((Fit, Marked), Fitting)> = None;
    for dialect in &settings.dialects {
        let Some((kind, fit)) = dialect.fit(root, element, file_name) else {
            continue;
        };
        match &mut best {
            Some((least, _)) if fit < *least => {}
            Some((least, first)) if fit == *least => {
                // The built-in dialect comes last, and makes way for those that somebody chose. What fits by its
                // file's name only may be a root element that is still being typed.
                let is_meant = dialect.origin.is_some() && dialect.origin != first.dialect.origin;
                if first.rival.is_none() && is_meant && fit.0 != Fit::FileName {
                    first.rival = Some(dialect.clone());
                }
            }
            _ => {
                let fitting = Fitting {
                    dialect: dialect.clone(),
                    kind: kind.clone(),
                    rival: None,
                };
                best = Some((fit, fitting));
            }
        }
    }
    best.map(|(_, fitting)| fitting)
}

pub(crate) fn build(
    document: Arc<Document>,
    disk: &Disk,
    store: &SettingsStore,
    before: Option<Known>,
) -> View {
    let settings = store.for_document(&document.path);
    let fitting = fit(&document.tree, file_name(&document.path), &settings);
    // Asked before anything is looked at, so that what changes meanwhile is looked at again.
    let generation = disk.generation();
    let before = before.filter(|before| fitting.as_ref().is_some_and(|now| before.is_of(now)));
    let seen = before
        .as_ref()
        .filter(|before| before.generation == generation);
    let folder = match (seen, &fitting) {
        (Some(seen), _) => seen.folder.clone(),
        (None, Some(fitting)) if document.path.is_absolute() => {
            let is_manifest = fitting.kind.is_manifest;
            ModFolder::around(&document.path, is_manifest, disk, &settings).into()
        }
        _ => Arc::default(),
    };
    let mut files = seen.map(|seen| seen.files.clone()).unwrap_or_default();
    let meaning = fitting.map(|fitting| {
        let Fitting {
            dialect,
            kind,
            rival,
        } = fitting;
        let finder = Finder {
            document: &document.path,
            folder: &folder,
            dialect: &dialect,
            settings: &settings,
            disk,
        };
        let old = before.as_ref().map(|before| &*before.outline);
        let outline = Outline::read(&document.tree, &dialect, &kind, old);
        let scene = finder.scene(&outline);
        let outline = Arc::new(outline);
        let history = before.map(|before| before.history).unwrap_or_default();
        let history = history.next(&scene, &outline, disk.scene_changes());
        look_for(&outline, &mut files, |name| finder.find(name));
        Meaning {
            files,
            generation,
            scene,
            history,
            outline,
            machine: OnceLock::new(),
            kind,
            rival,
            dialect,
        }
    });
    View {
        document,
        settings,
        meaning,
        folder,
        library: None,
    }
}

/// Looks for the files that a document names and that are not known yet.
fn look_for(
    outline: &Outline,
    files: &mut Arc<HashMap<String, FileState>>,
    find: impl Fn(&str) -> FileState,
) {
    for (_, entry) in outline.saying(Sort::Files) {
        for used in &entry.facts.files {
            let name = &used.name.value;
            if !files.contains_key(&**name) {
                Arc::make_mut(files).insert(name.to_string(), find(name));
            }
        }
    }
}

impl View {
    /// A view that looks at no disk: the scene is given, and every file that
    /// the document names counts as found if `files` has it. For tests and
    /// for judging a text before it is written.
    pub fn without_disk(
        document: Document,
        settings: Settings,
        scene: Option<Arc<SceneFile>>,
        files: &[&str],
    ) -> Self {
        let document = Arc::new(document);
        let name = file_name(&document.path);
        let meaning = fit(&document.tree, name, &settings).map(|fitting| {
            let Fitting {
                dialect,
                kind,
                rival,
            } = fitting;
            let outline = Outline::read(&document.tree, &dialect, &kind, None);
            let state = |written: &str| {
                let path = document.path.with_file_name(written);
                if files.contains(&written) {
                    FileState::Found(path)
                } else {
                    FileState::Missing(path)
                }
            };
            let mut known = Arc::default();
            look_for(&outline, &mut known, state);
            Meaning {
                files: known,
                generation: 0,
                history: SceneHistory::default(),
                scene: match (outline.scene(), scene) {
                    (None, _) => SceneState::NotNamed,
                    (Some(_), Some(file)) => SceneState::Loaded(file),
                    (Some(named), None) => SceneState::NotThere(state(&named.value)),
                },
                outline: Arc::new(outline),
                machine: OnceLock::new(),
                kind,
                rival,
                dialect,
            }
        });
        Self {
            document,
            settings,
            meaning,
            folder: Arc::new(ModFolder {
                files: Arc::new(files.iter().map(|file| (*file).to_string()).collect()),
                ..ModFolder::default()
            }),
            library: None,
        }
    }

    /// The same surroundings with another text: what the document would mean
    /// after a change, without a look at the disk. Dialect and scene stay; a
    /// file that was not named before counts as not looked for.
    #[must_use]
    pub fn with_text(&self, text: String) -> Self {
        let document = Document::new(self.document.path.clone(), self.document.version, text);
        let meaning = self.meaning.as_ref().map(|before| Meaning {
            files: before.files.clone(),
            generation: before.generation,
            scene: before.scene.clone(),
            history: before.history.clone(),
            outline: Arc::new(Outline::read(
                &document.tree,
                &before.dialect,
                &before.kind,
                None,
            )),
            machine: OnceLock::new(),
            kind: before.kind.clone(),
            rival: before.rival.clone(),
            dialect: before.dialect.clone(),
        });
        Self {
            document: Arc::new(document),
            settings: self.settings.clone(),
            meaning,
            folder: self.folder.clone(),
            library: self.library.clone(),
        }
    }
}

pub(crate) fn file_name(path: &Path) -> &str {
    path.file_name()
        .and_then(|name| name.to_str())
        .unwrap_or_default()
}

/// Follows the file names of one document.
struct Finder<'a> {
    document: &'a Path,
    folder: &'a ModFolder,
    dialect: &'a Dialect,
    settings: &'a Settings,
    disk: &'a Disk,
}

impl Finder<'_> {
    fn find(&self, written: &str) -> FileState {
        let notation = &self.dialect.notation.files;
        let mut written = written.to_string();
        for separator in &notation.folder_separators {
            written = written.replace(*separator, "/");
        }
        let prefix = notation
            .game_prefix
            .as_deref()
            .filter(|prefix| !prefix.is_empty());
        if let Some(inside) = prefix.and_then(|prefix| written.strip_prefix(prefix)) {
            return match &self.settings.config.game_folder {
                Some(game) => self.disk.find(game, inside.trim_start_matches('/')),
                None => FileState::InGame,
            };
        }
        if !self.document.is_absolute() {
            // An unsaved document lies nowhere, so nothing lies beside it.
            return FileState::InGame;
        }
        let base = match notation.from {
            FilesFrom::Document => self.document.parent().unwrap_or(Path::new("")),
            FilesFrom::Mod => &self.folder.root,
        };
        self.disk.find(base, &written)
    }

    fn scene(&self, outline: &Outline) -> SceneState {
        let Some(named) = outline.scene() else {
            return SceneState::NotNamed;
        };
        let state = self.find(&named.value);
        let path = match &state {
            FileState::Found(path) | FileState::CaseDiffers { actual: path, .. } => path.clone(),
            FileState::Missing(_) | FileState::InGame => return SceneState::NotThere(state),
        };
        match self
            .disk
            .scene(&path, &self.settings.dialects, self.settings.config.limits)
        {
            Ok(file) => SceneState::Loaded(file),
            Err(message) => SceneState::Unreadable { path, message },
        }
    }
}
