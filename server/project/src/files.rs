//! Files on the disk, and files in archives on the disk, by one sort of path.
//!
//! The path `/mods/quay.zip!/machines/a.xml` leads to a member of the archive `/mods/quay.zip`: the archive's name with a
//! `!` is the folder of all that is in it. Whatever follows such paths, as a definition to its scene, needs not know.
//! A folder on the disk that really has such a name comes first.

use crate::below::{below, is_hidden};
use archive::Contents;
use dashmap::DashMap;
use std::{
    collections::BTreeMap,
    fs::{self, DirEntry, File},
    io::{self, Read},
    path::{Component, Path, PathBuf},
    sync::Arc,
    time::SystemTime,
};
use walkdir::WalkDir;

/// Behind the name of an archive whose content is meant.
const MARK: char = '!';

/// Reads files. Archives are opened once and again when they change.
#[derive(Debug, Default)]
pub struct Files {
    archives: DashMap<PathBuf, (Stamp, Opened)>,
}

type Stamp = (u64, Option<SystemTime>);
/// The error is a sentence for each thing that is wrong with the archive.
type Opened = Result<Arc<Contents>, Arc<Vec<String>>>;

/// What is known of a file without reading it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct About {
    /// In bytes.
    pub size: u64,
    /// Of the archive, for a file in one.
    pub modified: Option<SystemTime>,
    /// Not a folder, a device or a pipe.
    pub is_file: bool,
}

/// What a folder says of one of its entries.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Entry {
    File,
    Folder,
    /// A link, a device, a pipe: what it leads to is to be looked at.
    Other,
}

/// The entries of a folder, by name.
pub type Entries = BTreeMap<String, Entry>;

/// A place in an archive.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Inside {
    pub archive: PathBuf,
    /// The folder that stands for the archive's content.
    pub root: PathBuf,
    /// The path in the archive, with `/` between the steps; empty for all of it.
    pub member: String,
}

/// The folder that stands for what is in an archive.
pub fn content_of(archive: &Path) -> PathBuf {
    let mut name = archive.as_os_str().to_os_string();
    name.push(MARK.to_string());
    PathBuf::from(name)
}

/// The place in an archive that a path leads to. None: it leads to the disk.
pub fn inside(path: &Path) -> Option<Inside> {
    // Most paths have no mark at all, and need no look at the disk.
    if !path.as_os_str().as_encoded_bytes().contains(&(MARK as u8)) {
        return None;
    }
    let mut root = PathBuf::new();
    let mut steps = path.components();
    while let Some(step) = steps.next() {
        root.push(step);
        let Component::Normal(name) = step else {
            continue;
        };
        let Some(name) = name.to_str().and_then(|name| name.strip_suffix(MARK)) else {
            continue;
        };
        let archive = root.with_file_name(name);
        if !name.is_empty() && archive.is_file() && !root.exists() {
            let member: Vec<&str> = steps
                .map(|step| step.as_os_str().to_str())
                .collect::<Option<_>>()?;
            let member = member.join("/");
            return Some(Inside {
                archive,
                root,
                member,
            });
        }
    }
    None
}

impl Files {
    /// # Errors
    /// There is no such file or folder, or it cannot be reached.
    pub fn about(&self, path: &Path) -> io::Result<About> {
        let Some(Inside {
            archive, member, ..
        }) = inside(path)
        else {
            return about_on_disk(path);
        };
        let whole = about_on_disk(&archive)?;
        let contents = self.contents(&archive).map_err(refused)?;
        let size = contents.size(&member);
        if size.is_none() && !contents.has_folder(&member) {
            return Err(io::ErrorKind::NotFound.into());
        }
        Ok(About {
            size: size.unwrap_or_default(),
            is_file: size.is_some(),
            ..whole
        })
    }

    /// Whether there is a file, on the disk or in an archive; a link counts as what it leads to.
    pub fn is_file(&self, path: &Path) -> bool {
        self.about(path).is_ok_and(|about| about.is_file)
    }

    /// Whether there is a file or a folder.
    pub fn exists(&self, path: &Path) -> bool {
        self.about(path).is_ok()
    }

    /// The first `most` bytes of a file, or all of it. A device or a pipe may have no end, so this much of it is waited
    /// for.
    ///
    /// # Errors
    /// It cannot be read.
    pub fn read(&self, path: &Path, most: u64) -> io::Result<Vec<u8>> {
        if let Some(Inside {
            archive, member, ..
        }) = inside(path)
        {
            return self
                .contents(&archive)
                .map_err(refused)?
                .read(&member, most);
        }
        let size = fs::metadata(path).map_or(0, |about| about.len());
        read_on_disk(path, size, most)
    }

