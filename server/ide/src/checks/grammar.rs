//! Does the dialect know it? Elements, attributes, text and values against their declarations.

use std::collections::{HashMap, HashSet};

use dialect::{AttributeDecl, ElementDecl, Order, Property};
use machine::{Located, Reader};
use syntax::{Attribute, Element, FormCode, Item, TextEdit, TextRange, TextSize, Tree};

use super::facts::Facts;
use super::suggest;
use super::unread::Unread;
use super::values::{self, Written, one_of, strictly};
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

/// Where the form errors are.
struct Broken {
    /// Sorted.
    errors: Vec<TextRange>,
    /// Starts of the elements whose start tag is so broken that its attributes are not what was meant.
    garbled: HashSet<TextSize>,
    unread: Vec<TextRange>,
}

impl Broken {
    fn of(facts: &Facts<'_>) -> Self {
        let mut broken = Self {
            errors: Vec::new(),
            garbled: HashSet::new(),
            unread: Vec::new(),
        };
        for error in facts.tree().errors() {
            broken.errors.push(error.range);
            match error.code {
                FormCode::UnfinishedAttribute
                | FormCode::UnclosedTag
                | FormCode::StrayCharacters
                | FormCode::BadName => {
                    let holder = facts.tree().elements_at(error.range.start()).pop();
                    if let Some(holder) = holder.filter(|holder| {
                        holder
                            .start_tag_range()
                            .contains_inclusive(error.range.start())
                    }) {
                        broken.garbled.insert(holder.range().start());
                        broken.unread.push(holder.start_tag_range());
                    }
                }
                FormCode::UnclosedComment | FormCode::BadCdata | FormCode::BadInstruction => {
                    broken
                        .unread
                        .extend(swallowed(facts.tree(), error.range.start()));
                }
                _ => {}
            }
        }
        broken
    }

    /// Whether a form error is in the range or right at its edge.
    fn touches(&self, range: TextRange) -> bool {
        let before_end = self
            .errors
            .partition_point(|error| error.start() <= range.end());
        self.errors[..before_end]
            .iter()
            .rev()
            .take(8)
            .any(|error| error.end() >= range.start())
    }
}

