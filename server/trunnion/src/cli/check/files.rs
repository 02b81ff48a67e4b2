//! Which files to check.

use super::super::plain;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::ffi::OsStr;
use std::fs::{self, File};
use std::io::Read as _;
use std::path::{Component, Path, PathBuf};
use std::sync::Arc;

use dialect::Dialect;
use machine::in_parallel;
use project::{Files, SettingsStore};
use walkdir::{DirEntry, WalkDir};

/// The files to check, and what cannot be looked at.
#[derive(Debug, Default)]
pub(crate) struct Wanted {
    /// By absolute path: the path to show. Each file once, however often it was asked for.
    pub(crate) files: BTreeMap<PathBuf, PathBuf>,
    /// Folders whose settings are looked at even if no file there needs them. Absolute.
    pub(crate) folders: BTreeSet<PathBuf>,
    /// Archives that are not read, as they are shown, with the reasons.
    pub(crate) refused: BTreeMap<PathBuf, Vec<String>>,
    /// As sentences.
    pub(crate) failures: Vec<String>,
}

/// Looks through the paths that were asked for.
pub(crate) fn wanted(paths: &[PathBuf], disk: &Files, settings: &SettingsStore) -> Wanted {
    let mut wanted = Wanted::default();
    for path in paths {
        if path.is_dir() {
            wanted.folder(path, disk, settings);
        } else if let Some(inside) = project::inside(path).filter(|_| !disk.is_file(path)) {
            wanted.archive(&inside.archive, path, disk, settings);
        } else if is_archive(path) {
            wanted.archive(path, &project::content_of(path), disk, settings);
        } else if disk.exists(path) {
            wanted.add(path);
        } else {
            wanted.failures.push(format!(
                "{}: there is no such file or folder",
                plain::name(path)
            ));
        }
    }
    wanted
}

impl Wanted {
    fn add(&mut self, path: &Path) -> bool {
        match absolute(path) {
            Ok(absolute) => {
                // Shown as what points into it shows it.
                let shown = path.strip_prefix(".").unwrap_or(path);
                self.files
                    .entry(absolute)
                    .or_insert_with(|| shown.to_path_buf());
                true
            }
            Err(error) => {
                self.failures
                    .push(format!("{}: {error}", plain::name(path)));
                false
            }
        }
    }

    /// What is below a folder in an archive: all of it, or the part that was asked for.
    fn archive(&mut self, archive: &Path, folder: &Path, disk: &Files, settings: &SettingsStore) {
        if let Err(reasons) = disk.contents(archive) {
            self.refused.insert(archive.to_path_buf(), reasons.to_vec());
            return;
        }
        let mut dialects = Dialects::new();
        let mut found = false;
        for file in disk.below(folder, usize::MAX, usize::MAX) {
            let path = folder.join(file);
            if may_be_checked(&path, &mut dialects, settings) {
                found |= self.add(&path);
            }
        }
        if !found {
            self.failures.push(format!(
                "{}: there is nothing to check in it",
                plain::name(folder)
            ));
        }
    }

    fn folder(&mut self, folder: &Path, disk: &Files, settings: &SettingsStore) {
        let mut found = self.settings_of(folder, settings);
        let inside: Vec<PathBuf> = match fs::read_dir(folder) {
            Ok(inside) => {
                let names = inside.flatten().map(|entry| entry.file_name());
                let names: BTreeSet<_> = names.filter(|name| !is_hidden(name)).collect();
                names.iter().map(|name| folder.join(name)).collect()
            }
            Err(error) => {
                let path = plain::name(folder);
                self.failures.push(format!("{path}: {error}"));
                Vec::new()
            }
        };
        // Often these are hundreds of mods.
        let parts = in_parallel(inside.len(), FOLDERS_AT_ONCE, |at| {
            let mut part = Self::default();
            let all = WalkDir::new(&inside[at]).follow_root_links(false);
            let all = all.sort_by_file_name().into_iter();
            let found = part.entries(all.filter_entry(is_wanted), folder, disk, settings);
            (part, found)
        });
        for (part, has_some) in parts {
            found |= has_some;
            self.append(part);
        }
        if !found {
            self.failures.push(format!(
                "{}: there is nothing to check in this folder",
                plain::name(folder)
            ));
        }
    }

