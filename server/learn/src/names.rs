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
mod scopes;

use crate::contexts::ContextId;
use crate::corpus::Corpus;
use crate::survey::{Slot, Survey};
use crate::symbols::Symbol;
use links::Links;
use looks::Looks;
use reading::{Miss, Reading};
use references::Readings;
use scopes::Scopes;
use std::collections::BTreeMap;

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

/// What may be set.
#[derive(Clone, Debug)]
pub struct Settings {
    /// The least share of the names at a place that must lead somewhere.
    pub fitting: f64,
    /// The same for a place that gives no names itself and whose names lead somewhere far more
    /// often than chance would have it.
    pub least_fitting: f64,
    /// How much more likely a reference must be than chance, in nats.
    pub least_score: f64,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            fitting: 0.9,
            least_fitting: 0.65,
            least_score: 6.0,
        }
    }
}

/// Finds names and references.
pub fn infer(survey: &Survey<'_>, settings: &Settings) -> Names {
    let fields = survey.groups.iter().flat_map(|group| {
        let mut fields: BTreeMap<_, Vec<&Slot>> = BTreeMap::new();
        for slot in &group.slots {
            let field = (group.contexts.name(slot.context), slot.attribute);
            fields.entry(field).or_default().push(slot);
        }
        fields.into_values()
    });
    let values = |slots: Vec<&'_ Slot>| -> Vec<Symbol> {
        let seen = slots.into_iter().flat_map(|slot| &slot.seen);
        seen.map(|seen| seen.value).collect()
    };
    let looks = Looks::of(survey.corpus, fields.map(|field| values(field).into_iter()));
    let places = places::places(survey, &looks);
    let documents = Scopes::documents(survey.corpus.documents.len());
    let links = Links::of(survey);
    let mut readings: Readings = vec![None; places.len()];
    let mut abroad = vec![false; places.len()];
    let find = |scopes: &Scopes, settled: &Readings, loose: bool| {
        let scopes = (scopes, links.lacking.as_slice());
        references::references(survey, settings, &places, &looks, scopes, settled, loose)
    };
    let found = find(&documents, &readings, false);
    fill(&mut readings, found);
    // What leads nowhere in its own document may lead to others that it brings in, or to others of the same folder.
    let folders = folders::levels(survey.corpus);
    for scopes in links.scopes().into_iter().chain(folders) {
        // Twice: places that turn out to refer to others give no names to their own document.
        for _ in 0..2 {
            let gives = kinds::givers(&places, &readings);
            let mut found = find(&scopes, &readings, false);
            for (at, reading) in found.iter_mut().enumerate() {
                let likes = |reading: &Reading| {
                    let mut to = reading.to.iter().map(|to| &places[*to as usize]);
                    to.any(|to| places[at].is_like(to))
                };
                reading.take_if(|reading| {
                    !reading.reaches(settings) || (gives[at] && !likes(reading))
                });
                abroad[at] |= reading.is_some();
            }
            let redirected = |reading: &Reading| {
                let mut to = reading.to.iter();
                to.any(|to| found[*to as usize].is_some())
            };
            let mut again = false;
            for (at, reading) in readings.iter_mut().enumerate() {
                again |= reading.take_if(|reading| redirected(reading)).is_some();
                abroad[at] &= reading.is_some() || found[at].is_some();
            }
            fill(&mut readings, found);
            if !again {
                break;
            }
        }
    }
    let found = find(&documents, &readings, true);
    fill(&mut readings, found);
    let gives = kinds::givers(&places, &readings);
    let found = kin::inherited(
        survey,
        settings,
        &places,
        &looks,
        &readings,
        &gives,
        &links.lacking,
    );
    fill(&mut readings, found);
    let gives = kinds::givers(&places, &readings);
    let open = |at: usize| readings[at].is_none() && !gives[at];
    let positions = positions::positions(survey, settings, &places, &open);
    let mut kinds = kinds::kinds(survey, &places, &gives, &readings);
    let mut references = Vec::new();
    for (at, reading) in readings.into_iter().enumerate() {
        let Some(reading) = reading else { continue };
        let to = kinds.of(&reading.to);
        if abroad[at] {
            kinds.widen(&to);
        }
        let evidence = Evidence::of(reading.files, reading.hits, reading.misses);
        references.push(Reference {
            slot: places[at].at,
            to,
            form: reading.form,
            mixed: reading.mixed,
            evidence,
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

/// Adds readings of places that have none.
fn fill(readings: &mut Readings, found: Readings) {
    for (reading, found) in readings.iter_mut().zip(found) {
        if reading.is_none() {
            *reading = found;
        }
    }
}
