//! Which construct a value belongs to. A dialect may write the values of a
//! construct in attributes, or in small elements inside it.

use machine::{Definition, Machine, Use};
use project::View;
use std::collections::HashMap;
use syntax::{Element, TextRange};

/// The element that a value says something about: the one whose attribute it
/// is, or the parent of the one whose text it is. `element` carries the value.
pub(crate) fn owner(view: &View, element: TextRange, value: TextRange) -> Option<Element<'_>> {
    let path = view.tree().element_with_range(element)?;
    let own = *path.last()?;
    if own.start_tag_range().contains_range(value) {
        return Some(own);
    }
    path.iter().rev().nth(1).copied().or(Some(own))
}

/// The element that a definition names.
pub(crate) fn named_element(view: &View, given: &Definition) -> TextRange {
    let mut roles = view.machine().into_iter().flat_map(role_names);
    let role = roles
        .find(|(name, _)| *name == given.name.range)
        .map(|(_, element)| element);
    role.or_else(|| Some(owner(view, given.element, given.name.range)?.range()))
        .unwrap_or(given.element)
}

/// [`named_element`] for many definitions: looks at the roles only once.
pub(crate) fn named_elements(view: &View) -> impl Fn(&Definition) -> TextRange {
    let roles: HashMap<TextRange, TextRange> =
        view.machine().into_iter().flat_map(role_names).collect();
    move |given| {
        let role = roles.get(&given.name.range).copied();
        role.or_else(|| Some(owner(view, given.element, given.name.range)?.range()))
            .unwrap_or(given.element)
    }
}

/// Where the names of aliases, wheels, sounds and animations stand, and their elements.
fn role_names(machine: &Machine) -> impl Iterator<Item = (TextRange, TextRange)> {
    let aliases = machine
        .aliases
        .iter()
        .map(|alias| (&alias.name, alias.element));
    let wheels = machine
        .wheels
        .iter()
        .map(|wheel| (&wheel.name, wheel.element));
    let sounds = machine
        .sounds
        .iter()
        .map(|sound| (&sound.name, sound.element));
    let animations = machine
        .animations
        .iter()
        .map(|animation| (&animation.name, animation.element));
    let all = aliases.chain(wheels).chain(sounds).chain(animations);
    all.filter_map(|(name, element)| Some((name.as_ref()?.range, element)))
}

/// The name that belongs to an element, if it has one.
pub(crate) fn name_of<'v>(view: &'v View, element: TextRange) -> Option<&'v str> {
    let inside = view
        .machine()?
        .definitions
        .iter()
        .filter(|given| element.contains_range(given.name.range));
    let mut own = inside.filter(|given| named_element(view, given) == element);
    own.next().map(|given| given.name.value.as_str())
}

/// The uses that say something about an element: in its attributes, or as the
/// text of its children.
pub(crate) fn uses_in<'v>(view: &'v View, element: Element<'v>) -> impl Iterator<Item = &'v Use> {
    let children: HashMap<TextRange, Element<'v>> = element
        .children()
        .map(|child| (child.range(), child))
        .collect();
    let uses = view.machine().map_or(&[][..], |machine| &machine.uses);
    let (range, start_tag) = (element.range(), element.start_tag_range());
    let is_leaf = children.is_empty();
    uses.iter()
        .filter(move |used| match children.get(&used.element) {
            Some(child) => !child.start_tag_range().contains_range(used.range),
            None => used.element == range && (is_leaf || start_tag.contains_range(used.range)),
        })
}
