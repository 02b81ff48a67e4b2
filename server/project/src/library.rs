//! A library: folders of mods, and archives of them, read file by file on all cores.
//!
//! What a file is, its first bytes tell, not its name. Links are not followed, hidden files and
//! folders are left out. Nothing is written; archives are read where they are. A file that
//! cannot be read keeps no other from being read: it is in [`Library::unread`], with the reason.

mod archive;
mod listing;
mod sniff;

use std::io::Read;
use std::num::NonZeroUsize;
use std::path::PathBuf;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

use crate::config::Limits;
use learn::Corpus;
pub use learn::Source;
use scene::Scene;

/// A file of a library that was read.
#[derive(Debug)]
pub struct File {
    pub source: Source,
    pub content: Content,
}

/// What is in a file.
#[derive(Debug)]
pub enum Content {
    /// Text that begins like XML. It need not be well-formed.
    Xml(String),
    /// A glTF scene.
    Scene(Scene),
    /// Something else; it was not read.
    Other,
}

/// A file that could not be read, and why: a sentence.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unread {
    pub source: Source,
    pub reason: String,
}

/// What was read.
#[derive(Debug)]
pub struct Library<A> {
    /// What was made of the files, portion by portion, in the order of the files.
    pub portions: Vec<A>,
    pub unread: Vec<Unread>,
}

/// More files are not listed.
const MOST_FILES: usize = 2_000_000;

/// So many files are one portion of work.
const PORTION: usize = 32;

/// Reads everything below some folders; a root may also be a single file or archive. `take` gets
/// each file, with what it made of the files before it in the same portion.
///
/// The same folders give the same portions, however many threads there are.
pub fn read<A: Default + Send>(
    roots: &[PathBuf],
    limits: &Limits,
    take: impl Fn(&mut A, File) + Sync,
) -> Library<A> {
    let (files, mut unread) = files(roots);
    let mut library = read_files(&files, limits, Wanted::All, &|_| {}, take);
    unread.append(&mut library.unread);
    Library { unread, ..library }
}

/// All files below some folders, and what could not be looked into.
pub(crate) fn files(roots: &[PathBuf]) -> (Vec<PathBuf>, Vec<Unread>) {
    listing::files(roots, MOST_FILES)
}

/// What is read of a library.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Wanted {
    All,
    /// No scenes: they are [`Content::Other`].
    Xml,
}

/// Reads these files, as [`read`] does. `told`: of how many are done.
pub(crate) fn read_files<A: Default + Send>(
    files: &[PathBuf],
    limits: &Limits,
    wanted: Wanted,
    told: &(impl Fn(usize) + Sync),
    take: impl Fn(&mut A, File) + Sync,
) -> Library<A> {
    let count = AtomicUsize::new(0);
    let portions: Vec<&[PathBuf]> = files.chunks(PORTION).collect();
    let next = AtomicUsize::new(0);
    let done = Mutex::new(Vec::with_capacity(portions.len()));
    let work = || {
        loop {
            let at = next.fetch_add(1, Ordering::Relaxed);
            let Some(portion) = portions.get(at) else {
                return;
            };
            let (mut made, mut unread) = (A::default(), Vec::new());
            for file in *portion {
                read_file(file, limits, wanted, &mut unread, &mut |file| {
                    take(&mut made, file);
                });
            }
            let mut done = done.lock().unwrap_or_else(|broken| broken.into_inner());
            done.push((at, made, unread));
            drop(done);
            told(count.fetch_add(portion.len(), Ordering::Relaxed) + portion.len());
        }
    };
    let threads = thread::available_parallelism().map_or(1, NonZeroUsize::get);
    thread::scope(|scope| {
        for _ in 1..threads.min(portions.len()) {
            scope.spawn(work);
        }
        work();
    });
    let mut done = done
        .into_inner()
        .unwrap_or_else(|broken| broken.into_inner());
    done.sort_by_key(|(at, ..)| *at);
    let mut unread = Vec::new();
    let portions = done.into_iter().map(|(_, made, failed)| {
        unread.extend(failed);
        made
    });
    Library {
        portions: portions.collect(),
        unread,
    }
}

/// A library's documents, and what lies beside them.
#[derive(Debug, Default)]
pub struct Gathered {
    pub corpus: Corpus,
    pub scenes: Vec<(Source, Scene)>,
    /// All other files.
    pub others: Vec<Source>,
}

