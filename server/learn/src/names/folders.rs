//! Parts of a library whose documents may refer to each other's names.

use super::scopes::Scopes;
use crate::corpus::{Corpus, Source};
use foldhash::{HashMap, HashMapExt as _};
use std::path::Path;

/// How many folders up are tried.
const LEVELS: usize = 4;

/// With fewer parts there is nothing to compare a part with.
const FEWEST: usize = 3;

/// The documents by the folder they are in, by the folder of that one, and so on; an archive
/// counts as a folder; at last all of them together.
pub(super) fn levels(corpus: &Corpus) -> Vec<Scopes> {
    let mut levels: Vec<Vec<u32>> = Vec::new();
    for up in 0..LEVELS {
        let mut known: HashMap<&Path, u32> = HashMap::new();
        let level: Vec<u32> = corpus
            .documents
            .iter()
            .map(|document| {
                let next = known.len() as u32;
                *known.entry(folder(&document.source, up)).or_insert(next)
            })
            .collect();
        if known.len() < FEWEST {
            break;
        }
        let alone = known.len() == corpus.documents.len();
        if !alone && levels.last() != Some(&level) {
            levels.push(level);
        }
    }
    if corpus.documents.len() > 1 {
        levels.push(vec![0; corpus.documents.len()]);
    }
    levels.into_iter().map(Scopes::parts).collect()
}

fn folder(source: &Source, up: usize) -> &Path {
    let archive = source.member.is_some();
    let mut folders = source.file.ancestors().skip(usize::from(!archive));
    folders.nth(up).unwrap_or_else(|| Path::new(""))
}
