//! Documents with the same root that are of different kinds all the same.
//!
//! Kinds have vocabularies of their own; documents of one kind vary within one. So documents are divided by what could
//! tell them apart (an attribute of the root, what stands directly in the root, the sort of file name), parts whose
//! vocabularies overlap are joined again, and if several parts are left that are alike within, they are kinds.

use crate::corpus::{Corpus, Document};
use crate::kinds;
use crate::own::own_elements;
use crate::symbols::Symbol;
use foldhash::{HashMap, HashMapExt as _, HashSet};
use std::collections::BTreeMap;

/// Documents of one kind, with what tells them from others with the same root.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Part {
    /// Indices into [`Corpus::documents`], sorted.
    pub(crate) documents: Vec<u32>,
    pub(crate) marks: Marks,
}

/// What tells a kind from others with the same root.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Marks {
    /// One of these stands directly in the root.
    pub holds: Vec<Symbol>,
    /// An attribute of the root has one of these values.
    pub attribute: Option<(Symbol, Vec<Symbol>)>,
    /// The file's name fits one of these patterns.
    pub files: Vec<String>,
}

/// Fewer documents are no kind.
const LEAST: usize = 4;

/// More parts are told apart by names, not by kinds.
const MOST: usize = 12;

/// So many parts that overlap with none will not become few by joining others.
const FAR_TOO_MANY: usize = 4 * MOST;

/// So many words at least are a kind's own; and so many if they could be one child that varies.
const OWN_WORDS: usize = 3;
const OWN_WORDS_OF_ONE: usize = 6;

/// The greatest share of vocabulary that kinds have in common which are told apart by their vocabulary alone, and of
/// those that something else tells apart as well.
const OVERLAP: f64 = 0.15;
const OVERLAP_IF_MARKED: f64 = 0.35;

/// How alike two documents of one kind are at least.
const ALIKE: f64 = 0.3;

/// The share of documents that may lack what tells the others apart.
const UNTOLD: f64 = 0.05;

/// Most names of children by which a kind is told.
const MOST_NAMES: usize = 24;

/// The kinds among documents with the same root: one, or several that have marks. `inner`: namespaces that count besides
/// the root's.
pub(crate) fn divided(corpus: &Corpus, documents: Vec<u32>, inner: &[Symbol]) -> Vec<Part> {
    let whole = |documents| {
        let marks = Marks::default();
        vec![Part { documents, marks }]
    };
    if documents.len() < 2 * LEAST {
        return whole(documents);
    }
    let sights: Vec<Sight> = documents
        .iter()
        .map(|at| Sight::of(&corpus.documents[*at as usize], corpus, inner))
        .collect();
    let divisions = by_attributes(&sights)
        .into_iter()
        .chain([by_children(&sights), by_file_names(corpus, &documents)]);
    let mut best: Vec<Part> = Vec::new();
    for division in divisions {
        if let Some(parts) = division.parts(&sights, &documents)
            && parts.len() > best.len().max(1)
        {
            best = parts;
        }
    }
    match best.is_empty() {
        true => whole(documents),
        false => best,
    }
}

/// What is looked at of a document.
struct Sight {
    /// The root's attributes.
    attributes: Vec<(Symbol, Symbol)>,
    /// The names of the root's children, each once, and whether it comes again.
    children: Vec<(Symbol, bool)>,
    /// All names of elements and attributes, but the root's own.
    words: HashSet<Word>,
}

/// A name of an element, or of an attribute.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Hash)]
enum Word {
    Element(Symbol),
    Attribute(Symbol),
}

