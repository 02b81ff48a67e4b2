//! Do names and their uses fit together?

use std::collections::{HashMap, HashSet};

use dialect::Kind;
use machine::{Definition, Use, UseTarget};
use syntax::{TextEdit, TextRange, TextSize};

use super::facts::Facts;
use super::suggest::{Budget, Suggestion};
use crate::{Finding, Fix, codes};

/// What the checks of names found, and what misspelled names seem to mean.
#[derive(Debug)]
pub(super) struct Names {
    pub(super) findings: Vec<Finding>,
    pub(super) used: Used,
}

/// The definitions that something in the document uses, or seems to mean with a misspelled name.
#[derive(Debug, Default)]
pub(super) struct Used {
    starts: HashSet<TextSize>,
}

impl Used {
    fn insert(&mut self, definition: &Definition) {
        self.starts.insert(definition.name.range.start());
    }

    pub(super) fn contains(&self, definition: &Definition) -> bool {
        self.starts.contains(&definition.name.range.start())
    }
}

pub(super) fn check(facts: &Facts<'_>) -> Names {
    let mut names = Names {
        findings: duplicates(facts),
        used: Used::default(),
    };
    let known = Known::of(facts);
    // The same unknown name may stand in thousands of places.
    let mut meanings: HashMap<(&[Kind], &str), Option<Suggestion<'_>>> = HashMap::new();
    for used in &facts.machine.uses {
        match &used.target {
            UseTarget::Name {
                kinds,
                name,
                or_path,
            } => match facts.definition(kinds, name) {
                Some(definition) => names.used.insert(definition),
                None => {
                    let meant = *meanings
                        .entry((kinds, name))
                        .or_insert_with(|| known.nearest(kinds, name));
                    if let Some(definition) =
                        meant.and_then(|meant| facts.definition(kinds, meant.word))
                    {
                        names.used.insert(definition);
                    }
                    if !facts.unread.may_hold(name) {
                        names
                            .findings
                            .push(unknown(facts, used, kinds, name, *or_path, meant));
                    }
                }
            },
            UseTarget::Position { kind, index } => {
                let there = known.counted.get(kind).map_or(&[][..], Vec::as_slice);
                let element = usize::try_from(*index)
                    .ok()
                    .and_then(|index| there.get(index));
                match element {
                    Some(element) => {
                        if let Some(definition) = known.by_element.get(element) {
                            names.used.insert(definition);
                        }
                    }
                    // Below the first is wrong whatever there is: the check of values says so.
                    None if *index < 0 => {}
                    // What is misspelled or broken may be one of those that are counted.
                    None if !facts.unread.is_empty() => {}
                    None => names
                        .findings
                        .push(no_such_position(facts, used, kind, there.len())),
                }
            }
            UseTarget::Path(_) | UseTarget::Input { .. } => {}
        }
    }
    names.findings.extend(unused_aliases(facts, &names.used));
    names
}

/// The definitions of a document by kind, to choose suggestions from.
struct Known<'v> {
    by_kind: HashMap<&'v Kind, Vec<&'v Definition>>,
    by_element: HashMap<TextRange, &'v Definition>,
    /// What positions count, named or not.
    counted: HashMap<&'v Kind, Vec<TextRange>>,
    budget: Budget,
}

impl<'v> Known<'v> {
    fn of(facts: &Facts<'v>) -> Self {
        let mut by_kind: HashMap<&Kind, Vec<&Definition>> = HashMap::new();
        let mut counted: HashMap<&Kind, Vec<TextRange>> = HashMap::new();
        for thing in &facts.machine.counted {
            counted.entry(&thing.kind).or_default().push(thing.element);
        }
        let definitions = facts.machine.definitions.iter();
        let by_element = definitions.map(|definition| (definition.element, definition));
        let by_element = by_element.collect();
        for definition in &facts.machine.definitions {
            by_kind
                .entry(&definition.kind)
                .or_default()
                .push(definition);
        }
        Self {
            by_kind,
            by_element,
            counted,
            budget: Budget::new(),
        }
    }

