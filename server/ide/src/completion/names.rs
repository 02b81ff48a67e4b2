//! Names: those that the document gives, and good ones for new things.

use super::{
    About, CompletionItem, CompletionKind,
    values::{Proposals, Wanted},
};
use crate::{hover::facts, nodes::Nodes, occurrences::all_of, owners::uses_in};
use dialect::Kind;
use std::collections::HashSet;
use syntax::TextRange;

/// Names of these kinds, those that the neighbours do not use yet first.
pub(super) fn known(wanted: &Wanted<'_, '_>, kinds: &[Kind], list: &mut Proposals) {
    let Some(meaning) = &wanted.view.meaning else {
        return;
    };
    let neighbours = used_by_neighbours(wanted);
    let is_used = |name: &str| neighbours.contains(name);
    let given = || {
        let all = meaning.outline.all(|facts| &facts.definitions);
        let all = all.map(|(_, given)| given);
        all.filter(|given| kinds.contains(&given.kind))
    };
    let mut given = list.first_that_hold(wanted.typed, given, |given| &given.name.value);
    given.sort_by_key(|given| is_used(&given.name.value));
    list.items.extend(given.into_iter().map(|given| {
        let name = &*given.name.value;
        let about = About::Name {
            kind: given.kind.to_string(),
            name: name.to_owned(),
        };
        CompletionItem::new(CompletionKind::Name, name, name)
            .detail(given.kind.as_str())
            .about(about)
    }));
}

/// What the same kind of place says in the constructs of the same name beside this one.
fn used_by_neighbours(wanted: &Wanted<'_, '_>) -> HashSet<String> {
    let spot = wanted.spot;
    let depth = spot
        .chain
        .iter()
        .position(|located| located.element == spot.owner);
    let around = depth.and_then(|depth| spot.chain.get(depth.checked_sub(1)?));
    let neighbours = around
        .into_iter()
        .flat_map(|parent| parent.element.children());
    neighbours
        .filter(|other| *other != spot.owner && other.name() == spot.owner.name())
        .flat_map(|other| match spot.attribute {
            Some(attribute) => {
                let value = other.attribute(attribute.name());
                value
                    .map(|value| value.value().into_owned())
                    .into_iter()
                    .collect::<Vec<_>>()
            }
            None => {
                let same = other
                    .children()
                    .filter(|child| child.name() == spot.element.name());
                same.map(|child| child.text().trim().to_owned()).collect()
            }
        })
        .collect()
}

/// For a thing that gets a name here: the name of the scene node it is about,
/// unless that name is taken.
pub(super) fn new_names(wanted: &Wanted<'_, '_>, kind: &Kind, list: &mut Proposals) {
    let Some(nodes) = Nodes::of(wanted.view) else {
        return;
    };
    let owner = wanted.spot.owner;
    let uses = uses_in(wanted.view, owner);
    for id in uses.iter().filter_map(|used| nodes.of_use(used)) {
        let name = &*nodes.scene[id].name;
        let mut all = nodes.outline.all(|facts| &facts.definitions);
        let is_taken = all.any(|(entry, given)| {
            given.kind == *kind
                && *given.name.value == *name
                && !owner
                    .range()
                    .contains_range(given.name.range + entry.start())
        });
        if !name.is_empty() && !is_taken {
            let item =
                CompletionItem::new(CompletionKind::Name, name, name).detail("name of the node");
            list.add(item.about(About::Node(nodes.scene.index_path(id))));
        }
    }
}

/// Positions of the things of a kind, with the names they or their nodes have.
pub(super) fn positions(wanted: &Wanted<'_, '_>, kind: &Kind, first: u32, list: &mut Proposals) {
    let nodes = Nodes::of(wanted.view);
    for (at, (element, name)) in all_of(wanted.view, kind).into_iter().enumerate() {
        let position = (at as u64 + u64::from(first)).to_string();
        let node = nodes.as_ref().and_then(|nodes| node_name(nodes, element));
        let name = name.map(|name| &*name.value).or(node).unwrap_or_default();
        list.items.push(
            CompletionItem::new(CompletionKind::Value, &position, position.as_str())
                .detail(format!("{kind} {name}").trim_end())
                .filter(format!("{position} {name}"))
                .about(About::Text(facts(wanted.view, element))),
        );
    }
}

/// The name of the node that a wheel is fixed to.
fn node_name<'v>(nodes: &Nodes<'v>, element: TextRange) -> Option<&'v str> {
    let (_, wheel) = nodes.outline.wheel(element)?;
    let id = nodes.of_ref(wheel.node.as_ref()?)?;
    Some(&nodes.scene[id].name)
}
