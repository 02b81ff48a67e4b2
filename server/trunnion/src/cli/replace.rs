//! Writing a file anew: all of it or nothing.

use std::fs::{self, File, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// How it went.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Replaced {
    Done,
    /// The file is no longer what it was when it was read.
    ChangedMeanwhile,
}

/// Puts `text` in the place of a file that held `old`, in the encoding of `old`: first into a new file beside it,
/// which then takes its name. A link stays a link, and permissions stay as they are.
///
/// # Errors
/// What stood in the way; the file is then as it was.
pub(crate) fn replace(file: &Path, old: &[u8], text: &str) -> io::Result<Replaced> {
    if project::inside(file).is_some() {
        return Err(io::Error::new(
            io::ErrorKind::Unsupported,
            "it is in an archive, and nothing is written into archives. Unpack it first (trunnion unpack)",
        ));
    }
    // The file itself, should this be a link to it.
    let target = fs::canonicalize(file)?;
    let permissions = fs::metadata(&target)?.permissions();
    if permissions.readonly() {
        return Err(io::Error::new(
            io::ErrorKind::PermissionDenied,
            "the file is marked as read-only",
        ));
    }
    let (beside, new) = beside(&target)?;
    let outcome = fill(new, &encoded(old, text)).and_then(|()| {
        fs::set_permissions(&beside, permissions)?;
        if fs::read(&target)? != old {
            return Ok(Replaced::ChangedMeanwhile);
        }
        fs::rename(&beside, &target)?;
        Ok(Replaced::Done)
    });
    if !matches!(outcome, Ok(Replaced::Done)) {
        // It is of no use to anybody; that it cannot be removed is no worse than that it is there.
        let _ = fs::remove_file(&beside);
    }
    outcome
}

/// Makes a file that is not there yet: all of it or nothing.
///
/// # Errors
/// What stood in the way; that it is there by now is one. Nothing is left behind then.
pub(crate) fn create(file: &Path, text: &str) -> io::Result<()> {
    create_like(file, b"", text)
}

/// Makes a file like `create`, in the encoding of a file that holds `old`.
///
/// # Errors
/// As of `create`.
pub(crate) fn create_like(file: &Path, old: &[u8], text: &str) -> io::Result<()> {
    let (beside, new) = beside(file)?;
    // A link and not a new name: that would take the place of a file that came meanwhile.
    let outcome = fill(new, &encoded(old, text)).and_then(|()| {
        fs::hard_link(&beside, file).or_else(|error| match error.kind() {
            io::ErrorKind::AlreadyExists => Err(error),
            // Some file systems have no links.
            _ => fs::rename(&beside, file),
        })
    });
    let _ = fs::remove_file(&beside);
    outcome
}

/// Writes and closes a file.
fn fill(mut file: File, bytes: &[u8]) -> io::Result<()> {
    file.write_all(bytes)?;
    file.sync_all()
}

/// A new file in the same folder, so that it can take the other's name in one step.
fn beside(target: &Path) -> io::Result<(PathBuf, File)> {
    let folder = target.parent().unwrap_or(Path::new("."));
    let mut attempt = 0;
    loop {
        let path = folder.join(format!(".trunnion-{}-{attempt}.tmp", std::process::id()));
        match OpenOptions::new().write(true).create_new(true).open(&path) {
            Ok(file) => return Ok((path, file)),
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists && attempt < 100 => {
                attempt += 1
            }
            Err(error) => return Err(error),
        }
    }
}

/// The text as the old bytes were encoded: UTF-16 if they were, else UTF-8.
fn encoded(old: &[u8], text: &str) -> Vec<u8> {
    let utf_16 = |to_bytes: fn(u16) -> [u8; 2]| text.encode_utf16().flat_map(to_bytes).collect();
    match old {
        [0xff, 0xfe, ..] => with_mark(utf_16(u16::to_le_bytes), &[0xff, 0xfe]),
        [0xfe, 0xff, ..] => with_mark(utf_16(u16::to_be_bytes), &[0xfe, 0xff]),
        _ => text.as_bytes().to_vec(),
    }
}

fn with_mark(bytes: Vec<u8>, mark: &[u8]) -> Vec<u8> {
    if bytes.starts_with(mark) {
        return bytes;
    }
    [mark, &bytes].concat()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A file of this test's own in a folder of its own.
    fn file(name: &str, content: &[u8]) -> PathBuf {
        let folder =
            std::env::temp_dir().join(format!("trunnion-replace-{}-{name}", std::process::id()));
        let _ = fs::remove_dir_all(&folder);
        fs::create_dir_all(&folder).expect("a folder can be made");
        let file = folder.join("a.xml");
        fs::write(&file, content).expect("a file can be made");
        file
    }

    fn left_in_folder(file: &Path) -> usize {
        let folder = file.parent().expect("it is in a folder");
        fs::read_dir(folder).expect("it can be read").count()
    }

    #[test]
    fn a_file_that_was_changed_meanwhile_stays_and_nothing_is_left_beside_it() {
        let file = file("changed", b"<theirs/>");
        assert_eq!(
            replace(&file, b"<read/>", "<ours/>").expect("it is tried"),
            Replaced::ChangedMeanwhile
        );
        assert_eq!(fs::read(&file).expect("it is there"), b"<theirs/>");
        assert_eq!(left_in_folder(&file), 1);
    }

    #[test]
    fn a_read_only_file_stays() {
        let file = file("read-only", b"<a/>");
        let mut permissions = fs::metadata(&file).expect("it is there").permissions();
        permissions.set_readonly(true);
        fs::set_permissions(&file, permissions).expect("it can be marked");
        assert!(replace(&file, b"<a/>", "<b/>").is_err());
        assert_eq!(fs::read(&file).expect("it is there"), b"<a/>");
        assert_eq!(left_in_folder(&file), 1);
    }

    #[test]
    fn bytes_come_back_in_their_encoding() {
        for old in [
            &b"<a/>"[..],
            b"\xef\xbb\xbf<a/>",
            b"\xff\xfe<\0a\0/\0>\0",
            b"\xfe\xff\0<\0a\0/\0>",
        ] {
            let text = syntax::decode::bytes(old).expect("it can be read");
            assert_eq!(encoded(old, &text), old);
        }
    }
}
