//! Elements with one part put in another one's place.

use rowan::{GreenNode, GreenNodeData};

use crate::kind::Kind;
use crate::wide::Green;

pub(super) fn with_content(element: &GreenNodeData, content: Option<GreenNode>) -> GreenNode {
    let start_tag = element.children().next().map(|tag| tag.to_owned());
    let end_tag = element
        .children()
        .last()
        .filter(|last| last.as_token().is_some());
    let end_tag = end_tag.map(|tag| tag.to_owned());
    let parts: Vec<Green> = start_tag
        .into_iter()
        .chain(content.map(Green::from))
        .chain(end_tag)
        .collect();
    GreenNode::new(Kind::Element.raw(), parts)
}

pub(super) fn with_start_tag(element: &GreenNodeData, tag: Green) -> Option<GreenNode> {
    (element.children().len() > 0).then(|| element.replace_child(0, tag))
}