    /// The same of a file of which it is known how large it is. It may have grown or shrunk since.
    ///
    /// # Errors
    /// As there.
    pub fn read_known(&self, path: &Path, about: About, most: u64) -> io::Result<Vec<u8>> {
        match inside(path) {
            Some(_) => self.read(path, most),
            None => read_on_disk(path, about.size, most),
        }
    }

    /// The entries of a folder; none if it cannot be read.
    pub fn entries(&self, folder: &Path) -> Entries {
        let Some(Inside {
            archive, member, ..
        }) = inside(folder)
        else {
            let entries = fs::read_dir(folder).into_iter().flatten().flatten();
            return entries
                .filter_map(|entry| Some((entry.file_name().into_string().ok()?, kind_of(&entry))))
                .collect();
        };
        let Ok(contents) = self.contents(&archive) else {
            return Entries::new();
        };
        let first_step = |path: &str| match path.split_once('/') {
            Some((folder, _)) => (folder.to_owned(), Entry::Folder),
            None => (path.to_owned(), Entry::File),
        };
        contents
            .below(&member)
            .map(|(path, _)| first_step(path))
            .collect()
    }

    /// The files below a folder, relative to it, with `/` between the steps, in order: at most `most` of them, up to
    /// `depth` folders deep. Links are not followed, hidden files and folders are left out.
    pub fn below(&self, folder: &Path, depth: usize, most: usize) -> Vec<String> {
        let Some(Inside {
            archive, member, ..
        }) = inside(folder)
        else {
            return below(folder, depth, most, |folder| Arc::new(self.entries(folder)));
        };
        let Ok(contents) = self.contents(&archive) else {
            return Vec::new();
        };
        let is_wanted =
            |path: &&str| !path.split('/').any(is_hidden) && path.split('/').count() <= depth;
        contents
            .below(&member)
            .map(|(path, _)| path)
            .filter(is_wanted)
            .take(most)
            .map(str::to_owned)
            .collect()
    }

    /// What editors and systems left behind below a folder, with the reason: paths relative to it, a folder with `/` at
    /// its end, up to `depth` folders deep, `most` of them. What is hidden on the disk is not among it: it stays there when a mod is packed, and whoever
    /// works on a mod has it.
    pub fn leftovers(
        &self,
        folder: &Path,
        depth: usize,
        most: usize,
    ) -> Vec<(String, &'static str)> {
        match inside(folder) {
            None => leftovers_on_disk(folder, depth, most),
            Some(Inside {
                archive, member, ..
            }) => {
                let contents = self.contents(&archive);
                let mut found: Vec<_> = contents
                    .iter()
                    .flat_map(|contents| contents.below(&member))
                    .filter_map(|(path, _)| leftover_on(path))
                    .collect();
                found.dedup();
                found.truncate(most);
                found
            }
        }
    }

    /// An archive, opened for reading.
    ///
    /// # Errors
    /// A sentence for each thing that is wrong with it.
    pub fn contents(&self, archive: &Path) -> Opened {
        let stamp = about_on_disk(archive).map_or((0, None), |about| (about.size, about.modified));
        if let Some(known) = self.archives.get(archive).filter(|known| known.0 == stamp) {
            return known.1.clone();
        }
        let opened = Contents::open(archive)
            .map(Arc::new)
            .map_err(|stopped| Arc::new(stopped.into()));
        self.archives
            .insert(archive.to_path_buf(), (stamp, opened.clone()));
        opened
    }
}

fn refused(reasons: Arc<Vec<String>>) -> io::Error {
    io::Error::new(io::ErrorKind::InvalidData, reasons.join(" "))
}

fn about_on_disk(path: &Path) -> io::Result<About> {
    let about = fs::metadata(path)?;
    Ok(About {
        size: about.len(),
        modified: about.modified().ok(),
        is_file: about.is_file(),
    })
}

/// `size`: how large the file is, as far as it is known. So much is read at once.
fn read_on_disk(path: &Path, size: u64, most: u64) -> io::Result<Vec<u8>> {
    let mut file = File::open(path)?;
    let size = size.min(most);
    let mut bytes = vec![0; usize::try_from(size).unwrap_or_default()];
    let mut filled = 0;
    while filled < bytes.len() {
        match file.read(&mut bytes[filled..]) {
            Ok(0) => break,
            Ok(count) => filled += count,
            Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
            Err(error) => return Err(error),
        }
    }
    bytes.truncate(filled);
    let rest = most.saturating_sub(filled as u64);
    file.take(rest).read_to_end(&mut bytes)?;
    Ok(bytes)
}

