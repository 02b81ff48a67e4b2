//! Words of controls on the wheels they carry.

use super::site::Site;
use crate::node_paths::node_text;
use crate::writer::{remove_elements, remove_items};
use dialect::{AttributeDecl, ItemType, Kind, Leaf, NodePath};
use machine::{Chain, Control, Found, NodeRef, NodeTarget};
use std::collections::HashMap;
use syntax::{Element, Item, TextEdit, TextRange, TextSize};

/// How wheels are written where a control names them.
pub(crate) fn wheel_words(
    site: &Site<'_>,
    wheels: &[usize],
    declared: Option<&AttributeDecl>,
) -> Result<Vec<String>, String> {
    let by_position = match declared.map(|declared| &declared.value.item) {
        Some(ItemType::PositionOf { first, .. }) => Some(*first as usize),
        _ => None,
    };
    let word = |at: &usize| match by_position {
        Some(first) => Ok((at + first).to_string()),
        None => {
            let wheel = site.machine.wheels.get(*at);
            let name = match declared.map(|declared| &declared.value.item) {
                Some(item) if site.dialect.roles.wheels_by_node(item) => {
                    wheel.and_then(|wheel| node_word(site, wheel.node.as_ref()?, item))
                }
                _ => wheel.and_then(|wheel| Some(wheel.name.as_ref()?.value.to_string())),
            };
            let name = name.map(|name| match declared {
                Some(declared) => declared.value.reference_to(&name),
                None => name,
            });
            name.ok_or_else(|| {
                let line = wheel.map_or(0, |wheel| site.line(wheel.element.start()));
                format!("the wheel on line {line} moves along but has no name by which the control could carry it")
            })
        }
    };
    wheels.iter().map(word).collect()
}

/// How a wheel's node is written where a control asks for it: as the wheel has it, or as the type demands.
fn node_word<'v>(site: &Site<'v>, node: &'v NodeRef, item: &ItemType) -> Option<String> {
    let (kinds, takes_names): (&[Kind], bool) = match item {
        ItemType::Reference(kinds) => (kinds, false),
        ItemType::Node {
            aliases, node_name, ..
        } => (aliases, *node_name),
        _ => (&[], false),
    };
    let is_as_it_is = match &node.target {
        NodeTarget::Name {
            kinds: own,
            or_node,
        } => own.iter().any(|kind| kinds.contains(kind)) && (or_node.is_none() || takes_names),
        NodeTarget::Path(NodePath::Names(_)) => takes_names,
        _ => false,
    };
    if is_as_it_is {
        return Some(node.text.to_string());
    }
    let path = site.path_of(node)?;
    if let Some(text) = node_text(site.dialect, site.scene, &path, Some(item)) {
        return Some(text);
    }
    let mut aliases = site.machine.aliases.iter();
    aliases.find_map(|alias| {
        let leads = site.path_of(alias.path.as_ref()?)? == path;
        leads.then(|| alias.name.as_ref().map(|name| name.value.to_string()))?
    })
}

/// The edits that take words on wheels out of a control.
pub(crate) fn drop_wheels(
    site: &Site<'_>,
    control: &Control,
    dropped: &[usize],
) -> Result<Vec<TextEdit>, String> {
    let words: Vec<TextRange> = control
        .wheels
        .iter()
        .filter(|word| {
            site.wheel(word)
                .is_some_and(|wheel| dropped.contains(&wheel))
        })
        .map(|word| word.range)
        .collect();
    if words.is_empty() {
        return Ok(Vec::new());
    }
    let role = site.dialect.roles.controls.get(control.role);
    let found = role.and_then(|role| {
        Some((
            site.locate(&[], &role.at, control.element)?,
            role.wheels.as_ref()?,
        ))
    });
    let Some((chain, path)) = found else {
        return Err(format!(
            "the control on line {} cannot be found again",
            site.line(control.element.start())
        ));
    };
    let mut edits = Vec::new();
    let mut emptied: Vec<Found<'_>> = Vec::new();
    for found in site.reader.values(&chain, path) {
        let all = found.members();
        let goes = |range: &&TextRange| words.iter().any(|word| range.contains_range(*word));
        let gone: Vec<TextRange> = all.iter().filter(goes).copied().collect();
        if gone.len() == all.len() {
            emptied.push(found);
        } else if !gone.is_empty() {
            edits.extend(remove_items(&all, &gone));
        }
    }
    edits.extend(drop_holders(site, &chain, &emptied, path.leaf())?);
    Ok(edits)
}

