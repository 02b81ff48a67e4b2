//! Is the archive beside a mod's folder what the folder would give? Looked for only where it is asked for: in a manifest.

use crate::{CONFIG_FILE_NAME, baseline::is_baseline, files::Files, settings::Settings};
use std::{
    collections::BTreeSet,
    path::{Path, PathBuf},
};

/// So much is read to compare files of the same size; beyond it they count as the same.
const MOST_READ: u64 = 64 << 20;

/// A file that is not the same in a folder and its archive.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Difference {
    /// From the mod's folder, with `/` between the steps.
    pub file: String,
    pub how: How,
}

/// What about it is not the same.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum How {
    /// The folder's was changed after the archive.
    NewerInFolder,
    /// The folder's is other, but was not changed after the archive.
    OlderInFolder,
    OnlyInFolder,
    OnlyInArchive,
}

/// Compares a mod's `files` (in the folder `root`) with an archive. In the order of the names. None: the archive cannot be read.
pub(crate) fn differences(
    root: &Path,
    files: &[String],
    archive: &Path,
    disk: &Files,
    settings: &Settings,
) -> Option<Vec<Difference>> {
    let contents = disk.contents(archive).ok()?;
    let packed_at = disk.about(archive).ok()?.modified;
    let top = top(contents.files().map(|(file, _)| file));
    let counts = |file: &&str| is_packed(disk, &root.join(file), file, settings);
    let own: BTreeSet<&str> = files.iter().map(String::as_str).filter(counts).collect();
    let packed = contents.below(&top).map(|(file, _)| file);
    let packed: BTreeSet<&str> = packed.filter(counts).collect();
    let mut read = 0;
    // How a file differs that is in both.
    let mut changed = |file: &str| {
        let member = match top.is_empty() {
            true => file.to_owned(),
            false => format!("{top}/{file}"),
        };
        let path = root.join(file);
        let about = disk.about(&path).ok()?;
        let is_same = contents.size(&member) == Some(about.size) && {
            read += about.size;
            read > MOST_READ
                || disk.read(&path, about.size).ok() == contents.read(&member, about.size).ok()
        };
        match is_same {
            true => None,
            false if about.modified > packed_at => Some(How::NewerInFolder),
            false => Some(How::OlderInFolder),
        }
    };
    let both = own.union(&packed).filter_map(|file| {
        let how = match (own.contains(file), packed.contains(file)) {
            (true, false) => How::OnlyInFolder,
            (false, _) => How::OnlyInArchive,
            (true, true) => changed(file)?,
        };
        let file = (*file).to_owned();
        Some(Difference { file, how })
    });
    Some(both.collect())
}

/// The folder that all files of an archive lie in; empty if there is none.
fn top<'f>(files: impl Iterator<Item = &'f str>) -> String {
    let mut top: Option<&str> = None;
    for file in files {
        let first = file.split_once('/').map(|(first, _)| first);
        match (first, top) {
            (None, _) => return String::new(),
            (Some(first), Some(known)) if first != known => return String::new(),
            (first, _) => top = first,
        }
    }
    top.unwrap_or_default().to_owned()
}

/// Whether it would go into an archive.
fn is_packed(disk: &Files, path: &PathBuf, file: &str, settings: &Settings) -> bool {
    let mut steps = file.split('/').rev();
    let name = steps.next().unwrap_or(file);
    name != CONFIG_FILE_NAME
        && !settings.config.dialects.contains(path)
        && !is_baseline(disk, path)
        && archive::leftover(name, false).is_none()
        && steps.all(|step| archive::leftover(step, true).is_none())
}

#[cfg(test)]
mod tests {
    use super::top;

    #[test]
    fn a_folder_around_everything_is_seen() {
        assert_eq!(top(["quay/a.xml", "quay/b/c.ogg"].into_iter()), "quay");
        assert_eq!(top(["quay/a.xml", "pier/c.ogg"].into_iter()), "");
        assert_eq!(top(["quay/a.xml", "mod.xml"].into_iter()), "");
        assert_eq!(top([].into_iter()), "");
    }
}
