//! Elements that lack their end tag.

use syntax::{Element, TextSize};

/// Whether an element has no end tag of its own name and needs one.
pub(crate) fn is_open(element: &Element<'_>) -> bool {
    let has_end = element
        .end_tag()
        .is_some_and(|tag| tag.name() == element.name());
    !has_end && !element.is_self_closing() && !element.name().is_empty()
}

/// The elements in which a strict reader would still be at an offset although
/// the tree, which is lenient, ends them earlier: open children of the last of
/// `path`, and so on inwards. Outermost first.
pub(crate) fn left_open<'t>(path: &[Element<'t>], offset: TextSize) -> Vec<Element<'t>> {
    let mut found = Vec::new();
    let mut around = path.last().copied();
    while let Some(element) = around {
        let before = element
            .children()
            .take_while(|child| child.range().start() < offset);
        around = before
            .filter(|child| is_open(child) && child.is_start_tag_closed())
            .last();
        found.extend(around);
    }
    found
}
