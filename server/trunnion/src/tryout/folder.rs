//! The files of a mod that the page may show and save.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use project::Disk;
use serde::Serialize;
use url::Url;

use crate::cli::replace::{Replaced, replace};

/// Larger files are not for this page.
pub(super) const LARGEST: u64 = 16 << 20;
/// So many files are shown.
const MOST: usize = 2_000;
/// The endings of files that a person edits.
const ENDINGS: [&str; 2] = ["xml", "toml"];

/// A mod's folder.
#[derive(Debug)]
pub(crate) struct Folder {
    root: PathBuf,
    /// The file to show first.
    first: Option<String>,
}

/// One file, for the page.
#[derive(Debug, Serialize, PartialEq, Eq)]
pub(super) struct Entry {
    /// Below the mod's folder, with `/`.
    path: String,
    uri: String,
}

impl Folder {
    /// A mod's folder, or a file in one, which is then shown first.
    ///
    /// # Errors
    /// There is no such thing, for a person.
    pub(crate) fn of(path: &Path) -> Result<Self, String> {
        let path = path
            .canonicalize()
            .map_err(|error| format!("{} cannot be opened: {error}.", path.display()))?;
        if path.is_dir() {
            return Ok(Self {
                root: path,
                first: None,
            });
        }
        let root = path.parent().unwrap_or(&path).to_path_buf();
        let first = path.file_name().and_then(|name| name.to_str());
        Ok(Self {
            first: first.map(str::to_owned),
            root,
        })
    }

    pub(super) fn root(&self) -> &Path {
        &self.root
    }

    /// The files to be edited, by path; what is to be shown first.
    pub(super) fn entries(&self) -> (Vec<Entry>, Option<usize>) {
        let files = Disk::default().files_below(&self.root);
        let entries = files.iter().filter(|file| {
            let ending = file
                .rsplit_once('.')
                .map(|(_, ending)| ending.to_lowercase());
            ending.is_some_and(|ending| ENDINGS.contains(&ending.as_str()))
        });
        let entries = entries.take(MOST).filter_map(|file| {
            Some(Entry {
                path: file.clone(),
                uri: Url::from_file_path(self.root.join(file)).ok()?.into(),
            })
        });
        let entries: Vec<Entry> = entries.collect();
        let first = entries
            .iter()
            .position(|entry| Some(&entry.path) == self.first.as_ref());
        // In a mod as it comes, what a person wants to see is a machine, and these lie deeper than the manifest.
        let deeper = || entries.iter().position(|entry| entry.path.contains('/'));
        let first = first.or_else(deeper).or((!entries.is_empty()).then_some(0));
        (entries, first)
    }

    /// A file that the page may have.
    fn file(&self, name: &str) -> Result<PathBuf, String> {
        let (entries, _) = self.entries();
        if !entries.iter().any(|entry| entry.path == name) {
            return Err(format!("{name} is none of the files that are shown here."));
        }
        let file = self.root.join(name);
        let size = fs::metadata(&file).map_err(failed(name))?.len();
        if size > LARGEST {
            return Err(format!(
                "{name} is larger than {} MB: take an editor of your own for it.",
                LARGEST >> 20
            ));
        }
        Ok(file)
    }

    /// # Errors
    /// Says, for a person, why it cannot be read.
    pub(super) fn text(&self, name: &str) -> Result<String, String> {
        let bytes = fs::read(self.file(name)?).map_err(failed(name))?;
        syntax::decode::bytes(&bytes).map_err(|error| format!("{name}: {error}."))
    }

    /// Writes a file anew, if it still holds what the page knows: `known`, in the form of [`Self::text`].
    ///
    /// # Errors
    /// Says, for a person, why it cannot be written. The file is as it was then.
    pub(super) fn save(&self, name: &str, known: &str, text: &str) -> Result<(), String> {
        let changed = || {
            format!(
                "{name} was changed by somebody else meanwhile and is not overwritten. Copy what you need and load the page again."
            )
        };
        let file = self.file(name)?;
        let old = fs::read(&file).map_err(failed(name))?;
        if syntax::decode::bytes(&old).ok().as_deref() != Some(known) {
            return Err(changed());
        }
        match replace(&file, &old, text).map_err(failed(name))? {
            Replaced::Done => Ok(()),
            Replaced::ChangedMeanwhile => Err(changed()),
        }
    }
}

fn failed(name: &str) -> impl Fn(io::Error) -> String {
    move |error| format!("{name}: {error}.")
}

#[cfg(test)]
mod tests {
    use super::*;
    use tempfile::TempDir;

    /// What goes when dropped, and the folder in it.
    fn folder() -> (TempDir, Folder) {
        let place = TempDir::with_prefix("trunnion-").unwrap();
        let root = place.path().join("mod");
        fs::create_dir_all(root.join("machines")).unwrap();
        for (name, text) in [
            ("mod.xml", "<mod/>"),
            ("machines/a.xml", "<a/>"),
            ("machines/a.ogg", "noise"),
        ] {
            fs::write(root.join(name), text).unwrap();
        }
        let folder = Folder::of(&root).unwrap();
        (place, folder)
    }

    #[test]
    fn texts_are_shown_and_a_machine_first() {
        let (_place, folder) = folder();
        let (entries, first) = folder.entries();
        let paths: Vec<&str> = entries.iter().map(|entry| entry.path.as_str()).collect();
        assert_eq!(paths, ["machines/a.xml", "mod.xml"]);
        assert_eq!(first, Some(0));
    }

    #[test]
    fn nothing_but_these_files_is_read_or_written() {
        let (_place, folder) = folder();
        let outside = folder.root().with_extension("outside.xml");
        fs::write(&outside, "<secret/>").unwrap();
        let above = format!("../{}", outside.file_name().unwrap().to_str().unwrap());
        for name in [
            above.as_str(),
            outside.to_str().unwrap(),
            "machines/a.ogg",
            "b.xml",
            "",
        ] {
            assert!(folder.text(name).is_err(), "{name}");
            assert!(folder.save(name, "<secret/>", "x").is_err(), "{name}");
        }
        assert_eq!(fs::read_to_string(&outside).unwrap(), "<secret/>");
    }

    #[test]
    fn what_somebody_else_wrote_stays() {
        let (_place, folder) = folder();
        assert_eq!(folder.text("mod.xml").unwrap(), "<mod/>");
        folder.save("mod.xml", "<mod/>", "<mod a='1'/>").unwrap();
        assert_eq!(folder.text("mod.xml").unwrap(), "<mod a='1'/>");
        let refused = folder
            .save("mod.xml", "<mod/>", "<mod a='2'/>")
            .unwrap_err();
        assert!(refused.contains("somebody else"), "{refused}");
        assert_eq!(folder.text("mod.xml").unwrap(), "<mod a='1'/>");
    }
}
