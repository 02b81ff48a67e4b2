//! Who gives which name where.

use super::places::Place;
use super::scopes::Scopes;
use crate::survey::Survey;
use crate::symbols::Symbol;

/// One value at a place that may give names.
#[derive(Copy, Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Posting {
    value: Symbol,
    /// The part of the library within which it is looked for.
    scope: u32,
    /// Index into the places.
    pub place: u32,
    /// Index into the corpus' documents.
    pub document: u32,
    /// The element that has the name.
    pub thing: u32,
}

/// The names that all candidates give.
pub(super) struct Index {
    /// In order of value, scope, place.
    postings: Vec<Posting>,
    /// Per symbol where its postings begin; one more at the end.
    starts: Vec<u32>,
    /// Per place, in how many parts it gives names: scopes, or documents where scopes overlap.
    parts: Vec<u32>,
    /// How many there are.
    all: u32,
    overlap: bool,
}

impl Index {
    pub(super) fn of(
        survey: &Survey<'_>,
        places: &[Place<'_>],
        candidates: &[bool],
        scopes: &Scopes,
    ) -> Self {
        let mut postings = Vec::new();
        let mut parts = vec![0; places.len()];
        let overlap = scopes.overlap();
        for (number, place) in places.iter().enumerate() {
            if !candidates[number] {
                continue;
            }
            let mut within = Vec::new();
            for seen in &place.slot.seen {
                let document = place.document(seen);
                let thing = place.thing(survey, seen);
                postings.extend(scopes.given(document).iter().map(|scope| Posting {
                    value: seen.value,
                    scope: *scope,
                    place: number as u32,
                    document,
                    thing,
                }));
                within.push(if overlap {
                    document
                } else {
                    scopes.asked(document)
                });
            }
            within.sort_unstable();
            within.dedup();
            parts[number] = within.len() as u32;
        }
        postings.sort_unstable();
        let mut starts = vec![0; survey.corpus.symbols.len() + 1];
        for posting in &postings {
            starts[posting.value.index() + 1] += 1;
        }
        for at in 1..starts.len() {
            starts[at] += starts[at - 1];
        }
        let all = scopes.count();
        Self {
            postings,
            starts,
            parts,
            all,
            overlap,
        }
    }

    /// All places that give the name, in order of scope and place.
    pub(super) fn everywhere(&self, value: Symbol) -> &[Posting] {
        let (from, to) = (self.starts[value.index()], self.starts[value.index() + 1]);
        &self.postings[from as usize..to as usize]
    }

    /// Those within a scope.
    pub(super) fn within(&self, value: Symbol, scope: u32) -> &[Posting] {
        let all = self.everywhere(value);
        let from = all.partition_point(|posting| posting.scope < scope);
        let to = from + all[from..].partition_point(|posting| posting.scope == scope);
        &all[from..to]
    }

    /// What a posting counts for: a name that several scopes have from one document is met by chance only once.
    fn part(&self, posting: &Posting) -> u32 {
        if self.overlap {
            posting.document
        } else {
            posting.scope
        }
    }

    /// In how many parts one of these places gives the name.
    pub(super) fn frequency(&self, value: Symbol, places: &[u32]) -> u32 {
        let all = self.everywhere(value).iter();
        let mut parts: Vec<u32> = all
            .filter(|posting| places.contains(&posting.place))
            .map(|posting| self.part(posting))
            .collect();
        parts.sort_unstable();
        parts.dedup();
        parts.len() as u32
    }

    /// Per place that gives the name, in how many parts.
    pub(super) fn frequencies(&self, value: Symbol) -> Vec<(u32, u32)> {
        let mut found: Vec<(u32, u32)> = self
            .everywhere(value)
            .iter()
            .map(|posting| (posting.place, self.part(posting)))
            .collect();
        found.sort_unstable();
        found.dedup();
        found
            .chunk_by(|a, b| a.0 == b.0)
            .map(|place| (place[0].0, place.len() as u32))
            .collect()
    }

    /// In how many parts a place gives names; for several places, of the one with most.
    pub(super) fn parts(&self, places: &[u32]) -> u32 {
        let each = places.iter().map(|place| self.parts[*place as usize]);
        each.max().unwrap_or(0).min(self.all)
    }
}
