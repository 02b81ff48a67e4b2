//! What is known of a library, kept on disk from one run to the next.
//!
//! The index is one file per library in a cache folder. It holds what was taken out of each file
//! of the library, with the file's size and time; only files that changed are read again. Whatever
//! is wrong with it, it is made anew. It is written as a temporary file that is renamed, so that
//! nobody ever sees half of one; a lock keeps two processes from doing the same work twice.

mod cache;
mod folder;
mod unpacked;

pub use folder::cache_folder;
pub use unpacked::readable;

use crate::{
    config::Limits,
    library::{self, Content, Unread, Wanted},
};
use cache::{Cache, Indexed};
use learn::{Corpus, Document, Source};
use std::{
    collections::HashMap,
    fs,
    path::{Path, PathBuf},
    time::{Duration, SystemTime},
};

/// Longer values are left out: they are data, not habits.
const LONGEST_VALUE: usize = 200;

/// Of larger documents only the first elements are kept: scenes in XML have many, all alike.
const MOST_ELEMENTS: usize = 5_000;

/// A file that changed so shortly ago may change again without a change of its time.
const SETTLED: Duration = Duration::from_secs(2);

/// A library as it is now.
#[derive(Debug)]
pub struct Index {
    pub corpus: Corpus,
    /// What could not be read, among the files that were read again.
    pub unread: Vec<Unread>,
    /// How many files were read again.
    pub read: usize,
    /// Why the index could not be kept for the next time.
    pub not_kept: Option<String>,
}

/// How far the reading of a library is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Progress {
    /// Which files there are is found out, or another process is waited for.
    Looking,
    /// So many files are done, of those that have to be read.
    Read { done: usize, of: usize },
}

/// Reads a library, as far as it has changed since the last time. Waits for another process that
/// is at it, though not for ever.
///
/// `cache`: the folder for the index; None: it is kept nowhere.
pub fn read(
    roots: &[PathBuf],
    cache: Option<&Path>,
    limits: &Limits,
    told: &(impl Fn(Progress) + Sync),
) -> Index {
    told(Progress::Looking);
    let file = cache.map(|folder| folder.join(cache::file_name(roots)));
    let _lock = file.as_deref().and_then(cache::lock);
    let known = file.as_deref().and_then(|file| cache::load(file, roots));
    let (files, unread) = library::files(roots);
    let limit = limits.document.bytes();
    let stamped = files.into_iter().map(|file| stamped(file, limit)).collect();
    let (cache, mut index) = update(roots, stamped, known.unwrap_or_default(), limits, told);
    index.unread.splice(0..0, unread);
    if let (Some(file), true) = (&file, index.read > 0 || cache.is_smaller) {
        index.not_kept = cache::store(file, &cache).err();
    }
    index.corpus = cache.corpus;
    index
}

/// A file with its size and time as they are now.
fn stamped(file: PathBuf, limit: u64) -> Indexed {
    let about = fs::metadata(&file).ok();
    let modified = about.as_ref().and_then(|about| about.modified().ok());
    let now = SystemTime::now();
    let settled = modified.filter(|time| now.duration_since(*time).is_ok_and(|age| age > SETTLED));
    Indexed {
        size: about.map_or(0, |about| about.len()),
        modified: settled.and_then(|time| time.duration_since(SystemTime::UNIX_EPOCH).ok()),
        limit,
        documents: 0,
        file,
    }
}

/// Brings what is known to what there is.
fn update(
    roots: &[PathBuf],
    mut files: Vec<Indexed>,
    known: Cache,
    limits: &Limits,
    told: &(impl Fn(Progress) + Sync),
) -> (Cache, Index) {
    let mut corpus = known.corpus;
    let documents = std::mem::take(&mut corpus.documents);
    let mut old = by_file(known.files, documents);
    let mut found: HashMap<PathBuf, Vec<Document>> = HashMap::new();
    let mut changed = Vec::new();
    for file in &files {
        match old.remove(&file.file) {
            Some((then, own)) if then.is_as(file) => {
                found.insert(file.file.clone(), own);
            }
            _ => changed.push(file.file.clone()),
        }
    }
    let of = changed.len();
    let take = |corpus: &mut Corpus, file: library::File| {
        if let Content::Xml(text) = file.content {
            let library::Source { file, member } = file.source;
            corpus.add(Source { file, member }, &text);
        }
    };
    let told = |done| told(Progress::Read { done, of });
    let read = library::read_files(&changed, limits, Wanted::Xml, &told, take);
    for mut portion in read.portions {
        for document in &mut portion.documents {
            document.cut(MOST_ELEMENTS);
        }
        corpus.take_in(portion.trimmed(|value| value.len() <= LONGEST_VALUE));
        for document in corpus.documents.drain(..) {
            let of_file = found.entry(document.source.file.clone()).or_default();
            of_file.push(document);
        }
    }
    for file in &mut files {
        let own = found.remove(&file.file).unwrap_or_default();
        file.documents = u32::try_from(own.len()).unwrap_or_default();
        corpus.documents.extend(own);
    }
    let index = Index {
        corpus: Corpus::default(),
        unread: read.unread,
        read: of,
        not_kept: None,
    };
    let is_smaller = !old.is_empty();
    // Texts of files that changed or went are let go of.
    if is_smaller || known.is_kept && of > 0 {
        corpus = corpus.trimmed(|_| true);
    }
    let cache = Cache {
        roots: roots.to_vec(),
        files,
        corpus,
        is_kept: false,
        is_smaller,
    };
    (cache, index)
}

/// What is known to be in each file. `documents`: those of all files, in the order of these.
fn by_file(
    files: Vec<Indexed>,
    documents: Vec<Document>,
) -> HashMap<PathBuf, (Indexed, Vec<Document>)> {
    let mut documents = documents.into_iter();
    let known = files.into_iter().map(|file| {
        let own = documents.by_ref().take(file.documents as usize).collect();
        (file.file.clone(), (file, own))
    });
    known.collect()
}

#[cfg(test)]
mod tests;
