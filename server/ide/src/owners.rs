//! Which construct a value belongs to. A dialect may write the values of a
//! construct in attributes, or in small elements inside it.

use foldhash::HashMap;
use machine::{Definition, Use};
use project::View;
use syntax::{Element, TextRange};

/// The element that a value says something about. `element` carries the value,
/// itself or in a child; where the value is its own text and it plays no role
/// itself, it is the parent.
pub(crate) fn owner(view: &View, element: TextRange, value: TextRange) -> Option<Element<'_>> {
    let path = view.tree().element_with_range(element)?;
    let own = *path.last()?;
    let is_text = !own.start_tag_range().contains_range(value)
        && !own
            .children()
            .any(|child| child.range().contains_range(value));
    let parent = path.iter().rev().nth(1).copied().filter(|_| is_text);
    let plays_a_role = || {
        let meaning = view.meaning.as_ref();
        meaning.is_some_and(|meaning| meaning.outline.plays_a_role(element))
    };
    parent.filter(|_| !plays_a_role()).or(Some(own))
}

/// The element that a definition names.
pub(crate) fn named_element(view: &View, given: &Definition) -> TextRange {
    let owner = owner(view, given.element, given.name.range);
    owner.map_or(given.element, |owner| owner.range())
}

/// The name that belongs to an element, if it has one.
pub(crate) fn name_of(view: &View, element: TextRange) -> Option<String> {
    let inside = view.meaning.as_ref()?.outline.definitions_in(element);
    let mut own = inside.into_iter();
    let own = own.find(|given| named_element(view, given) == element);
    own.map(|given| given.name.value.to_string())
}

/// The uses that say something about an element: in its attributes, or as the
/// text of its children.
pub(crate) fn uses_in(view: &View, element: Element<'_>) -> Vec<Use> {
    let children: HashMap<TextRange, Element<'_>> = element
        .children()
        .map(|child| (child.range(), child))
        .collect();
    let (range, start_tag) = (element.range(), element.start_tag_range());
    let is_leaf = children.is_empty();
    let says_of_it = |used: &Use| match children.get(&used.element) {
        Some(child) => !child.start_tag_range().contains_range(used.range),
        None => used.element == range && (is_leaf || start_tag.contains_range(used.range)),
    };
    let Some(meaning) = &view.meaning else {
        return Vec::new();
    };
    let near = meaning.outline.near(range);
    let uses = near.flat_map(|entry| entry.facts.uses.iter().map(|used| entry.placed(used)));
    uses.filter(says_of_it).collect()
}
