//! The two names of an element, which change together.

use project::View;
use syntax::{Place, Source, TextRange, TextSize};

/// The names in the start tag and the end tag, where the caret is in one of
/// them and they are the same.
pub fn linked_editing(view: &View, offset: TextSize) -> Option<[TextRange; 2]> {
    let name = |range| view.document.slice(range);
    match tag_names(view, offset)[..] {
        [start, end] if name(start) == name(end) => Some([start, end]),
        _ => None,
    }
}

/// The name of the tag at an offset, and that of its other tag if there is one.
pub(crate) fn tag_names(view: &View, offset: TextSize) -> Vec<TextRange> {
    let (Place::ElementName { path, range } | Place::EndTagName { path, range }) =
        view.tree().place_at(offset)
    else {
        return Vec::new();
    };
    let Some(element) = path.last().filter(|_| !range.is_empty()) else {
        return Vec::new();
    };
    let end = element.end_tag().map(|tag| tag.name_range());
    let names = [Some(element.name_range()), end];
    let names: Vec<TextRange> = names
        .into_iter()
        .flatten()
        .filter(|name| !name.is_empty())
        .collect();
    // A stray end tag stands in an element that it does not close.
    if names.contains(&range) {
        names
    } else {
        vec![range]
    }
}

#[cfg(test)]
mod tests;