impl Sight {
    fn of(document: &Document, corpus: &Corpus, inner: &[Symbol]) -> Self {
        let own = own_elements(document, inner);
        let mut children: Vec<(Symbol, bool)> = Vec::new();
        let mut words = HashSet::default();
        for (element, _) in document.elements.iter().zip(own).filter(|(_, own)| *own) {
            let names = document.attributes_of(element).iter();
            words.extend(names.map(|attribute| Word::Attribute(attribute.name)));
            let name = corpus.plain(element.name);
            if element.parent.is_some() {
                words.insert(Word::Element(name));
            }
            if element.parent == Some(0) {
                match children.iter_mut().find(|(known, _)| *known == name) {
                    Some((_, again)) => *again = true,
                    None => children.push((name, false)),
                }
            }
        }
        let root = &document.elements[0];
        let attributes = document.attributes_of(root).iter();
        Self {
            attributes: attributes
                .map(|attribute| (attribute.name, attribute.value))
                .collect(),
            children,
            words,
        }
    }
}

/// A way to divide documents.
struct Division {
    /// Per document the part that it is in; `None` if nothing tells.
    parts: Vec<Option<usize>>,
    told_by: ToldBy,
}

enum ToldBy {
    /// An attribute; per part its value.
    Attribute(Symbol, Vec<Symbol>),
    Children,
    /// Per part the pattern that its names have.
    FileNames(Vec<String>),
}

/// By the values of each attribute of the root that has few.
fn by_attributes(sights: &[Sight]) -> Vec<Division> {
    let mut names: Vec<Symbol> = Vec::new();
    for (name, _) in sights.iter().flat_map(|sight| &sight.attributes) {
        if !names.contains(name) && names.len() < 64 {
            names.push(*name);
        }
    }
    let divisions = names.into_iter().map(|name| {
        let mut values: Vec<Symbol> = Vec::new();
        let part = |sight: &Sight| {
            let (_, value) = sight.attributes.iter().find(|(known, _)| *known == name)?;
            let known = values.iter().position(|known| known == value);
            Some(known.unwrap_or_else(|| {
                values.push(*value);
                values.len() - 1
            }))
        };
        let parts = sights.iter().map(part).collect();
        Division {
            parts,
            told_by: ToldBy::Attribute(name, values),
        }
    });
    divisions.collect()
}

/// By what stands directly in the root: documents that have a name in common are in one part, unless nearly all
/// documents have it.
fn by_children(sights: &[Sight]) -> Division {
    let mut frequency: HashMap<Symbol, usize> = HashMap::new();
    for (name, _) in sights.iter().flat_map(|sight| &sight.children) {
        *frequency.entry(*name).or_default() += 1;
    }
    let is_common = |name: &Symbol| frequency[name] as f64 > 0.9 * sights.len() as f64;
    let mut groups = Groups::new(sights.len());
    let mut first: HashMap<Symbol, usize> = HashMap::new();
    let mut parts: Vec<Option<usize>> = vec![None; sights.len()];
    for (at, sight) in sights.iter().enumerate() {
        for (name, _) in sight.children.iter().filter(|(name, _)| !is_common(name)) {
            groups.join(*first.entry(*name).or_insert(at), at);
            parts[at] = Some(at);
        }
    }
    let mut numbers: HashMap<usize, usize> = HashMap::new();
    for part in parts.iter_mut().flatten() {
        let next = numbers.len();
        *part = *numbers.entry(groups.of(*part)).or_insert(next);
    }
    Division {
        parts,
        told_by: ToldBy::Children,
    }
}

/// By the end of their names, or by the whole name if many have the same.
fn by_file_names(corpus: &Corpus, documents: &[u32]) -> Division {
    let names: Vec<String> = documents
        .iter()
        .map(|at| kinds::file_name(&corpus.documents[*at as usize].source))
        .collect();
    let mut same: HashMap<&str, usize> = HashMap::new();
    for name in &names {
        *same.entry(name).or_default() += 1;
    }
    let mut patterns: Vec<String> = Vec::new();
    let part = |name: &String| {
        let whole = (same[name.as_str()] >= LEAST).then(|| name.clone());
        let pattern = whole.or_else(|| kinds::pattern(name))?;
        let known = patterns.iter().position(|known| *known == pattern);
        Some(known.unwrap_or_else(|| {
            patterns.push(pattern);
            patterns.len() - 1
        }))
    };
    let parts = names.iter().map(part).collect();
    Division {
        parts,
        told_by: ToldBy::FileNames(patterns),
    }
}

