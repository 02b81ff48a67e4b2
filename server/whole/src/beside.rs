//! What is new, beside the place that it is to take.

use std::fs::{self, File, Metadata, OpenOptions};
use std::io;
use std::path::{Path, PathBuf};

use crate::left;

/// A new file or folder beside a target: gone when dropped, unless it has taken the target's place. It is locked, so
/// that others can tell whether anybody still works on it.
#[derive(Debug)]
pub struct Beside {
    path: PathBuf,
    /// Of a folder only where the system opens folders.
    handle: Option<File>,
}

/// Why nothing can be made in a place.
pub fn taken() -> io::Error {
    io::Error::new(
        io::ErrorKind::AlreadyExists,
        "there is something of that name already. Choose another name, or move it away",
    )
}

impl Beside {
    /// An empty file to be written (and read) by [`Self::handle`].
    ///
    /// # Errors
    /// The folder of `target` is not there or takes no file; it is said which.
    pub fn file(target: &Path) -> io::Result<Self> {
        let mut options = OpenOptions::new();
        options.read(true).write(true).create_new(true);
        Self::first_free(target, |path| options.open(path).map(Some))
    }

    /// An empty folder.
    ///
    /// # Errors
    /// As of [`Self::file`].
    pub fn folder(target: &Path) -> io::Result<Self> {
        Self::first_free(target, |path| {
            fs::create_dir(path)?;
            Ok(File::open(path).ok())
        })
    }

    fn first_free(
        target: &Path,
        make: impl Fn(&Path) -> io::Result<Option<File>>,
    ) -> io::Result<Self> {
        let folder = parent(target);
        left::clear(folder);
        let mut attempt = 0;
        loop {
            let path = folder.join(left::name(attempt));
            match make(&path) {
                Ok(handle) => {
                    // Without locks nobody will remove it, should this run be killed.
                    let _ = handle.as_ref().map(File::try_lock);
                    return Ok(Self { path, handle });
                }
                Err(error) if error.kind() == io::ErrorKind::AlreadyExists && attempt < 100 => {
                    attempt += 1;
                }
                Err(error) => {
                    let message = format!("nothing can be made in its folder: {error}");
                    return Err(io::Error::new(error.kind(), message));
                }
            }
        }
    }

    /// Where it lies while it is made.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The file, to be written and read.
    ///
    /// # Errors
    /// It is a folder.
    pub fn handle(&self) -> io::Result<&File> {
        self.handle
            .as_ref()
            .ok_or_else(|| io::ErrorKind::IsADirectory.into())
    }

    /// Gives it the permissions of an old file and, as far as the system lets us, its owner.
    ///
    /// # Errors
    /// The file system does not take them.
    pub fn be_like(&self, old: &Metadata) -> io::Result<()> {
        let new = self.handle()?;
        #[cfg(unix)]
        {
            use std::os::unix::fs::{MetadataExt, fchown};
            let made = new.metadata()?;
            if (made.uid(), made.gid()) != (old.uid(), old.gid()) {
                // Mostly, only root may give files away. A file with another owner is better than none.
                let _ = fchown(new, Some(old.uid()), Some(old.gid()));
            }
        }
        new.set_permissions(old.permissions())
    }

    /// Takes the place of a file, or of nothing. A folder takes the place of nothing, or of an empty folder.
    ///
    /// # Errors
    /// What stood in the way; the target is then as it was.
    pub fn take_place(self, target: &Path) -> io::Result<()> {
        self.sync()?;
        fs::rename(&self.path, target)?;
        keep_names(parent(target));
        Ok(())
    }

    /// Takes a place where nothing is.
    ///
    /// # Errors
    /// What stood in the way; that something is there by now is one.
    pub fn take_free_place(self, target: &Path) -> io::Result<()> {
        self.sync()?;
        // A link and not a new name: that would take the place of a file that came meanwhile.
        fs::hard_link(&self.path, target).or_else(|error| {
            let is_there = error.kind() == io::ErrorKind::AlreadyExists;
            match is_there || fs::symlink_metadata(target).is_ok() {
                true => Err(taken()),
                // Some file systems have no links.
                false => fs::rename(&self.path, target),
            }
        })?;
        drop(self);
        keep_names(parent(target));
        Ok(())
    }

    /// Brings what was written to the disk.
    pub(crate) fn sync(&self) -> io::Result<()> {
        match &self.handle {
            Some(handle) => handle.sync_all(),
            None => Ok(()),
        }
    }
}

impl Drop for Beside {
    fn drop(&mut self) {
        left::remove(&self.path);
    }
}

/// The folder that a path lies in.
pub fn parent(path: &Path) -> &Path {
    match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    }
}

/// Makes sure that all names in a folder, however deep, outlast a loss of power, where the system can.
pub fn keep_names_below(folder: &Path) {
    let mut open = vec![folder.to_path_buf()];
    while let Some(folder) = open.pop() {
        for entry in fs::read_dir(&folder).into_iter().flatten().flatten() {
            if entry.file_type().is_ok_and(|kind| kind.is_dir()) {
                open.push(entry.path());
            }
        }
        keep_names(&folder);
    }
}

/// Makes sure that names given in a folder outlast a loss of power, where the system can.
pub(crate) fn keep_names(folder: &Path) {
    if let Ok(folder) = File::open(folder) {
        let _ = folder.sync_all();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::replace::tests::Yard;
    use std::io::{Read, Seek, Write};

    #[test]
    fn each_has_a_place_of_its_own() {
        let yard = Yard::new();
        let two = ["a.xml", "b.xml"].map(|name| Beside::file(&yard.at(name)).unwrap());
        let folder = Beside::folder(&yard.at("a")).unwrap();
        assert_ne!(two[0].path(), two[1].path());
        assert!(two[1].path().is_file() && folder.path().is_dir());
        assert_eq!(yard.count(), 3);
    }

    #[test]
    fn what_was_written_can_be_read_before_it_takes_its_place() {
        let yard = Yard::new();
        let beside = Beside::file(&yard.at("a.xml")).unwrap();
        let (mut handle, mut read) = (beside.handle().unwrap(), String::new());
        handle.write_all(b"<a/>").unwrap();
        handle.rewind().unwrap();
        handle.read_to_string(&mut read).unwrap();
        assert_eq!(read, "<a/>");
    }

    #[test]
    fn a_name_alone_lies_in_the_folder_at_hand() {
        assert_eq!(parent(Path::new("a.xml")), Path::new("."));
        assert_eq!(parent(Path::new("mods/a.xml")), Path::new("mods"));
    }
}
