//! Attributes: those that are unknown, those that are missing, and what they say.

use dialect::{AttributeDecl, ElementDecl, Property};
use machine::{Assigned, is_foreign};
use syntax::{Attribute, Element, TextEdit, TextRange, TextSize};

use super::super::learnt;
use super::super::suggest::{self, Suggestion};
use super::super::values::{self, Written, one_of};
use super::Check;
use crate::{Finding, Fix, Trust, codes};

/// In bytes: white space before an attribute goes with it up to this.
const MOST_BLANK: TextSize = TextSize::new(1 << 10);

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
            self.presence(element, declared, property, unknown, present);
        }
        self.tag = attributes;
    }

    /// Reports attributes that are not declared, and declared ones that are missing. `present`: by declared attribute,
    /// whether it is there.
    fn presence(
        &mut self,
        element: Element<'v>,
        declared: &ElementDecl,
        property: Option<Property>,
        unknown: Vec<Attribute<'v>>,
        mut present: Vec<bool>,
    ) {
        let mut stand_ins = Vec::with_capacity(unknown.len());
        for attribute in unknown {
            let free = declared.attributes.iter().zip(&present);
            let free = free.filter(|(_, present)| !**present);
            let free = free.map(|(known, _)| known.name.as_str());
            let meant = suggest::of_few(attribute.name(), present.len(), free);
            note_present(declared, &mut present, meant);
            stand_ins.push((attribute, meant));
        }
        if let Some(alone) = self.stand_in(declared, property, &present, &stand_ins) {
            note_present(declared, &mut present, Some(alone));
            let without = stand_ins.iter_mut().find(|(_, meant)| meant.is_none());
            without
                .into_iter()
                .for_each(|(_, meant)| *meant = Some(alone));
        }
        for (attribute, meant) in stand_ins {
            if meant.is_some() {
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

    /// What the only unknown attribute that is like none may stand for: the only one that must be there and is not, if its
    /// value would be right for it. That is one mistake and not two.
    fn stand_in<'d>(
        &self,
        declared: &'d ElementDecl,
        property: Option<Property>,
        present: &[bool],
        unknown: &[(Attribute<'v>, Option<Suggestion<'d>>)],
    ) -> Option<Suggestion<'d>> {
        let attribute = only(unknown.iter().filter(|(_, meant)| meant.is_none()))?.0;
        let known = declared.attributes.iter().zip(present);
        let missing = only(known.filter(|(known, present)| known.required && !**present))?.0;
        let dialect = self.site.dialect;
        let fits = dialect.fits(&missing.value, &attribute.value(), property);
        fits.then_some(Suggestion {
            word: &missing.name,
            trust: Trust::Review,
        })
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
        let from = start.checked_sub(MOST_BLANK).unwrap_or_default();
        let before = self.site.text(TextRange::new(from, start));
        start - (TextSize::of(&*before) - TextSize::of(before.trim_end()))
    }

    fn attribute_value(
        &mut self,
        element: &str,
        assigned: &Assigned<'v>,
        declared: &AttributeDecl,
        property: Option<Property>,
    ) {
        let Some((value, range)) = assigned.value_and_range() else {
            return;
        };
        let whole = assigned.attribute.range();
        if self.broken.touches(whole) {
            return;
        }
        let written = Written {
            text: value,
            range,
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

fn only<T>(mut all: impl Iterator<Item = T>) -> Option<T> {
    let first = all.next();
    first.filter(|_| all.next().is_none())
}

/// Counts what is meant as there.
fn note_present(declared: &ElementDecl, present: &mut [bool], meant: Option<Suggestion<'_>>) {
    let is_meant = |known: &AttributeDecl| meant.is_some_and(|meant| meant.word == known.name);
    if let Some(at) = declared.attributes.iter().position(is_meant) {
        present[at] = true;
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
        Some(meant) if suggest::nearest(attribute.name(), [meant.word]).is_none() => {
            format!(" Did you mean `{}`, which is missing?", meant.word)
        }
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