/// Takes out what held nothing but words that go.
fn drop_holders(
    site: &Site<'_>,
    control: &Chain<'_>,
    emptied: &[Found<'_>],
    leaf: &Leaf,
) -> Result<Vec<TextEdit>, String> {
    let Some(own) = control.last().map(|own| own.element) else {
        return Ok(Vec::new());
    };
    let mut edits = Vec::new();
    let mut elements: HashMap<TextSize, Element<'_>> = HashMap::new();
    for found in emptied {
        let holder = found.at.element;
        let says_more = match leaf {
            Leaf::Attribute(name) => {
                let others = holder.attributes().any(|attribute| {
                    attribute.name() != name && !attribute.name().starts_with("xmlns")
                });
                // Other attributes may single the word out, as in `[@kind='wheel']`: a child made for the word has no use without it.
                holder == own || (others && says_something_else(site, holder, name))
            }
            _ => holder == own,
        };
        if !says_more {
            elements.insert(holder.range().start(), holder);
            continue;
        }
        if found.declared.is_some_and(|declared| declared.required) {
            return Err(format!(
                "the control on line {} must name a wheel, but none moves with its animation any more",
                site.line(own.range().start())
            ));
        }
        match leaf {
            Leaf::Attribute(name) => edits.extend(
                holder
                    .attribute(name)
                    .map(|attribute| without_attribute(site, attribute.range())),
            ),
            Leaf::Text | Leaf::Element => edits.push(TextEdit::delete(found.range)),
        }
    }
    add_emptied(site, own, &mut elements);
    if let Some(edit) = emptied_as_a_whole(site, own, &elements) {
        return Ok(vec![edit]);
    }
    let ranges: Vec<TextRange> = elements.values().map(|element| element.range()).collect();
    edits.extend(remove_elements(site.text(), &ranges));
    Ok(edits)
}

/// Adds the elements in a control that hold nothing but such that go.
fn add_emptied<'v>(
    site: &Site<'v>,
    control: Element<'v>,
    gone: &mut HashMap<TextSize, Element<'v>>,
) {
    let tree = site.view.tree();
    let mut above: Vec<Element<'_>> = Vec::new();
    for element in gone.values() {
        let path = tree.element_with_range(element.range()).unwrap_or_default();
        let inside = path.into_iter().filter(|around| {
            control.range().contains_range(around.range())
                && *around != control
                && around != element
        });
        above.extend(inside);
    }
    // Innermost first.
    above.sort_by_key(|element| std::cmp::Reverse(element.range().start()));
    for element in above {
        let is_bare = element.attributes().next().is_none() && !machine::has_text(element);
        let mut children = element.children();
        if is_bare && children.all(|child| gone.contains_key(&child.range().start())) {
            gone.insert(element.range().start(), element);
        }
    }
}

/// A control that is left with nothing in it is closed in its start tag, as new ones are.
fn emptied_as_a_whole(
    site: &Site<'_>,
    own: Element<'_>,
    gone: &HashMap<TextSize, Element<'_>>,
) -> Option<TextEdit> {
    let goes = |item: Item<'_>| match item {
        Item::Element(child) => gone.contains_key(&child.range().start()),
        Item::Text(text) => text.text().trim().is_empty(),
        _ => false,
    };
    let is_emptied = !gone.is_empty() && own.items().all(goes);
    is_emptied.then(|| {
        let end = own.start_tag_range().end() - TextSize::of('>');
        let rest = TextRange::new(end, own.range().end());
        TextEdit::replace(rest, site.style.self_closing_end)
    })
}

/// Whether an element has attributes that name or point at something besides
/// the one of this name.
fn says_something_else(site: &Site<'_>, element: Element<'_>, name: &str) -> bool {
    let own = element
        .attribute(name)
        .and_then(|attribute| attribute.value_range());
    let inside = |range: TextRange| {
        element.start_tag_range().contains_range(range)
            && own.is_none_or(|own| !own.contains_range(range))
    };
    site.machine.uses.iter().any(|used| inside(used.range))
        || site
            .machine
            .definitions
            .iter()
            .any(|definition| inside(definition.name.range))
}

/// Takes an attribute out, with the white space before it.
fn without_attribute(site: &Site<'_>, attribute: TextRange) -> TextEdit {
    let before = site
        .text()
        .get(..usize::from(attribute.start()))
        .unwrap_or_default();
    let start = TextSize::of(before.trim_end());
    TextEdit::delete(TextRange::new(start, attribute.end()))
}
