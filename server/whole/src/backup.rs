//! Numbered backups: `a.zip` is kept as `a.zip.~1~`, then `a.zip.~2~` (as GNU's tools name them).

use std::ffi::OsStr;
use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

use crate::beside::{Beside, parent};

/// Gives a file a second name beside it, with the number after the highest that is there. Where the file system has no
/// second names, it is a copy.
///
/// # Errors
/// What stood in the way; there is no new backup then.
pub fn back_up(file: &Path) -> io::Result<PathBuf> {
    let file = fs::canonicalize(file)?;
    let folder = parent(&file);
    let name = file.file_name().unwrap_or_default();
    let mut number = 1;
    for entry in fs::read_dir(folder)?.flatten() {
        if let Some(known) = number_of(&entry.file_name(), name) {
            number = number.max(known.saturating_add(1));
        }
    }
    loop {
        let mut numbered = name.to_owned();
        numbered.push(format!(".~{number}~"));
        let backup = folder.join(numbered);
        match fs::hard_link(&file, &backup).or_else(|error| match error.kind() {
            io::ErrorKind::AlreadyExists => Err(error),
            _ => copy(&file, &backup),
        }) {
            Ok(()) => return Ok(backup),
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists && number < u32::MAX => {
                number += 1;
            }
            Err(error) => return Err(error),
        }
    }
}

/// Whether `name` is what backups of `of` are called.
pub fn is_backup_of(name: &OsStr, of: &OsStr) -> bool {
    number_of(name, of).is_some()
}

fn number_of(name: &OsStr, of: &OsStr) -> Option<u32> {
    let rest = name
        .as_encoded_bytes()
        .strip_prefix(of.as_encoded_bytes())?;
    let digits = rest.strip_prefix(b".~")?.strip_suffix(b"~")?;
    std::str::from_utf8(digits).ok()?.parse().ok()
}

fn copy(file: &Path, backup: &Path) -> io::Result<()> {
    let beside = Beside::file(backup)?;
    let mut old = File::open(file)?;
    io::copy(&mut old, &mut beside.handle()?)?;
    beside.be_like(&old.metadata()?)?;
    beside.take_free_place(backup)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::replace::tests::Yard;

    #[test]
    fn no_backup_takes_the_place_of_an_older_one() {
        let yard = Yard::new();
        let file = yard.file(b"1");
        assert_eq!(back_up(&file).unwrap().file_name().unwrap(), "a.xml.~1~");
        crate::replace(&file, b"1", b"2").unwrap();
        assert_eq!(back_up(&file).unwrap().file_name().unwrap(), "a.xml.~2~");
        // Somebody removed the first: the order stays.
        fs::remove_file(yard.at("a.xml.~1~")).unwrap();
        fs::write(yard.at("a.xml.~9~"), "9").unwrap();
        assert_eq!(back_up(&file).unwrap().file_name().unwrap(), "a.xml.~10~");
        assert_eq!(fs::read(yard.at("a.xml.~2~")).unwrap(), b"2");
        copy(&file, &yard.at("copy")).unwrap();
        assert!(copy(&file, &yard.at("copy")).is_err());
        assert_eq!(fs::read(yard.at("copy")).unwrap(), b"2");
        assert_eq!(yard.count(), 5);
    }

    #[test]
    #[cfg(unix)]
    fn a_copy_has_the_permissions_of_the_file() {
        use std::os::unix::fs::PermissionsExt;
        let yard = Yard::new();
        let file = yard.file(b"1");
        fs::set_permissions(&file, fs::Permissions::from_mode(0o640)).unwrap();
        copy(&file, &yard.at("copy")).unwrap();
        let mode = fs::metadata(yard.at("copy")).unwrap().permissions().mode();
        assert_eq!(mode & 0o777, 0o640);
    }

    #[test]
    #[cfg(unix)]
    fn the_backup_of_a_link_is_that_of_its_file_and_lies_beside_it() {
        let (yard, elsewhere) = (Yard::new(), Yard::new());
        let link = elsewhere.at("link.xml");
        std::os::unix::fs::symlink(yard.file(b"1"), &link).unwrap();
        let backup = back_up(&link).unwrap();
        assert_eq!(backup.file_name().unwrap(), "a.xml.~1~");
        assert_eq!((yard.count(), elsewhere.count()), (2, 1));
    }
}
