//! What may stand where: elements, their children and their attributes.

use std::collections::{BTreeSet, HashMap};
use std::ops::Range;

use crate::child_rules::ChildRules;
use crate::context::{Context, Contexts, KeyStep, key_steps, split_key};
use crate::documents::DocumentKind;
use crate::path::Leaf;
use crate::value_type::ValueType;

/// All element declarations and the automaton that finds them.
#[derive(Clone, Debug, PartialEq, Default)]
pub(crate) struct Grammar {
    pub(crate) elements: Vec<ElementDecl>,
    pub(crate) contexts: Contexts,
}

impl Grammar {
    pub(crate) fn new(elements: Vec<ElementDecl>) -> Self {
        let keys = elements.iter().map(|element| element.key.as_str());
        let contexts = Contexts::new(keys);
        Self { elements, contexts }
    }

    pub(crate) fn element(&self, context: Context) -> Option<&ElementDecl> {
        let declaration = self.contexts.declaration(context)?;
        self.elements.get(declaration)
    }

    /// The context of the root of documents of one kind.
    pub(crate) fn root(&self, kind: &DocumentKind) -> Context {
        let document = self.contexts.document(&kind.name);
        self.contexts.child(document, &kind.root)
    }

    /// Every context that documents with root elements in these contexts can reach through declared
    /// children, with the contexts it can be entered from.
    pub(crate) fn reachable(
        &self,
        roots: impl IntoIterator<Item = Context>,
    ) -> HashMap<Context, BTreeSet<Context>> {
        let mut parents = HashMap::new();
        for context in roots {
            parents.entry(context).or_insert_with(BTreeSet::new);
            self.reach(context, &mut parents);
        }
        parents
    }

    /// Adds what can be reached from one more context, which is itself in `parents`.
    pub(crate) fn reach(&self, from: Context, parents: &mut HashMap<Context, BTreeSet<Context>>) {
        let mut waiting = vec![from];
        while let Some(context) = waiting.pop() {
            let Some(element) = self.element(context) else {
                continue;
            };
            let rules = element.children.iter();
            for child in rules.flat_map(|rule| self.contexts.children(context, &rule.name)) {
                let known = parents.entry(child).or_insert_with(|| {
                    waiting.push(child);
                    BTreeSet::new()
                });
                known.insert(context);
            }
        }
    }
}

/// What an element may hold.
#[derive(Clone, Debug, PartialEq)]
pub struct ElementDecl {
    /// The name or path suffix it is declared under: `wheel`, `wheels/wheel`, `/machine`, `item[@sort='tag']`.
    pub key: String,
    /// The element's local name: that of the last step of the key.
    pub name: String,
    /// What it is for; may be empty.
    pub doc: String,
    /// The elements it may hold, in the order of the file.
    pub children: ChildRules,
    /// Which of them stand for each other, in the order of the children.
    pub choices: Vec<Choice>,
    /// Whether the children must stand in the order of `children`.
    pub order: Order,
    /// Its attributes, in the order of the file.
    pub attributes: Vec<AttributeDecl>,
    /// Its text, if it may hold any; the declaration's name is `text()`.
    pub text: Option<AttributeDecl>,
    /// Whether unknown children and attributes are welcome.
    pub open: bool,
    /// Whether what the checks find against this declaration is a fault (a hint if not).
    pub strict: bool,
    /// Where the declaration comes from, if it was learnt from files.
    pub learnt: Option<Learnt>,
}

impl ElementDecl {
    /// The attribute, with its value, that tells these elements from others of their name, if one does.
    pub fn sort(&self) -> Option<(&str, &str)> {
        let (_, path) = split_key(&self.key);
        KeyStep::parse(key_steps(path).last()?).sort
    }

    /// The declaration of an attribute, by its name in the document.
    pub fn attribute(&self, name: &str) -> Option<&AttributeDecl> {
        self.attributes.iter().find(|known| known.name == name)
    }

    /// The rule for children of this name.
    pub fn child(&self, name: &str) -> Option<&ChildRule> {
        Some(&self.children[self.children.place_of(name)?])
    }

    /// Makes children stand for each other: those of these names, as far as they are among the children, one behind the
    /// other. One alone is no choice.
    pub fn choose(&mut self, names: &[&str], min: u32, max: Option<u32>) {
        let is_member = |rule: &ChildRule| names.contains(&rule.name.as_str());
        let Some(from) = self.children.iter().position(is_member) else {
            return;
        };
        let members = self.children[from..]
            .iter_mut()
            .take_while(|rule| is_member(rule));
        let members: Vec<&mut ChildRule> = members.collect();
        let to = from + members.len();
        members.into_iter().for_each(|rule| rule.min = 0);
        if to - from > 1 {
            let members = from..to;
            let before = |other: &Choice| other.members.start < from;
            let at = self.choices.partition_point(before);
            self.choices.insert(at, Choice { members, min, max });
        }
    }

    /// The choice that a child, an index into `children`, is one of.
    pub fn choice_of(&self, child: usize) -> Option<&Choice> {
        let behind = |choice: &Choice| choice.members.start <= child;
        let last = self.choices.partition_point(behind).checked_sub(1)?;
        let choice = &self.choices[last];
        choice.members.contains(&child).then_some(choice)
    }

