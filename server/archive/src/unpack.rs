//! From an archive to a folder of its own.

use std::fs::{self, File, OpenOptions};
use std::io::{BufReader, Read, Seek, Write};
use std::path::{Path, PathBuf};

use whole::Beside;
use zip::ZipArchive;

use crate::members::{self, Member};
use crate::{Refused, Stopped};

/// What was made.
#[derive(Debug)]
pub struct Unpacked {
    pub files: usize,
    /// Of all files together.
    pub bytes: u64,
    /// What is not there.
    pub left_out: Vec<Refused>,
    /// Names that were made safe: as they were, and as they are.
    pub renamed: Vec<(String, String)>,
}

/// Unpacks an archive into the new folder `target`, which appears at once and whole. With `leave_out`, members that are
/// refused are left out; without, nothing is unpacked then.
///
/// # Errors
/// Why there is no folder now. The archive stays as it is in any case.
pub fn unpack(archive: &Path, target: &Path, leave_out: bool) -> Result<Unpacked, Stopped> {
    if fs::symlink_metadata(target).is_ok() {
        return Err(Stopped::Failed(format!(
            "{} is there already, and nothing is unpacked over it. Name another folder",
            target.display()
        )));
    }
    let (mut opened, mut file, length) = open(archive)?;
    let (members, mut refused) = members::examine(&mut opened, &mut file, length);
    // What concerns all of the archive cannot be left out.
    let may_stay_out = |one: &Refused| leave_out && one.name.is_some();
    let stop = |refused: &[Refused]| !refused.iter().all(may_stay_out);
    if stop(&refused) {
        return Err(Stopped::Refused(refused));
    }
    let cannot = |error| {
        Stopped::Failed(format!(
            "{} cannot be made, so nothing was unpacked: {error}",
            target.display()
        ))
    };
    let temporary = Beside::folder(target).map_err(cannot)?;
    let mut made = Unpacked {
        files: 0,
        bytes: 0,
        left_out: Vec::new(),
        renamed: Vec::new(),
    };
    for member in &members {
        let path = member
            .steps
            .iter()
            .fold(temporary.path().to_path_buf(), |path, step| path.join(step));
        if member.is_folder {
            fs::create_dir_all(&path).map_err(cannot)?;
        } else {
            match write(&mut opened, member, &path) {
                Ok(()) => {
                    made.files += 1;
                    made.bytes += member.size;
                }
                Err(Trouble::Damaged(reason)) => {
                    refused.push(Refused::one(&member.name, reason));
                    fs::remove_file(&path).map_err(cannot)?;
                    continue;
                }
                Err(Trouble::Disk(error)) => return Err(cannot(error)),
            }
        }
        let plain = member.steps.join("/");
        if plain != member.name.trim_end_matches('/') {
            made.renamed.push((member.name.clone(), plain));
        }
    }
    if stop(&refused) {
        return Err(Stopped::Refused(refused));
    }
    made.left_out = refused;
    // A folder that came meanwhile is in the way, unless it is empty.
    whole::keep_names_below(temporary.path());
    temporary.take_place(target).map_err(cannot)?;
    Ok(made)
}

type Opened = ZipArchive<BufReader<File>>;

/// Opens an archive twice: to be unpacked, and for its bytes; and its length.
pub(crate) fn open(path: &Path) -> Result<(Opened, File, u64), Stopped> {
    let cannot = |error: std::io::Error| {
        Stopped::Failed(format!("{} cannot be read: {error}", path.display()))
    };
    // Before it is opened: a pipe would be waited for.
    let about = fs::metadata(path).map_err(cannot)?;
    if !about.is_file() {
        return Err(Stopped::Failed(format!("{} is no file", path.display())));
    }
    let file = File::open(path).map_err(cannot)?;
    let again = File::open(path).map_err(cannot)?;
    let opened = ZipArchive::new(BufReader::new(file)).map_err(|error| {
        let reason = format!("It is no ZIP archive, or not a whole one ({error}).");
        Stopped::Refused(vec![Refused::all(reason)])
    })?;
    Ok((opened, again, about.len()))
}

pub(crate) enum Trouble {
    /// The member is not what it claims to be: a sentence.
    Damaged(String),
    Disk(std::io::Error),
}

/// Unpacks one member into a new file.
fn write(archive: &mut Opened, member: &Member, path: &PathBuf) -> Result<(), Trouble> {
    fs::create_dir_all(whole::parent(path)).map_err(Trouble::Disk)?;
    let mut file = OpenOptions::new()
        .write(true)
        .create_new(true)
        .open(path)
        .map_err(Trouble::Disk)?;
    each_piece(archive, member, |piece| {
        file.write_all(piece).map_err(Trouble::Disk)
    })?;
    file.sync_all().map_err(Trouble::Disk)
}

/// Reads a member piece by piece, to its end unless `take` fails.
pub(crate) fn each_piece<R: Read + Seek>(
    archive: &mut ZipArchive<R>,
    member: &Member,
    mut take: impl FnMut(&[u8]) -> Result<(), Trouble>,
) -> Result<(), Trouble> {
    let damaged =
        |error: &dyn std::fmt::Display| Trouble::Damaged(format!("It is damaged: {error}."));
    let mut content = archive
        .by_index(member.at)
        .map_err(|error| damaged(&error))?;
    let mut piece = vec![0; 64 << 10];
    let mut length = 0_u64;
    loop {
        // The end is read too: there the checksum is looked at.
        let count = content.read(&mut piece).map_err(|error| damaged(&error))?;
        if count == 0 {
            break;
        }
        length += count as u64;
        if length > member.size {
            return Err(damaged(&format!(
                "it has more than the {} bytes that it claims to have",
                member.size
            )));
        }
        take(&piece[..count])?;
    }
    if length < member.size {
        return Err(damaged(&format!(
            "it has {length} bytes, and claims to have {}",
            member.size
        )));
    }
    Ok(())
}
