//! The attributes that a tag takes, shown while it is typed, with the one that is at hand.

use std::ops::Range;

use dialect::AttributeDecl;
use project::View;
use syntax::{Attribute, Element, Place, TextSize};

use crate::hover::attribute_doc;
use crate::prose::Prose;
use crate::spot::{chain, declaration};

/// A tag in one line, such as `<alias name path [note]>`; brackets are around what may be left out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Signature {
    pub label: String,
    /// What the element is for.
    pub doc: Prose,
    /// One for each attribute that the dialect knows, in its order; never empty.
    pub attributes: Vec<Parameter>,
    /// The attribute that is being written, or the one to write next; none if nothing is left, or if what is being written
    /// is not known.
    pub active: Option<usize>,
}

/// An attribute in a [`Signature`].
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Parameter {
    /// Its name in the label, in bytes.
    pub range: Range<usize>,
    pub doc: Prose,
}

/// What the tag at an offset takes. Nothing in the name of the element, outside of tags, and where the dialect knows no
/// attributes.
pub fn signature(view: &View, offset: TextSize) -> Option<Signature> {
    let (path, at_hand) = match view.tree().place_at(offset) {
        Place::AttributeName {
            path, attribute, ..
        } => (path, attribute),
        Place::AttributeValue {
            path, attribute, ..
        } => (path, Some(attribute)),
        _ => return None,
    };
    let dialect = view.dialect()?;
    let declared = declaration(view, &chain(view, &path)?)?;
    let element = path.last()?;
    let known = &declared.attributes;
    if known.is_empty() {
        return None;
    }
    let mut label = format!("<{}", element.name());
    let mut attributes = Vec::with_capacity(known.len());
    for one in known {
        let (before, after) = if one.required { (" ", "") } else { (" [", "]") };
        label.push_str(before);
        let start = label.len();
        label.push_str(&one.name);
        attributes.push(Parameter {
            range: start..label.len(),
            doc: attribute_doc(dialect, one),
        });
        label.push_str(after);
    }
    label.push('>');
    Some(Signature {
        label,
        doc: Prose::new().doc(&declared.doc),
        attributes,
        active: active(known, element, at_hand),
    })
}

fn active(
    known: &[AttributeDecl],
    element: &Element<'_>,
    at_hand: Option<Attribute<'_>>,
) -> Option<usize> {
    if let Some(attribute) = at_hand {
        let written = attribute.name();
        let exact = known.iter().position(|one| one.name == written);
        // While a name is typed, the first that it may become.
        let becoming = || {
            let begun = |one: &AttributeDecl| {
                one.name.starts_with(written) && element.attribute(&one.name).is_none()
            };
            known.iter().position(begun)
        };
        return exact.or_else(becoming);
    }
    let is_missing = |one: &AttributeDecl| element.attribute(&one.name).is_none();
    let required = known.iter().position(|one| one.required && is_missing(one));
    required.or_else(|| known.iter().position(is_missing))
}

#[cfg(test)]
mod tests;
