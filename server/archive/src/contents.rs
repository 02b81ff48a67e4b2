//! Reading the files of an archive where they are, without unpacking it.

use std::collections::BTreeMap;
use std::fs::File;
use std::io::{self, BufReader};
use std::path::Path;
use std::sync::{Mutex, PoisonError};

use zip::ZipArchive;

use crate::members::{self, Member};
use crate::unpack::{self, Trouble};
use crate::{Refused, Stopped};

/// An archive that is open for reading. May be used from any thread.
#[derive(Debug)]
pub struct Contents {
    /// By path, with `/` between the steps. Folders are not among them.
    files: BTreeMap<String, Member>,
    archive: Mutex<ZipArchive<BufReader<File>>>,
}

impl Contents {
    /// Opens an archive that [`crate::unpack`] would unpack as well.
    ///
    /// # Errors
    /// It cannot be read, or something in it is refused: everything that is.
    pub fn open(path: &Path) -> Result<Self, Stopped> {
        let (mut archive, mut bytes, length) = unpack::open(path)?;
        let (members, refused) = members::examine(&mut archive, &mut bytes, length);
        if !refused.is_empty() {
            return Err(Stopped::Refused(refused));
        }
        let files = members.into_iter().filter(|member| !member.is_folder);
        Ok(Self {
            files: files
                .map(|member| (member.steps.join("/"), member))
                .collect(),
            archive: Mutex::new(archive),
        })
    }

    /// The paths of the files, in order, with their sizes in bytes.
    pub fn files(&self) -> impl Iterator<Item = (&str, u64)> {
        self.files
            .iter()
            .map(|(path, member)| (path.as_str(), member.size))
    }

    /// The size of a file, in bytes. None: there is no such file.
    pub fn size(&self, path: &str) -> Option<u64> {
        Some(self.files.get(path)?.size)
    }

    /// Whether there are files below a folder; the archive itself is the folder without a name.
    pub fn has_folder(&self, path: &str) -> bool {
        self.below(path).next().is_some()
    }

    /// The files below a folder: their paths from there, and their sizes in bytes.
    pub fn below<'c>(&'c self, folder: &str) -> impl Iterator<Item = (&'c str, u64)> {
        let start = match folder {
            "" => String::new(),
            folder => format!("{folder}/"),
        };
        let length = start.len();
        self.files
            .range(start.clone()..)
            .take_while(move |(path, _)| path.starts_with(&start))
            .map(move |(path, member)| (&path[length..], member.size))
    }

    /// The first `most` bytes of a file, or all of it.
    ///
    /// # Errors
    /// There is no such file, or it is not what the archive claims.
    pub fn read(&self, path: &str, most: u64) -> io::Result<Vec<u8>> {
        let member = self.files.get(path).ok_or(io::ErrorKind::NotFound)?;
        let mut archive = self.archive.lock().unwrap_or_else(PoisonError::into_inner);
        let mut read = Vec::new();
        let taken = unpack::each_piece(&mut archive, member, |piece| {
            let left = usize::try_from(most).unwrap_or(usize::MAX) - read.len();
            read.extend_from_slice(&piece[..piece.len().min(left)]);
            match piece.len() < left {
                true => Ok(()),
                false => Err(Trouble::Disk(io::ErrorKind::Interrupted.into())),
            }
        });
        match taken {
            Ok(()) => Ok(read),
            // Enough was read.
            Err(Trouble::Disk(_)) => Ok(read),
            Err(Trouble::Damaged(reason)) => {
                Err(io::Error::new(io::ErrorKind::InvalidData, reason))
            }
        }
    }
}

/// Whether a file begins like an archive (PKWARE's APPNOTE, 4.3.7 and 4.3.16: with a file or, if it has none, its end).
pub fn is_archive(head: &[u8]) -> bool {
    head.starts_with(b"PK\x03\x04") || head.starts_with(b"PK\x05\x06")
}

/// What is wrong with an archive, a sentence each.
impl From<Stopped> for Vec<String> {
    fn from(stopped: Stopped) -> Self {
        match stopped {
            Stopped::Refused(refused) => refused.iter().map(Refused::to_string).collect(),
            Stopped::Failed(reason) => vec![format!("{reason}.")],
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Write;
    use tempfile::{NamedTempFile, TempPath};
    use zip::ZipWriter;
    use zip::write::SimpleFileOptions;

    /// Gone when dropped.
    fn archive(members: &[(&str, &[u8])]) -> TempPath {
        let mut writer = ZipWriter::new(NamedTempFile::with_prefix("trunnion-").unwrap());
        for (name, content) in members {
            let options = SimpleFileOptions::default();
            writer.start_file(*name, options).unwrap();
            writer.write_all(content).unwrap();
        }
        writer.finish().unwrap().into_temp_path()
    }

    #[test]
    fn files_are_read_where_they_are() {
        let path = archive(&[
            ("a/x.xml", b"<a/>"),
            ("a-b.xml", b""),
            ("a/deep\\y.ogg", b"0123456789"),
        ]);
        let contents = Contents::open(&path).unwrap();
        let files: Vec<(&str, u64)> = contents.files().collect();
        assert_eq!(
            files,
            [("a-b.xml", 0), ("a/deep/y.ogg", 10), ("a/x.xml", 4)]
        );
        assert_eq!(
            contents.below("a").collect::<Vec<_>>(),
            [("deep/y.ogg", 10), ("x.xml", 4)]
        );
        assert!(
            contents.has_folder("a/deep")
                && contents.has_folder("")
                && !contents.has_folder("a/x.xml")
        );
        assert_eq!(contents.read("a/x.xml", 100).unwrap(), b"<a/>");
        for most in [0, 1, 9, 10, 11] {
            let read = contents.read("a/deep/y.ogg", most).unwrap();
            assert_eq!(
                read,
                &b"0123456789"[..usize::try_from(most.min(10)).unwrap()]
            );
        }
        assert_eq!(
            contents.read("a", 1).unwrap_err().kind(),
            io::ErrorKind::NotFound
        );
    }

    #[test]
    fn what_would_not_be_unpacked_is_not_read() {
        let path = archive(&[("../x.xml", b"<a/>"), ("a.xml", b"<a/>")]);
        let reasons: Vec<String> = Contents::open(&path).unwrap_err().into();
        assert_eq!(reasons.len(), 1, "{reasons:?}");
        assert!(reasons[0].contains("`..`"), "{reasons:?}");
        std::fs::write(&path, b"PK\x03\x04 and nothing else").unwrap();
        assert!(Contents::open(&path).is_err());
    }
}
