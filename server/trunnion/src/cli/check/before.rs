//! The scenes that index paths were written for, where another export has taken their place.

use std::path::{Path, PathBuf};

use project::{Disk, SceneState, View};

use super::super::plain;
use super::files;

/// Where they are.
#[derive(Debug)]
pub(super) enum Before {
    Scene(PathBuf),
    /// The mod as it was, with its scenes in the same places.
    Mod(PathBuf),
}

impl Before {
    /// # Errors
    /// There is nothing, as a sentence.
    pub(super) fn at(path: &Path, disk: &Disk) -> Result<Self, String> {
        let absolute =
            files::absolute(path).map_err(|error| format!("{}: {error}", plain::name(path)))?;
        if path.is_dir() {
            Ok(Self::Mod(absolute))
        } else if files::is_archive(path) {
            Ok(Self::Mod(project::content_of(&absolute)))
        } else if disk.files().is_file(path) {
            Ok(Self::Scene(absolute))
        } else {
            Err(format!(
                "{}: there is no such file or folder",
                plain::name(path)
            ))
        }
    }

    /// Tells a definition what its scene was. A scene that the mod did not have tells nothing.
    ///
    /// # Errors
    /// The scene as it was cannot be read, as a sentence.
    pub(super) fn tell(&self, view: &mut View, disk: &Disk) -> Result<(), String> {
        let Some(meaning) = &mut view.meaning else {
            return Ok(());
        };
        let SceneState::Loaded(now) = &meaning.scene else {
            return Ok(());
        };
        let path = match self {
            Self::Scene(path) => path.clone(),
            Self::Mod(root) => match now.path.strip_prefix(&view.folder.root) {
                Ok(inside) => root.join(inside),
                Err(_) => return Ok(()),
            },
        };
        if !disk.files().is_file(&path) {
            return Ok(());
        }
        let settings = &view.settings;
        let before = disk.scene(&path, &settings.dialects, settings.config.limits);
        let before = before.map_err(|reason| {
            format!(
                "its scene as it was, {}, cannot be read. {reason}",
                plain::name(&path)
            )
        })?;
        meaning.was_written_for(&before, disk);
        Ok(())
    }
}
