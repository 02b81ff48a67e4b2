//! The files of an archive, read where they are.

use std::fs;
use std::io::{BufReader, Read, Seek, SeekFrom};
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
        unread.push(Unread {
            source: source(member),
            reason,
        });
    };
    let opened = file
        .seek(SeekFrom::Start(0))
        .map_err(ZipError::from)
        .and_then(|_| ZipArchive::new(BufReader::new(file)));
    let mut archive = match opened {
        Ok(archive) => archive,
        Err(error) => return failed(None, format!("The archive cannot be read: {error}.")),
    };
    if archive.len() > MOST_MEMBERS {
        let count = archive.len();
        failed(
            None,
            format!("The archive has {count} members; only the first {MOST_MEMBERS} are read."),
        );
    }
    let mut left = MOST_BYTES;
    for at in 0..archive.len().min(MOST_MEMBERS) {
        let name = archive
            .name_for_index(at)
            .map(plain_name)
            .unwrap_or_default();
        let mut member = match archive.by_index(at) {
            Ok(member) => member,
            Err(error) => {
                failed(Some(name), format!("It cannot be unpacked: {error}."));
                continue;
            }
        };
        // Links are not followed here either.
        if member.is_dir() || member.is_symlink() || is_hidden(&name) {
            continue;
        }
        match member_content(&mut member, (limits, wanted), &mut left) {
            Ok(content) => take(File {
                source: source(Some(name)),
                content,
            }),
            Err(reason) => failed(Some(name), reason),
        }
        if left == 0 {
            failed(
                None,
                format!(
                    "More than {MOST_BYTES} bytes would have to be unpacked; the rest is not read."
                ),
            );
            return;
        }
    }
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
