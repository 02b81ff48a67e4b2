//! After a new export of the scene: moves all paths whose aliases tell where their nodes are now.

use syntax::TextRange;

use super::{
    Assist,
    offer::{Change, Offer, OfferKey, OfferKind},
    site::Site,
};
use crate::{Finding, Trust, codes, repath};

pub(super) const ASSIST: Assist = Assist {
    id: "repath",
    offers,
    make,
};

const ALL: &str = "all";

fn offers(site: &Site<'_>, selection: TextRange, findings: &[Finding]) -> Vec<Offer> {
    let codes = [codes::STALE_PATH.name, codes::PATH_NOT_IN_SCENE.name];
    let Some(finding) = findings.iter().find(|one| codes.contains(&one.code)) else {
        return Vec::new();
    };
    let Some(Ok(found)) = site.scene.map(|scene| repath::by_names(site.view, scene)) else {
        return Vec::new();
    };
    // The finding itself offers to move one.
    if found.moved() < 2 {
        return Vec::new();
    }
    vec![Offer {
        trust: Trust::Review,
        kind: OfferKind::Quick,
        code: Some(finding.code),
        finding: Some(finding.range),
        ready: Some(Change::from(found.edits.clone())),
        ..Offer::new(
            ASSIST.id,
            selection,
            ALL,
            format!(
                "Follow all nodes by the names of their aliases: move {} paths",
                found.moved()
            ),
        )
    }]
}

fn make(site: &Site<'_>, _: &OfferKey) -> Result<Change, String> {
    let scene = site.scene.ok_or("The scene cannot be read.")?;
    let found = repath::by_names(site.view, scene)?;
    match found.moved() {
        0 => Err("No path is left to move.".to_owned()),
        _ => Ok(Change::from(found.edits)),
    }
}
