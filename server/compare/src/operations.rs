//! The operations that turn the old document into the new one, from its end to its start.

use syntax::escape::plain_lines;

use crate::bindings::{self, Bindings, prefix_for};
use crate::document::{Document, Id, Kind, TOP};
use crate::gap::Gap;
use crate::identity::Identities;
use crate::matching::Matching;
use crate::selectors::{Selected, Selectors};
use crate::tags::{self, TagChange, TagEdit};

/// One operation of a patch, as it is to be written.
#[derive(Debug)]
pub(crate) struct Operation {
    /// `add`, `replace` or `remove`.
    pub(crate) verb: &'static str,
    pub(crate) selector: String,
    /// `pos`, `type` or `ws`.
    pub(crate) more: Option<(&'static str, String)>,
    /// As it stands between the operation's tags.
    pub(crate) content: String,
    pub(crate) bindings: Bindings,
}

pub(crate) struct Planner<'a, 't> {
    pub(crate) old: &'a Document<'t>,
    pub(crate) new: &'a Document<'t>,
    pub(crate) matching: &'a Matching,
    pub(crate) selectors: Selectors<'a, 't>,
    /// What prefixes mean in the whole patch.
    pub(crate) common: Bindings,
    anew: bool,
    operations: Vec<Operation>,
}

/// Where something is added.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Place {
    Append(Id),
    Prepend(Id),
    Before(Id),
    After(Id),
}

