//! Elements with one part put in another one's place.

use rowan::{GreenNode, GreenNodeData, NodeOrToken};

use crate::Element;
use crate::kind::Kind;
use crate::parser::childless;
use crate::wide::Green;

pub(super) fn with_content(element: &GreenNodeData, content: Option<GreenNode>) -> GreenNode {
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
    GreenNode::new(Kind::Element.raw(), parts)
}

/// Another start tag, closed in the same way.
pub(super) fn with_start_tag(element: Element<'_>, tag: Green) -> Option<Green> {
    match element.green {
        NodeOrToken::Node(node) if !element.is_self_closing() => {
            (node.children().len() > 0).then(|| node.replace_child(0, tag).into())
        }
        _ => Some(childless(tag)),
    }
}
