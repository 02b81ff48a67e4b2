//! After a new export of the scene: moves all paths at once. If the scene that was read before is still known and the
//! definition fits it, nodes are followed from there; else as far as the names of aliases tell where they are.

use syntax::TextRange;

use super::{
    Assist,
    offer::{Change, Offer, OfferKey},
    site::Site,
};
use crate::repath::{self, Followed};
use crate::{Finding, Trust, codes};

pub(super) const ASSIST: Assist = Assist {
    id: "repath",
    offers,
    make,
    together: None,
};

const ALL: &str = "all";

fn offers(site: &Site<'_>, selection: TextRange, findings: &[Finding]) -> Vec<Offer> {
    let codes = [codes::STALE_PATH.name, codes::PATH_NOT_IN_SCENE.name];
    let Some(finding) = findings.iter().find(|one| codes.contains(&one.code)) else {
        return Vec::new();
    };
    let offer = |title: String| Offer {
        trust: Trust::Review,
        ..Offer::new(ASSIST.id, selection, ALL, title).repairing(finding)
    };
    if followed(site).is_some() {
        let title = "Follow all nodes from the scene as it was to the scene as it is now";
        return vec![offer(title.to_owned())];
    }
    let Some(Ok(found)) = site.scene.map(|scene| repath::by_names(site.view, scene)) else {
        return Vec::new();
    };
    // The finding itself offers to move one.
    if found.moved() < 2 {
        return Vec::new();
    }
    let title = format!(
        "Follow all nodes by the names of their aliases: move {} paths",
        found.moved()
    );
    vec![Offer {
        ready: Some(Change::from(found.edits)),
        ..offer(title)
    }]
}

/// None: it is not known what the scene was before, or the definition was not written for that.
fn followed(site: &Site<'_>) -> Option<Followed> {
    Followed::of(site.view.meaning.as_ref()?)
}

fn make(site: &Site<'_>, _: &OfferKey) -> Result<Change, String> {
    let scene = site.scene.ok_or("The scene cannot be read.")?;
    let found = match followed(site) {
        Some(followed) => repath::follow(site.view, &followed)?,
        None => repath::by_names(site.view, scene)?,
    };
    match found.moved() {
        0 => Err("For no path it is sure where its node is now.".to_owned()),
        _ => Ok(Change::from(found.edits)),
    }
}
