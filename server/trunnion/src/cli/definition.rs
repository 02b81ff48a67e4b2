//! The definition that a command is about, with all that it leads to.

use std::fs;
use std::path::Path;

use project::{Disk, SettingsStore, View};

/// Why a command ends without having done its work, and the exit code for that.
#[derive(Debug)]
pub(super) struct Failure {
    pub(super) code: u8,
    pub(super) message: String,
}

impl Failure {
    /// It cannot be done.
    pub(super) fn refused(message: impl Into<String>) -> Self {
        Self {
            code: 1,
            message: message.into(),
        }
    }

    /// It could not be tried.
    pub(super) fn broken(message: impl Into<String>) -> Self {
        Self {
            code: 2,
            message: message.into(),
        }
    }
}

/// A definition as it is on the disk.
#[derive(Debug)]
pub(super) struct Definition {
    pub(super) bytes: Vec<u8>,
    pub(super) view: View,
}

/// # Errors
/// It cannot be read, or there are mistakes in its settings or dialects.
pub(super) fn open(file: &Path) -> Result<Definition, Failure> {
    let bytes = read(file)?;
    let view = view(file, &bytes)?;
    Ok(Definition { bytes, view })
}

fn read(file: &Path) -> Result<Vec<u8>, Failure> {
    let failed =
        |reason: String| Failure::broken(format!("{} cannot be read: {reason}", file.display()));
    let about = fs::metadata(file).map_err(|error| failed(error.to_string()))?;
    if about.is_dir() {
        return Err(failed(
            "it is a folder. Name the definition in it.".to_owned(),
        ));
    }
    let path = std::path::absolute(file).map_err(|error| failed(error.to_string()))?;
    let limit = SettingsStore::default().for_document(&path).config.limits;
    if about.len() > limit.document.bytes() {
        return Err(failed(limit.document.passed_by(about.len())));
    }
    fs::read(file).map_err(|error| failed(error.to_string()))
}

fn view(file: &Path, bytes: &[u8]) -> Result<View, Failure> {
    let failed =
        |reason: String| Failure::broken(format!("{} cannot be read: {reason}", file.display()));
    let text = syntax::decode::bytes(bytes).map_err(|error| failed(error.reason))?;
    let path = std::path::absolute(file).map_err(|error| failed(error.to_string()))?;
    let view = project::view_of(path, text, &Disk::default(), &SettingsStore::default());
    match view.settings.problems.first() {
        None => Ok(view),
        Some(problem) => Err(Failure::broken(format!(
            "{}:{}:{}: {}",
            problem.path.display(),
            problem.line + 1,
            problem.column + 1,
            problem.message
        ))),
    }
}