impl Division {
    /// The parts as kinds, if they are.
    fn parts(&self, sights: &[Sight], documents: &[u32]) -> Option<Vec<Part>> {
        let untold = self.parts.iter().filter(|part| part.is_none()).count();
        let most_untold = UNTOLD * sights.len() as f64;
        if untold as f64 > most_untold {
            return None;
        }
        let mut members: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for (at, part) in self.parts.iter().enumerate() {
            if let Some(part) = part {
                members.entry(*part).or_default().push(at);
            }
        }
        // Parts too small to show a vocabulary go with whatever they are most alike.
        if members.len() < 2 || members.len() > MOST.max(sights.len() / LEAST) {
            return None;
        }
        let marked = match self.told_by {
            ToldBy::Children => OVERLAP,
            _ => OVERLAP_IF_MARKED,
        };
        let joined = joined(sights, members, marked)?;
        let small: usize = joined
            .iter()
            .map(|(_, members)| members.len())
            .filter(|count| *count < LEAST)
            .sum();
        if (untold + small) as f64 > most_untold {
            return None;
        }
        let kinds: Vec<&(Vec<usize>, Vec<usize>)> = joined
            .iter()
            .filter(|(_, members)| members.len() >= LEAST)
            .collect();
        if kinds.len() < 2 || kinds.len() > MOST {
            return None;
        }
        if !self.are_apart(sights, &kinds) {
            return None;
        }
        let mut parts: Vec<Part> = kinds
            .iter()
            .map(|(numbers, members)| self.part(sights, documents, numbers, members))
            .collect::<Option<_>>()?;
        // What nothing tells apart goes with the greatest.
        let told: HashSet<usize> = kinds
            .iter()
            .flat_map(|(_, members)| members.iter().copied())
            .collect();
        let rest = (0..sights.len()).filter(|at| !told.contains(at));
        if let Some(greatest) = parts.iter_mut().max_by_key(|part| part.documents.len()) {
            let before = greatest.documents.len();
            greatest.documents.extend(rest.map(|at| documents[at]));
            greatest.documents.sort_unstable();
            if greatest.documents.len() > before {
                // Their names are any, so that it must do without patterns.
                greatest.marks.files.clear();
            }
        }
        Some(parts)
    }

    /// Whether the documents of each kind hold together, and have words of their own. `kinds`: of each, its parts and its
    /// members.
    fn are_apart(&self, sights: &[Sight], kinds: &[&(Vec<usize>, Vec<usize>)]) -> bool {
        let profiles: Vec<Profile> = kinds
            .iter()
            .map(|(_, members)| Profile::of(sights, members))
            .collect();
        profiles.iter().enumerate().all(|(at, profile)| {
            let others = || {
                let others = profiles.iter().enumerate();
                others.filter_map(|(other, profile)| (other != at).then_some(profile))
            };
            let overlaps = others().map(|other| profile.overlap(other));
            let overlap = overlaps.fold(0.0, f64::max);
            let enough = match (&self.told_by, self.is_list(sights, &kinds[at].1)) {
                (ToldBy::Children, false) => OWN_WORDS_OF_ONE,
                _ => OWN_WORDS,
            };
            profile.cohesion() >= ALIKE.max(2.0 * overlap) && profile.own_words(others()) >= enough
        })
    }

    /// Whether what stands in the root is mostly more than one child that varies.
    fn is_list(&self, sights: &[Sight], members: &[usize]) -> bool {
        let several = members.iter().filter(|at| {
            let children = &sights[**at].children;
            children.iter().any(|(_, again)| *again)
        });
        2 * several.count() >= members.len()
    }