/// What an unclosed comment, CDATA section or instruction at `start` took with it.
fn swallowed(tree: &Tree, start: TextSize) -> Option<TextRange> {
    let holds = |item: &Item<'_>| item.range().contains(start);
    match tree.elements_at(start).pop() {
        Some(holder) => holder.items().find(holds),
        None => tree.top_level().find(holds),
    }
    .map(|item| item.range())
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

    fn attributes(
        &mut self,
        element: Element<'v>,
        declared: &ElementDecl,
        property: Option<Property>,
    ) {
        if self.broken.garbled.contains(&element.range().start()) {
            return;
        }
        let mut missing: Vec<&AttributeDecl> = declared
            .attributes
            .iter()
            .filter(|attribute| attribute.required)
            .collect();
        let mut seen: HashSet<&str> = HashSet::new();
        let mut unknown: Vec<Attribute<'v>> = Vec::new();
        for attribute in element.attributes() {
            let name = attribute.name();
            if !seen.insert(name) {
                continue;
            }
            match declared.attribute(name) {
                Some(known) => {
                    missing.retain(|one| one.name != name);
                    self.attribute_value(element, attribute, known, property);
                }
                None if is_foreign(attribute) || declared.open => {}
                None => unknown.push(attribute),
            }
        }
        for attribute in unknown {
            let free = declared
                .attributes
                .iter()
                .map(|known| known.name.as_str())
                .filter(|name| !seen.contains(name));
            let meant = suggest::nearest(attribute.name(), free);
            if let Some(meant) = meant {
                missing.retain(|one| one.name != meant.word);
                self.unread.push(attribute.range());
            }
            self.findings
                .push(unknown_attribute(element, attribute, declared, meant));
        }
        if !missing.is_empty() {
            let names: Vec<String> = missing
                .iter()
                .map(|one| format!("`{}`", one.name))
                .collect();
            let message = match names.as_slice() {
                [only] => format!(
                    "`<{}>` needs the attribute {only}.{}",
                    element.name(),
                    what_for(missing[0])
                ),
                _ => format!(
                    "`<{}>` needs the attributes {}.",
                    element.name(),
                    and_list(&names)
                ),
            };
            let strict = declared.strict && missing.iter().any(|one| one.strict);
            self.findings.push(strictly(
                codes::MISSING_ATTRIBUTE.at(element.name_range(), message),
                strict,
            ));
        }
    }

    fn attribute_value(
        &mut self,
        element: Element<'v>,
        attribute: Attribute<'v>,
        declared: &AttributeDecl,
        property: Option<Property>,
    ) {
        if self.broken.touches(attribute.range()) {
            return;
        }
        let Some(range) = attribute.value_range() else {
            return;
        };
        let value = attribute.value();
        let written = Written {
            text: &value,
            range,
            whole: attribute.range(),
            element: element.name(),
        };
        self.findings.extend(values::check(
            self.facts.dialect,
            declared,
            &written,
            property,
        ));
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

    /// The children that may stand here; the others are reported.
    fn known_children(
        &mut self,
        at: &Located<'v>,
        declared: &ElementDecl,
        children: &[Located<'v>],
    ) -> Vec<Located<'v>> {
        let is_closed = at.element.end_tag().is_some() || at.element.is_self_closing();
        let mut known = Vec::with_capacity(children.len());
        for child in children {
            let element = child.element;
            if declared.open || declared.child(element.local_name()).is_some() {
                known.push(*child);
                continue;
            }
            self.unread.push(element.range());
            let nameless = element.local_name().is_empty()
                || self.broken.garbled.contains(&element.range().start());
            // In an element that was never closed stands what should stand behind it.
            if is_closed && !nameless {
                self.findings
                    .push(self.unknown_element(at.element, declared, element));
            }
        }
        known
    }

    fn unknown_element(
        &self,
        parent: Element<'v>,
        declared: &ElementDecl,
        element: Element<'v>,
    ) -> Finding {
        let name = element.local_name();
        let names = declared.children.iter().map(|rule| rule.name.as_str());
        let meant = suggest::nearest(name, names.clone());
        let homes: Vec<&str> = self.homes(name);
        let hint = match (&meant, homes.as_slice()) {
            (Some(meant), _) => format!(" Did you mean `<{}>`?", meant.word),
            (None, []) if declared.children.is_empty() => {
                format!(" `<{}>` holds no elements.", parent.name())
            }
            (None, []) => format!(
                " It can hold {}.",
                one_of(&names.map(|name| format!("<{name}>")).collect::<Vec<_>>())
            ),
            (None, homes) => format!(
                " It belongs into {}.",
                one_of(
                    &homes
                        .iter()
                        .map(|name| format!("<{name}>"))
                        .collect::<Vec<_>>()
                )
            ),
        };
        let message = format!(
            "`<{}>` may not stand in `<{}>`.{hint}",
            element.name(),
            parent.name()
        );
        let finding = strictly(
            codes::UNKNOWN_ELEMENT.at(element.name_range(), message),
            declared.strict,
        );
        match meant {
            Some(meant) => finding.fix(rename_element(element, meant.word, meant.trust)),
            None => finding,
        }
    }

    /// The names of elements that may hold an element of this name.
    fn homes(&self, name: &str) -> Vec<&str> {
        let elements = self.facts.dialect.elements().iter();
        let mut homes: Vec<&str> = elements
            .filter(|element| element.child(name).is_some())
            .map(|element| element.name.as_str())
            .collect();
        homes.dedup();
        homes
    }

    fn order(&mut self, declared: &ElementDecl, known: &[Located<'v>]) {
        if declared.order != Order::Listed {
            return;
        }
        let rank = |child: &Located<'v>| {
            declared
                .children
                .iter()
                .position(|rule| rule.name == child.element.local_name())
        };
        let mut furthest: Option<(usize, Element<'v>)> = None;
        for child in known {
            let Some(rank) = rank(child) else { continue };
            match furthest {
                Some((before, element)) if rank < before => {
                    let message = format!(
                        "`<{}>` must stand before `<{}>`.",
                        child.element.name(),
                        element.name()
                    );
                    let finding = codes::WRONG_ORDER
                        .at(child.element.name_range(), message)
                        .see(element.name_range(), "before this one");
                    self.findings.push(strictly(finding, declared.strict));
                }
                _ => furthest = Some((rank, child.element)),
            }
        }
    }

    fn counts(
        &mut self,
        element: Element<'v>,
        declared: &ElementDecl,
        known: &[Located<'v>],
        some_unknown: bool,
    ) {
        let mut by_name: HashMap<&str, Vec<Element<'v>>> = HashMap::new();
        for child in known {
            by_name
                .entry(child.element.local_name())
                .or_default()
                .push(child.element);
        }
        let is_closed = element.end_tag().is_some() || element.is_self_closing();
        for rule in &declared.children {
            let found = by_name
                .get(rule.name.as_str())
                .map_or(&[][..], Vec::as_slice);
            let max = rule.max.map_or(usize::MAX, |max| max as usize);
            for extra in found.iter().skip(max) {
                let message = match max {
                    1 => format!(
                        "There is a `<{}>` already: `<{}>` holds only one.",
                        rule.name,
                        element.name()
                    ),
                    _ => format!(
                        "`<{}>` holds at most {max} `<{}>`.",
                        element.name(),
                        rule.name
                    ),
                };
                let mut finding = codes::TOO_MANY.at(extra.name_range(), message);
                if let Some(first) = found.first().filter(|_| max > 0) {
                    finding = finding.see(first.name_range(), "the first one");
                }
                self.findings.push(strictly(finding, declared.strict));
            }
            // What is unknown may be what is missing, misspelled.
            if found.len() < rule.min as usize && is_closed && !some_unknown {
                let message = match (rule.min, found.len()) {
                    (1, _) => format!("`<{}>` needs a `<{}>` inside.", element.name(), rule.name),
                    (min, 0) => format!(
                        "`<{}>` needs {min} `<{}>` inside, there is none.",
                        element.name(),
                        rule.name
                    ),
                    (min, found) => format!(
                        "`<{}>` needs {min} `<{}>` inside, but there {} {found}.",
                        element.name(),
                        rule.name,
                        if found == 1 { "is" } else { "are" }
                    ),
                };
                self.findings.push(strictly(
                    codes::MISSING_CHILD.at(element.name_range(), message),
                    declared.strict,
                ));
            }
        }
    }
}

fn wrong_namespace(root: Element<'_>, has: &str, asked: &str) -> Finding {
    let declaration = match root.prefix() {
        Some(prefix) => format!("xmlns:{prefix}"),
        None => "xmlns".to_owned(),
    };
    let value = syntax::escape::attribute(asked, '"');
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

/// Namespace declarations, and attributes with a prefix: those are other people's notes.
fn is_foreign(attribute: Attribute<'_>) -> bool {
    attribute.name() == "xmlns" || attribute.prefix().is_some()
}

fn unknown_attribute(
    element: Element<'_>,
    attribute: Attribute<'_>,
    declared: &ElementDecl,
    meant: Option<suggest::Suggestion<'_>>,
) -> Finding {
    let names: Vec<&str> = declared
        .attributes
        .iter()
        .map(|known| known.name.as_str())
        .collect();
    let hint = match meant {
        Some(meant) => meant.question(),
        None if names.is_empty() => " It has none at all.".to_owned(),
        None => format!(" It can have {}.", one_of(&names)),
    };
    let message = format!(
        "`<{}>` has no attribute `{}`.{hint}",
        element.name(),
        attribute.name()
    );
    let finding = strictly(
        codes::UNKNOWN_ATTRIBUTE.at(attribute.name_range(), message),
        declared.strict,
    );
    finding.fix(match meant {
        Some(meant) => Fix {
            title: format!("Rename to `{}`", meant.word),
            trust: meant.trust,
            edits: vec![TextEdit::replace(attribute.name_range(), meant.word)],
        },
        None => Fix {
            title: format!("Remove `{}`", attribute.name()),
            trust: Trust::Review,
            edits: vec![TextEdit::delete(attribute.range())],
        },
    })
}

/// Renames both tags, and keeps the prefix.
fn rename_element(element: Element<'_>, name: &str, trust: Trust) -> Fix {
    let written = match element.prefix() {
        Some(prefix) => format!("{prefix}:{name}"),
        None => name.to_owned(),
    };
    let mut edits = vec![TextEdit::replace(element.name_range(), &*written)];
    if let Some(end) = element.end_tag().filter(|end| end.name() == element.name()) {
        edits.push(TextEdit::replace(end.name_range(), &*written));
    }
    Fix {
        title: format!("Rename to `<{written}>`"),
        trust,
        edits,
    }
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

fn what_for(declared: &AttributeDecl) -> String {
    match declared
        .doc
        .lines()
        .next()
        .map(str::trim)
        .filter(|doc| !doc.is_empty())
    {
        Some(doc) => format!(" {doc}"),
        None => String::new(),
    }
}

fn and_list(names: &[String]) -> String {
    match names.split_last() {
        Some((last, others)) if !others.is_empty() => format!("{} and {last}", others.join(", ")),
        _ => names.concat(),
    }
}
