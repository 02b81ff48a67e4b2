//! The files of an archive, read where they are.

use std::fs;
use std::io::{BufReader, Read, Seek};
use std::path::Path;

use zip::ZipArchive;
use zip::read::ZipFile;
use zip::result::ZipError;

use super::{Content, File, Limits, Source, Unread, Wanted, content, sniff};

/// Members beyond these are not looked at.
const MOST_MEMBERS: usize = 100_000;

/// So many bytes are unpacked of one archive, all members together: a small archive can claim to
/// hold the world.
const MOST_BYTES: u64 = 2 << 30;

pub(super) fn read(
    path: &Path,
    mut file: fs::File,
    (limits, wanted): (&Limits, Wanted),
    unread: &mut Vec<Unread>,
    take: &mut dyn FnMut(File),
) {
    let source = |member: Option<String>| Source {
        file: path.to_path_buf(),
        member,
    };
    let mut failed = |member: Option<String>, reason: String| {
        let source = source(member);
        unread.push(Unread { source, reason });
    };
    let opened = file.rewind().map_err(ZipError::from);
    let mut archive = match opened.and_then(|()| ZipArchive::new(BufReader::new(file))) {
        Ok(archive) => archive,
        Err(error) => return failed(None, format!("The archive cannot be read: {error}.")),
    };
    let count = archive.len();
    if count > MOST_MEMBERS {
        let reason =
            format!("The archive has {count} members; only the first {MOST_MEMBERS} are read.");
        failed(None, reason);
    }
    let mut left = MOST_BYTES;
    for at in 0..count.min(MOST_MEMBERS) {
        let name = archive
            .name_for_index(at)
            .map(plain_name)
            .unwrap_or_default();
        match visible_content(&mut archive, at, &name, (limits, wanted), &mut left) {
            Ok(None) => {}
            Ok(Some(content)) => {
                let source = source(Some(name));
                take(File { source, content });
            }
            Err(reason) => failed(Some(name), reason),
        }
        if left == 0 {
            let reason = format!(
                "More than {MOST_BYTES} bytes would have to be unpacked; the rest is not read."
            );
            return failed(None, reason);
        }
    }
}

/// None: a folder, a link (which are not followed here either), or a hidden file.
fn visible_content<R: Read + Seek>(
    archive: &mut ZipArchive<R>,
    at: usize,
    name: &str,
    asked: (&Limits, Wanted),
    left: &mut u64,
) -> Result<Option<Content>, String> {
    let member = archive.by_index(at);
    let mut member = member.map_err(|error| format!("It cannot be unpacked: {error}."))?;
    if member.is_dir() || member.is_symlink() || is_hidden(name) {
        return Ok(None);
    }
    member_content(&mut member, asked, left).map(Some)
}

fn member_content<R: Read>(
    member: &mut ZipFile<'_, R>,
    (limits, wanted): (&Limits, Wanted),
    left: &mut u64,
) -> Result<Content, String> {
    let length = member.size();
    let mut counted = Counted {
        inner: member,
        left,
    };
    let mut head = Vec::new();
    (&mut counted)
        .take(sniff::HEAD)
        .read_to_end(&mut head)
        .map_err(|error| format!("It cannot be unpacked: {error}."))?;
    content(head, &mut counted, length, limits, wanted)
}

/// Reads until nothing is left of what may be read.
struct Counted<'r, R> {
    inner: R,
    left: &'r mut u64,
}

impl<R: Read> Read for Counted<'_, R> {
    fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
        let most = usize::try_from(*self.left)
            .unwrap_or(usize::MAX)
            .min(buffer.len());
        let count = self.inner.read(&mut buffer[..most])?;
        *self.left -= count as u64;
        Ok(count)
    }
}

/// With `/` between the steps. It is only shown and compared, never opened.
fn plain_name(name: &str) -> String {
    name.replace('\\', "/")
}

fn is_hidden(name: &str) -> bool {
    name.split('/')
        .any(|step| step.starts_with('.') && step != "." && step != "..")
}

/// The text of one member. None: there is no such member, or it is none that would be read.
pub(super) fn member(path: &Path, name: &str, limits: &Limits) -> Option<String> {
    let mut archive = ZipArchive::new(BufReader::new(fs::File::open(path).ok()?)).ok()?;
    let at = (0..archive.len().min(MOST_MEMBERS))
        .find(|at| archive.name_for_index(*at).map(plain_name).as_deref() == Some(name))?;
    let mut left = MOST_BYTES;
    let mut member = archive.by_index(at).ok()?;
    match member_content(&mut member, (limits, Wanted::Xml), &mut left) {
        Ok(Content::Xml(text)) => Some(text),
        _ => None,
    }
}
