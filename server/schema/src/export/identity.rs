//! Names and references as identity constraints of XML Schema: `unique` and `keyref`.

use std::collections::BTreeMap;

use dialect::{AttributeDecl, Dialect, ElementDecl, ItemType, Kind, NameScope};

use super::grammar::Grammar;
use super::hints;
use super::place;
use crate::note::Notes;

/// A constraint of a root.
#[derive(Debug, PartialEq)]
pub(super) struct Constraint {
    pub(super) name: String,
    /// The constraint that it refers to; None: it gives names itself.
    pub(super) refers: Option<String>,
    /// The paths to the elements.
    pub(super) selector: Vec<Path>,
    /// The paths to the values: `@name` or `.`.
    pub(super) fields: Vec<String>,
}

/// A path from a root; without any steps, the root itself.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Path {
    /// Whether it begins at any depth.
    pub(super) descends: bool,
    pub(super) steps: Vec<String>,
}

/// By leaf (`@name`, `.`): the types whose value it is.
type Leaves = BTreeMap<String, Vec<usize>>;

const TOLD_APART: &str =
    "names or references are not checked, since paths of XML Schema cannot tell their places apart";

const WIDER_OR_NARROWER: &str =
    "names or references are not checked, since their scope is not the document";

/// The constraints of the documents with one root.
pub(super) fn constraints(
    dialect: &Dialect,
    grammar: &Grammar<'_>,
    root: usize,
    notes: &mut Notes,
) -> Vec<Constraint> {
    let walk = Walk::new(grammar, root);
    let mut constraints = Vec::new();
    for kind in walk.kinds() {
        let gives = |_: &ElementDecl, value: &AttributeDecl| matches!(&value.value.item, ItemType::NameOf(of) if *of == kind);
        let refers = |_: &ElementDecl, value: &AttributeDecl| referred(value).contains(&kind);
        let names = walk.leaves(gives);
        let repeated = walk.leaves(|declared, value| {
            gives(declared, value) && !hints::are_names_sound(declared, value)
        });
        if !repeated.is_empty() {
            walk.tell(&names, notes, CONTRADICTED);
            walk.tell(&walk.leaves(refers), notes, CONTRADICTED);
            continue;
        }
        let scope = dialect.name_scope(&kind);
        if scope == NameScope::Parent {
            walk.tell(&names, notes, WIDER_OR_NARROWER);
            walk.tell(&walk.leaves(refers), notes, WIDER_OR_NARROWER);
            continue;
        }
        let Some(unique) = walk.constraint(&names, kind.as_str(), None) else {
            walk.tell(&names, notes, TOLD_APART);
            walk.tell(&walk.leaves(refers), notes, TOLD_APART);
            continue;
        };
        let name = unique.name.clone();
        constraints.push(unique);
        if scope == NameScope::Folder {
            walk.tell(&walk.leaves(refers), notes, WIDER_OR_NARROWER);
            continue;
        }
        let dangling = walk.leaves(|declared, value| {
            refers(declared, value) && !hints::are_names_sound(declared, value)
        });
        walk.tell(&dangling, notes, CONTRADICTED);
        let references = walk.leaves(|declared, value| {
            refers(declared, value) && hints::are_names_sound(declared, value)
        });
        for (number, (leaf, types)) in references.into_iter().enumerate() {
            let (simple, several): (Vec<usize>, Vec<usize>) = types.into_iter().partition(|at| {
                let value = walk.value(*at, &leaf);
                value.is_some_and(|value| {
                    let value_type = &value.value;
                    value_type.list.is_none()
                        && value_type.around.is_nothing()
                        && referred(value).len() == 1
                })
            });
            for at in several {
                let about = place(&grammar.types[at], leaf.trim_start_matches('@'));
                notes.add_about(
                    about,
                    "references in lists, or to several kinds, are not checked",
                );
            }
            let leaves = Leaves::from([(leaf, simple)]);
            match walk.constraint(
                &leaves,
                &format!("{}-reference-{}", kind.as_str(), number + 1),
                Some(&name),
            ) {
                Some(reference) => constraints.push(reference),
                None => walk.tell(&leaves, notes, TOLD_APART),
            }
        }
    }
    constraints
}

const CONTRADICTED: &str =
    "names or references are not checked, since not all examples keep to them";

struct Walk<'g, 'd> {
    grammar: &'g Grammar<'d>,
    /// The types of the documents' elements, the root's first.
    types: Vec<usize>,
}

impl<'g, 'd> Walk<'g, 'd> {
    fn new(grammar: &'g Grammar<'d>, root: usize) -> Self {
        let mut types = vec![root];
        let mut next = 0;
        while let Some(at) = types.get(next).copied() {
            next += 1;
            for (_, child) in &grammar.types[at].children {
                if !types.contains(child) {
                    types.push(*child);
                }
            }
        }
        Self { grammar, types }
    }

    /// The kinds that have names here.
    fn kinds(&self) -> Vec<Kind> {
        let mut kinds: Vec<Kind> = Vec::new();
        for value in self.types.iter().flat_map(|at| values(self.declared(*at))) {
            if let ItemType::NameOf(kind) = &value.value.item
                && !kinds.contains(kind)
            {
                kinds.push(*kind);
            }
        }
        kinds
    }

