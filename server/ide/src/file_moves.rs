//! Files that get other names or places: what documents that name them have to say then.

use std::path::{Path, PathBuf};

use project::{FileState, View};
use syntax::{TextEdit, TextRange};

use crate::checks::escaped;
use crate::file_names::{as_written, base, relative};

/// A file, or a folder with all that is in it, from where to where. Both absolute.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Move {
    pub from: PathBuf,
    pub to: PathBuf,
}

impl Move {
    /// Where a path leads to that may have been moved.
    fn after(&self, path: &Path) -> Option<PathBuf> {
        let inside = path.strip_prefix(&self.from).ok()?;
        Some(match inside.as_os_str().is_empty() {
            true => self.to.clone(),
            false => self.to.join(inside),
        })
    }
}

fn after(moves: &[Move], path: &Path) -> Option<PathBuf> {
    moves.iter().find_map(|one| one.after(path))
}

/// The edits with which a document names the same files after the moves as before, whether they were moved or itself. A
/// name that leads nowhere before stays, and so does one of a file that a name cannot reach any more.
pub fn edits(view: &View, moves: &[Move]) -> Vec<TextEdit> {
    let (Some(meaning), Some(machine)) = (&view.meaning, view.machine()) else {
        return Vec::new();
    };
    let after = |path: &Path| after(moves, path);
    let own = &view.document.path;
    let document = after(own).unwrap_or_else(|| own.clone());
    let root = after(&view.folder.root).unwrap_or_else(|| view.folder.root.clone());
    let dialect = &meaning.dialect;
    let Some(base) = base(dialect, &document, &root) else {
        return Vec::new();
    };
    let prefix = dialect.notation.files.game_prefix.as_deref();
    let prefix = prefix.filter(|prefix| !prefix.is_empty());
    let edit = |file: &machine::FileUse| {
        let written = &file.name.value;
        let (FileState::Found(path) | FileState::CaseDiffers { actual: path, .. }) =
            meaning.file(written)
        else {
            return None;
        };
        // The game's own files have places of their own.
        if prefix.is_some_and(|prefix| written.starts_with(prefix)) {
            return None;
        }
        let path = project::straightened(path);
        let target = after(&path);
        if target.is_none() && document == *own {
            return None;
        }
        let target = target.unwrap_or(path);
        // What names start from is the mod, and this is outside of it.
        if base == root && !target.starts_with(&root) {
            return None;
        }
        let name = as_written(dialect, written, &relative(base, &target)?);
        (*name != **written).then(|| TextEdit::replace(file.name.range, escaped(&name)))
    };
    machine.files.iter().filter_map(edit).collect()
}

/// The edits with which a `trunnion.toml` names the same dialects after the moves as before, whether they were moved or itself.
pub fn settings_edits(path: &Path, text: &str, moves: &[Move]) -> Vec<TextEdit> {
    let moved = after(moves, path);
    let folder = moved.as_deref().unwrap_or(path).parent();
    let edit = |(range, dialect): (TextRange, PathBuf)| {
        let dialect = project::straightened(&dialect);
        let target = after(moves, &dialect);
        if target.is_none() && moved.is_none() {
            return None;
        }
        let target = target.unwrap_or(dialect);
        let written = text.get(std::ops::Range::from(range))?;
        let name = match Path::new(written.trim_matches(['"', '\''])).is_absolute() {
            true => target.to_str()?.to_owned(),
            false => relative(folder?, &target)?,
        };
        let quoted = in_quotes(&name, written);
        (quoted != written).then(|| TextEdit::replace(range, quoted))
    };
    let named = project::dialects_named(path, text).into_iter();
    named.filter_map(edit).collect()
}

/// A string of TOML, in the quotes of another one where these will do.
fn in_quotes(name: &str, like: &str) -> String {
    let is_plain = !name.contains(|c: char| c == '\'' || c.is_control());
    if is_plain && like.starts_with('\'') {
        return format!("'{name}'");
    }
    let mut quoted = String::from("\"");
    for character in name.chars() {
        match character {
            '"' | '\\' => quoted.extend(['\\', character]),
            control if control.is_control() => {
                quoted.push_str(&format!("\\u{:04X}", u32::from(control)));
            }
            other => quoted.push(other),
        }
    }
    quoted.push('"');
    quoted
}

#[cfg(test)]
mod tests;
