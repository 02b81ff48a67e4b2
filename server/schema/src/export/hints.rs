//! What is only a hint in the dialect, and was learnt from files.
//!
//! The files that it was learnt from are right whatever the dialect says, so a schema asks for no more than all of them
//! showed: where there were exceptions, it is loosened.

use std::borrow::Cow;

use dialect::{AttributeDecl, ElementDecl, ItemType, Order, ValueType};

/// A declaration as far as no example contradicts it.
pub(super) fn shown_by_all(declared: &ElementDecl) -> Cow<'_, ElementDecl> {
    let is_hint = |value: &AttributeDecl| !value.strict || !declared.strict;
    let mut values = declared.attributes.iter().chain(&declared.text);
    if declared.strict && !values.any(is_hint) {
        return Cow::Borrowed(declared);
    }
    let mut loosened = declared.clone();
    let record = declared.learnt.as_ref();
    if !declared.strict && record.is_some_and(|record| !record.exceptions.is_empty()) {
        loosened.order = Order::Any;
        loosened.choices.clear();
        for rule in &mut loosened.children {
            (rule.min, rule.max) = (0, None);
        }
        if loosened.text.is_none() && !loosened.children.is_empty() {
            loosened.text = Some(any_text());
        }
    }
    for value in loosened.attributes.iter_mut().chain(&mut loosened.text) {
        let Some(record) = value.learnt.as_ref().filter(|_| is_hint(value)) else {
            continue;
        };
        // Where it is not told how often it could have been there, nothing contradicts it.
        value.required &= record.of <= record.seen;
        if !record.exceptions.is_empty() {
            value.value = any_text().value;
            value.default = None;
        }
    }
    Cow::Owned(loosened)
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
