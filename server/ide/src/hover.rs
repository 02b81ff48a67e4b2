//! What a place means, for a person who points at it.

mod facts;
mod grammar;
mod node;
mod value;

pub(crate) use facts::{controls_of_input, facts};
pub(crate) use grammar::{attribute_doc, element_doc};
pub(crate) use node::node_facts;

use crate::{
    prose::Prose,
    spot::{chain, declaration, value_at},
};
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
            (range, attribute_doc(view.dialect()?, declared))
        }
        Place::AttributeValue { .. } | Place::Content { .. } => {
            value::of_value(view, &value_at(view, offset)?, offset)?
        }
        _ => return None,
    };
    (!text.is_empty() && !range.is_empty()).then_some(Hover { range, text })
}

fn of_element(view: &View, path: &[Element<'_>]) -> Option<Prose> {
    let chain = chain(view, path)?;
    let element = path.last()?;
    let doc = declaration(view, &chain).map(|declared| element_doc(element.local_name(), declared));
    Some(doc.unwrap_or_default().then(facts(view, element.range())))
}

#[cfg(test)]
mod tests;
