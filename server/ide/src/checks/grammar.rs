//! Does the dialect know it? Elements, attributes, text and values against their declarations.

mod attributes;
mod broken;
mod children;

use std::collections::HashMap;

use dialect::{ElementDecl, Property};
use machine::{Located, Reader};
use syntax::{Element, Item, TextEdit, TextRange, TextSize};

use broken::Broken;
use children::rename_element;

use super::facts::Facts;
use super::suggest::{self, Budget};
use super::unread::Unread;
use super::values::{self, Written, strictly};
use crate::{Finding, Fix, Trust, codes};

/// What the grammar's checks found, and what they could not look into.
#[derive(Debug)]
pub(super) struct Grammar<'t> {
    pub(super) findings: Vec<Finding>,
    pub(super) unread: Unread<'t>,
    /// The document is in some other namespace, so that nothing else of it was looked at.
    pub(super) is_foreign: bool,
}

pub(super) fn check<'v>(facts: &Facts<'v>) -> Grammar<'v> {
    let reader = Reader::new(facts.tree(), facts.dialect, &facts.meaning.kind);
    let mut check = Check {
        facts,
        broken: Broken::of(facts),
        properties: properties(facts),
        budget: Budget::new(),
        findings: Vec::new(),
        unread: Vec::new(),
    };
    let mut is_foreign = false;
    if let Some(root) = reader.root() {
        is_foreign = check.root(root.element);
        if !is_foreign {
            check.below(&reader, root);
        }
    }
    let unread = [check.unread, check.broken.unread].concat();
    Grammar {
        findings: check.findings,
        unread: Unread::of(facts.view.text(), unread),
        is_foreign,
    }
}

/// By the start of a channel's element: what the channel moves, where that is one thing.
fn properties(facts: &Facts<'_>) -> HashMap<TextSize, Property> {
    let channels = facts
        .machine
        .animations
        .iter()
        .flat_map(|animation| &animation.channels);
    let property_of = |channel: &machine::Channel| {
        let mut properties = channel.motions.iter().map(|motion| motion.property);
        let first = properties.next()??;
        properties
            .all(|other| other == Some(first))
            .then_some((channel.element.start(), first))
    };
    channels.filter_map(property_of).collect()
}

struct Check<'f, 'v> {
    facts: &'f Facts<'v>,
    broken: Broken,
    properties: HashMap<TextSize, Property>,
    /// For suggestions, which would take long where thousands of names are wrong.
    budget: Budget,
    findings: Vec<Finding>,
    unread: Vec<TextRange>,
}

