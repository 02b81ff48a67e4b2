//! The grammar of a dialect as schema languages see it: types of elements, each with its children's types.
//!
//! A dialect's contexts are the states of an automaton; those that cannot be told apart become one type.

use std::borrow::Cow;
use std::collections::HashMap;
use std::ops::Range;
use std::sync::Arc;

use dialect::{ChildRule, Choice, Context, Dialect, DocumentKind, ElementDecl};

use super::hints;
use crate::classes::classes;

/// All documents of one namespace.
#[derive(Debug)]
pub(super) struct Grammar<'d> {
    /// Empty: none.
    pub(super) namespace: &'d str,
    pub(super) roots: Vec<Root<'d>>,
    pub(super) types: Vec<ElementType<'d>>,
}

#[derive(Debug)]
pub(super) struct Root<'d> {
    pub(super) kind: &'d DocumentKind,
    /// Index of its type.
    pub(super) to: usize,
}

/// What an element may be where it stands.
#[derive(Debug)]
pub(super) struct ElementType<'d> {
    /// Unique among the types.
    pub(super) name: String,
    pub(super) declared: Cow<'d, ElementDecl>,
    /// The children with the indices of their types.
    pub(super) children: Vec<(ChildRule, usize)>,
    /// Which of these stand for each other.
    pub(super) choices: Vec<Choice>,
}

impl ElementType<'_> {
    /// Whether elements of other namespaces were seen in it. They are left alone wherever they stand, but where schemas
    /// pay for that with what they can say of the others, they are allowed only where there are any.
    pub(super) fn holds_foreign(&self) -> bool {
        let record = self.declared.learnt.as_ref();
        record.is_some_and(|record| record.foreign > 0)
    }

    /// Whether it holds elements, so that its text has no datatype.
    pub(super) fn holds_elements(&self) -> bool {
        !self.children.is_empty() || self.declared.open || self.holds_foreign()
    }

    /// The places of children, those that stand for each other together with their choice.
    pub(super) fn units(&self) -> Vec<(Range<usize>, Option<&Choice>)> {
        let mut units = Vec::new();
        let mut at = 0;
        while at < self.children.len() {
            let choice = self
                .choices
                .iter()
                .find(|choice| choice.members.start == at);
            let unit = choice.map_or(at..at + 1, |choice| choice.members.clone());
            at = unit.end.max(at + 1);
            units.push((unit, choice));
        }
        units
    }
}

/// The dialect's documents by namespace, in the order of the file. Kinds with the same root that look different are kept
/// apart, too: a schema has one root of a name. Those of several namespaces are left out. `reserved`: names that no type may have.
pub(super) fn grammars<'d>(dialect: &'d Dialect, reserved: &[&str]) -> Vec<Grammar<'d>> {
    let mut together: Vec<(&str, Vec<&DocumentKind>)> = Vec::new();
    let of_one = |kind: &&DocumentKind| kind.inner_namespaces.is_empty();
    for kind in dialect.documents.iter().map(Arc::as_ref).filter(of_one) {
        let namespace = kind.namespace.as_deref().unwrap_or_default();
        let root = dialect.root_context(kind);
        let is_known = |known: &&DocumentKind| known.root == kind.root;
        let looks_the_same = |known: &&&DocumentKind| dialect.root_context(known) == root;
        let mut here = together.iter_mut().filter(|(known, _)| *known == namespace);
        let fitting = here.find(|(_, kinds)| {
            let mut rivals = kinds.iter().filter(|known| is_known(known));
            rivals.all(|rival| looks_the_same(&rival))
        });
        match fitting {
            // Those that look the same differ in nothing that a schema could say.
            Some((_, kinds)) if kinds.iter().any(is_known) => {}
            Some((_, kinds)) => kinds.push(kind),
            None => together.push((namespace, vec![kind])),
        }
    }
    let grammars = together.into_iter();
    grammars
        .map(|(namespace, kinds)| grammar(dialect, namespace, kinds, reserved))
        .collect()
}

/// A context with its declaration and the places of its children.
struct Place<'d> {
    declared: Cow<'d, ElementDecl>,
    children: Vec<(ChildRule, usize)>,
    choices: Vec<Choice>,
}

