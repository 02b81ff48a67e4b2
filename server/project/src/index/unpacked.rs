//! Files out of archives, as files that an editor can open.

use super::cache::{checksum, write_whole};
use crate::{
    config::Config,
    library::{self, Source},
};
use std::{
    fs,
    path::{Path, PathBuf},
};

/// A file that holds what is at a place of a library: the file itself, or for a member of an
/// archive a copy that cannot be written to, in the cache folder. None: it is not there any more,
/// or there is no folder for copies.
pub fn readable(source: &Source, config: &Config) -> Option<PathBuf> {
    let Some(member) = &source.member else {
        return Some(source.file.clone());
    };
    let about = fs::metadata(&source.file).ok()?;
    let key = format!(
        "{} {member} {} {:?}",
        source.file.display(),
        about.len(),
        about.modified().ok()
    );
    let name = Path::new(member).file_name()?;
    let folder = config.cache_folder.as_ref()?.join("unpacked");
    let copy = folder
        .join(format!("{:016x}", checksum(key.as_bytes())))
        .join(name);
    if !copy.is_file() {
        let text = library::text_of(source, &config.limits)?;
        write_whole(&copy, &[text.as_bytes()]).ok()?;
        let mut rights = fs::metadata(&copy).ok()?.permissions();
        rights.set_readonly(true);
        // Without it, it is a copy that can be written to, which harms nobody.
        let _ = fs::set_permissions(&copy, rights);
    }
    Some(copy)
}
