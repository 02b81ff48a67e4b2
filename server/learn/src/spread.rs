//! How widely something was seen: what only one person's files show is that person's habit.

use crate::corpus::{Corpus, Document};
use crate::symbols::Symbol;
use foldhash::{HashMap, HashMapExt as _};
use std::hash::{BuildHasher as _, Hash as _, Hasher as _};
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

/// Per document the first one that says the same: copies show no more than one file.
pub(crate) fn firsts(corpus: &Corpus) -> Vec<u32> {
    let mut known: HashMap<u64, Vec<u32>> = HashMap::new();
    let documents = corpus.documents.iter().enumerate();
    let first = |(at, document): (usize, &Document)| {
        let same = known.entry(content_hash(document)).or_default();
        let is_same =
            |other: &&u32| has_same_content(&corpus.documents[**other as usize], document);
        match same.iter().find(is_same) {
            Some(first) => *first,
            None => {
                same.push(at as u32);
                at as u32
            }
        }
    };
    documents.map(first).collect()
}

/// What a document says, without where it says it: per element its parent, its names and text, and where its
/// attributes end; then the attributes.
fn content(document: &Document) -> impl Iterator<Item = (Option<u32>, [Symbol; 3], u32)> {
    let elements = document.elements.iter().map(|element| {
        let own = [element.namespace, element.name, element.text];
        (element.parent, own, element.attributes.end)
    });
    let attributes = document.attributes.iter();
    let attributes = attributes.map(|one| (None, [Symbol::EMPTY, one.name, one.value], 0));
    elements.chain(attributes)
}

fn content_hash(document: &Document) -> u64 {
    let mut hasher = foldhash::fast::FixedState::default().build_hasher();
    content(document).for_each(|part| part.hash(&mut hasher));
    hasher.finish()
}

fn has_same_content(one: &Document, other: &Document) -> bool {
    content(one).eq(content(other))
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
    fn copies_count_as_the_first_of_them() {
        let mut corpus = Corpus::default();
        let texts = [
            "<a b='1'/>",
            "<a b='2'/>",
            "<a  b='1' />",
            "<a><b/><b/></a>",
            "<a><b><b/></b></a>",
        ];
        for (at, text) in texts.iter().enumerate() {
            let (file, member) = (format!("{at}.xml").into(), None);
            assert!(corpus.add(Source { file, member }, text));
        }
        assert_eq!(firsts(&corpus), [0, 1, 0, 3, 4]);
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