impl<'v> Check<'_, 'v> {
    /// Without recursion: documents may be deep.
    fn below(&mut self, reader: &Reader<'v>, root: Located<'v>) {
        let mut chain: Vec<Located<'v>> = Vec::new();
        let mut moved: Vec<Option<Property>> = Vec::new();
        let mut open = vec![(0, root)];
        while let Some((depth, located)) = open.pop() {
            chain.truncate(depth);
            moved.truncate(depth);
            let around = moved.last().copied().flatten();
            moved.push(
                self.properties
                    .get(&located.element.range().start())
                    .copied()
                    .or(around),
            );
            chain.push(located);
            let children = reader.children(&chain);
            let known = self.element(&located, &children, moved.last().copied().flatten());
            open.extend(known.into_iter().rev().map(|child| (depth + 1, child)));
        }
    }

    /// Whether the document is in some other namespace.
    fn root(&mut self, root: Element<'v>) -> bool {
        let kind = &self.facts.meaning.kind;
        if root.local_name() != kind.root && !root.local_name().is_empty() {
            let message = format!(
                "A document of this kind starts with `<{}>`, not with `<{}>`.",
                kind.root,
                root.name()
            );
            let mut finding = codes::UNKNOWN_ELEMENT.at(root.name_range(), message);
            if let Some(near) = suggest::nearest(root.local_name(), [kind.root.as_str()]) {
                finding = finding.fix(rename_element(root, &kind.root, near.trust));
            }
            self.findings.push(finding);
            // What roles say of the real root nothing plays in this one.
            self.unread.push(root.start_tag_range());
        }
        if let Some(asked) = kind.namespace.as_deref().filter(|asked| !asked.is_empty()) {
            let scope = syntax::namespaces::Scope::root().enter(&root);
            let has = scope.resolve(root.prefix());
            let has = has.as_deref().unwrap_or("");
            if has != asked && !self.broken.garbled.contains(&root.range().start()) {
                self.findings.push(wrong_namespace(root, has, asked));
                return !has.is_empty();
            }
        }
        false
    }

    /// Checks one element and gives back the children to go on with.
    fn element(
        &mut self,
        at: &Located<'v>,
        children: &[Located<'v>],
        property: Option<Property>,
    ) -> Vec<Located<'v>> {
        let Some(declared) = self.facts.dialect.element(at.context) else {
            // Nothing declares it, so its holder (or an open declaration) let it pass: nothing is known of what it holds.
            return Vec::new();
        };
        self.attributes(at.element, declared, property);
        self.text(at.element, declared, property);
        let known = self.known_children(at, declared, children);
        self.order(declared, &known);
        self.counts(at.element, declared, &known, known.len() < children.len());
        known
    }

    fn text(&mut self, element: Element<'v>, declared: &ElementDecl, property: Option<Property>) {
        let Some(declared_text) = &declared.text else {
            if declared.open {
                return;
            }
            let Some(range) = stray_text(element) else {
                return;
            };
            if self.broken.touches(range) {
                self.unread.push(range);
            } else {
                let message = format!(
                    "`<{}>` holds no text, only elements and attributes.",
                    element.name()
                );
                self.findings.push(strictly(
                    codes::UNEXPECTED_TEXT.at(range, message),
                    declared.strict,
                ));
            }
            return;
        };
        let is_closed = element.end_tag().is_some() || element.is_self_closing();
        match element.text_range() {
            Some(range) if !self.broken.touches(range) => {
                let text = element.text();
                let written = Written {
                    text: text.trim(),
                    range,
                    whole: range,
                    element: element.name(),
                };
                self.findings.extend(values::check(
                    self.facts.dialect,
                    declared_text,
                    &written,
                    property,
                ));
            }
            None if declared_text.required && is_closed => {
                let expected = self.facts.dialect.describe(&declared_text.value);
                let message = format!(
                    "`<{}>` is empty; it should hold {expected}.",
                    element.name()
                );
                self.findings.push(strictly(
                    codes::WRONG_TYPE.at(element.name_range(), message),
                    declared.strict,
                ));
            }
            _ => {}
        }
    }
}

fn wrong_namespace(root: Element<'_>, has: &str, asked: &str) -> Finding {
    let declaration = match root.prefix() {
        Some(prefix) => format!("xmlns:{prefix}"),
        None => "xmlns".to_owned(),
    };
    let value = super::escaped(asked);
    let (place, message, edit) = match root
        .attribute(&declaration)
        .and_then(|declared| declared.value_range())
    {
        Some(range) => {
            let message = format!(
                "The namespace `{has}` is not the one of this kind of document: write `{asked}`."
            );
            (range, message, TextEdit::replace(range, value))
        }
        None => {
            let message = format!(
                "`<{}>` is in no namespace: it needs `{declaration}=\"{asked}\"`.",
                root.name()
            );
            (
                root.name_range(),
                message,
                TextEdit::insert(
                    root.name_range().end(),
                    format!(" {declaration}=\"{value}\""),
                ),
            )
        }
    };
    // Who has no namespace at all has forgotten it; who has another may mean another.
    let trust = if has.is_empty() {
        Trust::Safe
    } else {
        Trust::Review
    };
    let title = format!("Write `{declaration}=\"{asked}\"`");
    codes::WRONG_NAMESPACE.at(place, message).fix(Fix {
        title,
        trust,
        edits: vec![edit],
    })
}

/// The first text that is not just white space.
fn stray_text(element: Element<'_>) -> Option<TextRange> {
    element.items().find_map(|item| match item {
        Item::Text(token) => {
            let text = token.text();
            let blank = text.len() - text.trim_start().len();
            let size = |at: usize| TextSize::new(u32::try_from(at).unwrap_or(u32::MAX));
            (!text.trim().is_empty()).then(|| {
                TextRange::at(token.range().start() + size(blank), size(text.trim().len()))
            })
        }
        Item::CData(token) | Item::Reference(token) => Some(token.range()),
        _ => None,
    })
}