/// The operations that make the new document of the old one, and the prefixes that all of them share. `anew`: the root
/// element is written anew instead of what is in it.
pub(crate) fn plan(
    old: &Document<'_>,
    new: &Document<'_>,
    identities: [Identities<'_>; 2],
    matching: &Matching,
    anew: bool,
) -> (Vec<Operation>, Bindings) {
    let root = old.elements(TOP).next();
    let common = root.map_or_else(Bindings::new, |root| bindings::inside(old, root));
    let mut planner = Planner {
        old,
        new,
        matching,
        selectors: Selectors::new(old, new, identities, matching),
        common,
        anew,
        operations: Vec::new(),
    };
    planner.new_prefixes();
    planner.walk();
    (planner.operations, planner.common)
}

enum Task {
    /// The children of a pair, the last one first, then its tag.
    Node(Id, Id),
    Tag(Id, Id),
    Gap(Gap),
}

impl Planner<'_, '_> {
    /// Prefixes that an element declares in the new document are declared before anything that may use them is added.
    fn new_prefixes(&mut self) {
        for old in 0..self.old.nodes.len() {
            let Some(new) = self.kept(old) else { continue };
            let (Some(one), Some(other)) = (self.old.element(old), self.new.element(new)) else {
                continue;
            };
            for attribute in other.attributes() {
                let Some(Some(prefix)) = attribute.declared_prefix() else {
                    continue;
                };
                if one.attribute(attribute.name()).is_none() && self.all_kept(old) {
                    let mut bindings = self.common.clone();
                    let selector = self.selectors.element(old, &mut bindings, false).path;
                    self.operations.push(Operation {
                        verb: "add",
                        selector,
                        more: Some(("type", format!("namespace::{prefix}"))),
                        content: syntax::escape::text(&attribute.value()).into_owned(),
                        bindings,
                    });
                }
            }
        }
    }

    pub(crate) fn kept(&self, old: Id) -> Option<Id> {
        self.matching.new_of[old].filter(|_| self.matching.stays[old])
    }

    fn all_kept(&self, old: Id) -> bool {
        let way = self.old.way(old);
        way.iter().all(|id| {
            self.kept(*id)
                .is_some_and(|new| !self.is_replaced(*id, new))
        })
    }

    /// An element that is written anew, as its tag cannot be made what it should be.
    fn is_replaced(&self, old: Id, new: Id) -> bool {
        matches!(self.tag_change(old, new), TagChange::Whole)
    }

    fn tag_change(&self, old: Id, new: Id) -> TagChange {
        if self.anew && self.old.nodes[old].parent == TOP {
            return TagChange::Whole;
        }
        let holds_markup =
            self.old.markup(old).next().is_some() || self.new.markup(new).next().is_some();
        tags::compared(self.old, old, self.new, new, holds_markup)
    }

    fn walk(&mut self) {
        let mut open = vec![Task::Node(TOP, TOP)];
        while let Some(task) = open.pop() {
            match task {
                Task::Node(old, new) => self.node(old, new, &mut open),
                Task::Tag(old, new) => self.tag(old, new),
                Task::Gap(gap) => gap.close(self),
            }
        }
    }

    /// Replaces a node that cannot be changed in its parts; else leaves these to be done.
    fn node(&mut self, old: Id, new: Id, open: &mut Vec<Task>) {
        if self.old.nodes[old].written == self.new.nodes[new].written {
            return;
        }
        let is_whole = match self.old.tag(old) {
            Some(_) => self.is_replaced(old, new),
            None => old != TOP,
        };
        if is_whole {
            return self.replace(old, new);
        }
        open.push(Task::Tag(old, new));
        // What is pushed last is done first.
        let mut from = None;
        for child in self.old.markup(old) {
            let Some(new_child) = self.kept(child) else {
                continue;
            };
            let to = Some((child, new_child));
            open.push(Task::Gap(Gap::new(self, (old, new), (from, to))));
            open.push(Task::Node(child, new_child));
            from = to;
        }
        open.push(Task::Gap(Gap::new(self, (old, new), (from, None))));
    }

    fn push(
        &mut self,
        verb: &'static str,
        selector: String,
        more: Option<(&'static str, String)>,
        content: String,
        bindings: Bindings,
    ) {
        self.operations.push(Operation {
            verb,
            selector,
            more,
            content,
            bindings,
        });
    }

    /// What prefixes must mean in an operation that brings along a piece of the new document.
    fn bindings_for(&self, new_parent: Id) -> Bindings {
        let mut bindings = self.common.clone();
        bindings.insert(None, String::new());
        bindings.extend(bindings::inside(self.new, new_parent));
        bindings
    }

    /// One node instead of another of the same sort.
    pub(crate) fn replace(&mut self, old: Id, new: Id) {
        if matches!(self.old.nodes[old].kind, Kind::Fixed) {
            return;
        }
        let mut bindings = self.bindings_for(self.new.nodes[new].parent);
        let selector = self.selectors.node(old, &mut bindings, false);
        let content = plain_lines(self.new.written(new)).into_owned();
        self.push("replace", selector, None, content, bindings);
    }

    pub(crate) fn replace_text(&mut self, selector: (String, Bindings), text: &str) {
        let (selector, bindings) = selector;
        self.push(
            "replace",
            selector,
            None,
            plain_lines(text).into_owned(),
            bindings,
        );
    }

    pub(crate) fn text_selector(&mut self, text: Id) -> (String, Bindings) {
        let mut bindings = self.common.clone();
        let selector = self.selectors.node(text, &mut bindings, false);
        (selector, bindings)
    }

    pub(crate) fn remove_text(&mut self, selector: (String, Bindings)) {
        self.push("remove", selector.0, None, String::new(), selector.1);
    }

    pub(crate) fn remove(&mut self, old: Id, blanks: Option<&'static str>) {
        if matches!(self.old.nodes[old].kind, Kind::Fixed) {
            return;
        }
        let mut bindings = self.common.clone();
        let selector = self.selectors.node(old, &mut bindings, false);
        let more = blanks.map(|side| ("ws", side.to_owned()));
        self.push("remove", selector, more, String::new(), bindings);
    }

    pub(crate) fn add(&mut self, place: Place, new_parent: Id, content: &str) {
        let mut bindings = self.bindings_for(new_parent);
        let (selector, pos) = match place {
            Place::Append(id) => (self.selectors.element(id, &mut bindings, false).path, None),
            Place::Prepend(id) => {
                let path = self.selectors.element(id, &mut bindings, false).path;
                (path, Some("prepend"))
            }
            Place::Before(id) => {
                let path = self.selectors.node(id, &mut bindings, true);
                (path, Some("before"))
            }
            Place::After(id) => {
                let path = self.selectors.node(id, &mut bindings, false);
                (path, Some("after"))
            }
        };
        let more = pos.map(|pos| ("pos", pos.to_owned()));
        let content = plain_lines(content).into_owned();
        self.push("add", selector, more, content, bindings);
    }

    /// The operations that make the new tag of the old one.
    fn tag(&mut self, old: Id, new: Id) {
        let TagChange::Edits(mut edits) = self.tag_change(old, new) else {
            return;
        };
        let mut bindings = self.common.clone();
        let first: Selected = self.selectors.element(old, &mut bindings, false);
        let touched = |edit: &TagEdit| first.asked.iter().any(|name| name == edit.name());
        let selected = match edits.iter().filter(|edit| touched(edit)).count() > 1 {
            true => self.selectors.element(old, &mut bindings, true),
            false => first.clone(),
        };
        // What the path asks for is changed last.
        edits.sort_by_key(touched);
        for edit in edits {
            let mut bindings = self.common.clone();
            let path = self.selectors.element(old, &mut bindings, false);
            let path = if path.path == selected.path {
                path.path
            } else {
                selected.path.clone()
            };
            let mut named = |name: &str| self.attribute_name(name, (old, new), &mut bindings);
            let text = |value: &str| syntax::escape::text(value).into_owned();
            let (verb, selector, kind, content) = match edit {
                TagEdit::Set(name, value) => {
                    let Some(named) = named(&name) else { continue };
                    ("replace", format!("{path}/@{named}"), None, text(&value))
                }
                TagEdit::Add(name, value) => {
                    let Some(named) = named(&name) else { continue };
                    let kind = Some(("type", format!("@{named}")));
                    ("add", path, kind, text(&value))
                }
                TagEdit::Remove(name) => {
                    let Some(named) = named(&name) else { continue };
                    ("remove", format!("{path}/@{named}"), None, String::new())
                }
                TagEdit::Rebind(prefix, value) => {
                    let path = format!("{path}/namespace::{prefix}");
                    ("replace", path, None, text(&value))
                }
                TagEdit::Unbind(prefix) => {
                    let path = format!("{path}/namespace::{prefix}");
                    ("remove", path, None, String::new())
                }
            };
            self.push(verb, selector, kind, content, bindings);
        }
    }

    /// The name of an attribute as a patch with these bindings has it. None: its prefix is not declared.
    fn attribute_name(
        &self,
        name: &str,
        (old, new): (Id, Id),
        bindings: &mut Bindings,
    ) -> Option<String> {
        let Some((prefix, local)) = name.split_once(':') else {
            return Some(name.to_owned());
        };
        if prefix == "xml" {
            return Some(name.to_owned());
        }
        let inside = bindings::inside(self.new, new);
        let before = bindings::inside(self.old, old);
        let key = Some(prefix.to_owned());
        let namespace = before.get(&key).or_else(|| inside.get(&key))?;
        let prefix = prefix_for(bindings, namespace, false)?;
        Some(format!("{prefix}:{local}"))
    }
}
