//! Gives an index path a name: an alias, new or known, in its place.

use super::{
    Assist,
    new_alias::{new_alias, suggested},
    offer::{Change, Offer, OfferKey, OfferKind},
    proof::keeps_nodes,
    site::Site,
};
use crate::{Finding, Trust, writer::Names};
use dialect::{ItemType, Kind, NodePath};
use machine::{Use, UseTarget};
use syntax::{TextEdit, TextRange, escape};

pub(super) const ASSIST: Assist = Assist {
    id: "name-path",
    offers,
    make,
    together: None,
};

const HERE: &str = "here";
const EVERYWHERE: &str = "everywhere";

/// An index path in a place that may hold a name.
struct Place<'v> {
    used: &'v Use,
    path: &'v NodePath,
    kinds: &'v [Kind],
}

fn place<'v>(site: &Site<'v>, selection: TextRange) -> Option<Place<'v>> {
    place_of(site, site.machine.use_at(selection.start())?)
}

fn place_of<'v>(site: &Site<'v>, used: &'v Use) -> Option<Place<'v>> {
    let UseTarget::Path(path) = &used.target else {
        return None;
    };
    let kinds = match &site.declared_at(used.range)?.value.item {
        ItemType::Node { aliases, .. } if !aliases.is_empty() => &aliases[..],
        _ => return None,
    };
    Some(Place { used, path, kinds })
}

/// All places that hold this path and may hold a name of these kinds.
fn alike<'v>(site: &Site<'v>, place: &Place<'v>) -> Vec<&'v Use> {
    let uses = site.machine.uses.iter();
    uses.filter(|used| {
        place_of(site, used)
            .is_some_and(|other| other.path == place.path && other.kinds == place.kinds)
    })
    .collect()
}

/// The alias that exists for the path, or the one that would be made.
fn name(site: &Site<'_>, place: &Place<'_>, names: &mut Names) -> Option<(String, bool)> {
    let known = site.machine.aliases.iter().find_map(|alias| {
        let leads = alias
            .path
            .as_ref()
            .and_then(|path| site.machine.path_of(path));
        let name = alias.name.as_ref().filter(|_| leads == Some(place.path))?;
        let definition = site.machine.definition(place.kinds, &name.value)?;
        (definition.element == alias.element).then(|| name.value.to_string())
    });
    if let Some(known) = known {
        return Some((known, false));
    }
    let role = site.alias_role(place.kinds)?;
    let path = positions(site, place.path)?;
    Some((suggested(site, &role.kind, &path, names), true))
}

/// The child positions that a path stands for.
fn positions(site: &Site<'_>, path: &NodePath) -> Option<Vec<u32>> {
    match path {
        NodePath::Positions(positions) => Some(positions.to_vec()),
        NodePath::Names(_) => {
            let scene = site.scene?;
            Some(scene.index_path(scene.find(path).ok()?))
        }
    }
}

fn offers(site: &Site<'_>, selection: TextRange, _: &[Finding]) -> Vec<Offer> {
    let Some(place) = place(site, selection) else {
        return Vec::new();
    };
    let Some(kind) = place.kinds.first() else {
        return Vec::new();
    };
    let Some((name, is_new)) = name(site, &place, &mut site.names(kind)) else {
        return Vec::new();
    };
    let count = alike(site, &place).len();
    let (verb, trust) = if is_new {
        ("Name this path", Trust::Review)
    } else {
        ("Write the name", Trust::Safe)
    };
    let mut offers = vec![Offer {
        trust,
        kind: OfferKind::Extract,
        ..Offer::new(ASSIST.id, selection, HERE, format!("{verb} `{name}`"))
    }];
    if count > 1 {
        offers.push(Offer {
            kind: OfferKind::Extract,
            ..Offer::new(
                ASSIST.id,
                selection,
                EVERYWHERE,
                format!("{verb} `{name}` in all {count} places"),
            )
        });
    }
    offers
}

fn make(site: &Site<'_>, key: &OfferKey) -> Result<Change, String> {
    let place = place(site, key.selection).ok_or("The path is no longer there.")?;
    let kind = place
        .kinds
        .first()
        .ok_or("This place does not take a name.")?;
    let mut names = site.names(kind);
    let (name, is_new) =
        name(site, &place, &mut names).ok_or("The dialect has no way to give a name.")?;
    let uses = if key.choice == EVERYWHERE {
        alike(site, &place)
    } else {
        vec![place.used]
    };
    let mut edits: Vec<TextEdit> = uses
        .iter()
        .map(|used| {
            TextEdit::replace(
                used.range,
                escape::attribute(&name, site.quote_at(used.range)),
            )
        })
        .collect();
    if is_new {
        let role = site
            .alias_role(place.kinds)
            .ok_or("The dialect has no way to give a name.")?;
        let path = positions(site, place.path).ok_or("The path leads to no node.")?;
        edits.push(new_alias(site, role, &name, &path, &mut names)?.edit);
    }
    keeps_nodes(site, &edits)?;
    Ok(Change::from(edits))
}
