//! XML Schema 1.0 to a dialect file.
//!
//! The way of a schema: its files ([`sources`]), the named things in them ([`components`]), what types and content
//! models say ([`simple_types`], [`types`], [`models`], [`content`]), the places in a document that they lead to
//! ([`walk`], with keys and references to them: [`constraints`]), what is to be written down about each ([`facts`]), and
//! under which ends of paths ([`keys`]).

mod components;
mod constraints;
mod content;
mod draft;
mod facts;
mod keys;
mod models;
mod simple_types;
mod sources;
mod types;
mod walk;

use std::collections::HashMap;
use std::fmt;
use std::rc::Rc;

use dialect::Kind;

use crate::note::{Note, Notes};
use components::{Components, Name, Site, Sort};
use content::Content;
use models::Declaration;
use simple_types::Simple;
use types::Complex;

/// The namespace of XML Schema.
const XS: &str = "http://www.w3.org/2001/XMLSchema";
/// The words of XML Schema for true and false.
const YES: [&str; 2] = ["true", "1"];
const NO: [&str; 2] = ["false", "0"];

/// How many types, groups and particles may be defined by one another.
const DEEPEST: u32 = 200;

/// A file of a schema.
#[derive(Clone, Debug)]
pub struct File {
    /// What tells it apart from all others, and what messages call it.
    pub name: String,
    /// Its text.
    pub text: String,
}

/// A dialect that was made from a schema.
#[derive(Clone, Debug)]
pub struct Imported {
    /// The dialect file.
    pub toml: String,
    /// What the dialect says less strictly than the schema, or not at all.
    pub notes: Vec<Note>,
}

/// Why no dialect can be made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ImportError {
    /// The file.
    pub file: String,
    /// What is wrong and what to do, without full stop.
    pub reason: String,
}

impl ImportError {
    fn new(file: &str, reason: impl Into<String>) -> Self {
        Self {
            file: file.to_owned(),
            reason: reason.into(),
        }
    }
}

impl fmt::Display for ImportError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}.", self.file, self.reason)
    }
}

impl std::error::Error for ImportError {}

/// Makes a dialect from a schema.
///
/// `load` finds a file that the schema includes or imports: it gets the name of the file that mentions it, and the
/// location as it is written there. What it cannot give is left out, with its reason among the notes. `roots`: the
/// elements that documents begin with; without any, those that no other element holds.
///
/// # Errors
/// The main file is no XML Schema, or declares no element that a document can begin with.
pub fn import(
    main: File,
    roots: &[String],
    load: &mut dyn FnMut(&str, &str) -> Result<File, String>,
) -> Result<Imported, ImportError> {
    let mut notes = Notes::default();
    let name = main.name.clone();
    let sources = sources::gather(main, load, &mut notes)?;
    let schemas: Vec<_> = sources.iter().filter_map(sources::Source::parse).collect();
    let importer = Importer::new(Components::new(&schemas), notes);
    importer.dialect(&name, roots)
}

/// What is known so far.
struct Importer<'a> {
    components: Components<'a>,
    notes: Notes,
    simple_types: HashMap<Id, Simple>,
    complex_types: HashMap<Id, Rc<Complex<'a>>>,
    groups: HashMap<Id, Content<'a>>,
    declarations: Vec<Declaration<'a>>,
    declared_at: HashMap<Id, usize>,
    /// By element: those that may stand in its place.
    substitutes: HashMap<Id, Vec<Site<'a>>>,
    /// By type: those that are derived from it.
    derivations: HashMap<Id, Vec<Site<'a>>>,
    /// Kinds of names that were names of another kind already.
    other_kinds: Vec<(Kind, Kind)>,
    depth: u32,
}

type Id = (usize, u32);

impl<'a> Importer<'a> {
    fn new(components: Components<'a>, notes: Notes) -> Self {
        let mut importer = Self {
            components,
            notes,
            simple_types: HashMap::new(),
            complex_types: HashMap::new(),
            groups: HashMap::new(),
            declarations: Vec::new(),
            declared_at: HashMap::new(),
            substitutes: HashMap::new(),
            derivations: HashMap::new(),
            other_kinds: Vec::new(),
            depth: 0,
        };
        for (_, site) in importer.components.all(Sort::Element) {
            let heads = site.attribute("substitutionGroup").unwrap_or_default();
            for head in heads.split_whitespace() {
                if let Some(head) = importer.components.find(Sort::Element, site, head) {
                    importer
                        .substitutes
                        .entry(head.id())
                        .or_default()
                        .push(site);
                }
            }
        }
        for (_, site) in importer.components.all(Sort::Type) {
            let content = site.child(&["complexContent", "simpleContent"]);
            let derivation =
                content.and_then(|content| content.child(&["extension", "restriction"]));
            let base = derivation.and_then(|site| {
                importer
                    .components
                    .find(Sort::Type, site, site.attribute("base")?)
            });
            if let Some(base) = base {
                importer
                    .derivations
                    .entry(base.id())
                    .or_default()
                    .push(site);
            }
        }
        importer
    }

