//! The definition that a command is about, with all that it leads to.

use super::plain;
use std::path::Path;

use project::{Disk, Files, SettingsStore, View};

/// Why a command ends without having done its work, and the exit code for that.
#[derive(Debug)]
pub(crate) struct Failure {
    pub(crate) code: u8,
    pub(crate) message: String,
}

impl Failure {
    /// It cannot be done.
    pub(crate) fn refused(message: impl Into<String>) -> Self {
        Self {
            code: 1,
            message: message.into(),
        }
    }

    /// It could not be tried.
    pub(crate) fn broken(message: impl Into<String>) -> Self {
        Self {
            code: 2,
            message: message.into(),
        }
    }
}

/// A definition as it is on the disk.
#[derive(Debug)]
pub(crate) struct Definition {
    pub(crate) bytes: Vec<u8>,
    pub(crate) view: View,
}

/// # Errors
/// It cannot be read, or there are mistakes in its settings or dialects.
pub(crate) fn open(file: &Path) -> Result<Definition, Failure> {
    open_by(file, &SettingsStore::default(), &Disk::default())
}

/// `disk`: for whoever opens all files of a mod, as each of them asks what else is there.
///
/// # Errors
/// As of [`open`].
pub(crate) fn open_by(
    file: &Path,
    settings: &SettingsStore,
    disk: &Disk,
) -> Result<Definition, Failure> {
    let bytes = read(file)?;
    let view = view(file, &bytes, settings, disk)?;
    Ok(Definition { bytes, view })
}

/// A definition to be looked at, not changed: with what entities stand for that it declares itself.
///
/// # Errors
/// As of [`open`].
pub(crate) fn as_meant(file: &Path) -> Result<View, Failure> {
    let (settings, disk) = (SettingsStore::default(), Disk::default());
    let view = open_by(file, &settings, &disk)?.view;
    Ok(match view.tree().expanded() {
        Some(text) => {
            let path = view.document.path.clone();
            project::view_of(path, text, &disk, &settings)
        }
        None => view,
    })
}

/// The settings of several versions of a file.
pub(crate) fn settings_of(versions: &[&Path]) -> SettingsStore {
    let files = versions.iter();
    let files = files.filter_map(|file| std::path::absolute(file).ok());
    let folders = files.filter_map(|file| Some(file.parent()?.to_path_buf()));
    SettingsStore::of_versions(folders.collect())
}

/// The text of a definition.
///
/// # Errors
/// It cannot be read.
pub(crate) fn text(file: &Path) -> Result<String, Failure> {
    decoded(file, &read(file)?)
}

/// The bytes of a file and their text.
///
/// # Errors
/// It cannot be read.
pub(crate) fn bytes_and_text(file: &Path) -> Result<(Vec<u8>, String), Failure> {
    let bytes = read(file)?;
    let text = decoded(file, &bytes)?;
    Ok((bytes, text))
}

fn decoded(file: &Path, bytes: &[u8]) -> Result<String, Failure> {
    let name = plain::name(file);
    if archive::is_archive(bytes) {
        return Err(Failure::broken(format!(
            "{name} cannot be read: it is an archive. Name the definition in it, as in {name}!/FILE."
        )));
    }
    syntax::decode::bytes(bytes)
        .map_err(|error| Failure::broken(format!("{name} cannot be read: {}", error.reason)))
}

fn read(file: &Path) -> Result<Vec<u8>, Failure> {
    let failed =
        |reason: String| Failure::broken(format!("{} cannot be read: {reason}", plain::name(file)));
    let files = Files::default();
    let path = std::path::absolute(file).map_err(|error| failed(error.to_string()))?;
    let about = files
        .about(&path)
        .map_err(|error| failed(error.to_string()))?;
    if !about.is_file && (path.is_dir() || project::inside(&path).is_some()) {
        return Err(failed(
            "it is a folder. Name the definition in it.".to_owned(),
        ));
    }
    let limit = SettingsStore::default().for_document(&path).config.limits;
    if about.size > limit.document.bytes() {
        return Err(failed(limit.document.passed_by(about.size)));
    }
    let bytes = files.read(&path, limit.document.bytes() + 1);
    let bytes = bytes.map_err(|error| failed(error.to_string()))?;
    match bytes.len() as u64 {
        size if size > limit.document.bytes() => Err(failed(limit.document.passed_by(size))),
        _ => Ok(bytes),
    }
}

fn view(file: &Path, bytes: &[u8], settings: &SettingsStore, disk: &Disk) -> Result<View, Failure> {
    let failed =
        |reason: String| Failure::broken(format!("{} cannot be read: {reason}", plain::name(file)));
    let text = decoded(file, bytes)?;
    let path = std::path::absolute(file).map_err(|error| failed(error.to_string()))?;
    let view = project::view_of(path, text, disk, settings);
    match view.settings.problems.first() {
        None => Ok(view),
        Some(problem) => Err(Failure::broken(format!(
            "{}:{}:{}: {}",
            plain::name(&problem.path),
            problem.line + 1,
            problem.column + 1,
            problem.message
        ))),
    }
}
