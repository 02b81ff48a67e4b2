//! What a new construct needs besides what it is made for: attributes and
//! children that the grammar wants, and the values most authors write.

use super::element::{NewAttribute, NewElement, NewItem};
use dialect::{AttributeDecl, Dialect, ItemType, Kind, StepKind};
use machine::{Machine, UseTarget};
use std::collections::HashSet;

/// Required children have required children; a grammar may even go round.
const DEEPEST: usize = 8;

/// Gives out names that nothing of their kind bears yet.
#[derive(Debug, Clone)]
pub(crate) struct Names {
    taken: HashSet<(Kind, String)>,
    /// Between a name and the number that sets it apart.
    joiner: String,
}

impl Names {
    pub(crate) fn of(machine: &Machine, joiner: &str) -> Self {
        let taken = machine
            .definitions
            .iter()
            .map(|definition| (definition.kind, definition.name.value.to_string()));
        Self {
            taken: taken.collect(),
            joiner: joiner.to_owned(),
        }
    }

    pub(crate) fn is_free(&self, kind: &Kind, name: &str) -> bool {
        !self.taken.contains(&(*kind, name.to_owned()))
    }

    /// `wanted`, with a number behind it if it is taken. It is taken then.
    pub(crate) fn take(&mut self, kind: &Kind, wanted: &str) -> String {
        let mut name = wanted.to_owned();
        let mut number = 2;
        while !self.taken.insert((*kind, name.clone())) {
            name = format!("{wanted}{}{number}", self.joiner);
            number += 1;
        }
        name
    }
}

/// Adds to a new element what the grammar wants in it. `name` is what it may
/// be called where it needs a name.
pub(crate) fn complete(
    dialect: &Dialect,
    machine: &Machine,
    element: &mut NewElement,
    names: &mut Names,
    name: &str,
) {
    fill(dialect, machine, element, names, name, 0);
}

fn fill(
    dialect: &Dialect,
    machine: &Machine,
    element: &mut NewElement,
    names: &mut Names,
    name: &str,
    depth: usize,
) {
    let Some(declared) = dialect.element(element.context) else {
        return;
    };
    for attribute in &declared.attributes {
        // What is taken anyway need not be written.
        let says_more = attribute.usual.is_some() && attribute.usual != attribute.default;
        let wanted = attribute.required || says_more;
        if !wanted || element.attribute(&attribute.name).is_some() {
            continue;
        }
        let (value, is_guess) = guess(dialect, machine, attribute, names, name);
        element.attributes.push(NewAttribute {
            is_guess,
            ..NewAttribute::new(&attribute.name, value)
        });
    }
    if let Some(text) = declared
        .text
        .as_ref()
        .filter(|text| text.required || text.usual.is_some())
        && element.text().is_none()
        && !element
            .content
            .iter()
            .any(|item| matches!(item, NewItem::Source { .. }))
    {
        let (value, is_guess) = guess(dialect, machine, text, names, name);
        element.set_text(value, is_guess);
    }
    if depth == DEEPEST {
        return;
    }
    for rule in &declared.children {
        // Whoever writes an animation says what moves; another channel would move something else, or nothing.
        if is_channel(dialect, &rule.name) {
            continue;
        }
        let is_one = |item: &&NewItem| match item {
            NewItem::Element(child) => child.name == rule.name,
            NewItem::Source { name, .. } => *name == rule.name,
            NewItem::Text { .. } => false,
        };
        let there = element.content.iter().filter(is_one).count();
        let missing = (rule.min as usize).saturating_sub(there).min(16);
        for _ in 0..missing {
            let child = NewElement::child_of(element, &rule.name, &[], dialect);
            element.content.push(NewItem::Element(child));
        }
    }
    for item in &mut element.content {
        if let NewItem::Element(child) = item {
            fill(dialect, machine, child, names, name, depth + 1);
        }
    }
}

fn is_channel(dialect: &Dialect, name: &str) -> bool {
    dialect.roles.channels.iter().any(|role| {
        let last = role.at.steps().last().map(|step| &step.kind);
        matches!(last, Some(StepKind::Child(Some(own)) | StepKind::Descendant(Some(own))) if own == name)
    })
}

/// A value for a new attribute or text, and whether it is a guess that a
/// person has to look at. Where nothing suggests a value it is empty.
pub(crate) fn guess(
    dialect: &Dialect,
    machine: &Machine,
    declared: &AttributeDecl,
    names: &mut Names,
    name: &str,
) -> (String, bool) {
    if let ItemType::NameOf(kind) = &declared.value.item {
        return match name.is_empty() {
            true => (String::new(), true),
            false => (names.take(kind, name), false),
        };
    }
    let is_input = matches!(declared.value.item, ItemType::Input(_));
    if let Some(usual) = declared
        .usual
        .as_ref()
        .filter(|usual| !is_input || is_unused(machine, usual))
    {
        return (usual.clone(), false);
    }
    if let Some(default) = &declared.default {
        return (default.clone(), false);
    }
    let value = match &declared.value.item {
        ItemType::Word(list) => match list.words.as_slice() {
            [only] => return (only.text.clone(), false),
            _ => String::new(),
        },
        ItemType::Input(kind) => {
            let kinds = kind.map_or_else(Vec::new, |kind| vec![kind]);
            let listed = kinds
                .iter()
                .flat_map(|kind| dialect.inputs.of(*kind).texts());
            listed
                .into_iter()
                .find(|input| is_unused(machine, input))
                .unwrap_or_default()
                .to_owned()
        }
        ItemType::Reference(kinds) => {
            let mut known = machine
                .definitions
                .iter()
                .filter(|definition| kinds.contains(&definition.kind));
            match (known.next(), known.next()) {
                (Some(only), None) => declared.value.reference_to(&only.name.value),
                _ => String::new(),
            }
        }
        _ => String::new(),
    };
    (value, true)
}

fn is_unused(machine: &Machine, input: &str) -> bool {
    !machine
        .uses
        .iter()
        .any(|used| matches!(&used.target, UseTarget::Input { word, .. } if **word == *input))
}