    /// The place of a child, an index into `children`, where order counts: what stands for each other has one place.
    pub fn rank(&self, child: usize) -> usize {
        self.choice_of(child)
            .map_or(child, |choice| choice.members.start)
    }

    /// The rules of the children among which a choice is made.
    pub fn members(&self, choice: &Choice) -> &[ChildRule] {
        self.children.get(choice.members.clone()).unwrap_or(&[])
    }

    /// Whether there may be so many children. `counts`: by rule.
    pub fn allows(&self, counts: &[u32]) -> bool {
        let mut by_rule = self.children.iter().zip(counts);
        let is_allowed = |rule: &ChildRule, count: u32| {
            count >= rule.min && rule.max.is_none_or(|max| count <= max)
        };
        by_rule.all(|(rule, count)| is_allowed(rule, *count))
            && self.choices.iter().all(|choice| choice.is_met(counts))
    }

    /// Whether the children that it may hold may come in any number and any order.
    pub fn takes_any_number(&self) -> bool {
        let is_free = |rule: &ChildRule| rule.min == 0 && rule.max.is_none();
        self.order != Order::Listed && self.choices.is_empty() && self.children.iter().all(is_free)
    }

    /// Whether no child must be there.
    pub fn may_be_childless(&self) -> bool {
        self.children.required().next().is_none()
            && self.choices.iter().all(|choice| choice.min == 0)
    }

    /// The declaration of the attribute or text that a path's leaf names.
    pub fn value_at(&self, leaf: &Leaf) -> Option<&AttributeDecl> {
        match leaf {
            Leaf::Attribute(name) => self.attribute(name),
            Leaf::Text => self.text.as_ref(),
            Leaf::Element => None,
        }
    }
}

/// How often a child may stand in its parent.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChildRule {
    /// Local name.
    pub name: String,
    /// Least number of times.
    pub min: u32,
    /// Greatest number of times; `None` is any.
    pub max: Option<u32>,
}

/// Children that stand for each other. Each may be absent, so the least number of its own rule is 0.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Choice {
    /// Indices into [`ElementDecl::children`], at least two.
    pub members: Range<usize>,
    /// Least number of them: 0 if there may be none.
    pub min: u32,
    /// Greatest number of them, `None` is any. 1 asks for one sort of them, as often as its own rule allows.
    pub max: Option<u32>,
}

impl Choice {
    /// Whether only one sort may stand in one element.
    pub fn is_exclusive(&self) -> bool {
        self.max == Some(1)
    }

    /// How many of them there are, as `min` and `max` count: sorts if only one may stand, else elements. `counts`: the
    /// number of each child, by its index.
    pub fn count(&self, counts: &[u32]) -> u32 {
        let counts = counts.get(self.members.clone()).unwrap_or(&[]);
        match self.is_exclusive() {
            true => counts.iter().filter(|count| **count > 0).count() as u32,
            false => counts
                .iter()
                .fold(0, |sum, count| sum.saturating_add(*count)),
        }
    }

    /// Whether there are neither too few nor too many of them.
    pub fn is_met(&self, counts: &[u32]) -> bool {
        let count = self.count(counts);
        count >= self.min && self.max.is_none_or(|max| count <= max)
    }
}

/// Whether the order of children counts.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Default)]
pub enum Order {
    /// Any order.
    #[default]
    Any,
    /// The order in which the declaration lists them.
    Listed,
}

/// What an attribute, or an element's text, may say.
#[derive(Clone, Debug, PartialEq)]
pub struct AttributeDecl {
    /// The attribute's name as documents write it; `text()` for an element's text.
    pub name: String,
    /// What it is for; may be empty.
    pub doc: String,
    /// Whether it must be there.
    pub required: bool,
    /// What may stand in it.
    pub value: ValueType,
    /// What most authors write; what new constructs are given.
    pub usual: Option<String>,
    /// What the game takes where it is absent.
    pub default: Option<String>,
    /// Whether what the checks find against this declaration is a fault (a hint if not).
    pub strict: bool,
    /// Where the declaration comes from, if it was learnt from files.
    pub learnt: Option<Learnt>,
}

/// The record of a declaration that was learnt from a library of files.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Learnt {
    /// How often it was seen.
    pub seen: u32,
    /// In how many places it could have been; 0 if that is not told.
    pub of: u32,
    /// In how many files it was seen; 0 if that is not told.
    pub files: u32,
    /// Least and greatest number seen.
    pub range: Option<(f64, f64)>,
    /// Frequent values with how often each was seen, in the order of the file.
    pub values: Vec<(String, u32)>,
    /// Some of the places where it was seen.
    pub places: Vec<String>,
    /// Some of the places that do not fit.
    pub exceptions: Vec<String>,
    /// Of a value: all that was seen and does not fit. `None` if nothing is told about that, as where it is too much.
    pub besides: Option<Vec<String>>,
    /// Of an element: how many elements of other namespaces stood in it; 0 if that is not told.
    pub foreign: u32,
    /// Of an element: what holds without exceptions, where what is declared does not.
    pub kept: Option<Kept>,
}

/// What all examples of an element keep: less than what nearly all of them do.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Kept {
    /// The elements it holds.
    pub children: Vec<ChildRule>,
    /// Which of them stand for each other.
    pub choices: Vec<Choice>,
    /// Whether the children stand in the order of `children`.
    pub order: Order,
    /// Whether some hold text, although none is declared.
    pub text: bool,
}