    /// `numbers`: the parts that make a kind up; `None` if nothing tells it.
    fn part(
        &self,
        sights: &[Sight],
        documents: &[u32],
        numbers: &[usize],
        members: &[usize],
    ) -> Option<Part> {
        let mut marks = Marks::default();
        match &self.told_by {
            ToldBy::Attribute(name, values) => {
                let values = numbers.iter().map(|number| values[*number]);
                marks.attribute = Some((*name, values.collect()));
            }
            ToldBy::FileNames(patterns) => {
                let patterns = numbers.iter().map(|number| patterns[*number].clone());
                marks.files = patterns.collect();
            }
            ToldBy::Children => marks.holds = telling(sights, members)?,
        }
        Some(Part {
            documents: members.iter().map(|at| documents[*at]).collect(),
            marks,
        })
    }
}

/// Names of children that tell documents from all others: those that most of them have, and as few of the rest as will
/// do. `None` if none do.
fn telling(sights: &[Sight], members: &[usize]) -> Option<Vec<Symbol>> {
    let inside: HashSet<usize> = members.iter().copied().collect();
    let outside = (0..sights.len()).filter(|at| !inside.contains(at));
    let foreign: HashSet<Symbol> = outside
        .flat_map(|at| sights[at].children.iter().map(|(name, _)| *name))
        .collect();
    let mut left: Vec<usize> = members.to_vec();
    let mut names: Vec<Symbol> = Vec::new();
    loop {
        // Per name in how many documents it is, and in how many of them several times.
        let mut frequency: BTreeMap<Symbol, (usize, usize)> = BTreeMap::new();
        for (name, again) in left.iter().flat_map(|at| &sights[*at].children) {
            if !foreign.contains(name) && !names.contains(name) {
                let (count, several) = frequency.entry(*name).or_default();
                *count += 1;
                *several += usize::from(*again);
            }
        }
        if names.is_empty() {
            let most = frequency
                .iter()
                .filter(|(_, (count, _))| 2 * count >= members.len());
            let mut most: Vec<(&Symbol, &(usize, usize))> = most.collect();
            // What comes again and again is what the document is about.
            most.sort_by_key(|(name, (count, several))| {
                (std::cmp::Reverse((*several, *count)), **name)
            });
            names.extend(most.into_iter().map(|(name, _)| *name));
        }
        let is_told = |at: &usize| {
            let mut children = sights[*at].children.iter();
            children.any(|(name, _)| names.contains(name))
        };
        left.retain(|at| !is_told(at));
        if left.is_empty() {
            return Some(names);
        }
        if names.len() >= MOST_NAMES {
            return None;
        }
        let next = frequency.iter().filter(|(name, _)| !names.contains(name));
        let next = next.max_by_key(|(name, (count, _))| (*count, std::cmp::Reverse(**name)));
        names.push(*next?.0);
    }
}

/// Joins parts whose vocabularies overlap: per kind the numbers of its parts and its members. `None` if there are far too
/// many kinds.
fn joined(
    sights: &[Sight],
    members: BTreeMap<usize, Vec<usize>>,
    most: f64,
) -> Option<Vec<(Vec<usize>, Vec<usize>)>> {
    let mut kinds: Vec<(Vec<usize>, Vec<usize>)> = members
        .into_iter()
        .map(|(number, members)| (vec![number], members))
        .collect();
    // Great ones first: small ones show only a part of what their kind may hold.
    kinds.sort_by_key(|(_, members)| std::cmp::Reverse(members.len()));
    let mut profiles: Vec<Profile> = kinds
        .iter()
        .map(|(_, members)| Profile::of(sights, members))
        .collect();
    // Those that overlap with no other. A kind that took in another has to be compared again, the others have not.
    let mut settled = vec![false; kinds.len()];
    while let Some(at) = settled.iter().position(|settled| !settled) {
        let near = (0..kinds.len()).filter(|other| *other != at).find(|other| {
            let small = kinds[at].1.len().min(kinds[*other].1.len()) < LEAST;
            let overlap = match small {
                true => profiles[at]
                    .share_in(&profiles[*other], kinds[at].1.len() < kinds[*other].1.len()),
                false => profiles[at].overlap(&profiles[*other]),
            };
            overlap > if small { 0.5 } else { most }
        });
        let Some(near) = near else {
            settled[at] = true;
            let great = kinds.iter().take(at + 1);
            let great = great.filter(|(_, members)| members.len() >= LEAST);
            if great.count() > FAR_TOO_MANY {
                return None;
            }
            continue;
        };
        let (keep, gone) = (at.min(near), at.max(near));
        let (numbers, more) = kinds.remove(gone);
        let profile = profiles.remove(gone);
        settled.remove(gone);
        settled[keep] = false;
        kinds[keep].0.extend(numbers);
        kinds[keep].1.extend(more);
        profiles[keep].take_in(profile);
    }
    for (_, members) in &mut kinds {
        members.sort_unstable();
    }
    Some(kinds)
}

