//! Reading back an archive that was just written: every byte is held against the folder's files.

use std::fs::File;
use std::io::{self, BufReader, Read, Seek, SeekFrom};

use zip::ZipArchive;

use crate::pack::{changed, piece, unreadable};
use crate::plan::{Plan, State};
use crate::unpack::{self, Trouble};
use crate::{Refused, Stopped, members};

/// Whether the archive holds the files of the plan and nothing else, and each as it is in the folder.
///
/// # Errors
/// What is not so.
pub(crate) fn compare(plan: &Plan, file: &File) -> Result<(), Stopped> {
    let wrong = |reason: String| {
        Stopped::Failed(format!(
            "The archive cannot be read back as it was written, so it was not kept: {reason}"
        ))
    };
    let length = file
        .metadata()
        .map_err(|error| wrong(error.to_string()))?
        .len();
    let reader = BufReader::new(Own { file, at: 0 });
    let mut archive = ZipArchive::new(reader).map_err(|error| wrong(error.to_string()))?;
    let (members, refused) = members::examine(&mut archive, &mut Own { file, at: 0 }, length);
    if !refused.is_empty() {
        return Err(Stopped::Refused(refused));
    }
    let names = members.iter().map(|member| member.steps.join("/"));
    if !names.eq(plan.files()) {
        return Err(wrong("it has other names".to_owned()));
    }
    for (member, (name, state)) in members.iter().zip(&plan.found.files) {
        let (mut from, _) = plan.open(name)?;
        let mut is_same = true;
        let read = unpack::each_piece(&mut archive, member, |packed| {
            let there = piece(&mut from, packed.len()).map_err(Trouble::Disk)?;
            is_same &= there == packed;
            Ok(())
        });
        match read {
            Ok(()) => {}
            Err(Trouble::Damaged(reason)) => {
                return Err(Stopped::Refused(vec![Refused::one(name.as_str(), reason)]));
            }
            Err(Trouble::Disk(error)) => return Err(unreadable(name, &error)),
        }
        // The archive's checksum fits, so it is the file that is not what was read.
        let now = from.metadata().map_err(|error| unreadable(name, &error))?;
        if !is_same || State::from(&now) != *state {
            return Err(changed(name));
        }
    }
    Ok(())
}

/// A reader of a file with a place of its own: handles of one file share theirs.
struct Own<'f> {
    file: &'f File,
    at: u64,
}

impl Read for Own<'_> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        self.file.seek(SeekFrom::Start(self.at))?;
        let count = self.file.read(into)?;
        self.at += count as u64;
        Ok(count)
    }
}

impl Seek for Own<'_> {
    fn seek(&mut self, to: SeekFrom) -> io::Result<u64> {
        self.file.seek(SeekFrom::Start(self.at))?;
        self.at = self.file.seek(to)?;
        Ok(self.at)
    }
}
