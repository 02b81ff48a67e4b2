//! The index as a file.
//!
//! It begins with a mark, the version of its format and a checksum of the rest. A file that is
//! not as it should be counts as none.

use learn::{Corpus, STORED_FORMAT};
use serde::{Deserialize, Serialize};
use std::{
    fs::{self, File, TryLockError},
    io::{self, Write as _},
    path::{Path, PathBuf},
    thread,
    time::{Duration, Instant},
};
use whole::Beside;

/// Changes with what stands before the corpus.
const FORMAT: u32 = 2;
const MARK: &[u8; 8] = b"trnindex";
const HEAD: usize = MARK.len() + 16;

/// Another process that is at it is waited for, but not longer than this.
const PATIENCE: Duration = Duration::from_secs(60);

/// What is kept of a library.
#[derive(Debug, Default)]
pub(super) struct Cache {
    pub(super) roots: Vec<PathBuf>,
    pub(super) files: Vec<Indexed>,
    /// The documents of all files, in their order.
    pub(super) corpus: Corpus,
    /// It comes from the disk.
    pub(super) is_kept: bool,
    /// Files went.
    pub(super) is_smaller: bool,
}

/// A file of the library as it was when it was read.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub(super) struct Indexed {
    pub(super) file: PathBuf,
    pub(super) size: u64,
    /// Since 1970. None: it had changed only just then.
    pub(super) modified: Option<Duration>,
    /// Up to how many bytes a document was read.
    pub(super) limit: u64,
    /// How many of the corpus's documents are in it.
    pub(super) documents: u32,
}

impl Indexed {
    pub(super) fn is_as(&self, now: &Self) -> bool {
        let key = |it: &Self| (it.size, it.modified, it.limit);
        self.modified.is_some() && key(self) == key(now)
    }
}

/// The name of a library's file: what the roots are, not who asks.
pub(super) fn file_name(roots: &[PathBuf]) -> String {
    let mut all = Vec::new();
    for root in roots {
        all.extend_from_slice(root.as_os_str().as_encoded_bytes());
        all.push(0);
    }
    format!("library-{:016x}.index", checksum(&all))
}

/// FNV-1a in 64 bits: the same on every machine and in every version.
pub(super) fn checksum(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0xcbf2_9ce4_8422_2325, |hash, byte| {
        (hash ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3)
    })
}

fn format() -> u64 {
    u64::from(FORMAT) << 32 | u64::from(STORED_FORMAT)
}

/// None: there is none, or none that can be relied on.
pub(super) fn load(file: &Path, roots: &[PathBuf]) -> Option<Cache> {
    let bytes = fs::read(file).ok()?;
    let (head, body) = bytes.split_at_checked(HEAD)?;
    let number = |at: usize| {
        let bytes = head.get(at..at + 8)?.try_into().ok()?;
        Some(u64::from_le_bytes(bytes))
    };
    let is_ours = head.starts_with(MARK) && number(8)? == format() && number(16)? == checksum(body);
    if !is_ours {
        return None;
    }
    type Listed = (Vec<PathBuf>, Vec<Indexed>);
    let ((of, files), corpus): (Listed, &[u8]) = postcard::take_from_bytes(body).ok()?;
    let corpus = Corpus::from_bytes(corpus)?;
    let documents: u64 = files.iter().map(|file| u64::from(file.documents)).sum();
    let is_sound = of == roots && documents == corpus.documents.len() as u64;
    is_sound.then_some(Cache {
        roots: of,
        files,
        corpus,
        is_kept: true,
        is_smaller: false,
    })
}

/// # Errors
/// Why it cannot be written; what was there before is there still.
pub(super) fn store(file: &Path, cache: &Cache) -> Result<(), String> {
    let mut body =
        postcard::to_stdvec(&(&cache.roots, &cache.files)).map_err(|error| error.to_string())?;
    body.append(&mut cache.corpus.to_bytes()?);
    let head = [
        &MARK[..],
        &format().to_le_bytes(),
        &checksum(&body).to_le_bytes(),
    ]
    .concat();
    write_whole(file, &[&head, &body])
        .map_err(|error| format!("{} cannot be written: {error}.", file.display()))
}

/// Writes a file and the folders it needs, so that nobody sees half of it.
pub(super) fn write_whole(file: &Path, parts: &[&[u8]]) -> io::Result<()> {
    let folder = file.parent().unwrap_or(Path::new("."));
    fs::create_dir_all(folder)?;
    let beside = Beside::file(file)?;
    let mut out = beside.handle()?;
    parts.iter().try_for_each(|part| out.write_all(part))?;
    beside.take_place(file)
}

/// Keeps others from reading the same library meanwhile. The system lets go of the lock when the
/// file is closed, however the process ends. Without one (None) all goes well too: it only
/// saves work.
pub(super) fn lock(file: &Path) -> Option<File> {
    fs::create_dir_all(file.parent()?).ok()?;
    let lock = File::create(file.with_extension("locked")).ok()?;
    let since = Instant::now();
    loop {
        match lock.try_lock() {
            Ok(()) => return Some(lock),
            Err(TryLockError::WouldBlock) if since.elapsed() < PATIENCE => {
                thread::sleep(Duration::from_millis(50));
            }
            Err(_) => return None,
        }
    }
}
