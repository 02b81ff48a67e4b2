//! Which files to check.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::path::{Component, Path, PathBuf};
use std::sync::Arc;

use dialect::Dialect;
use project::SettingsStore;
use walkdir::{DirEntry, WalkDir};

/// The files to check, and what cannot be looked at.
#[derive(Debug, Default)]
pub(crate) struct Wanted {
    /// By absolute path: the path to show. Each file once, however often it was asked for.
    pub(crate) files: BTreeMap<PathBuf, PathBuf>,
    /// Folders whose settings are looked at even if no file there needs them. Absolute.
    pub(crate) folders: BTreeSet<PathBuf>,
    /// As sentences.
    pub(crate) failures: Vec<String>,
}

/// Looks through the paths that were asked for.
pub(crate) fn wanted(paths: &[PathBuf], settings: &SettingsStore) -> Wanted {
    let mut wanted = Wanted::default();
    for path in paths {
        if path.is_dir() {
            wanted.folder(path, settings);
        } else if path.exists() {
            wanted.add(path);
        } else {
            wanted.failures.push(format!(
                "{}: there is no such file or folder",
                path.display()
            ));
        }
    }
    wanted
}

impl Wanted {
    fn add(&mut self, path: &Path) -> bool {
        match absolute(path) {
            Ok(absolute) => {
                self.files
                    .entry(absolute)
                    .or_insert_with(|| path.to_path_buf());
                true
            }
            Err(error) => {
                self.failures.push(format!("{}: {error}", path.display()));
                false
            }
        }
    }

    fn folder(&mut self, folder: &Path, settings: &SettingsStore) {
        let mut dialects = Dialects::new();
        let mut found = self.settings_of(folder, settings);
        for entry in WalkDir::new(folder)
            .sort_by_file_name()
            .into_iter()
            .filter_entry(is_wanted)
        {
            match entry {
                Ok(entry)
                    if entry.file_type().is_file()
                        && may_be_checked(entry.path(), &mut dialects, settings) =>
                {
                    found |= self.add(entry.path());
                }
                Ok(entry) if entry.file_name() == project::CONFIG_FILE_NAME => {
                    let folder = entry.path().parent().unwrap_or(folder);
                    found |= self.settings_of(folder, settings);
                }
                Ok(_) => {}
                Err(error) => {
                    let path = error.path().unwrap_or(folder).display().to_string();
                    let reason = error
                        .io_error()
                        .map_or_else(|| "cannot be followed".to_owned(), ToString::to_string);
                    self.failures.push(format!("{path}: {reason}"));
                }
            }
        }
        if !found {
            self.failures.push(format!(
                "{}: there is nothing to check in this folder",
                folder.display()
            ));
        }
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

/// Hidden folders and files hold other things: version control, caches.
fn is_wanted(entry: &DirEntry) -> bool {
    let name = entry.file_name().as_encoded_bytes();
    entry.depth() == 0 || !name.starts_with(b".")
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

fn is_xml(path: &Path) -> bool {
    path.extension()
        .is_some_and(|extension| extension.eq_ignore_ascii_case("xml"))
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
