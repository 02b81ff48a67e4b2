//! Writing one file anew.

use std::fs::{self, File, TryLockError};
use std::io::{self, Write};
use std::path::Path;
use std::thread;
use std::time::Duration;

use crate::beside::{Beside, parent};

/// Milliseconds that another run may take to look at a file and to replace it.
const PATIENCE: u32 = 500;

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
    beside.sync()?;
    // Between this last look at the file and its replacement there must be nothing that takes long, and no other run of
    // this program.
    let _turn = turn(parent(&target));
    if fs::read(&target)? != old {
        return Ok(Replaced::ChangedMeanwhile);
    }
    beside.take_place(&target)?;
    Ok(Replaced::Done)
}

/// Waits until no other run is about to replace a file in this folder; None where folders cannot be locked, or if
/// somebody else keeps it locked. Until it is dropped, others wait.
fn turn(folder: &Path) -> Option<File> {
    let folder = File::open(folder).ok()?;
    for _ in 0..PATIENCE {
        match folder.try_lock() {
            Ok(()) => return Some(folder),
            Err(TryLockError::WouldBlock) => thread::sleep(Duration::from_millis(1)),
            Err(TryLockError::Error(_)) => return None,
        }
    }
    None
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
    use tempfile::TempDir;

    /// A folder of a test's own, gone when dropped.
    pub(crate) struct Yard(TempDir);

    impl Yard {
        pub(crate) fn new() -> Self {
            Self(TempDir::with_prefix("trunnion-").expect("a folder can be made"))
        }

        pub(crate) fn path(&self) -> &Path {
            self.0.path()
        }

        pub(crate) fn at(&self, name: &str) -> PathBuf {
            self.path().join(name)
        }

        pub(crate) fn file(&self, content: &[u8]) -> PathBuf {
            let file = self.at("a.xml");
            fs::write(&file, content).expect("a file can be made");
            file
        }

        pub(crate) fn count(&self) -> usize {
            fs::read_dir(self.path()).expect("it can be read").count()
        }
    }

    #[test]
    fn a_file_is_replaced_with_its_permissions() {
        let yard = Yard::new();
        let file = yard.file(b"<a/>");
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            fs::set_permissions(&file, fs::Permissions::from_mode(0o640)).unwrap();
            std::os::unix::fs::symlink(&file, yard.at("link.xml")).unwrap();
            let done = replace(&yard.at("link.xml"), b"<a/>", b"<b/>").unwrap();
            assert_eq!(done, Replaced::Done);
            assert!(yard.at("link.xml").is_symlink());
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
        let yard = Yard::new();
        let file = yard.file(b"<theirs/>");
        let tried = replace(&file, b"<read/>", b"<ours/>").unwrap();
        assert_eq!(tried, Replaced::ChangedMeanwhile);
        assert_eq!(fs::read(&file).unwrap(), b"<theirs/>");
        assert_eq!(yard.count(), 1);
    }

    #[test]
    fn of_two_that_replace_a_file_at_once_one_is_told_of_the_other() {
        let yard = Yard::new();
        let file = yard.file(b"");
        for _ in 0..20 {
            fs::write(&file, "old").unwrap();
            let both = thread::scope(|scope| {
                let one = scope.spawn(|| replace(&file, b"old", b"one").unwrap());
                let other = replace(&file, b"old", b"other").unwrap();
                [one.join().unwrap(), other]
            });
            let done = both.iter().filter(|how| **how == Replaced::Done);
            assert_eq!(done.count(), 1, "{both:?}");
        }
    }

    #[test]
    #[cfg(unix)]
    fn a_folder_that_somebody_keeps_locked_is_not_waited_for_without_an_end() {
        let yard = Yard::new();
        let file = yard.file(b"<a/>");
        let folder = File::open(yard.path()).unwrap();
        folder.lock().unwrap();
        assert_eq!(replace(&file, b"<a/>", b"<b/>").unwrap(), Replaced::Done);
    }

    #[test]
    fn a_read_only_file_and_a_folder_stay() {
        let yard = Yard::new();
        let file = yard.file(b"<a/>");
        let mut permissions = fs::metadata(&file).unwrap().permissions();
        permissions.set_readonly(true);
        fs::set_permissions(&file, permissions).unwrap();
        assert!(replace(&file, b"<a/>", b"<b/>").is_err());
        assert_eq!(fs::read(&file).unwrap(), b"<a/>");
        let folder = yard.at("folder");
        fs::create_dir(&folder).unwrap();
        assert!(replace(&folder, b"", b"<b/>").is_err());
        assert!(create(&folder, b"<b/>").is_err());
        assert!(create(&yard.at("missing/a.xml"), b"<b/>").is_err());
        assert_eq!(yard.count(), 2);
    }

    #[test]
    fn what_is_there_is_not_made_again() {
        let yard = Yard::new();
        let file = yard.file(b"<a/>");
        let error = create(&file, b"<b/>").unwrap_err();
        assert_eq!(error.kind(), io::ErrorKind::AlreadyExists);
        // What people can act on, and not what the system says.
        assert_eq!(error.to_string(), crate::taken().to_string());
        create(&yard.at("b.xml"), b"<b/>").unwrap();
        assert_eq!(fs::read(&file).unwrap(), b"<a/>");
        assert_eq!(fs::read(yard.at("b.xml")).unwrap(), b"<b/>");
        assert_eq!(yard.count(), 2);
    }
}