/// How often the words of a vocabulary are there.
struct Profile {
    /// Per word in how many documents it is.
    counts: HashMap<Word, u32>,
    documents: u32,
}

impl Profile {
    fn of(sights: &[Sight], members: &[usize]) -> Self {
        let mut counts: HashMap<Word, u32> = HashMap::new();
        for word in members.iter().flat_map(|at| &sights[*at].words) {
            *counts.entry(*word).or_default() += 1;
        }
        Self {
            counts,
            documents: members.len() as u32,
        }
    }

    /// Adds the words of other documents.
    fn take_in(&mut self, other: Self) {
        for (word, count) in other.counts {
            *self.counts.entry(word).or_default() += count;
        }
        self.documents += other.documents;
    }

    fn share(&self, word: &Word) -> f64 {
        self.of_all(self.counts.get(word).copied().unwrap_or(0))
    }

    fn of_all(&self, count: u32) -> f64 {
        f64::from(count) / f64::from(self.documents.max(1))
    }

    /// The words with the share of documents that have them.
    fn shares(&self) -> impl Iterator<Item = (&Word, f64)> {
        let counts = self.counts.iter();
        counts.map(|(word, count)| (word, self.of_all(*count)))
    }

    /// The share of what both say that both say.
    fn overlap(&self, other: &Self) -> f64 {
        let (mut both, mut all) = (0.0, 0.0);
        for (word, share) in self.shares() {
            both += share.min(other.share(word));
            all += share.max(other.share(word));
        }
        let only_there = other
            .shares()
            .filter(|(word, _)| !self.counts.contains_key(*word));
        all += only_there.map(|(_, share)| share).sum::<f64>();
        if all == 0.0 { 1.0 } else { both / all }
    }

    /// The share of the smaller one's words that the other has. `is_smaller`: whether this is the smaller one.
    fn share_in(&self, other: &Self, is_smaller: bool) -> f64 {
        let (small, great) = match is_smaller {
            true => (self, other),
            false => (other, self),
        };
        let shared = small
            .counts
            .keys()
            .filter(|word| great.counts.contains_key(*word));
        match small.counts.len() {
            0 => 1.0,
            all => shared.count() as f64 / all as f64,
        }
    }

    /// How much two documents that were taken at random would have in common.
    fn cohesion(&self) -> f64 {
        let (mut both, mut any) = (0.0, 0.0);
        for (_, share) in self.shares() {
            both += share * share;
            any += 2.0 * share - share * share;
        }
        if any == 0.0 { 0.0 } else { both / any }
    }

    /// How many words half of the documents say and hardly any other kind.
    fn own_words<'p>(&self, others: impl Iterator<Item = &'p Profile> + Clone) -> usize {
        let is_own = |(word, share): &(&Word, f64)| {
            *share >= 0.5 && others.clone().all(|other| other.share(word) < 0.1)
        };
        self.shares().filter(is_own).count()
    }
}

/// Numbers that are joined to groups (union and find).
struct Groups(Vec<usize>);

impl Groups {
    fn new(count: usize) -> Self {
        Self((0..count).collect())
    }

    fn of(&mut self, mut at: usize) -> usize {
        while self.0[at] != at {
            self.0[at] = self.0[self.0[at]];
            at = self.0[at];
        }
        at
    }

    fn join(&mut self, one: usize, other: usize) {
        let (one, other) = (self.of(one), self.of(other));
        self.0[one.max(other)] = one.min(other);
    }
}