/// Reads the documents of a library. Text that has no element at all counts as unread.
pub fn gather(roots: &[PathBuf], limits: &Limits) -> (Gathered, Vec<Unread>) {
    let library = read(roots, limits, |made: &mut Portion, file| {
        let File { source, content } = file;
        match content {
            Content::Xml(text) => {
                if !made.gathered.corpus.add(source.clone(), &text) {
                    let reason = "It begins like XML, but has no element.".to_owned();
                    made.unread.push(Unread { source, reason });
                }
            }
            Content::Scene(scene) => made.gathered.scenes.push((source, scene)),
            Content::Other => made.gathered.others.push(source),
        }
    });
    let (mut all, mut unread) = (Gathered::default(), library.unread);
    for portion in library.portions {
        let Gathered {
            corpus,
            scenes,
            others,
        } = portion.gathered;
        all.corpus.take_in(corpus);
        all.scenes.extend(scenes);
        all.others.extend(others);
        unread.extend(portion.unread);
    }
    (all, unread)
}

#[derive(Default)]
struct Portion {
    gathered: Gathered,
    unread: Vec<Unread>,
}

fn read_file(
    path: &PathBuf,
    limits: &Limits,
    wanted: Wanted,
    unread: &mut Vec<Unread>,
    take: &mut dyn FnMut(File),
) {
    let source = || Source {
        file: path.clone(),
        member: None,
    };
    let mut failed = |reason: String| {
        unread.push(Unread {
            source: source(),
            reason,
        });
    };
    let (mut file, length) = match open(path) {
        Ok(opened) => opened,
        Err(error) => return failed(format!("It cannot be opened: {error}.")),
    };
    let mut head = Vec::new();
    if let Err(error) = (&mut file).take(sniff::HEAD).read_to_end(&mut head) {
        return failed(format!("It cannot be read: {error}."));
    }
    if ::archive::is_archive(&head) {
        return archive::read(path, file, (limits, wanted), unread, take);
    }
    match content(head, &mut file, length, limits, wanted) {
        Ok(content) => take(File {
            source: source(),
            content,
        }),
        Err(reason) => failed(reason),
    }
}

/// The text of a file of a library, as it is now. None: it is not there any more.
pub fn text_of(source: &Source, limits: &Limits) -> Option<String> {
    match &source.member {
        Some(member) => archive::member(&source.file, member, limits),
        None => {
            let (mut file, length) = open(&source.file).ok()?;
            let mut head = Vec::new();
            (&mut file).take(sniff::HEAD).read_to_end(&mut head).ok()?;
            match content(head, &mut file, length, limits, Wanted::Xml) {
                Ok(Content::Xml(text)) => Some(text),
                _ => None,
            }
        }
    }
}

fn open(path: &PathBuf) -> std::io::Result<(std::fs::File, u64)> {
    let file = std::fs::File::open(path)?;
    let length = file.metadata()?.len();
    Ok((file, length))
}

/// What a file holds: its first bytes, and a reader for the others. `length` is what the file
/// claims to have; it is not relied on.
///
/// # Errors
/// Why it could not be read, as a sentence.
fn content(
    head: Vec<u8>,
    rest: &mut dyn Read,
    length: u64,
    limits: &Limits,
    wanted: Wanted,
) -> Result<Content, String> {
    let (is_scene, limit) = match sniff::sniff(&head) {
        sniff::Sniffed::Xml => (false, limits.document),
        sniff::Sniffed::Scene if wanted == Wanted::Xml => return Ok(Content::Other),
        sniff::Sniffed::Scene => (true, limits.scene),
        sniff::Sniffed::Other => return Ok(Content::Other),
    };
    let too_large = |length: u64| limit.passed_by(length);
    if length > limit.bytes() {
        return Err(too_large(length));
    }
    let mut bytes = head;
    let more = limit.bytes() + 1 - (bytes.len() as u64).min(limit.bytes());
    rest.take(more)
        .read_to_end(&mut bytes)
        .map_err(|error| format!("It cannot be read: {error}."))?;
    if bytes.len() as u64 > limit.bytes() {
        return Err(too_large(bytes.len() as u64));
    }
    if is_scene {
        // JSON of another kind is no scene, and no trouble either.
        let scene = scene::read_at_most(limits.nodes, &bytes, "", &[]);
        return Ok(scene.map_or(Content::Other, Content::Scene));
    }
    let text = syntax::decode::bytes(&bytes).map_err(|error| error.reason)?;
    Ok(Content::Xml(text))
}

#[cfg(test)]
mod tests;
