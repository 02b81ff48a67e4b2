//! What was learnt, for other programs to read.

use crate::names::{Evidence, Exception, Member, NameKind, Names, Reference, Scope, SlotRef};
use crate::roles::{PartValue, Proposal};
use crate::structure::Structure;
use crate::survey::{Group, Slot, Survey};
use dialect::{ItemType, NameScope, ValueType};
use foldhash::{HashMap, HashMapExt as _};
use serde::Serialize;
use std::collections::BTreeMap;

/// Stands for the text of an element where an attribute's name is asked for.
pub const TEXT: &str = "#text";

/// Stands for the position of an element among its kind.
pub const POSITION: &str = "#position";

/// All that was learnt.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Report {
    pub kinds: Vec<Kind>,
    pub attributes: Vec<Attribute>,
    pub roles: Vec<Role>,
}

/// Things that are told apart by name.
#[derive(Clone, Debug, Serialize)]
pub struct Kind {
    pub kind: String,
    /// Within what a name belongs to one thing only: `document`, `folder` or `parent`.
    pub scope: &'static str,
    pub defined_by: Vec<Value>,
    /// How many names were seen.
    pub seen: u32,
    /// Names that were given again.
    pub exceptions: Vec<Place>,
}

/// A place for values.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub struct Value {
    /// The element: `rig/handles/handle`.
    pub path: String,
    /// The attribute's name, [`TEXT`] or [`POSITION`].
    pub attribute: String,
}

/// What may stand at a place for values.
#[derive(Clone, Debug, Serialize)]
pub struct Attribute {
    /// The kind of document.
    pub document: String,
    #[serde(flatten)]
    pub value: Value,
    /// One of the types that dialects have.
    #[serde(rename = "type")]
    pub value_type: &'static str,
    /// Whether it is a list of such values.
    pub list: bool,
    /// How many numbers a vector has.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub count: Option<u32>,
    pub required: bool,
    /// The kind of the names that are given here.
    pub defines: Option<String>,
    /// The kinds of things that are referred to.
    pub refers: Vec<String>,
    /// How many values were seen.
    pub seen: u32,
    /// References that lead nowhere.
    pub exceptions: Vec<Place>,
}

/// Elements that play a role.
#[derive(Clone, Debug, Serialize)]
pub struct Role {
    pub role: String,
    /// The path of the elements.
    pub path: String,
    /// Which part of the role is played by what: paths from the elements on.
    pub parts: BTreeMap<String, String>,
    /// From 0 to 1.
    pub confidence: f64,
    pub reasons: Vec<String>,
}

/// A value that does not fit, and where it stands.
#[derive(Clone, Debug, Serialize)]
pub struct Place {
    /// The file; what is in an archive stands behind it and `!`.
    pub file: String,
    /// From 1.
    pub line: u32,
    pub value: String,
}

/// Most exceptions that are listed of one thing.
const MOST_EXCEPTIONS: usize = 100;

impl Report {
    /// Puts together what is known of a library.
    pub fn of(survey: &Survey<'_>, names: &Names, structure: &Structure) -> Self {
        let gives: HashMap<SlotRef, &str> = names
            .kinds
            .iter()
            .flat_map(|kind| kind.defined_by.iter().map(|slot| (*slot, &*kind.kind)))
            .collect();
        let refers = names
            .references
            .iter()
            .map(|reference| (reference.slot, reference));
        let refers: HashMap<SlotRef, &Reference> = refers.collect();
        let mut attributes = Vec::new();
        for document in &structure.documents {
            // One path may come from several groups.
            let mut known: HashMap<Value, (usize, usize)> = HashMap::new();
            for at in &document.groups {
                let group = &survey.groups[*at];
                for number in 0..group.slots.len() {
                    let here = SlotRef {
                        group: *at,
                        slot: number,
                    };
                    let reference = refers.get(&here).copied();
                    let one = Attribute {
                        document: document.name.clone(),
                        ..attribute(survey, names, structure, here, gives.get(&here), reference)
                    };
                    match known.get_mut(&one.value) {
                        Some((before, slots)) => {
                            *slots += 1;
                            merge(&mut attributes[*before], one);
                        }
                        None => {
                            known.insert(one.value.clone(), (attributes.len(), 1));
                            attributes.push(one);
                        }
                    }
                }
            }
            if !survey.corpus.sorts.is_empty() {
                let contexts = contexts_of_paths(survey, &document.groups);
                for (value, (at, slots)) in known {
                    // Not required of all sorts of elements that stand there, if some never have it.
                    attributes[at].required &= contexts.get(&value.path) == Some(&slots);
                }
            }
        }
        let mut kinds = names.kinds.iter().map(|kind| named(survey, kind)).collect();
        complete(&mut kinds, &attributes, structure);
        Self {
            kinds,
            attributes,
            roles: structure.roles.proposals.iter().map(role).collect(),
        }
    }
}

