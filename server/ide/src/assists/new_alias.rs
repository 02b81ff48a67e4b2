//! Aliases to be added.

use super::{
    naming::{NameStyle, common, words},
    site::Site,
};
use crate::name_places::keep;
use crate::node_paths::node_text;
use crate::writer::{Insertion, Names, Unwritable, declaration, parent_for};
use dialect::{AliasRole, Kind};

/// A name for a node that has no alias: its own in the scene, in the style of
/// the document, else from what hangs on it.
pub(crate) fn suggested(site: &Site<'_>, kind: &Kind, path: &[u32], names: &mut Names) -> String {
    let node = site
        .scene
        .and_then(|scene| Some((scene, scene.walk(path).ok()?)));
    let own = node
        .map(|(scene, id)| scene[id].name.trim())
        .filter(|name| can_be_a_name(site, name));
    let style = NameStyle::of(site.machine, site.dialect, kind);
    if let Some(own) = own {
        return match keep(site.dialect, kind, own) {
            true => names.take(kind, own),
            false => names.take(kind, &style.join(words(own))),
        };
    }
    let below: Vec<&str> = match node {
        Some((scene, id)) => {
            let below = scene.children(id).iter();
            below.map(|id| &*scene[*id].name).collect()
        }
        None => Vec::new(),
    };
    let aliases_below: Vec<&str> = site
        .machine
        .aliases
        .iter()
        .filter(|alias| {
            let own = alias.path.as_ref().and_then(|own| site.path_of(own));
            own.is_some_and(|own| own.len() == path.len() + 1 && own.starts_with(path))
        })
        .filter_map(|alias| alias.name.as_ref().map(|name| &*name.value))
        .collect();
    let shared = [common(&aliases_below), common(&below)]
        .into_iter()
        .find(|name| !name.is_empty());
    let wanted = match shared {
        Some(shared) => style.with_word(shared, "base"),
        None => style.join(["node"]),
    };
    names.take(kind, &wanted)
}

/// Names that look like index paths, or that have to be written in another way, are none.
fn can_be_a_name(site: &Site<'_>, name: &str) -> bool {
    !words(name).is_empty()
        && !site.dialect.notation.index_path.looks_like(name)
        && !name.contains(['"', '\'', '<', '&', '\n', '\r', '\t'])
}

/// An alias for a node.
pub(crate) fn new_alias(
    site: &Site<'_>,
    role: &AliasRole,
    name: &str,
    path: &[u32],
    names: &mut Names,
) -> Result<Insertion, String> {
    new_aliases(site, role, &[(name, path)], names)
}

/// Aliases for nodes, one behind the other. Each with its name and the way to its node.
pub(crate) fn new_aliases(
    site: &Site<'_>,
    role: &AliasRole,
    nodes: &[(&str, &[u32])],
    names: &mut Names,
) -> Result<Insertion, String> {
    let habits = site.alias_habits(role);
    let mut write = || {
        let parent = parent_for(&site.reader, &[], role.at.steps())?;
        let contexts = parent.contexts(site.dialect);
        let declared = declaration(site.dialect, &contexts, &role.path);
        let item = declared.map(|declared| &declared.value.item);
        let mut elements = Vec::with_capacity(nodes.len());
        for (name, path) in nodes {
            let mut element = parent.element(site.dialect)?;
            element.set(site.dialect, &role.name, name)?;
            let node =
                node_text(site.dialect, site.scene, path, item).ok_or(Unwritable::Nameless)?;
            element.set(site.dialect, &role.path, &node)?;
            if let Some(habits) = &habits {
                habits.fill_alias(site, role, &mut element, names);
            }
            let before = element.clone();
            site.complete(&mut element, names, name);
            if let Some(habits) = &habits {
                habits.prune(site, &before, &mut element);
            }
            elements.push(element);
        }
        site.insertion(&parent, elements, names)
    };
    write().map_err(|error| format!("an alias cannot be written: {error}"))
}
