//! How widely something was seen: what only one person's files show is that person's habit.

use crate::corpus::{Corpus, Document};
use foldhash::{HashMap, HashMapExt as _};
use std::path::{Component, Path, PathBuf};

/// More files, and more sources, make nothing surer.
const MOST: usize = 12;

/// So much do several files of one source count.
const PER_ORIGIN: usize = 2;

/// With fewer sources nothing is known of people, and each file counts for itself.
const FEWEST_ORIGINS: u32 = 3;

/// Where something was seen, as far as it matters.
#[derive(Clone, Debug, Default)]
pub(crate) struct Spread {
    files: Vec<u32>,
    origins: Vec<u32>,
}

impl Spread {
    pub(crate) fn add(&mut self, file: u32, origin: u32) {
        note(&mut self.files, file);
        note(&mut self.origins, origin);
    }

    pub(crate) fn take_in(&mut self, other: &Self) {
        other
            .files
            .iter()
            .for_each(|file| note(&mut self.files, *file));
        for origin in &other.origins {
            note(&mut self.origins, *origin);
        }
    }

    /// How many files show it, of which one source has only a few.
    pub(crate) fn files(&self) -> u32 {
        self.files.len().min(PER_ORIGIN * self.origins.len()) as u32
    }
}

fn note(known: &mut Vec<u32>, one: u32) {
    if known.len() < MOST && !known.contains(&one) {
        known.push(one);
    }
}

/// Per document a number for where it comes from: the mod, which is the folder or archive right below the folder that
/// all documents have in common.
pub(crate) fn origins(corpus: &Corpus) -> Vec<u32> {
    let common = common_folder(&corpus.documents);
    let mut known: HashMap<Component<'_>, u32> = HashMap::new();
    let mut loose = 0;
    let origins: Vec<u32> = corpus
        .documents
        .iter()
        .map(|document| {
            let path = &document.source.file;
            let mut below = path.strip_prefix(&common).unwrap_or(path).components();
            let first = below.next();
            let is_mod = below.next().is_some() || document.source.member.is_some();
            match first.filter(|_| is_mod) {
                Some(folder) => {
                    let next = known.len() as u32;
                    *known.entry(folder).or_insert(next)
                }
                // Files that lie there by themselves may be anybody's.
                None => {
                    loose += 1;
                    u32::MAX - loose
                }
            }
        })
        .collect();
    match known.len() as u32 + loose >= FEWEST_ORIGINS {
        true => origins,
        false => (0..corpus.documents.len() as u32).collect(),
    }
}

fn common_folder(documents: &[Document]) -> PathBuf {
    let mut folders = documents.iter().map(|document| {
        let parent = document.source.file.parent();
        parent.unwrap_or(Path::new(""))
    });
    let Some(first) = folders.next() else {
        return PathBuf::new();
    };
    let mut common: Vec<Component<'_>> = first.components().collect();
    for folder in folders {
        let same = common
            .iter()
            .zip(folder.components())
            .take_while(|(one, other)| *one == other);
        let same = same.count();
        common.truncate(same);
    }
    common.into_iter().collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::corpus::Source;

    fn origins_of(files: &[(&str, Option<&str>)]) -> Vec<u32> {
        let mut corpus = Corpus::default();
        for (file, member) in files {
            let source = Source {
                file: file.into(),
                member: member.map(str::to_owned),
            };
            assert!(corpus.add(source, "<raft/>"));
        }
        origins(&corpus)
    }

    #[test]
    fn what_lies_below_one_folder_comes_from_one_source() {
        let origins = origins_of(&[
            ("lib/oak/a.xml", None),
            ("lib/oak/deep/b.xml", None),
            ("lib/ash.zip", Some("a.xml")),
            ("lib/ash.zip", Some("b.xml")),
            ("lib/elm/a.xml", None),
        ]);
        assert_eq!(origins, [0, 0, 1, 1, 2]);
    }

    #[test]
    fn files_in_one_folder_are_anybodys() {
        let origins = origins_of(&[
            ("lib/a.xml", None),
            ("lib/b.xml", None),
            ("lib/c.xml", None),
        ]);
        assert!(origins[0] != origins[1] && origins[1] != origins[2]);
        let two = origins_of(&[
            ("lib/oak/a.xml", None),
            ("lib/oak/b.xml", None),
            ("lib/ash/a.xml", None),
        ]);
        assert_eq!(two, [0, 1, 2], "two sources show no habits");
    }
}