    /// What a walk through a folder, or a part of it, meets. Whether there is something to check.
    fn entries(
        &mut self,
        entries: impl IntoIterator<Item = walkdir::Result<DirEntry>>,
        folder: &Path,
        disk: &Files,
        settings: &SettingsStore,
    ) -> bool {
        let mut dialects = Dialects::new();
        let mut found = false;
        for entry in entries {
            match entry {
                Ok(entry)
                    if entry.file_type().is_file()
                        && may_be_checked(entry.path(), &mut dialects, settings) =>
                {
                    found |= self.add(entry.path());
                }
                // A game looks for mods in folders and in archives; other archives are other things.
                Ok(entry)
                    if entry.file_type().is_file()
                        && has_ending(entry.path(), ARCHIVE)
                        && is_archive(entry.path()) =>
                {
                    let before = self.failures.len();
                    let content = project::content_of(entry.path());
                    self.archive(entry.path(), &content, disk, settings);
                    self.failures.truncate(before);
                    found = true;
                }
                Ok(entry) if entry.file_name() == project::CONFIG_FILE_NAME => {
                    let folder = entry.path().parent().unwrap_or(folder);
                    found |= self.settings_of(folder, settings);
                }
                Ok(_) => {}
                Err(error) => {
                    let path = plain::name(error.path().unwrap_or(folder));
                    let reason = error
                        .io_error()
                        .map_or_else(|| "cannot be followed".to_owned(), ToString::to_string);
                    self.failures.push(format!("{path}: {reason}"));
                }
            }
        }
        found
    }

    /// Adds what was found in a part of a folder.
    fn append(&mut self, part: Self) {
        for (path, shown) in part.files {
            self.files.entry(path).or_insert(shown);
        }
        self.folders.extend(part.folders);
        self.refused.extend(part.refused);
        self.failures.extend(part.failures);
    }

    /// Whether something is wrong with the settings of a folder: with a broken
    /// dialect its files may not be known as such.
    fn settings_of(&mut self, folder: &Path, settings: &SettingsStore) -> bool {
        let Ok(folder) = absolute(folder) else {
            return false;
        };
        let has_problems = !settings.for_folder(&folder).problems.is_empty();
        self.folders.insert(folder);
        has_problems
    }
}

/// So many folders are worth a thread.
const FOLDERS_AT_ONCE: usize = 16;

fn is_wanted(entry: &DirEntry) -> bool {
    entry.depth() == 0 || !is_hidden(entry.file_name())
}

/// Hidden folders and files hold other things: version control, caches.
fn is_hidden(name: &OsStr) -> bool {
    name.as_encoded_bytes().starts_with(b".")
}

/// The dialects that apply in folders that were looked at.
type Dialects = HashMap<PathBuf, Vec<Arc<Dialect>>>;

fn may_be_checked(path: &Path, dialects: &mut Dialects, settings: &SettingsStore) -> bool {
    if is_xml(path) {
        return true;
    }
    let Some(folder) = path.parent() else {
        return false;
    };
    let known = dialects
        .entry(folder.to_path_buf())
        .or_insert_with(|| dialects_for(path, settings));
    is_known(path, known)
}

/// Whether a file's name says that it is ours to check: that it is XML, or that a dialect knows it.
pub(crate) fn is_ours(path: &Path, settings: &SettingsStore) -> bool {
    is_xml(path) || is_known(path, &dialects_for(path, settings))
}

/// The ending of archives of mods.
const ARCHIVE: &str = "zip";

/// Whether it is an archive by its first bytes, whatever its name.
pub(crate) fn is_archive(path: &Path) -> bool {
    // Devices and pipes would be waited for.
    let mut head = [0; 4];
    let mut read = || File::open(path)?.read_exact(&mut head);
    path.is_file() && read().is_ok() && archive::is_archive(&head)
}

fn is_xml(path: &Path) -> bool {
    has_ending(path, "xml")
}

fn has_ending(path: &Path, ending: &str) -> bool {
    path.extension()
        .is_some_and(|extension| extension.eq_ignore_ascii_case(ending))
}

fn is_known(path: &Path, dialects: &[Arc<Dialect>]) -> bool {
    let name = path.file_name().and_then(|name| name.to_str());
    name.is_some_and(|name| {
        dialects
            .iter()
            .any(|dialect| dialect.document_for(None, name).is_some())
    })
}

fn dialects_for(path: &Path, settings: &SettingsStore) -> Vec<Arc<Dialect>> {
    absolute(path)
        .map(|path| settings.for_document(&path).dialects)
        .unwrap_or_default()
}

/// From the root of the file system, without `.` and `..`; links are left as they are.
pub(crate) fn absolute(path: &Path) -> std::io::Result<PathBuf> {
    let mut plain = PathBuf::new();
    for step in std::path::absolute(path)?.components() {
        match step {
            Component::CurDir => {}
            Component::ParentDir => {
                plain.pop();
            }
            step => plain.push(step),
        }
    }
    Ok(plain)
}