fn grammar<'d>(
    dialect: &'d Dialect,
    namespace: &'d str,
    kinds: Vec<&'d DocumentKind>,
    reserved: &[&str],
) -> Grammar<'d> {
    let mut known: HashMap<Context, usize> = HashMap::new();
    let mut contexts: Vec<Context> = Vec::new();
    let mut place_of = |context: Context, contexts: &mut Vec<Context>| {
        *known.entry(context).or_insert_with(|| {
            contexts.push(context);
            contexts.len() - 1
        })
    };
    let mut roots = Vec::new();
    for kind in kinds {
        let context = dialect.root_context(kind);
        if dialect.element(context).is_some() {
            let to = place_of(context, &mut contexts);
            roots.push(Root { kind, to });
        }
    }
    let mut places: Vec<Place<'d>> = Vec::new();
    while let Some(context) = contexts.get(places.len()).copied() {
        let Some(declared) = dialect.element(context) else {
            // Not reached: only declared contexts are walked to.
            break;
        };
        let mut declared = hints::shown_by_all(declared);
        if declared.sort().is_none() && has_sorts(dialect, &declared.name) {
            // A schema cannot tell them apart by an attribute, so it allows what any of them may have.
            hints::open(declared.to_mut());
        }
        let mut children = Vec::new();
        for rule in declared.children.iter().filter(|rule| rule.max != Some(0)) {
            let child = dialect.child_context(context, &rule.name);
            if dialect.element(child).is_some() {
                children.push((rule.clone(), place_of(child, &mut contexts)));
            }
        }
        let choices = declared.choices.iter();
        let choices = choices.filter_map(|choice| among(&declared, choice, &children));
        places.push(Place {
            choices: choices.collect(),
            children,
            declared,
        });
    }
    let own = places.iter().map(|place| place.declared.key.as_str());
    let classes = classes(own, |at, classes| {
        let below = places[at].children.iter().map(|(_, to)| classes[*to]);
        below.collect::<Vec<_>>()
    });
    let mut grammar = Grammar {
        namespace,
        roots,
        types: Vec::new(),
    };
    for (at, place) in places.iter().enumerate() {
        if classes.get(at) == Some(&grammar.types.len()) {
            let children = place.children.iter();
            grammar.types.push(ElementType {
                name: String::new(),
                declared: place.declared.clone(),
                children: children
                    .map(|(rule, to)| (rule.clone(), classes[*to]))
                    .collect(),
                choices: place.choices.clone(),
            });
        }
    }
    for root in &mut grammar.roots {
        root.to = classes[root.to];
    }
    name_types(&mut grammar.types, reserved);
    grammar
}

fn has_sorts(dialect: &Dialect, name: &str) -> bool {
    let mut elements = dialect.elements().iter();
    elements.any(|element| element.name == name && element.sort().is_some())
}

/// A choice among the children that there are; `None` if no two of its members are among them.
fn among(
    declared: &ElementDecl,
    choice: &Choice,
    children: &[(ChildRule, usize)],
) -> Option<Choice> {
    let is_member = |(rule, _): &(ChildRule, usize)| {
        let mut members = declared.members(choice).iter();
        members.any(|member| member.name == rule.name)
    };
    let from = children.iter().position(is_member)?;
    let count = children[from..]
        .iter()
        .filter(|child| is_member(child))
        .count();
    (count > 1).then(|| Choice {
        members: from..from + count,
        ..choice.clone()
    })
}

/// The key of its declaration makes a type's name: `wheels/wheel` that of `wheels.wheel`.
fn name_types(types: &mut [ElementType<'_>], reserved: &[&str]) {
    let mut taken: Vec<String> = reserved.iter().map(|name| (*name).to_owned()).collect();
    for one in types {
        let plain = &one.declared.key;
        let plain = plain
            .rsplit_once(":/")
            .map_or(plain.as_str(), |(_, path)| path);
        let plain = plain.trim_start_matches('/').replace('/', ".");
        let mut name = plain.clone();
        let mut number = 2;
        while taken.contains(&name) {
            name = format!("{plain}-{number}");
            number += 1;
        }
        taken.push(name.clone());
        one.name = name;
    }
}
