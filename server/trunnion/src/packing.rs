//! What a mod's folder gives into its archive: for the command line and for editors.

use std::collections::HashSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use archive::{Plan, Stopped, Wishes};
use project::{Below, CONFIG_FILE_NAME, FileState, Files, SettingsStore, Workspace};
use walkdir::WalkDir;

/// The archive of a folder if no other is named: beside it, with its name. None: the folder has no name or is not there.
pub(crate) fn usual_archive(folder: &Path) -> Option<PathBuf> {
    let folder = fs::canonicalize(folder).ok()?;
    let name = file_name(&folder)?;
    Some(folder.parent()?.join(name))
}

/// What the archive of a folder is called.
pub(crate) fn file_name(folder: &Path) -> Option<String> {
    let folder = fs::canonicalize(folder).ok()?;
    let name = folder.file_name()?.to_str()?;
    Some(format!("{name}.zip"))
}

/// What is to become of a folder.
pub(crate) struct Planned {
    pub(crate) plan: Plan,
    /// Which documents were not looked at, in sentences: what they name is left out if nothing else speaks for it.
    pub(crate) unread: Option<String>,
    /// Files that the documents name and the archive will not have, since they lie elsewhere; a sentence each.
    pub(crate) outside: Vec<String>,
}

/// Looks at a mod's folder that is to become the archive `target`. `settings`: as far as they are trusted.
///
/// # Errors
/// As of [`Plan::of`].
pub(crate) fn plan(
    folder: &Path,
    target: &Path,
    settings: &Arc<SettingsStore>,
) -> Result<Planned, Stopped> {
    let root = fs::canonicalize(folder).unwrap_or_else(|_| folder.to_path_buf());
    let mut wishes = Wishes::default();
    for file in ours(&root, settings) {
        if let Some(name) = inside(&root, &file) {
            let why = "It tells Trunnion about the files; the game has no use for it.";
            wishes.without.insert(name, why.to_owned());
        }
    }
    let documents = Workspace::with(settings.clone()).snapshot();
    let documents = documents.views_below(&root, &HashSet::new());
    let mut outside = Vec::new();
    for Named { by, name, file } in named(&documents) {
        match (inside(&root, &file), inside(&root, by)) {
            (Some(file), _) => _ = wishes.needed.insert(file),
            (None, Some(by)) => outside.push(format!(
                "{by} names `{name}`, which lies outside of the folder"
            )),
            (None, None) => {}
        }
    }
    let plan = Plan::of(folder, target, wishes)?;
    let unread = documents.left_out().map(|unread| {
        format!("What these name is left out if it looks like no part of the mod.\n{unread}")
    });
    Ok(Planned {
        plan,
        unread,
        outside,
    })
}

/// Settings, the dialects that they name, and baselines.
fn ours(root: &Path, settings: &SettingsStore) -> Vec<PathBuf> {
    let mut files = Vec::new();
    let disk = Files::default();
    for entry in WalkDir::new(root).into_iter().flatten() {
        if entry.file_name() == CONFIG_FILE_NAME {
            let folder = entry.path().parent().unwrap_or(root);
            files.extend(settings.for_folder(folder).config.dialects);
            files.push(entry.into_path());
        } else if project::is_baseline(&disk, entry.path()) {
            files.push(entry.into_path());
        }
    }
    // Settings above the folder may name a dialect in it.
    files.extend(settings.for_folder(root).config.dialects);
    files
}

/// A file that a document names.
struct Named<'d> {
    by: &'d Path,
    name: &'d str,
    file: PathBuf,
}

/// The files that a mod's documents name, but for those that the game brings along.
fn named(documents: &Below) -> Vec<Named<'_>> {
    let mut files = Vec::new();
    for view in &documents.views {
        let Some(meaning) = &view.meaning else {
            continue;
        };
        let game = view.settings.config.game_folder.as_deref();
        let game = game.map(project::straightened);
        for used in &meaning.machine().files {
            let name = &*used.name.value;
            match meaning.file(name) {
                FileState::Found(path) | FileState::CaseDiffers { actual: path, .. } => {
                    let file = project::straightened(path);
                    if game.as_ref().is_none_or(|game| !file.starts_with(game)) {
                        let by = &*view.document.path;
                        files.push(Named { by, name, file });
                    }
                }
                FileState::Missing(_) | FileState::InGame => {}
            }
        }
    }
    files
}

/// The name from the root, with `/` between the steps. None: it is elsewhere.
fn inside(root: &Path, file: &Path) -> Option<String> {
    let steps = file.strip_prefix(root).ok()?.iter();
    let steps: Option<Vec<&str>> = steps.map(|step| step.to_str()).collect();
    Some(steps?.join("/"))
}