    /// Reads what is defined within, unless that is nested too deeply to be meant: nothing is certain then.
    fn deeper<T>(&mut self, read: impl FnOnce(&mut Self) -> T) -> Option<T> {
        if self.depth >= DEEPEST {
            self.notes.add(
                "some definitions use one another in too many steps; anything may stand there",
            );
            return None;
        }
        self.depth += 1;
        let result = read(self);
        self.depth -= 1;
        Some(result)
    }

    fn dialect(mut self, file: &str, roots: &[String]) -> Result<Imported, ImportError> {
        let error = |reason: &str| Err(ImportError::new(file, reason));
        let roots = match self.roots(roots) {
            Ok(roots) if roots.is_empty() => {
                return error(
                    "it declares no element that a document could begin with; name the schema that includes it",
                );
            }
            Ok(roots) => roots,
            Err(reason) => return error(&reason),
        };
        let Some(plain) = self.walk(&roots, &[]) else {
            return error("it leads to too many elements");
        };
        let mut constraints = self.constraints(&plain);
        let states = match self.walk(&roots, &constraints) {
            Some(states) => states,
            None => {
                self.notes
                    .add("keys and references would tell too many places apart and are not kept");
                constraints.clear();
                plain
            }
        };
        let facts = states
            .iter()
            .map(|state| self.facts(state, &constraints))
            .collect();
        let names: Vec<String> = states
            .iter()
            .map(|state| self.declarations[state.declaration].name.local.to_owned())
            .collect();
        let facts = self.with_settled_references(facts);
        let elements = keys::assign(&states, &names, facts);
        Ok(self.draft(file, &roots, elements))
    }

    /// The declarations of the elements that documents begin with.
    fn roots(&mut self, asked: &[String]) -> Result<Vec<usize>, String> {
        let mut all = self.components.all(Sort::Element);
        all.retain(|(_, site)| site.attribute("abstract") != Some("true"));
        // Those of the schema itself; if there are none, of what it imports.
        let own = self
            .components
            .schemas
            .first()
            .and_then(|schema| schema.namespace);
        if all.iter().any(|(name, _)| name.namespace == own) {
            all.retain(|(name, _)| name.namespace == own);
        }
        if !asked.is_empty() {
            let mut roots = Vec::new();
            for asked in asked {
                let Some((name, site)) = all.iter().find(|(name, _)| name.local == asked) else {
                    let names = all.iter().map(|(name, _)| name.local);
                    let hint = match dialect::nearest(asked, names) {
                        Some(near) => format!("; did you mean `{near}`?"),
                        None => String::new(),
                    };
                    return Err(format!(
                        "it declares no element `{asked}` outside all others{hint}"
                    ));
                };
                roots.push(self.declaration(*site, *name));
            }
            return Ok(roots);
        }
        let all: Vec<usize> = all
            .into_iter()
            .map(|(name, site)| self.declaration(site, name))
            .collect();
        let Some(states) = self.walk(&all, &[]) else {
            return Ok(all);
        };
        Ok(uppermost(&states, &all))
    }

    fn with_settled_references(&mut self, mut facts: Vec<facts::Facts>) -> Vec<facts::Facts> {
        let mut named: Vec<Kind> = Vec::new();
        for value in facts.iter_mut().flat_map(|facts| facts.values_mut()) {
            if let dialect::ItemType::NameOf(kind) = &value.value.item
                && !named.contains(kind)
            {
                named.push(*kind);
            }
        }
        for facts in &mut facts {
            facts.settle_references(&named, &self.other_kinds);
        }
        facts
    }

    fn name(&self, declaration: usize) -> Option<Name<'a>> {
        Some(self.declarations.get(declaration)?.name)
    }
}

/// The roots that nothing else holds, and as many more as it takes to come to all of them.
fn uppermost(states: &[walk::State<'_>], all: &[usize]) -> Vec<usize> {
    let mut held = vec![false; states.len()];
    for (at, state) in states.iter().enumerate() {
        state
            .edges
            .iter()
            .filter(|edge| edge.to != at)
            .for_each(|edge| held[edge.to] = true);
    }
    let mut reached = vec![false; states.len()];
    let mut chosen = Vec::new();
    for only_free in [true, false] {
        for (at, state) in states.iter().enumerate() {
            if !state.is_root || reached[at] || only_free && held[at] {
                continue;
            }
            chosen.push(state.declaration);
            let mut waiting = vec![at];
            while let Some(at) = waiting.pop() {
                if !std::mem::replace(&mut reached[at], true) {
                    waiting.extend(states[at].edges.iter().map(|edge| edge.to));
                }
            }
        }
    }
    chosen.sort_by_key(|declaration| all.iter().position(|other| other == declaration));
    chosen
}
