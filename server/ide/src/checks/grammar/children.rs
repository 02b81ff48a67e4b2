//! Children: those that may not stand here, those that are too many or missing, and their order.

use std::collections::HashMap;

use dialect::{ElementDecl, Order};
use machine::Located;
use syntax::{Element, TextEdit};

use super::super::values::{one_of, strictly};
use super::Check;
use crate::{Finding, Fix, Trust, codes};

impl<'v> Check<'_, 'v> {
    /// The children that may stand here; the others are reported.
    pub(super) fn known_children(
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
        let meant = self.budget.nearest(name, names.len(), names.clone());
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
                " It belongs in {}.",
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
        if !self.budget.take(self.facts.dialect.elements().len()) {
            return Vec::new();
        }
        let elements = self.facts.dialect.elements().iter();
        let mut homes: Vec<&str> = elements
            .filter(|element| element.child(name).is_some())
            .map(|element| element.name.as_str())
            .collect();
        homes.dedup();
        homes
    }

    pub(super) fn order(&mut self, declared: &ElementDecl, known: &[Located<'v>]) {
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

    pub(super) fn counts(
        &mut self,
        element: Element<'v>,
        declared: &ElementDecl,
        known: &[Located<'v>],
        some_unknown: bool,
    ) {
        if declared.children.is_empty() {
            return;
        }
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

/// Renames both tags, and keeps the prefix.
pub(super) fn rename_element(element: Element<'_>, name: &str, trust: Trust) -> Fix {
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
