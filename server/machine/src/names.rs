//! Names given, names used and files named, as the grammar types them:
//! wherever an attribute or a text is declared as such, whatever its role.

use crate::{
    document::Reader,
    facts::Facts,
    found::Found,
    here::Here,
    model::{Definition, FileUse, NodeRef, NodeTarget, Spanned, Use, UseTarget},
};
use dialect::{ItemType, Kinds, NodePath};
use syntax::TextRange;

/// Notes the names and files that an element gives or uses.
pub(crate) fn collect(here: Here<'_, '_>, facts: &mut Facts) {
    let Some(declared) = here.declared else {
        return;
    };
    here.attributes.each_declared(|assigned, declared| {
        let item_type = &declared.value.item;
        let is_node = matches!(item_type, ItemType::Node { .. } | ItemType::IndexPath);
        if is_node && declared.value.is_single() {
            let element = here.at.element.range();
            here.with_node(assigned, |node| use_node(facts, item_type, node, element));
        } else if names_something(item_type)
            && let Some(found) = here.found(assigned)
        {
            add(here, facts, &found);
        }
    });
    if declared
        .text
        .as_ref()
        .is_some_and(|text| names_something(&text.value.item))
        && let Some(found) = here.reader.text_value(&here.at)
    {
        add(here, facts, &found);
    }
}

fn names_something(item: &ItemType) -> bool {
    matches!(
        item,
        ItemType::NameOf(_)
            | ItemType::Reference(_)
            | ItemType::PositionOf { .. }
            | ItemType::Node { .. }
            | ItemType::IndexPath
            | ItemType::File { .. }
            | ItemType::Input(_)
    )
}

fn add(here: Here<'_, '_>, facts: &mut Facts, found: &Found<'_>) {
    let item_type = &found.value_type().item;
    let element = here.at.element.range();
    for item in found.items(here.reader.dialect, None) {
        let name = || Spanned {
            value: item.text.into(),
            range: item.range,
        };
        let target = match item_type {
            ItemType::NameOf(kind) => {
                facts.definitions.push(Definition {
                    kind: *kind,
                    name: name(),
                    element,
                });
                continue;
            }
            ItemType::File { extensions } => {
                facts.files.push(FileUse {
                    name: name(),
                    extensions: extensions.clone(),
                    element,
                });
                continue;
            }
            ItemType::Reference(kinds) => UseTarget::Name {
                kinds: *kinds,
                name: item.text.into(),
                or_path: false,
                or_node: None,
            },
            ItemType::PositionOf { kind, first } => match item.text.parse::<i64>() {
                Ok(number) => UseTarget::Position {
                    kind: *kind,
                    index: number - i64::from(*first),
                },
                Err(_) => continue,
            },
            ItemType::Node { .. } | ItemType::IndexPath => {
                let node = node_item(here.reader, item_type, item.text, item.range);
                use_node(facts, item_type, &node, element);
                continue;
            }
            ItemType::Input(kind) => UseTarget::Input {
                kind: *kind,
                word: item.text.into(),
            },
            _ => continue,
        };
        facts.uses.push(Use {
            target,
            range: item.range,
            element,
        });
    }
}

/// Notes that an element asks for a node.
fn use_node(facts: &mut Facts, item_type: &ItemType, node: &NodeRef, element: TextRange) {
    let target = match &node.target {
        NodeTarget::Path(path) => UseTarget::Path(path.clone()),
        NodeTarget::Name { kinds, or_node } => UseTarget::Name {
            or_path: accepts_path(item_type),
            or_node: or_node.clone(),
            kinds: *kinds,
            name: node.text.clone(),
        },
        NodeTarget::Unreadable => return,
    };
    facts.uses.push(Use {
        target,
        range: node.range,
        element,
    });
}

fn accepts_path(item_type: &ItemType) -> bool {
    matches!(
        item_type,
        ItemType::IndexPath
            | ItemType::Node {
                index_path: true,
                ..
            }
    )
}

/// Reads a place where a node is asked for: what parses as an index path is one,
/// anything else a name.
pub(crate) fn node_ref(reader: &Reader<'_>, found: &Found<'_>) -> NodeRef {
    let undeclared;
    let item_type = match found.declared {
        Some(declared) => &declared.value.item,
        None => {
            undeclared = ItemType::Node {
                aliases: Kinds::default(),
                index_path: true,
                node_name: false,
            };
            &undeclared
        }
    };
    node_item(reader, item_type, &found.text, found.range)
}

/// The same for a member of a list.
pub(crate) fn node_item(
    reader: &Reader<'_>,
    item_type: &ItemType,
    text: &str,
    range: TextRange,
) -> NodeRef {
    NodeRef {
        text: text.into(),
        range,
        target: node_target(reader, item_type, text),
    }
}

fn node_target(reader: &Reader<'_>, item_type: &ItemType, text: &str) -> NodeTarget {
    let notation = &reader.dialect.notation;
    let (kinds, path, name) = match item_type {
        ItemType::Node {
            aliases,
            index_path,
            node_name,
        } => (Some(aliases), *index_path, *node_name),
        ItemType::Reference(kinds) => (Some(kinds), false, false),
        _ => (None, true, false),
    };
    let read = path.then(|| notation.index_path.read(text)).flatten();
    if let Some(path) = read {
        return NodeTarget::Path(NodePath::Positions(path));
    }
    if path && notation.index_path.looks_like(text) {
        return NodeTarget::Unreadable;
    }
    let names = name.then(|| notation.node_names.read(text)).flatten();
    let names = names.map(NodePath::Names);
    match (kinds.filter(|kinds| !kinds.is_empty()), names) {
        (None, Some(names)) => NodeTarget::Path(names),
        (None, None) => NodeTarget::Unreadable,
        (Some(kinds), names) => NodeTarget::Name {
            kinds: *kinds,
            or_node: names.map(Box::new),
        },
    }
}
