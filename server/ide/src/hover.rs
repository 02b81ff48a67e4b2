//! What a place means, for a person who points at it.

mod facts;
mod grammar;
mod motion;
mod node;
mod value;

pub(crate) use facts::{controls_of_input, facts};
pub(crate) use grammar::{attribute_doc, element_doc};
pub(crate) use node::node_facts;

use crate::{
    precedents,
    prose::{Line, Prose},
    spot::{chain, declaration, value_at},
};
use dialect::AttributeDecl;
use project::View;
use syntax::{Element, Place, TextRange, TextSize};

/// Text about a range of the document.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hover {
    pub range: TextRange,
    /// Never empty.
    pub text: Prose,
}

/// What can be said about the place at an offset.
pub fn hover(view: &View, offset: TextSize) -> Option<Hover> {
    let (range, text) = match view.tree().place_at(offset) {
        Place::ElementName { path, range } | Place::EndTagName { path, range } => {
            (range, of_element(view, &path)?)
        }
        Place::AttributeName {
            path,
            attribute: Some(attribute),
            range,
        } => {
            let chain = chain(view, &path)?;
            let declared = declaration(view, &chain)?.attribute(attribute.name())?;
            let doc = attribute_doc(view.dialect()?, declared);
            let usual = in_library(view, &path, Some(declared), false);
            (range, doc.item(usual))
        }
        Place::AttributeValue { .. } | Place::Content { .. } => {
            let spot = value_at(view, offset)?;
            let (range, text) = value::of_value(view, &spot, offset)?;
            let path: Vec<Element<'_>> = spot.chain.iter().map(|at| at.element).collect();
            let usual = in_library(view, &path, spot.declared, spot.attribute.is_none());
            (range, text.item(usual))
        }
        _ => return None,
    };
    (!text.is_empty() && !range.is_empty()).then_some(Hover { range, text })
}

fn of_element(view: &View, path: &[Element<'_>]) -> Option<Prose> {
    let chain = chain(view, path)?;
    let element = path.last()?;
    let declared = declaration(view, &chain);
    let doc = declared.map(|declared| element_doc(element.local_name(), declared));
    // Of an element that stands for its text, that is what others are asked for.
    let text = declared.and_then(|declared| declared.text.as_ref());
    let usual = precedents::spot(view, path).map(|spot| {
        let values = text.map(|text| precedents::values_line(&spot, None, &text.value.item));
        let values = values.filter(|values| !values.is_empty());
        values.unwrap_or_else(|| precedents::element_line(&spot))
    });
    let doc = doc.unwrap_or_default().item(usual.unwrap_or_default());
    Some(doc.then(facts(view, element.range())))
}

/// What the library usually has in an attribute, or as the text, of the last of `path`.
fn in_library(
    view: &View,
    path: &[Element<'_>],
    declared: Option<&AttributeDecl>,
    is_text: bool,
) -> Line {
    let (Some(spot), Some(declared)) = (precedents::spot(view, path), declared) else {
        return Line::new();
    };
    let attribute = (!is_text).then_some(declared.name.as_str());
    precedents::values_line(&spot, attribute, &declared.value.item)
}

#[cfg(test)]
mod tests;