    fn declared(&self, at: usize) -> &'g ElementDecl {
        &self.grammar.types[at].declared
    }

    fn value(&self, at: usize, leaf: &str) -> Option<&'g AttributeDecl> {
        let declared = self.declared(at);
        match leaf.strip_prefix('@') {
            Some(name) => declared.attribute(name),
            None => declared.text.as_ref(),
        }
    }

    fn leaves(&self, wanted: impl Fn(&ElementDecl, &AttributeDecl) -> bool) -> Leaves {
        let mut leaves = Leaves::new();
        for at in &self.types {
            let declared = self.declared(*at);
            for value in values(declared).filter(|value| wanted(declared, value)) {
                let leaf = match value.name.as_str() {
                    "text()" => ".".to_owned(),
                    name => format!("@{name}"),
                };
                leaves.entry(leaf).or_default().push(*at);
            }
        }
        leaves
    }

    /// A constraint on these values, if there are paths that lead to them and to no others.
    fn constraint(&self, leaves: &Leaves, name: &str, refers: Option<&str>) -> Option<Constraint> {
        let mut selector: Vec<Path> = Vec::new();
        for (leaf, types) in leaves {
            for at in types {
                if leaf == "." && self.grammar.types[*at].holds_elements() {
                    return None;
                }
                for path in self.paths(*at, leaf, types)? {
                    if !selector.contains(&path) {
                        selector.push(path);
                    }
                }
            }
        }
        // An element where two of the leaves have values would have two names.
        let selected = leaves.values().flatten();
        let values = |at: usize| {
            leaves
                .keys()
                .filter(|leaf| self.value(at, leaf).is_some())
                .count()
        };
        let is_clear = selected.copied().all(|at| values(at) == 1);
        (is_clear && !selector.is_empty()).then(|| Constraint {
            name: ncname(name),
            refers: refers.map(str::to_owned),
            selector,
            fields: leaves.keys().cloned().collect(),
        })
    }

    /// The shortest ends of paths that lead to a type, and to others only if they are wanted too or have no such value.
    fn paths(&self, at: usize, leaf: &str, wanted: &[usize]) -> Option<Vec<Path>> {
        // Of an element that holds elements, `.` is no value but a mistake.
        let harmless = |other: &usize| {
            wanted.contains(other) || leaf != "." && self.value(*other, leaf).is_none()
        };
        let name = self.declared(at).name.as_str();
        let parents = self.types.iter().filter(|parent| self.holds(**parent, at));
        let parents: Vec<&usize> = parents.collect();
        let path = |descends: bool, steps: &[&str]| Path {
            descends,
            steps: steps.iter().map(|step| (*step).to_owned()).collect(),
        };
        if parents.is_empty() {
            return Some(vec![path(false, &[])]);
        }
        if self.reached(None, name).iter().all(harmless) {
            return Some(vec![path(true, &[name])]);
        }
        let mut paths = Vec::new();
        for parent in parents {
            // The root is where paths begin, so that none leads through it.
            if Some(parent) == self.types.first() {
                paths.push(path(false, &[name]));
                if !self.types.iter().any(|other| self.holds(*other, *parent)) {
                    continue;
                }
            }
            let parent = self.declared(*parent).name.as_str();
            if !self.reached(Some(parent), name).iter().all(harmless) {
                return None;
            }
            paths.push(path(true, &[parent, name]));
        }
        Some(paths)
    }

    fn holds(&self, parent: usize, child: usize) -> bool {
        let children = &self.grammar.types[parent].children;
        children.iter().any(|(_, to)| *to == child)
    }

    /// The types of elements of this name, in elements of that name.
    fn reached(&self, parent: Option<&str>, name: &str) -> Vec<usize> {
        let parents = self
            .types
            .iter()
            .filter(|at| parent.is_none_or(|parent| self.declared(**at).name == parent));
        let children = parents.flat_map(|at| &self.grammar.types[*at].children);
        children
            .filter(|(rule, _)| rule.name == name)
            .map(|(_, to)| *to)
            .collect()
    }

    fn tell(&self, leaves: &Leaves, notes: &mut Notes, text: &str) {
        for (leaf, types) in leaves {
            for at in types {
                notes.add_about(
                    place(
                        &self.grammar.types[*at],
                        leaf.trim_start_matches(['@', '.']),
                    ),
                    text,
                );
            }
        }
    }
}

/// The kinds of names that a value refers to; none if it may be something else too.
fn referred(value: &AttributeDecl) -> &[Kind] {
    match &value.value.item {
        ItemType::Reference(kinds) => kinds,
        ItemType::Node {
            aliases,
            index_path: false,
            node_name: false,
        } => aliases,
        _ => &[],
    }
}

fn values(declared: &ElementDecl) -> impl Iterator<Item = &AttributeDecl> {
    declared.attributes.iter().chain(&declared.text)
}

/// A kind's word as a name of XML Schema.
fn ncname(kind: &str) -> String {
    let fits = |c: char| c.is_alphanumeric() || "-_.".contains(c);
    let name: String = kind
        .chars()
        .map(|c| if fits(c) { c } else { '_' })
        .collect();
    match name.starts_with(|c: char| c.is_alphabetic() || c == '_') {
        true => name,
        false => format!("_{name}"),
    }
}
