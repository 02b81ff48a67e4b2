//! Adds the alias that a name asks for, where the scene has a node of that
//! name.

use super::{
    Assist,
    new_alias::new_aliases,
    offer::{Change, Offer, OfferKey},
    proof::keeps_nodes,
    site::Site,
};
use crate::{Finding, Trust, codes};
use dialect::{AliasRole, ItemType};
use foldhash::HashMap;
use machine::{Use, UseTarget};
use scene::NodeIndex;
use syntax::TextRange;

pub(super) const ASSIST: Assist = Assist {
    id: "add-alias",
    offers,
    make,
    together: Some(together),
};

/// More nodes of one name are no help to choose from.
const MOST: usize = 6;

struct Missing<'v> {
    name: &'v str,
    role: &'v AliasRole,
    nodes: Vec<NodeIndex>,
}

fn missing<'v>(site: &Site<'v>, used: &'v Use) -> Option<Missing<'v>> {
    let UseTarget::Name { kinds, name, .. } = &used.target else {
        return None;
    };
    if site.definition(kinds, name).is_some() {
        return None;
    }
    // Names of the scene are not names of wheels or sounds.
    if !matches!(
        site.declared_at(used.range)?.value.item,
        ItemType::Node { .. }
    ) {
        return None;
    }
    let nodes = site.scene?.by_name(name);
    let role = site.alias_role(kinds)?;
    (!nodes.is_empty() && nodes.len() <= MOST).then_some(Missing { name, role, nodes })
}

fn offers(site: &Site<'_>, selection: TextRange, findings: &[Finding]) -> Vec<Offer> {
    let mut offers: Vec<Offer> = Vec::new();
    for finding in findings
        .iter()
        .filter(|finding| finding.code == codes::UNKNOWN_NAME.name)
    {
        let used = site.used_at(finding.range);
        let Some(missing) = used.and_then(|used| missing(site, used)) else {
            continue;
        };
        let Some(scene) = site.scene else { continue };
        let is_only = missing.nodes.len() == 1;
        for node in &missing.nodes {
            let path = site
                .dialect
                .notation
                .index_path
                .label(&scene.index_path(*node));
            let which = if is_only {
                String::new()
            } else {
                format!(" (`{}`)", scene.tree_path(*node))
            };
            offers.push(Offer {
                trust: if is_only { Trust::Safe } else { Trust::Review },
                is_preferred: is_only,
                ..Offer::new(
                    ASSIST.id,
                    selection,
                    format!("{} {}", u32::from(finding.range.start()), node.0),
                    format!(
                        "Add an alias `{}` for the node at {path}{which}",
                        missing.name
                    ),
                )
                .repairing(finding)
            });
        }
    }
    offers
}

fn make(site: &Site<'_>, key: &OfferKey) -> Result<Change, String> {
    together(site, &[key])
}

/// A name, and the way to the node that it is to lead to.
type Wanted<'v> = (&'v str, Vec<u32>);

/// Several at once, in the order in which they would be added one by one: to work each out by itself takes time with the
/// square of how many they are.
fn together(site: &Site<'_>, keys: &[&OfferKey]) -> Result<Change, String> {
    let gone = "This name is no longer there.";
    let scene = site.scene.ok_or("The scene cannot be read.")?;
    let uses = site.machine.uses.iter();
    let uses: HashMap<u32, &Use> = uses.map(|used| (used.range.start().into(), used)).collect();
    let mut by_role: Vec<(&AliasRole, Vec<Wanted<'_>>)> = Vec::new();
    for key in keys {
        let (start, node) = key.choice.split_once(' ').ok_or(gone)?;
        let start: u32 = start.parse().map_err(|_| gone)?;
        let node: u32 = node.parse().map_err(|_| gone)?;
        let used = uses.get(&start).copied();
        let missing = used.and_then(|used| missing(site, used)).ok_or(gone)?;
        let node = missing.nodes.iter().find(|known| known.0 == node);
        let path = scene.index_path(*node.ok_or("The scene has changed.")?);
        let wanted = (missing.name, path);
        match by_role
            .iter_mut()
            .find(|(role, _)| role.kind == missing.role.kind)
        {
            Some((_, nodes)) => nodes.push(wanted),
            None => by_role.push((missing.role, vec![wanted])),
        }
    }
    let mut edits = Vec::new();
    for (role, nodes) in &by_role {
        let nodes: Vec<(&str, &[u32])> =
            nodes.iter().map(|(name, path)| (*name, &**path)).collect();
        let mut names = site.names(&role.kind);
        edits.push(new_aliases(site, role, &nodes, &mut names)?.edit);
    }
    keeps_nodes(site, &edits)?;
    Ok(Change::from(edits))
}