/// Adds the places of names that were told by something else than by being names: by the nodes that they stand for, or by
/// a role.
fn complete(kinds: &mut Vec<Kind>, attributes: &[Attribute], structure: &Structure) {
    for one in attributes {
        let Some(name) = &one.defines else { continue };
        match kinds.iter_mut().find(|kind| kind.kind == *name) {
            Some(kind) if kind.defined_by.contains(&one.value) => {}
            Some(kind) => {
                // Counted things have names after all.
                kind.defined_by.retain(|value| value.attribute != POSITION);
                kind.defined_by.push(one.value.clone());
                kind.defined_by.sort();
                kind.seen += one.seen;
            }
            None => kinds.push(Kind {
                kind: name.clone(),
                scope: match structure.scope(&dialect::Kind::new(name)) {
                    NameScope::Folder => "folder",
                    NameScope::Parent => "parent",
                    NameScope::Document => "document",
                },
                defined_by: vec![one.value.clone()],
                seen: one.seen,
                exceptions: Vec::new(),
            }),
        }
    }
}

/// How many contexts have each path as documents write it: several, where sorts of elements are told apart.
fn contexts_of_paths(survey: &Survey<'_>, groups: &[usize]) -> HashMap<String, usize> {
    let mut contexts: HashMap<String, usize> = HashMap::new();
    for group in groups {
        let group = &survey.groups[*group];
        for context in group.contexts.all() {
            let path = group.contexts.plain_path(context, survey.corpus);
            *contexts.entry(path).or_default() += 1;
        }
    }
    contexts
}

fn merge(before: &mut Attribute, more: Attribute) {
    before.seen += more.seen;
    before.required &= more.required;
    before.defines = before.defines.take().or(more.defines);
    for kind in more.refers {
        if !before.refers.contains(&kind) {
            before.refers.push(kind);
        }
    }
    before.exceptions.extend(more.exceptions);
}

fn attribute(
    survey: &Survey<'_>,
    names: &Names,
    structure: &Structure,
    here: SlotRef,
    gives: Option<&&str>,
    reference: Option<&Reference>,
) -> Attribute {
    let (group, slot) = (&survey.groups[here.group], here.of(survey));
    let form = structure.value_at(survey, here);
    let text = ValueType::single(ItemType::Text);
    let value_type = form.map_or(&text, |form| &form.value_type);
    let (mut word, mut list) = (word(&value_type.item), value_type.list.is_some());
    if let Some(reference) = reference {
        word = match reference.form.member {
            Member::Position { .. } => "position",
            Member::Name { .. } => "reference",
        };
        list = reference.form.separator.is_some();
    }
    let defines = match (gives, &value_type.item) {
        (Some(kind), _) => Some((**kind).to_owned()),
        (None, ItemType::NameOf(kind)) => Some(kind.as_str().to_owned()),
        (None, _) => None,
    };
    let refers = match (reference, &value_type.item) {
        (Some(reference), _) => {
            let kinds = reference.to.iter();
            kinds.map(|kind| names.kinds[*kind].kind.clone()).collect()
        }
        (None, ItemType::Reference(kinds) | ItemType::Node { aliases: kinds, .. }) => {
            kinds.iter().map(|kind| kind.as_str().to_owned()).collect()
        }
        (None, _) => Vec::new(),
    };
    Attribute {
        document: String::new(),
        value: value(survey, group, slot),
        value_type: match survey
            .corpus
            .tells_sort(group.contexts.name(slot.context), slot.attribute)
        {
            true => "word",
            false => word,
        },
        list,
        count: match value_type.item {
            ItemType::Vector { count, .. } => Some(count),
            _ => None,
        },
        required: form.is_some_and(|form| form.required),
        defines,
        refers,
        seen: slot.seen.len() as u32,
        exceptions: reference
            .map_or_else(Vec::new, |reference| places(survey, &reference.evidence)),
    }
}

