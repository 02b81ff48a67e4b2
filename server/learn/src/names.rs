//! Which values are names, and which refer to them.

mod clues;
mod folders;
mod forms;
mod homes;
mod index;
mod kin;
mod kinds;
mod links;
mod looks;
mod places;
mod positions;
mod reading;
mod readings;
mod references;
mod scale;
mod scopes;
mod search;

use crate::contexts::ContextId;
use crate::corpus::Corpus;
use crate::survey::{Slot, Survey};
use crate::symbols::Symbol;
use links::Links;
use looks::Looks;
use reading::Miss;

/// What was found out about names.
#[derive(Clone, Debug, Default)]
pub struct Names {
    pub kinds: Vec<NameKind>,
    pub references: Vec<Reference>,
}

/// A slot of a survey.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct SlotRef {
    /// Index into [`Survey::groups`].
    pub group: usize,
    /// Index into [`crate::Group::slots`].
    pub slot: usize,
}

impl SlotRef {
    /// The slot; of the survey that the reference was made for.
    pub fn of<'s>(&self, survey: &'s Survey<'_>) -> &'s Slot {
        &survey.groups[self.group].slots[self.slot]
    }
}

/// Things of one kind, told apart by name.
#[derive(Clone, Debug)]
pub struct NameKind {
    /// A word for the kind: unique among the kinds, taken from the elements that give the names.
    pub kind: String,
    pub scope: Scope,
    /// The elements that are things of this kind: groups and contexts.
    pub things: Vec<(usize, ContextId)>,
    /// The slots whose values are the names. Empty if things of this kind have none and are
    /// referred to by position.
    pub defined_by: Vec<SlotRef>,
    /// Exceptions are names that are given again in their scope.
    pub evidence: Evidence,
}

/// Within what a name belongs to one thing only, and where it is looked for.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Scope {
    /// The document.
    Document,
    /// All documents of one folder.
    Folder,
    /// The element around the thing.
    Parent,
}

/// A slot whose values are names given elsewhere.
#[derive(Clone, Debug)]
pub struct Reference {
    pub slot: SlotRef,
    /// The kinds it refers to: indices into [`Names::kinds`].
    pub to: Vec<usize>,
    pub form: Form,
    /// Whether values of other sorts, such as numbers, stand there as well.
    pub mixed: bool,
    /// Exceptions are values that lead nowhere.
    pub evidence: Evidence,
}

/// How a reference is written.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Form {
    /// What stands between several of them; `None` if there is one only. `" "` is any white
    /// space; around others white space does not matter.
    pub separator: Option<String>,
    pub member: Member,
}

/// How one reference is written.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Member {
    /// The name, perhaps with something around it.
    Name { before: Affix, after: Affix },
    /// The number of a thing among its kind.
    Position {
        /// The number of the first.
        first: u32,
    },
}

impl Form {
    /// Just the name.
    pub fn whole() -> Self {
        let (before, after) = (Affix::Nothing, Affix::Nothing);
        Self {
            separator: None,
            member: Member::Name { before, after },
        }
    }
}

/// What stands before or after a name.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Affix {
    Nothing,
    /// Always this. Values without it are no references.
    Fixed(String),
    /// Anything up to the last of these marks (before the name), or from the first one on
    /// (after it); where there is none, nothing.
    Mark(String),
}

/// What speaks for a claim.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Evidence {
    /// Files that show it.
    pub files: u32,
    /// Places that show it.
    pub places: u32,
    /// What does not fit.
    pub exceptions: Vec<Exception>,
}

impl Evidence {
    fn of(files: u32, places: usize, misses: Vec<Miss>) -> Self {
        let exceptions = misses.into_iter().map(|miss| Exception {
            document: miss.document,
            line: miss.line,
            value: miss.value,
        });
        let mut exceptions: Vec<Exception> = exceptions.collect();
        exceptions.sort();
        Self {
            files,
            places: places as u32,
            exceptions,
        }
    }
}

/// A place that does not fit a claim.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Exception {
    /// Index into [`Corpus::documents`].
    pub document: u32,
    /// Line, from 0.
    pub line: u32,
    pub value: Symbol,
}

impl Exception {
    /// The file; what is in an archive stands behind it and `!`.
    pub fn file(&self, corpus: &Corpus) -> String {
        let source = &corpus.documents[self.document as usize].source;
        let file = source.file.display();
        match &source.member {
            Some(member) => format!("{file}!/{member}"),
            None => file.to_string(),
        }
    }

    /// The file with the line as people count it.
    pub fn place(&self, corpus: &Corpus) -> String {
        format!("{}:{}", self.file(corpus), self.line + 1)
    }
}

/// Finds names and references.
pub fn infer(survey: &Survey<'_>) -> Names {
    let looks = Looks::of(survey);
    let places = places::places(survey, &looks);
    let links = Links::of(survey);
    let found = search::search(survey, &places, &looks, &links);
    let gives = kinds::givers(&places, &found.readings);
    let open = |at: usize| found.readings[at].is_none() && !gives[at];
    let positions = positions::positions(survey, &places, &open);
    let mut kinds = kinds::kinds(survey, &places, &gives, &found.readings);
    let mut references = Vec::new();
    for (at, reading) in found.readings.into_iter().enumerate() {
        let Some(reading) = reading else { continue };
        let to = kinds.of(&reading.to);
        if found.abroad[at] {
            kinds.widen(&to);
        }
        references.push(Reference {
            slot: places[at].at,
            to,
            form: reading.form,
            mixed: reading.mixed,
            evidence: Evidence::of(reading.files, reading.hits, reading.misses),
        });
    }
    for position in positions {
        let things = (position.group, position.things);
        references.push(Reference {
            slot: places[position.place].at,
            to: vec![kinds.counted(survey, things)],
            form: position.form,
            mixed: false,
            evidence: Evidence::of(position.files, position.hits, position.misses),
        });
    }
    references.sort_by_key(|reference| reference.slot);
    Names {
        kinds: kinds.kinds,
        references,
    }
}
