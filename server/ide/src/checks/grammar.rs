//! Does the dialect know it? Elements, attributes, text and values against their declarations.

mod attributes;
mod children;

use foldhash::HashMap;

use dialect::{ElementDecl, Property};
use machine::{Attributes, Chain, Located, Reader};
use syntax::{Element, Item, TextEdit, TextRange, TextSize};

pub(super) use children::{Altogether, Among};
use children::{beside, rename_element};

use super::broken::Broken;
use super::gravest::Gravest;
use super::learnt;
use super::site::Site;
use super::suggest;
use super::values::{self, Written};
use crate::{Finding, Fix, Trust, codes, finding::unseen};

/// Checks elements against their declarations, and gathers what is found.
#[derive(Debug)]
pub(super) struct Check<'f, 'v> {
    pub(super) site: &'f Site<'v>,
    pub(super) broken: &'f Broken<'v>,
    /// By the start of a channel's element: what the channel moves, where that is one thing.
    pub(super) properties: HashMap<TextSize, Property>,
    pub(super) findings: Gravest,
    /// The attributes of the element at hand; kept so that not each element allocates.
    pub(super) tag: Attributes<'v>,
    /// What could not be looked into.
    pub(super) unread: Vec<TextRange>,
}

impl<'v> Check<'_, 'v> {
    /// Checks elements that may stand where they stand, with all that is in them. `chain`: down to the one around them;
    /// `around`: what a channel around them moves. Without recursion: documents may be deep.
    pub(super) fn elements_and_below(
        &mut self,
        reader: &Reader<'v>,
        mut chain: Chain<'v>,
        elements: Vec<Located<'v>>,
        around: Option<Property>,
    ) {
        let top = chain.len();
        let mut moved: Vec<Option<Property>> = vec![around; top];
        let elements = elements.into_iter().rev();
        let mut open: Vec<_> = elements.map(|element| (top, element)).collect();
        while let Some((depth, located)) = open.pop() {
            chain.truncate(depth);
            moved.truncate(depth);
            let around = moved.last().copied().unwrap_or(around);
            moved.push(
                self.properties
                    .get(&located.element.range().start())
                    .copied()
                    .or(around),
            );
            chain.push(located);
            let property = moved.last().copied().flatten();
            let Some(declared) = self.declared(&located) else {
                continue;
            };
            self.attributes(located.element, declared, property);
            let children = reader.children(&chain);
            let known = self.known_children(&located, declared, &children);
            let all = located.element.children();
            let some_bare = self.without_prefix(reader, &chain, declared, all);
            self.text(located.element, declared, property);
            self.order(declared, &known);
            self.counts(
                located.element,
                declared,
                &known,
                some_bare || known.len() < children.len(),
            );
            open.extend(known.into_iter().rev().map(|child| (depth + 1, child)));
        }
    }

    /// None: nothing declares it, so its holder (or an open declaration) let it pass, and nothing is known of what it
    /// holds.
    pub(super) fn declared(&self, at: &Located<'v>) -> Option<&'v ElementDecl> {
        self.site.dialect.element(at.context)
    }

    /// Whether the document is in some other namespace.
    pub(super) fn root(&mut self, root: Element<'v>) -> bool {
        let kind = &self.site.meaning.kind;
        if root.local_name() != kind.root && !root.local_name().is_empty() {
            let message = format!(
                "A document of this kind starts with `<{}>`, not with `<{}>`.",
                kind.root,
                root.name()
            );
            let mut finding = codes::UNKNOWN_ELEMENT.at(root.name_range(), message);
            if let Some(near) = suggest::nearest(root.local_name(), [kind.root.as_str()]) {
                let written = beside(root, &kind.root);
                finding = finding.fix(rename_element(root, &written, near.trust));
            }
            self.findings.push(finding);
            // What roles say of the real root nothing plays in this one.
            self.unread.push(root.start_tag_range());
        }
        if let Some(asked) = kind.namespace.as_deref().filter(|asked| !asked.is_empty()) {
            let scope = syntax::namespaces::Scope::root().enter(&root);
            let has = scope.resolve(root.prefix());
            let has = has.as_deref().unwrap_or("");
            if has != asked && !self.broken.is_garbled(root.range().start()) {
                self.findings.push(wrong_namespace(root, has, asked));
                return !has.is_empty();
            }
        }
        false
    }

    fn text(&mut self, element: Element<'v>, declared: &ElementDecl, property: Option<Property>) {
        if declared.text.is_some() {
            self.declared_text(element, declared, property);
        } else if !declared.open {
            self.stray_text(element, declared, stray_text(element.items()));
        }
    }

    /// Text where none belongs: the first piece of it.
    pub(super) fn stray_text(
        &mut self,
        element: Element<'v>,
        declared: &ElementDecl,
        found: Option<TextRange>,
    ) {
        if let Some(range) = found {
            if self.broken.touches(range) {
                self.unread.push(range);
            } else {
                let message = format!(
                    "`<{}>` holds no text, only elements and attributes.{}",
                    element.name(),
                    unseen(&self.site.text(range)).unwrap_or_default()
                );
                self.findings.push(learnt::by_element(
                    codes::UNEXPECTED_TEXT.at(range, message),
                    declared,
                ));
            }
        }
    }

    pub(super) fn declared_text(
        &mut self,
        element: Element<'v>,
        declared: &ElementDecl,
        property: Option<Property>,
    ) {
        let Some(declared_text) = &declared.text else {
            return;
        };
        let is_closed = element.end_tag().is_some() || element.is_self_closing();
        match element.text_range() {
            Some(range) if !self.broken.touches(range) => {
                let text = element.text();
                let written = Written {
                    text: text.trim_ascii(),
                    range,
                    whole: range,
                    element: element.name(),
                };
                self.findings.extend(values::check(
                    self.site.dialect,
                    declared_text,
                    &written,
                    property,
                ));
            }
            None if declared_text.required && is_closed => {
                let expected = self.site.dialect.describe(&declared_text.value);
                let message = format!(
                    "`<{}>` is empty; it should hold {expected}.",
                    element.name()
                );
                self.findings.push(learnt::by_value(
                    codes::WRONG_TYPE.at(element.name_range(), message),
                    declared_text,
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
pub(super) fn stray_text<'t>(mut items: impl Iterator<Item = Item<'t>>) -> Option<TextRange> {
    items.find_map(|item| match item {
        Item::Text(token) => {
            let text = token.text();
            if text
                .bytes()
                .all(|byte| matches!(byte, b' ' | b'\t' | b'\n' | b'\r'))
            {
                // Nearly all, between elements.
                return None;
            }
            let inner = text.trim_ascii();
            let blank = text.len() - text.trim_ascii_start().len();
            let size = |at: usize| TextSize::new(u32::try_from(at).unwrap_or(u32::MAX));
            (!inner.is_empty())
                .then(|| TextRange::at(token.range().start() + size(blank), size(inner.len())))
        }
        Item::CData(token) | Item::Reference(token) => Some(token.range()),
        _ => None,
    })
}
