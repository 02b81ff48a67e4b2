//! A new construct on its way to what is usual.

use super::examples::DEEPEST;
use crate::{
    assists::site::Site,
    writer::{Names, NewAttribute, NewElement, NewItem},
};
use dialect::{AttributeDecl, ItemType};
use learn::pattern::{ChildPattern, Form, Pattern, Slot, ValuePattern};

/// Writes what others write besides.
pub(super) struct Filling<'f, 'v> {
    pub(super) site: &'f Site<'v>,
    /// What the construct is made of; first what it is called, or the name of what it is for.
    pub(super) bound: Vec<Option<String>>,
    /// Where the player's label stands: where labels differ, it is written by other means.
    pub(super) label: Option<(Vec<&'f str>, Slot)>,
    /// What differs is left to fill in; else it is left out.
    pub(super) leaves_places: bool,
    pub(super) names: &'f mut Names,
}

impl Filling<'_, '_> {
    /// `trail`: the names from the construct down to this element.
    pub(super) fn fill(
        &mut self,
        element: &mut NewElement,
        pattern: &Pattern,
        trail: &mut Vec<String>,
    ) {
        element.habit = pattern.order();
        let usual = pattern
            .values
            .iter()
            .filter(|value| pattern.is_usual(value.seen));
        for value in usual {
            self.value(element, value, trail);
        }
        if trail.len() < DEEPEST {
            for child in &pattern.children {
                self.child(element, pattern, child, trail);
            }
        }
    }

    fn value(&mut self, element: &mut NewElement, pattern: &ValuePattern, trail: &[String]) {
        let declared = self.site.dialect.element(element.context);
        let is_open = declared.is_none_or(|declared| declared.open);
        let (is_there, declared) = match &pattern.slot {
            Some(name) => (
                element.attribute(name).is_some(),
                declared.and_then(|declared| declared.attribute(name)),
            ),
            None => (
                !element.content.is_empty(),
                declared.and_then(|declared| declared.text.as_ref()),
            ),
        };
        if is_there || (declared.is_none() && !is_open) {
            return;
        }
        let (text, is_guess) = match &pattern.form {
            Form::Bound => return,
            Form::Usual(text) => (text.clone(), false),
            Form::Tied { to, before, after } => match self.bound.get(*to) {
                Some(Some(own)) => (format!("{before}{own}{after}"), false),
                _ => return,
            },
            Form::Differs(_) if self.is_label(trail, &pattern.slot) => return,
            Form::Differs(_) if !self.leaves_places => return,
            Form::Differs(text) => (text.clone(), true),
        };
        // What the index did not keep is unknown.
        if text == learn::Corpus::LEFT_OUT {
            return;
        }
        let is_tied = matches!(pattern.form, Form::Tied { .. });
        let Some(text) = self.fitting(declared, text, is_tied) else {
            return;
        };
        match &pattern.slot {
            Some(name) => element.set_attribute(NewAttribute {
                is_guess,
                ..NewAttribute::new(name, text)
            }),
            None => element.set_text(text, is_guess),
        }
    }

    fn is_label(&self, trail: &[String], slot: &Slot) -> bool {
        let label = self.label.as_ref();
        label.is_some_and(|(steps, own)| steps.iter().eq(trail.iter()) && own == slot)
    }

    /// A value as it can stand on this machine. What others call their things says nothing here.
    fn fitting(
        &mut self,
        declared: Option<&AttributeDecl>,
        text: String,
        is_tied: bool,
    ) -> Option<String> {
        let Some(declared) = declared else {
            return Some(text);
        };
        match &declared.value.item {
            ItemType::NameOf(kind) => is_tied.then(|| self.names.take(kind, &text)),
            ItemType::Reference(kinds) => {
                let is_known = self.site.machine.definition(kinds, &text).is_some();
                let is_new = self.bound.first().and_then(Option::as_ref) == Some(&text);
                (is_known || is_new).then_some(text)
            }
            ItemType::Node { .. }
            | ItemType::IndexPath
            | ItemType::PositionOf { .. }
            | ItemType::Input(_)
            | ItemType::File { .. } => None,
            _ => {
                let problems = self.site.dialect.check_value(&declared.value, &text, None);
                problems.is_empty().then_some(text)
            }
        }
    }

    fn child(
        &mut self,
        element: &mut NewElement,
        around: &Pattern,
        child: &ChildPattern,
        trail: &mut Vec<String>,
    ) {
        let name = &child.pattern.name;
        trail.push(name.clone());
        let mut is_there = false;
        for item in &mut element.content {
            match item {
                NewItem::Element(own) if own.name == *name => {
                    is_there = true;
                    self.fill(own, &child.pattern, trail);
                }
                NewItem::Source { name: own, .. } => is_there |= own == name,
                _ => {}
            }
        }
        let declared = self.site.dialect.element(element.context);
        let may_be =
            declared.is_none_or(|declared| declared.open || declared.child(name).is_some());
        // What the role reads is there already if it is to be there.
        if !is_there && may_be && around.is_usual(child.seen) && !child.pattern.is_bound() {
            let mut new = NewElement::child_of(element, name, &[], self.site.dialect);
            self.fill(&mut new, &child.pattern, trail);
            if self.is_whole(&new) {
                element.content.push(NewItem::Element(new));
            }
        }
        trail.pop();
    }

    /// Whether a new child has all that it must have, or it will be found without a guess.
    fn is_whole(&self, element: &NewElement) -> bool {
        let Some(declared) = self.site.dialect.element(element.context) else {
            return true;
        };
        let is_found = |declared: &AttributeDecl| {
            let is_name = matches!(declared.value.item, ItemType::NameOf(_));
            !declared.required || declared.usual.is_some() || declared.default.is_some() || is_name
        };
        let mut attributes = declared.attributes.iter();
        let text = declared.text.as_ref();
        attributes.all(|it| element.attribute(&it.name).is_some() || is_found(it))
            && text.is_none_or(|text| !element.content.is_empty() || is_found(text))
    }
}