    fn nearest(&self, kinds: &[Kind], name: &str) -> Option<Suggestion<'v>> {
        let lists: Vec<&Vec<&Definition>> = kinds
            .iter()
            .filter_map(|kind| self.by_kind.get(kind))
            .collect();
        let count = lists.iter().map(|list| list.len()).sum();
        let names = lists
            .iter()
            .copied()
            .flatten()
            .map(|definition| definition.name.value.as_str());
        self.budget.nearest(name, count, names)
    }
}

fn duplicates(facts: &Facts<'_>) -> Vec<Finding> {
    let mut findings = Vec::new();
    for definition in &facts.machine.definitions {
        let Definition { kind, name, .. } = definition;
        if facts.is_first(name) {
            continue;
        }
        if let Some(first) = facts.definition(std::slice::from_ref(kind), &name.value) {
            let message = format!(
                "There is another {kind} called `{}`: each needs a name of its own.",
                name.value
            );
            findings.push(
                codes::DUPLICATE_NAME
                    .at(name.range, message)
                    .see(first.name.range, "the first one"),
            );
        }
    }
    findings
}

fn unknown(
    facts: &Facts<'_>,
    used: &Use,
    kinds: &[Kind],
    name: &str,
    or_path: bool,
    meant: Option<Suggestion<'_>>,
) -> Finding {
    let names: Vec<&str> = kinds.iter().map(Kind::as_str).collect();
    let what = match names.split_last() {
        None => "thing".to_owned(),
        Some((only, [])) => (*only).to_owned(),
        Some((last, others)) => format!("{} or {last}", others.join(", ")),
    };
    let hint = match meant {
        Some(meant) => meant.question(),
        None if or_path => format!(
            " Give a node this name, or write an index path such as `{}`.",
            facts.dialect.notation.index_path.example()
        ),
        None => String::new(),
    };
    let mut finding =
        codes::UNKNOWN_NAME.at(used.range, format!("No {what} is called `{name}`.{hint}"));
    let Some(meant) = meant else { return finding };
    if let Some(definition) = facts.definition(kinds, meant.word) {
        finding = finding.see(definition.name.range, format!("`{}` is here", meant.word));
    }
    finding.fix(Fix {
        title: format!("Write `{}`", meant.word),
        trust: meant.trust,
        edits: vec![TextEdit::replace(used.range, super::escaped(meant.word))],
    })
}

fn no_such_position(facts: &Facts<'_>, used: &Use, kind: &Kind, there: usize) -> Finding {
    let written = facts.text(used.range);
    let message = match there {
        0 => format!("There is no {kind} number {written}: this document has none."),
        1 => format!("There is no {kind} number {written}: this document has only one."),
        there => format!("There is no {kind} number {written}: this document has {there}."),
    };
    codes::UNKNOWN_NAME.at(used.range, message)
}

fn unused_aliases(facts: &Facts<'_>, used: &Used) -> Vec<Finding> {
    let aliases: HashMap<TextRange, bool> = facts
        .machine
        .aliases
        .iter()
        .filter_map(|alias| {
            let path = alias.path.as_ref().and_then(|path| facts.path_of(path));
            let leads_somewhere =
                path.is_some_and(|path| facts.scene.is_none_or(|scene| scene.walk(path).is_ok()));
            Some((alias.name.as_ref()?.range, leads_somewhere))
        })
        .collect();
    let definitions = facts.machine.definitions.iter();
    definitions
        .filter(|definition| aliases.get(&definition.name.range) == Some(&true))
        .filter(|definition| {
            !used.contains(definition) && !facts.unread.may_hold(&definition.name.value)
        })
        .filter(|definition| facts.is_first(&definition.name))
        .map(|definition| {
            codes::UNUSED_ALIAS.at(
                definition.name.range,
                format!(
                    "Nothing uses the {} `{}`.",
                    definition.kind, definition.name.value
                ),
            )
        })
        .collect()
}
