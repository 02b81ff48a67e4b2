//! Documents that bring in others by their files' names: names that those give are theirs as well.

use super::scopes::Scopes;
use crate::corpus::Corpus;
use crate::surroundings::{self, Surroundings, extension};
use crate::survey::{Slot, Survey};
use foldhash::HashMap;
use std::collections::BTreeSet;

/// A document that names more is a list of documents, and brings in none of them.
const MOST_SEEN: usize = 64;

/// What documents bring in may be so many times what they hold themselves; more is not followed.
const MOST_REPEATED: usize = 8;

/// Below this size it may be more.
const SMALL: usize = 100_000;

/// So many folders upwards files' names may start.
const HIGHEST: usize = 5;

/// Longer values are no names of files.
const LONGEST: usize = 250;

/// Which documents bring in which.
pub(super) struct Links {
    /// Per document those whose names it sees, itself first.
    seen: Vec<Vec<u32>>,
    /// Per document whether it brings in, directly or not, what the library does not have.
    pub lacking: Vec<bool>,
}

/// A document that another names; `None`, which is the first of several, if the library does not have it.
type Named = Option<u32>;

impl Links {
    pub(super) fn of(survey: &Survey<'_>) -> Self {
        let corpus = survey.corpus;
        let named = named(survey);
        let mut links = Self {
            seen: Vec::new(),
            lacking: vec![false; corpus.documents.len()],
        };
        for document in 0..named.len() {
            let (mut seen, mut at) = (vec![document as u32], 0);
            'follow: while let Some(next) = seen.get(at).copied() {
                at += 1;
                for other in &named[next as usize] {
                    match other {
                        Some(other) if !seen.contains(other) => seen.push(*other),
                        Some(_) => {}
                        None => links.lacking[document] = true,
                    }
                    if seen.len() > MOST_SEEN {
                        seen.truncate(1);
                        break 'follow;
                    }
                }
            }
            links.seen.push(seen);
        }
        if links.repeated(corpus) > SMALL.max(MOST_REPEATED * size(corpus)) {
            links.seen.iter_mut().for_each(|seen| seen.truncate(1));
        }
        links
    }

    /// The parts of the library that names are looked for in: each document with what it brings in. `None` if none does.
    pub(super) fn scopes(&self) -> Option<Scopes> {
        let any = self.seen.iter().any(|seen| seen.len() > 1);
        any.then(|| Scopes::seeing(&self.seen))
    }

    /// The size of all that documents bring in.
    fn repeated(&self, corpus: &Corpus) -> usize {
        let brought = self.seen.iter().flat_map(|seen| &seen[1..]);
        brought
            .map(|at| corpus.documents[*at as usize].elements.len())
            .sum()
    }
}

fn size(corpus: &Corpus) -> usize {
    corpus.documents.iter().map(|one| one.elements.len()).sum()
}

/// Per document the others that it names.
fn named(survey: &Survey<'_>) -> Vec<BTreeSet<Named>> {
    let corpus = survey.corpus;
    let mut named = vec![BTreeSet::new(); corpus.documents.len()];
    let around = Surroundings::new(corpus, [], []);
    let paths: Vec<String> = corpus
        .documents
        .iter()
        .map(|document| surroundings::path(&document.source))
        .collect();
    let numbers: HashMap<&str, u32> = paths.iter().map(String::as_str).zip(0..).collect();
    for group in &survey.groups {
        for slot in &group.slots {
            let values = files(corpus, &around, slot);
            // Half of the values at least must be such names, and one of them must lead somewhere.
            if values.is_empty() || values.len() * 2 < slot.seen.len() {
                continue;
            }
            let found: Vec<(u32, Named)> = values
                .into_iter()
                .map(|(document, name)| {
                    let document = group.documents[document as usize];
                    let path = look_up(&around, &paths[document as usize], &name);
                    (document, path.and_then(|path| numbers.get(path).copied()))
                })
                .collect();
            let leads = |(from, to): &(u32, Named)| to.is_some_and(|to| to != *from);
            if found.iter().any(leads) {
                for (from, to) in found {
                    named[from as usize].insert(to);
                }
            }
        }
    }
    named
}

/// The values of a slot that end as the names of documents' files do: document (of the group) and name.
fn files(corpus: &Corpus, around: &Surroundings, slot: &Slot) -> Vec<(u32, String)> {
    let mut files = Vec::new();
    for (at, seen) in slot.seen.iter().enumerate() {
        let text = corpus.text(seen.value);
        let is_file = text.len() <= LONGEST
            && !text.contains(|c: char| c.is_control() || "<>|?*\"".contains(c))
            && extension(text).is_some_and(|end| around.has_extension(&end));
        if is_file {
            files.push((seen.document, text.replace('\\', "/")));
        }
        // Most slots have none, and need not be looked through.
        if files.is_empty() && at > slot.seen.len() / 2 {
            break;
        }
    }
    files
}

/// The document's file that another, at `own`, calls so.
fn look_up<'a>(around: &'a Surroundings, own: &str, name: &str) -> Option<&'a str> {
    let mut folder = surroundings::split(own).0;
    for _ in 0..HIGHEST {
        if let Some(found) = around.find(folder, name) {
            return Some(found.path);
        }
        if folder.is_empty() {
            break;
        }
        folder = surroundings::split(folder).0;
    }
    None
}
