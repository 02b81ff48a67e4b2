//! Copies of a mod that lie where its archive is to be, and that the game may load in its place: moved aside.

use std::ffi::OsStr;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use walkdir::WalkDir;

use crate::names::folded;
use crate::plan::{self, Plan};
use crate::{Contents, Stopped};

/// What is moved aside, and where to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Moved {
    pub from: PathBuf,
    pub to: PathBuf,
}

impl Plan {
    /// Other copies of the mod in the folder of the archive: folders and archives of the same name, as some system or
    /// game takes it; and those whose name goes on with a number (a version, or a copy's), if most of their files have
    /// the same names. The folder that is packed is none. In order.
    ///
    /// # Errors
    /// The folder cannot be read.
    pub fn shadows(&self) -> Result<Vec<PathBuf>, Stopped> {
        let folder = whole::parent(&self.target);
        let (Some(name), Some(stem)) = (self.target.file_name(), stem(&self.target)) else {
            return Ok(Vec::new());
        };
        let entries = fs::read_dir(folder).map_err(|error| {
            Stopped::Failed(format!("{} cannot be read: {error}", folder.display()))
        })?;
        let mut shadows = Vec::new();
        for entry in entries.flatten() {
            let path = entry.path();
            let is_target = entry.file_name() == name;
            let holds_source =
                fs::canonicalize(&path).is_ok_and(|path| self.folder.starts_with(path));
            let is_archive = path.extension() == Some(OsStr::new("zip")) && path.is_file();
            if is_target || holds_source || !(is_archive || path.is_dir()) {
                continue;
            }
            let other = match is_archive {
                true => self::stem(&path),
                false => entry.file_name().to_str().map(folded),
            };
            let Some(rest) = other
                .as_deref()
                .and_then(|other| other.strip_prefix(&*stem))
            else {
                continue;
            };
            if rest.is_empty() || is_number(rest) && self.is_alike(&files(&path, is_archive)) {
                shadows.push(path);
            }
        }
        shadows.sort();
        Ok(shadows)
    }

    /// Whether most files have names that this mod's have too.
    fn is_alike(&self, others: &[String]) -> bool {
        let same = others
            .iter()
            .filter(|name| self.found.files.contains_key(*name));
        same.count() * 2 > others.len().max(self.found.files.len())
    }
}

/// A name without its ending, as it is compared.
fn stem(path: &Path) -> Option<String> {
    Some(folded(path.file_stem()?.to_str()?))
}

/// What follows a name where it is a version, or another copy: `-1.2`, `_v3`, ` (1)`.
fn is_number(rest: &str) -> bool {
    let has_digit = rest.contains(|one: char| one.is_ascii_digit());
    has_digit
        && rest
            .chars()
            .all(|one| one.is_ascii_digit() || " -_.()v".contains(one))
}

fn files(path: &Path, is_archive: bool) -> Vec<String> {
    if is_archive {
        let opened = Contents::open(path);
        return opened.map_or_else(
            |_| Vec::new(),
            |contents| contents.files().map(|(name, _)| name.to_owned()).collect(),
        );
    }
    let below = WalkDir::new(path).into_iter().flatten();
    below
        .filter(|entry| entry.file_type().is_file())
        .filter_map(|entry| plan::name(entry.path().strip_prefix(path).ok()?))
        .collect()
}

/// Moves copies out of their folder, into one beside it, where no game looks. All of them or none.
///
/// # Errors
/// What stood in the way; all is where it was then.
pub(crate) fn set_aside(shadows: &[PathBuf]) -> Result<Vec<Moved>, Stopped> {
    let mut all = Vec::new();
    for from in shadows {
        match one_aside(from) {
            Ok(moved) => all.push(moved),
            Err(error) => {
                bring_back(&all);
                return Err(Stopped::Failed(format!(
                    "{} is a copy of the mod that the game may load instead, and cannot be moved aside, so nothing was changed: {error}",
                    from.display()
                )));
            }
        }
    }
    Ok(all)
}

fn one_aside(from: &Path) -> io::Result<Moved> {
    let folder = fs::canonicalize(whole::parent(from))?;
    let mut name = folder
        .file_name()
        .ok_or(io::ErrorKind::InvalidInput)?
        .to_owned();
    name.push("-set-aside");
    let store = folder.with_file_name(name);
    fs::create_dir_all(&store)?;
    let mut number = 1_u32;
    // A new folder for each, so that nothing is in the way of what keeps its name.
    let own = loop {
        let own = store.join(number.to_string());
        match fs::create_dir(&own) {
            Ok(()) => break own,
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists && number < u32::MAX => {
                number += 1;
            }
            Err(error) => return Err(error),
        }
    };
    let to = own.join(from.file_name().unwrap_or_default());
    if let Err(error) = fs::rename(from, &to) {
        remove_if_empty(&own);
        return Err(error);
    }
    Ok(Moved {
        from: from.to_path_buf(),
        to,
    })
}

/// Undoes it.
pub(crate) fn bring_back(all: &[Moved]) {
    for moved in all {
        // What came into its place meanwhile stays, and so does the copy where it is.
        if fs::symlink_metadata(&moved.from).is_err() && fs::rename(&moved.to, &moved.from).is_ok()
        {
            remove_if_empty(whole::parent(&moved.to));
        }
    }
}

/// A folder that was made for one thing, and the one that these are in.
fn remove_if_empty(own: &Path) {
    // The system removes empty folders only.
    let _ = fs::remove_dir(own).and_then(|()| fs::remove_dir(whole::parent(own)));
}

#[cfg(test)]
mod tests {
    use super::is_number;

    #[test]
    fn versions_and_copies_are_told_from_other_names() {
        for rest in ["-1.2", "_v3", " (1)", "2"] {
            assert!(is_number(rest), "{rest}");
        }
        for rest in ["-winter", "-", "s", " 2nd quay"] {
            assert!(!is_number(rest), "{rest}");
        }
    }
}
