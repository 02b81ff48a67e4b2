//! Elements with one part put in another one's place.

use rowan::{GreenNode, GreenNodeData};

use crate::Element;
use crate::kind::Kind;
use crate::parser::childless;
use crate::text_element;
use crate::wide::Green;

pub(super) fn with_content(element: &GreenNodeData, content: Option<GreenNode>) -> Green {
    let start_tag = element.children().next().map(|tag| tag.to_owned());
    let end_tag = element
        .children()
        .last()
        .filter(|last| Kind::of(last.kind()) == Kind::EndTag);
    let end_tag = end_tag.map(|tag| tag.to_owned());
    let parts: Vec<Green> = start_tag
        .into_iter()
        .chain(content.map(Green::from))
        .chain(end_tag)
        .collect();
    text_element::joined(GreenNode::new(Kind::Element.raw(), parts))
}

/// Another start tag, closed in the same way.
pub(super) fn with_start_tag(element: Element<'_>, tag: Green) -> Option<Green> {
    match text_element::in_parts(element.green.to_owned()) {
        Some(node) if !element.is_self_closing() => {
            (node.children().len() > 0).then(|| text_element::joined(node.replace_child(0, tag)))
        }
        _ => Some(childless(tag)),
    }
}
