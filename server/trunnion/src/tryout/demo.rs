//! The demo mod, which the program carries along.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

/// Names below the mod's folder, with `/`, and contents.
const FILES: &[(&str, &[u8])] = include!(concat!(env!("OUT_DIR"), "/demo.rs"));

/// Puts the mod into a new folder.
///
/// # Errors
/// What stood in the way.
pub(crate) fn unpack() -> io::Result<PathBuf> {
    let folder = new_folder(&std::env::temp_dir())?.join("ternholt");
    for (name, content) in FILES {
        let file = folder.join(name);
        fs::create_dir_all(file.parent().unwrap_or(&folder))?;
        fs::write(&file, content)?;
    }
    Ok(folder)
}

fn new_folder(within: &Path) -> io::Result<PathBuf> {
    let mut attempt = 0;
    loop {
        let folder = within.join(format!("trunnion-try-{}-{attempt}", std::process::id()));
        match fs::create_dir(&folder) {
            Ok(()) => return Ok(folder),
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists && attempt < 1000 => {
                attempt += 1;
            }
            Err(error) => return Err(error),
        }
    }
}
