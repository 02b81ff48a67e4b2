//! What is only a hint in the dialect, and was learnt from files.
//!
//! The files that it was learnt from are right whatever the dialect says, so a schema asks for no more than all of them
//! showed: where there were exceptions, for what even these keep.

use std::borrow::Cow;

use dialect::{AttributeDecl, ElementDecl, ItemType, Kept, Learnt, Order, ValueType};

/// A declaration as far as no example contradicts it.
pub(super) fn shown_by_all(declared: &ElementDecl) -> Cow<'_, ElementDecl> {
    let mut values = declared.attributes.iter().chain(&declared.text);
    if declared.strict && !values.any(|value| is_hint(declared, value)) {
        return Cow::Borrowed(declared);
    }
    let mut loosened = declared.clone();
    let record = declared.learnt.as_ref();
    if !declared.strict
        && let Some(record) = record.filter(|record| !record.exceptions.is_empty())
    {
        let kept = record.kept.as_ref();
        match kept.filter(|kept| names_the_same(kept, declared)) {
            Some(kept) => keep(&mut loosened, kept),
            None => loosen(&mut loosened),
        }
    }
    for value in loosened.attributes.iter_mut().chain(&mut loosened.text) {
        let is_hint = is_hint(declared, value);
        let Some(record) = value.learnt.as_ref().filter(|_| is_hint) else {
            continue;
        };
        // Where it is not told how often it could have been there, nothing contradicts it.
        value.required &= record.of <= record.seen;
        if !record.exceptions.is_empty() && record.besides.is_none() {
            value.value = any_text().value;
            value.default = None;
        }
    }
    Cow::Owned(loosened)
}

/// What a value may say besides what its type allows, since it was seen.
pub(super) fn besides<'d>(declared: &ElementDecl, value: &'d AttributeDecl) -> &'d [String] {
    let besides = exceptional(declared, value).and_then(|record| record.besides.as_deref());
    besides.unwrap_or_default()
}

/// Whether the names that a value gives are unique, and those that it refers to are given, in all examples.
pub(super) fn are_names_sound(declared: &ElementDecl, value: &AttributeDecl) -> bool {
    exceptional(declared, value).is_none()
}

/// The record of a value that not all examples keep.
fn exceptional<'d>(declared: &ElementDecl, value: &'d AttributeDecl) -> Option<&'d Learnt> {
    let record = value.learnt.as_ref().filter(|_| is_hint(declared, value));
    record.filter(|record| !record.exceptions.is_empty())
}

fn is_hint(declared: &ElementDecl, value: &AttributeDecl) -> bool {
    !value.strict || !declared.strict
}

/// Whether the record is about the children that are declared now: somebody may have changed these.
fn names_the_same(kept: &Kept, declared: &ElementDecl) -> bool {
    let is_kept = |name: &str| kept.children.iter().any(|rule| rule.name == name);
    let names = declared.children.iter().map(|rule| rule.name.as_str());
    kept.children.len() == declared.children.len() && names.into_iter().all(is_kept)
}

fn keep(declared: &mut ElementDecl, kept: &Kept) {
    declared.children = kept.children.clone().into();
    declared.choices = kept.choices.clone();
    declared.order = kept.order;
    if declared.text.is_none() && kept.text {
        declared.text = Some(any_text());
    }
}

fn loosen(declared: &mut ElementDecl) {
    declared.order = Order::Any;
    declared.choices.clear();
    for rule in &mut *declared.children {
        (rule.min, rule.max) = (0, None);
    }
    if declared.text.is_none() && !declared.children.is_empty() {
        declared.text = Some(any_text());
    }
}

/// Allows anything in an element and at its tag.
pub(super) fn open(declared: &mut ElementDecl) {
    loosen(declared);
    declared.open = true;
    declared.text = Some(any_text());
}

fn any_text() -> AttributeDecl {
    AttributeDecl {
        name: "text()".to_owned(),
        doc: String::new(),
        required: false,
        value: ValueType::single(ItemType::Text),
        usual: None,
        default: None,
        strict: true,
        learnt: None,
    }
}
