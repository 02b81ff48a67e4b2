//! The members of an archive, looked at before anything is unpacked.

use std::collections::HashSet;
use std::io::{Read, Seek};

use zip::read::ZipFile;
use zip::{CompressionMethod, ZipArchive};

use crate::Refused;
use crate::directory::Directory;
use crate::names::{self, Taken};

/// No mod has more files.
const MOST_MEMBERS: usize = 100_000;
/// No mod is larger, unpacked.
const MOST_BYTES: u64 = 16 << 30;
/// What is no larger than this, unpacked, is no bomb, however small the archive.
const HARMLESS: u64 = 100 << 20;
/// More than this times the archive's size is no mod: definitions shrink to a tenth, the rest less.
const LARGEST_RATIO: u64 = 100;

/// A member that may be unpacked.
#[derive(Debug)]
pub(crate) struct Member {
    /// Its number in the archive.
    pub(crate) at: usize,
    /// As the archive has it.
    pub(crate) name: String,
    /// Its name's bytes.
    stored: Vec<u8>,
    /// Where it begins.
    start: u64,
    pub(crate) steps: Vec<String>,
    pub(crate) is_folder: bool,
    /// In bytes, as the archive claims.
    pub(crate) size: u64,
}

/// Looks at all members. `file`: the archive's bytes once more; `length`: how many.
pub(crate) fn examine<R: Read + Seek>(
    archive: &mut ZipArchive<R>,
    file: &mut (impl Read + Seek),
    length: u64,
) -> (Vec<Member>, Vec<Refused>) {
    let (mut members, mut refused) = (Vec::new(), Vec::new());
    if archive.len() > MOST_MEMBERS {
        let count = archive.len();
        refused.push(Refused::all(format!(
            "It has {count} members, more than {MOST_MEMBERS}."
        )));
        return (members, refused);
    }
    let mut ranges = Vec::with_capacity(archive.len());
    let mut total = 0_u64;
    for at in 0..archive.len() {
        let stored = archive.name_for_index(at).unwrap_or_default().to_owned();
        match archive.by_index_raw(at) {
            Ok(file) => {
                total = total.saturating_add(file.size());
                let start = file.header_start();
                let data = file.data_start().unwrap_or(start);
                ranges.push((start, data.saturating_add(file.compressed_size())));
                match member(at, &file) {
                    Ok(member) => members.push(member),
                    Err(one) => refused.push(one),
                }
            }
            Err(error) => refused.push(Refused::one(stored, format!("It is damaged: {error}."))),
        }
    }
    if total > MOST_BYTES {
        refused.push(Refused::all(format!(
            "It claims to hold {total} bytes, more than {MOST_BYTES}."
        )));
    } else if total > HARMLESS && total / LARGEST_RATIO > length {
        refused.push(Refused::all(format!(
            "It claims to hold {total} bytes in an archive of {length}: more than {LARGEST_RATIO} times as many."
        )));
    }
    ranges.sort_unstable();
    if ranges.windows(2).any(|pair| pair[0].1 > pair[1].0) {
        refused.push(Refused::all(
            "Members of it overlap: they share their bytes.",
        ));
    }
    match Directory::read(file, archive.central_directory_start(), MOST_MEMBERS) {
        Ok(directory) => {
            without_doubles(&mut members, &directory.repeated(), &mut refused);
            without_contradictions(&mut members, &directory, archive.len(), file, &mut refused);
        }
        Err(error) => refused.push(Refused::all(format!("Its directory is damaged: {error}."))),
    }
    (members, refused)
}

fn member<R: Read>(at: usize, file: &ZipFile<'_, R>) -> Result<Member, Refused> {
    let name = name(file)?;
    let refuse = |reason: String| Refused::one(name.clone(), reason);
    if file.encrypted() {
        return Err(refuse("It is encrypted.".to_owned()));
    }
    if !matches!(
        file.compression(),
        CompressionMethod::Stored | CompressionMethod::Deflated
    ) {
        let method = file.compression();
        return Err(refuse(format!(
            "It is compressed in a way that is not understood ({method})."
        )));
    }
    if file.is_symlink() {
        return Err(refuse("It is a link.".to_owned()));
    }
    // The upper bits of a Unix mode are the kind of file.
    let kind = file.unix_mode().unwrap_or_default() & 0o170_000;
    if ![0, 0o100_000, 0o040_000].contains(&kind) {
        return Err(refuse("It is neither a file nor a folder.".to_owned()));
    }
    let steps = names::steps(&name).map_err(refuse)?;
    let is_folder = name.ends_with(['/', '\\']);
    if is_folder && file.size() > 0 {
        return Err(refuse("It is a folder with a content.".to_owned()));
    }
    Ok(Member {
        at,
        steps,
        is_folder,
        size: file.size(),
        stored: file.name_raw().to_vec(),
        start: file.header_start(),
        name,
    })
}

/// A name is UTF-8, or of the old code page 437. Many programs forget to say that it is UTF-8.
fn name<R: Read>(file: &ZipFile<'_, R>) -> Result<String, Refused> {
    let decoded = file.name();
    if decoded.contains('\u{fffd}') {
        return Err(Refused::one(
            decoded,
            "Its name is not in the encoding that the archive says.",
        ));
    }
    let utf_8 = std::str::from_utf8(file.name_raw());
    Ok(utf_8.unwrap_or(decoded).to_owned())
}

/// Takes out the members whose names meet: which one is meant, nobody can tell.
fn without_doubles(
    members: &mut Vec<Member>,
    repeated: &HashSet<&[u8]>,
    refused: &mut Vec<Refused>,
) {
    let mut taken = Taken::default();
    let mut meet = HashSet::new();
    for member in members.iter() {
        let reason = if repeated.contains(member.stored.as_slice()) {
            Some("There are several of this name.".to_owned())
        } else {
            taken.take(&member.steps, member.is_folder).err()
        };
        if let Some(reason) = reason {
            refused.push(Refused::one(member.name.clone(), reason));
            meet.insert(key(member));
        }
    }
    members.retain(|member| !meet.contains(&key(member)));
}

/// Takes out the members that say themselves something else than the directory says of them: some programs believe
/// the one, some the other. `count`: of members, as the library has them.
fn without_contradictions(
    members: &mut Vec<Member>,
    directory: &Directory,
    count: usize,
    file: &mut (impl Read + Seek),
    refused: &mut Vec<Refused>,
) {
    members.retain(|member| {
        // The library leaves out those that are repeated, and then its numbers are no longer the directory's.
        let entry = match directory.entries.len() == count {
            true => directory.entries.get(member.at),
            false => directory.named(&member.stored),
        };
        let contradiction = match entry {
            Some(entry) => entry.contradicted(file, member.start),
            None => Ok(Some("name")),
        };
        let reason = match contradiction {
            Ok(None) => return true,
            Ok(Some(what)) => {
                format!("Its {what} in the archive's directory is not the one that it has itself.")
            }
            Err(error) => format!("It is damaged: {error}."),
        };
        refused.push(Refused::one(member.name.clone(), reason));
        false
    });
}

fn key(member: &Member) -> String {
    names::folded(&member.steps.join("/"))
}
