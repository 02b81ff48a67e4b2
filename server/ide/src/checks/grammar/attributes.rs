//! Attributes: those that are unknown, those that are missing, and what they say.

use dialect::{AttributeDecl, ElementDecl, Property};
use machine::{Assigned, is_foreign};
use syntax::{Attribute, Element, TextEdit, TextRange, TextSize};

use super::super::learnt;
use super::super::suggest::{self, Suggestion};
use super::super::values::{self, Written, one_of};
use super::Check;
use crate::{Finding, Fix, Trust, codes};

impl<'v> Check<'_, 'v> {
    /// Checks an element's own attributes. `property`: what it moves as a channel, or a channel around it.
    pub(in super::super) fn attributes(
        &mut self,
        element: Element<'v>,
        declared: &'v ElementDecl,
        property: Option<Property>,
    ) {
        if self.broken.is_garbled(element.range().start()) {
            return;
        }
        let mut attributes = std::mem::take(&mut self.tag);
        attributes.fill(element, Some(declared));
        let name = element.name();
        let mut unknown: Vec<Attribute<'v>> = Vec::new();
        for assigned in &attributes {
            let attribute = assigned.attribute;
            match assigned.declared {
                Some(declared) => self.attribute_value(name, assigned, declared, property),
                None if is_foreign(attribute) || declared.open => {}
                None if self.broken.touches(attribute.range()) => {}
                None => unknown.push(attribute),
            }
        }
        // Nearly always there is nothing more to say.
        let is_missing =
            |(slot, known): (usize, &AttributeDecl)| known.required && !attributes.has(slot);
        if !unknown.is_empty() || declared.attributes.iter().enumerate().any(is_missing) {
            let slots = 0..declared.attributes.len();
            let present = slots.map(|slot| attributes.has(slot)).collect();
            self.presence(element, declared, unknown, present);
        }
        self.tag = attributes;
    }

    /// Reports attributes that are not declared, and declared ones that are missing. `present`: by declared attribute,
    /// whether it is there.
    fn presence(
        &mut self,
        element: Element<'v>,
        declared: &ElementDecl,
        unknown: Vec<Attribute<'v>>,
        mut present: Vec<bool>,
    ) {
        for attribute in unknown {
            let free = declared
                .attributes
                .iter()
                .zip(&present)
                .filter(|(_, present)| !**present);
            let meant = suggest::of_few(
                attribute.name(),
                present.len(),
                free.map(|(known, _)| known.name.as_str()),
            );
            if let Some(meant) = meant {
                let known = declared
                    .attributes
                    .iter()
                    .position(|known| known.name == meant.word);
                known.into_iter().for_each(|known| present[known] = true);
                self.unread.push(attribute.range());
            }
            let before = self.end_of_what_is_before(attribute);
            let finding = unknown_attribute(element, attribute, before, declared, meant);
            self.findings.push(finding);
        }
        let absent = declared
            .attributes
            .iter()
            .zip(&present)
            .filter(|(_, present)| !**present);
        let missing: Vec<&AttributeDecl> = absent
            .map(|(known, _)| known)
            .filter(|known| known.required)
            .collect();
        // What is only learnt must not be an error because it is missing beside something else.
        let is_strict = |one: &&AttributeDecl| declared.strict && one.strict;
        let (strict, lenient): (Vec<_>, Vec<_>) = missing.into_iter().partition(is_strict);
        self.missing(element, &strict, true);
        for one in lenient {
            self.missing(element, &[one], false);
        }
    }

    fn missing(&mut self, element: Element<'v>, missing: &[&AttributeDecl], strict: bool) {
        let Some(first) = missing.first() else {
            return;
        };
        let names: Vec<String> = missing
            .iter()
            .map(|one| format!("`{}`", one.name))
            .collect();
        let message = match names.as_slice() {
            [only] => format!(
                "`<{}>` needs the attribute {only}.{}",
                element.name(),
                what_for(first)
            ),
            _ => format!(
                "`<{}>` needs the attributes {}.",
                element.name(),
                and_list(&names)
            ),
        };
        let finding = codes::MISSING_ATTRIBUTE.at(element.name_range(), message);
        self.findings
            .push(learnt::by_presence(finding, first, strict));
    }

    fn end_of_what_is_before(&self, attribute: Attribute<'_>) -> TextSize {
        let start = attribute.range().start();
        let before = self.site.text(TextRange::up_to(start));
        start - (TextSize::of(before) - TextSize::of(before.trim_end()))
    }

    fn attribute_value(
        &mut self,
        element: &str,
        assigned: &Assigned<'v>,
        declared: &AttributeDecl,
        property: Option<Property>,
    ) {
        let Some((value, range)) = &assigned.value else {
            return;
        };
        let whole = assigned.attribute.range();
        if self.broken.touches(whole) {
            return;
        }
        let written = Written {
            text: value,
            range: *range,
            whole,
            element,
        };
        self.findings.extend(values::check(
            self.site.dialect,
            declared,
            &written,
            property,
        ));
    }
}

/// `before`: where what stands before the attribute ends.
fn unknown_attribute(
    element: Element<'_>,
    attribute: Attribute<'_>,
    before: TextSize,
    declared: &ElementDecl,
    meant: Option<Suggestion<'_>>,
) -> Finding {
    let names: Vec<&str> = declared
        .attributes
        .iter()
        .map(|known| known.name.as_str())
        .collect();
    let hint = match meant {
        Some(meant) => meant.question(),
        None if names.is_empty() => " It has none at all.".to_owned(),
        None => format!(" It can have {}.", one_of(names.iter())),
    };
    let message = format!(
        "`<{}>` has no attribute `{}`.{hint}",
        element.name(),
        attribute.name()
    );
    let finding = learnt::by_element(
        codes::UNKNOWN_ATTRIBUTE.at(attribute.name_range(), message),
        declared,
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
            edits: vec![TextEdit::delete(TextRange::new(
                before,
                attribute.range().end(),
            ))],
        },
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