fn kind_of(entry: &DirEntry) -> Entry {
    match entry.file_type() {
        Ok(kind) if kind.is_file() => Entry::File,
        Ok(kind) if kind.is_dir() => Entry::Folder,
        _ => Entry::Other,
    }
}

fn leftovers_on_disk(root: &Path, depth: usize, most: usize) -> Vec<(String, &'static str)> {
    let mut found = Vec::new();
    let mut entries = WalkDir::new(root)
        .min_depth(1)
        .max_depth(depth)
        .sort_by_file_name()
        .into_iter();
    while let Some(entry) = entries.next() {
        let Ok(entry) = entry else { continue };
        if found.len() == most {
            break;
        }
        let is_folder = entry.file_type().is_dir();
        let name = entry.file_name().to_str().unwrap_or_default();
        let why = archive::leftover(name, is_folder);
        if let Some(why) = why.filter(|_| !is_hidden(name))
            && let Some(path) = entry.path().strip_prefix(root).ok().and_then(Path::to_str)
        {
            let end = if is_folder { "/" } else { "" };
            found.push((path.replace('\\', "/") + end, why));
        }
        if is_folder && (why.is_some() || is_hidden(name)) {
            entries.skip_current_dir();
        }
    }
    found
}

/// The first step on the way to a file that is a leftover.
fn leftover_on(path: &str) -> Option<(String, &'static str)> {
    let mut end = 0;
    loop {
        let step = path[end..].split('/').next().unwrap_or_default();
        end += step.len();
        let is_folder = path[end..].starts_with('/');
        end += usize::from(is_folder);
        match archive::leftover(step, is_folder) {
            Some(why) => return Some((path[..end].to_owned(), why)),
            None if !is_folder => return None,
            None => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{archive, folder};

    #[test]
    fn a_member_is_read_like_a_file() {
        let folder = folder();
        let zip = folder.path().join("quay.zip");
        let members: [(&str, &[u8]); 3] = [("a/x.xml", b"<a/>"), (".git/y", b""), ("b.xml", b"")];
        archive(&zip, &members);
        let root = content_of(&zip);
        let files = Files::default();
        assert_eq!(files.read(&root.join("a/x.xml"), 99).unwrap(), b"<a/>");
        assert!(files.is_file(&root.join("a/x.xml")) && !files.is_file(&root.join("a")));
        assert!(files.exists(&root.join("a")) && !files.exists(&root.join("c")));
        assert_eq!(files.below(&root, 9, 9), ["a/x.xml", "b.xml"]);
        assert_eq!(files.below(&root, 1, 9), ["b.xml"]);
        let entries: Vec<(String, Entry)> = files.entries(&root).into_iter().collect();
        let expected = [
            (".git", Entry::Folder),
            ("a", Entry::Folder),
            ("b.xml", Entry::File),
        ];
        assert_eq!(
            entries,
            expected.map(|(name, kind)| (name.to_owned(), kind))
        );
        assert_eq!(inside(&root.join("a/x.xml")).unwrap().member, "a/x.xml");
    }

    #[test]
    fn a_folder_that_has_such_a_name_comes_first() {
        let folder = folder();
        let zip = folder.path().join("quay.zip");
        archive(&zip, &[("x.xml", b"<a/>")]);
        let root = content_of(&zip);
        fs::create_dir(&root).unwrap();
        fs::write(root.join("x.xml"), "<real/>").unwrap();
        let files = Files::default();
        assert_eq!(files.read(&root.join("x.xml"), 99).unwrap(), b"<real/>");
        assert_eq!(inside(&folder.path().join("other.zip!/x.xml")), None);
    }

    #[test]
    fn a_file_is_read_whole_whatever_was_known_of_its_size() {
        let folder = folder();
        let path = folder.path().join("a.xml");
        fs::write(&path, "Ternholt").unwrap();
        let files = Files::default();
        let about = files.about(&path).unwrap();
        for size in [0, 3, 8, 9, 1000] {
            let about = About { size, ..about };
            for most in [0, 3, 8, 9] {
                let expected = &b"Ternholt"[..8.min(most)];
                let read = files.read_known(&path, about, most as u64).unwrap();
                assert_eq!(read, expected, "{size} {most}");
            }
        }
    }
}
