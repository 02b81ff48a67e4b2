//! Writing one file anew.

use std::fs;
use std::io::{self, Write};
use std::path::Path;

use crate::Beside;

/// How it went.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Replaced {
    Done,
    /// The file is no longer what it was when it was read.
    ChangedMeanwhile,
}

/// Puts `new` in the place of a file that held `old`. A link stays a link; permissions and, as far as the system lets
/// us, the owner stay as they are.
///
/// # Errors
/// What stood in the way; the file is then as it was.
pub fn replace(file: &Path, old: &[u8], new: &[u8]) -> io::Result<Replaced> {
    // The file itself, should this be a link to it.
    let target = fs::canonicalize(file)?;
    let about = fs::metadata(&target)?;
    if !about.is_file() {
        return Err(io::Error::new(io::ErrorKind::InvalidInput, "it is no file"));
    }
    if about.permissions().readonly() {
        return Err(io::Error::new(
            io::ErrorKind::PermissionDenied,
            "the file is marked as read-only",
        ));
    }
    let beside = Beside::file(&target)?;
    beside.handle()?.write_all(new)?;
    beside.be_like(&about)?;
    if fs::read(&target)? != old {
        return Ok(Replaced::ChangedMeanwhile);
    }
    beside.take_place(&target)?;
    Ok(Replaced::Done)
}

/// Makes a file that is not there yet.
///
/// # Errors
/// What stood in the way; that it is there by now is one. Nothing is left behind then.
pub fn create(file: &Path, bytes: &[u8]) -> io::Result<()> {
    let beside = Beside::file(file)?;
    beside.handle()?.write_all(bytes)?;
    beside.take_free_place(file)
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use std::path::PathBuf;

    /// A folder of a test's own.
    pub(crate) struct Yard(pub(crate) PathBuf);

    impl Yard {
        pub(crate) fn new(name: &str) -> Self {
            let name = format!("trunnion-whole-{}-{name}", std::process::id());
            let folder = std::env::temp_dir().join(name);
            let _ = fs::remove_dir_all(&folder);
            fs::create_dir_all(&folder).expect("a folder can be made");
            Self(folder)
        }

        pub(crate) fn file(&self, content: &[u8]) -> PathBuf {
            let file = self.0.join("a.xml");
            fs::write(&file, content).expect("a file can be made");
            file
        }

        pub(crate) fn count(&self) -> usize {
            fs::read_dir(&self.0).expect("it can be read").count()
        }
    }

    impl Drop for Yard {
        fn drop(&mut self) {
            let _ = fs::remove_dir_all(&self.0);
        }
    }

    #[test]
    fn a_file_is_replaced_with_its_permissions() {
        let yard = Yard::new("replaced");
        let file = yard.file(b"<a/>");
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            fs::set_permissions(&file, fs::Permissions::from_mode(0o640)).unwrap();
            std::os::unix::fs::symlink(&file, yard.0.join("link.xml")).unwrap();
            let done = replace(&yard.0.join("link.xml"), b"<a/>", b"<b/>").unwrap();
            assert_eq!(done, Replaced::Done);
            assert!(yard.0.join("link.xml").is_symlink());
            let mode = fs::metadata(&file).unwrap().permissions().mode();
            assert_eq!(mode & 0o777, 0o640);
            assert_eq!(yard.count(), 2);
        }
        #[cfg(not(unix))]
        replace(&file, b"<a/>", b"<b/>").unwrap();
        assert_eq!(fs::read(&file).unwrap(), b"<b/>");
    }

    #[test]
    fn a_file_that_was_changed_meanwhile_stays_and_nothing_is_left_beside_it() {
        let yard = Yard::new("changed");
        let file = yard.file(b"<theirs/>");
        let tried = replace(&file, b"<read/>", b"<ours/>").unwrap();
        assert_eq!(tried, Replaced::ChangedMeanwhile);
        assert_eq!(fs::read(&file).unwrap(), b"<theirs/>");
        assert_eq!(yard.count(), 1);
    }

    #[test]
    fn a_read_only_file_and_a_folder_stay() {
        let yard = Yard::new("read-only");
        let file = yard.file(b"<a/>");
        let mut permissions = fs::metadata(&file).unwrap().permissions();
        permissions.set_readonly(true);
        fs::set_permissions(&file, permissions).unwrap();
        assert!(replace(&file, b"<a/>", b"<b/>").is_err());
        assert_eq!(fs::read(&file).unwrap(), b"<a/>");
        let folder = yard.0.join("folder");
        fs::create_dir(&folder).unwrap();
        assert!(replace(&folder, b"", b"<b/>").is_err());
        assert!(create(&folder, b"<b/>").is_err());
        assert!(create(&yard.0.join("missing/a.xml"), b"<b/>").is_err());
        assert_eq!(yard.count(), 2);
    }

    #[test]
    fn what_is_there_is_not_made_again() {
        let yard = Yard::new("there");
        let file = yard.file(b"<a/>");
        let error = create(&file, b"<b/>").unwrap_err();
        assert_eq!(error.kind(), io::ErrorKind::AlreadyExists);
        create(&yard.0.join("b.xml"), b"<b/>").unwrap();
        assert_eq!(fs::read(&file).unwrap(), b"<a/>");
        assert_eq!(fs::read(yard.0.join("b.xml")).unwrap(), b"<b/>");
        assert_eq!(yard.count(), 2);
    }
}