fn value(survey: &Survey<'_>, group: &Group, slot: &Slot) -> Value {
    let attribute = slot.attribute.map_or(TEXT, |name| survey.corpus.text(name));
    Value {
        path: group.contexts.plain_path(slot.context, survey.corpus),
        attribute: attribute.to_owned(),
    }
}

fn named(survey: &Survey<'_>, kind: &NameKind) -> Kind {
    let given = kind.defined_by.iter().map(|slot| {
        let group = &survey.groups[slot.group];
        value(survey, group, slot.of(survey))
    });
    let counted = kind.things.iter().map(|(group, context)| Value {
        path: survey.groups[*group]
            .contexts
            .plain_path(*context, survey.corpus),
        attribute: POSITION.to_owned(),
    });
    let mut defined_by: Vec<Value> = match kind.defined_by.is_empty() {
        false => given.collect(),
        true => counted.collect(),
    };
    defined_by.sort();
    defined_by.dedup();
    Kind {
        kind: kind.kind.clone(),
        scope: match kind.scope {
            Scope::Document => "document",
            Scope::Folder => "folder",
            Scope::Parent => "parent",
        },
        defined_by,
        seen: kind.evidence.places,
        exceptions: places(survey, &kind.evidence),
    }
}

fn places(survey: &Survey<'_>, evidence: &Evidence) -> Vec<Place> {
    let places = evidence.exceptions.iter().take(MOST_EXCEPTIONS);
    let place = |exception: &Exception| Place {
        file: exception.file(survey.corpus),
        line: exception.line + 1,
        value: survey.corpus.text(exception.value).to_owned(),
    };
    places.map(place).collect()
}

/// A role as the report has it: parts that differ from motion to motion are numbered.
fn role(proposal: &Proposal) -> Role {
    let mut parts: BTreeMap<String, String> = BTreeMap::new();
    let mut add = |key: String, value: &PartValue| {
        let mut open = vec![(key, value)];
        while let Some((key, value)) = open.pop() {
            match value {
                PartValue::Path(path) => drop(parts.insert(key, path.clone())),
                PartValue::Word(word) => drop(parts.insert(key, (*word).to_owned())),
                PartValue::Yes => drop(parts.insert(key, "yes".to_owned())),
                PartValue::Words { at, words } => {
                    for (meaning, words) in words {
                        parts.insert(format!("{key}.{meaning}"), words.join(" "));
                    }
                    parts.insert(key, at.clone());
                }
                PartValue::Parts(inner) => {
                    let inner = inner.iter();
                    open.extend(inner.map(|part| (format!("{key}.{}", part.key), &part.value)));
                }
            }
        }
    };
    for part in &proposal.parts {
        add(part.key.to_owned(), &part.value);
    }
    for (at, motion) in proposal.motions.iter().enumerate() {
        let number = if at == 0 {
            String::new()
        } else {
            format!("-{}", at + 1)
        };
        for part in motion {
            add(format!("{}{number}", part.key), &part.value);
        }
    }
    Role {
        role: proposal.role.to_owned(),
        path: proposal.path.clone(),
        parts,
        confidence: proposal.confidence,
        reasons: proposal
            .reasons
            .iter()
            .chain(&proposal.assumed)
            .cloned()
            .collect(),
    }
}

/// What dialects call a type.
fn word(item: &ItemType) -> &'static str {
    match item {
        ItemType::Text => "text",
        ItemType::Boolean { .. } => "boolean",
        ItemType::Integer { .. } => "integer",
        ItemType::Number { .. } => "number",
        ItemType::Vector { .. } => "vector",
        ItemType::Word(_) => "word",
        ItemType::Colour(_) => "colour",
        ItemType::NameOf(_) => "name",
        ItemType::Reference(_) => "reference",
        ItemType::PositionOf { .. } => "position",
        ItemType::Node { .. } => "node",
        ItemType::IndexPath => "index-path",
        ItemType::File { .. } => "file",
        ItemType::Input(_) => "input",
        ItemType::MovedValue { .. } => "moved-value",
    }
}
