//! Mods as folders of files, wherever they are.

use std::cell::OnceCell;
use std::collections::{BTreeSet, HashSet};
use std::ffi::OsStr;
use std::fs::{self, File};
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use project::{CONFIG_FILE_NAME, Files, SettingsStore};
use walkdir::WalkDir;

use crate::cli::definition::Failure;
use crate::cli::plain;

/// Deeper folders, and more files, are none of a mod.
const DEPTH: usize = 64;
const MOST_FILES: usize = 100_000;

/// What became of a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Status {
    Added,
    Removed,
    Changed,
    Same,
}

/// A mod: a folder, or what is in an archive.
#[derive(Debug)]
pub(crate) struct Folder {
    pub(crate) files: Files,
    root: PathBuf,
    /// With `/` between the steps.
    pub(crate) names: BTreeSet<String>,
    ours: OnceCell<HashSet<PathBuf>>,
}

impl Folder {
    /// # Errors
    /// It is neither a folder nor an archive of which all can be read.
    pub(crate) fn open(path: &Path) -> Result<Self, Failure> {
        let failed = |reason: String| {
            Failure::broken(format!("{} cannot be read: {reason}", plain::name(path)))
        };
        let files = Files::default();
        let path_in_full = std::path::absolute(path).map_err(|error| failed(error.to_string()))?;
        let root = match path.is_dir() {
            true => {
                all_of(path).map_err(failed)?;
                path_in_full
            }
            false => {
                fs::metadata(path).map_err(|error| failed(error.to_string()))?;
                files
                    .contents(&path_in_full)
                    .map_err(|reasons| failed(reasons.join(" ")))?;
                project::content_of(&path_in_full)
            }
        };
        let names = files.below(&root, DEPTH, MOST_FILES).into_iter().collect();
        Ok(Self {
            files,
            root,
            names,
            ours: OnceCell::new(),
        })
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        name.split('/')
            .fold(self.root.clone(), |path, step| path.join(step))
    }

    /// What is Trunnion's own: settings, the dialects that they name, and baselines.
    pub(crate) fn ours(&self) -> &HashSet<PathBuf> {
        self.ours.get_or_init(|| {
            let settings = SettingsStore::of_one_run();
            let mut ours = HashSet::new();
            for name in &self.names {
                let path = self.path(name);
                if path
                    .file_name()
                    .is_some_and(|name| name == CONFIG_FILE_NAME)
                {
                    let settings = settings.for_document(&path);
                    let read = settings.dialects.iter();
                    ours.extend(read.filter_map(|dialect| dialect.origin.clone()));
                    ours.extend(settings.config.dialects);
                    ours.insert(path);
                } else if project::is_baseline(&self.files, &path) {
                    ours.insert(path);
                }
            }
            ours
        })
    }

    /// # Errors
    /// It cannot be read.
    pub(crate) fn bytes(&self, name: &str) -> Result<Vec<u8>, Failure> {
        let path = self.path(name);
        let read = self.files.read(&path, u64::MAX);
        read.map_err(|error| {
            Failure::broken(format!("{} cannot be read: {error}", plain::name(&path)))
        })
    }
}

/// Sees to it that all of a folder can be looked at. What cannot would count as not there: as taken out by somebody.
///
/// # Errors
/// What cannot, and why.
fn all_of(root: &Path) -> Result<(), String> {
    let is_hidden = |name: &OsStr| name.as_encoded_bytes().starts_with(b".");
    let entries = WalkDir::new(root).min_depth(1).max_depth(DEPTH);
    let entries = entries.into_iter();
    let mut count = 0;
    for entry in entries.filter_entry(|entry| !is_hidden(entry.file_name())) {
        let entry = entry.map_err(|error| error.to_string())?;
        let kind = entry.file_type();
        count += usize::from(kind.is_file());
        let name = entry.file_name().to_str();
        let why = if name.is_none_or(|name| name.contains(char::is_control)) {
            "its name is no text"
        } else if kind.is_symlink() {
            "it is a link. Put the file itself in its place"
        } else if !kind.is_file() && !kind.is_dir() {
            "it is neither a file nor a folder"
        } else if kind.is_dir() && entry.depth() == DEPTH {
            "it lies too deep"
        } else if count > MOST_FILES {
            "there are too many files"
        } else {
            continue;
        };
        return Err(format!("{}: {why}", plain::name(entry.path())));
    }
    Ok(())
}

/// Whether a file begins like XML.
pub(crate) fn is_xml(folder: &Folder, name: &str) -> bool {
    let Ok(head) = folder.files.read(&folder.path(name), 512) else {
        return false;
    };
    // Of UTF-16, every other byte.
    let mut letters = head
        .iter()
        .filter(|byte| !matches!(byte, 0 | 0xef | 0xbb | 0xbf | 0xfe | 0xff));
    letters.find(|byte| !byte.is_ascii_whitespace()) == Some(&b'<')
}

/// All files that differ, in order.
///
/// # Errors
/// One of them cannot be read.
pub(crate) fn compared(old: &Folder, new: &Folder) -> Result<Vec<(String, Status)>, Failure> {
    let mut found = Vec::new();
    for name in old.names.union(&new.names) {
        let status = match (old.names.contains(name), new.names.contains(name)) {
            (true, false) => Status::Removed,
            (false, _) => Status::Added,
            (true, true) if old.bytes(name)? == new.bytes(name)? => continue,
            (true, true) => Status::Changed,
        };
        found.push((name.clone(), status));
    }
    Ok(found)
}

/// Makes a file in such a folder, and the folders that it lies in. It is on the disk before the folder takes its place.
///
/// # Errors
/// What stood in the way.
pub(crate) fn put(path: &Path, bytes: &[u8]) -> io::Result<()> {
    fs::create_dir_all(whole::parent(path))?;
    let mut file = File::create_new(path)?;
    file.write_all(bytes)?;
    file.sync_all()
}

/// Makes a folder that is not there yet, all of it or nothing: what it holds is made beside it first.
///
/// # Errors
/// What stood in the way; nothing is left behind then.
pub(crate) fn make(target: &Path, fill: impl FnOnce(&Path) -> io::Result<()>) -> io::Result<()> {
    if fs::symlink_metadata(target).is_ok() {
        return Err(whole::taken());
    }
    let beside = whole::Beside::folder(target)?;
    fill(beside.path())?;
    whole::keep_names_below(beside.path());
    beside.take_place(target)
}
