//! Places beside a target, from which it is taken in one step.

use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

/// What is made beside a target: gone when dropped, unless it has moved away.
#[derive(Debug)]
pub(crate) struct Temporary {
    pub(crate) path: PathBuf,
}

impl Drop for Temporary {
    fn drop(&mut self) {
        // It is of no use to anybody; that it cannot be removed is no worse than that it is there.
        let _ = match fs::symlink_metadata(&self.path) {
            Ok(about) if about.is_dir() => fs::remove_dir_all(&self.path),
            Ok(_) => fs::remove_file(&self.path),
            Err(error) => Err(error),
        };
    }
}

/// The folder that a path lies in.
pub(crate) fn parent(path: &Path) -> &Path {
    match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    }
}

/// A new empty folder.
pub(crate) fn folder(target: &Path) -> io::Result<Temporary> {
    let ((), path) = first_free(target, |path| fs::create_dir(path))?;
    Ok(Temporary { path })
}

fn first_free<T>(target: &Path, make: impl Fn(&Path) -> io::Result<T>) -> io::Result<(T, PathBuf)> {
    let mut attempt = 0;
    loop {
        let name = format!(".trunnion-{}-{attempt}.tmp", std::process::id());
        let path = parent(target).join(name);
        match make(&path) {
            Ok(made) => return Ok((made, path)),
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists && attempt < 100 => {
                attempt += 1;
            }
            Err(error) => return Err(error),
        }
    }
}

/// Makes sure that names given in a folder outlast a loss of power, where the system can.
pub(crate) fn keep_names(folder: &Path) {
    if let Ok(folder) = File::open(folder) {
        let _ = folder.sync_all();
    }
}
