//! "Make adjustable" and "Extract into an animation of its own": the offers.

use super::{
    Assist,
    adjust::{Refusal, Request, plan, proven, usual_kind},
    naming::{humanised, listed},
    offer::{Change, Offer, OfferKey, OfferKind},
    parts::Parts,
    site::Site,
};
use crate::{Finding, Trust, codes};
use dialect::ControlKind;
use syntax::TextRange;

pub(super) const ADJUST: Assist = Assist {
    id: "make-adjustable",
    offers: adjust_offers,
    make: |site, key| make(site, key, kind_for),
    together: None,
};

pub(super) const EXTRACT: Assist = Assist {
    id: "extract-animation",
    offers: extract_offers,
    make: |site, key| make(site, key, |_, _| None),
    together: None,
};

/// Whoever selects more channels has chosen. For each, all of its animation would be looked at for the one that mirrors it.
const MOST_MIRRORED: usize = 100;

const ALONE: &str = "alone";
const MIRRORED: &str = "with-mirrored";

/// What an offer can be about.
struct Choice {
    key: String,
    parts: Parts,
    /// Without the mirror images, which are another choice.
    is_alone: bool,
    /// The animation that is meant, where several share the channels.
    from: String,
}

/// The selected parts, and these with their mirror images, which most people want and so comes first; for each animation
/// that shares them.
fn choices(site: &Site<'_>, selection: TextRange) -> Vec<Choice> {
    let moves = |parts: &Parts| {
        let channels = parts.channels_of(site);
        channels.iter().any(|channel| channel.node.is_some())
    };
    let selected = Parts::selected(site, selection);
    let are_shared = selected.len() > 1;
    let of_one = |parts: Parts| {
        let may_be_asked = parts.channels.len() <= MOST_MIRRORED;
        let mirrored = may_be_asked.then(|| parts.with_mirrored(site)).flatten();
        let animation = parts.animation_of(site).filter(|_| are_shared);
        let from = animation.map(|animation| format!(" from {}", site.animation_label(animation)));
        let choice = |name: &str, parts: Parts, is_alone| Choice {
            key: match are_shared {
                true => format!("{name} {}", parts.animation),
                false => name.to_owned(),
            },
            parts,
            is_alone,
            from: from.clone().unwrap_or_default(),
        };
        let mirrored = mirrored.map(|mirrored| choice(MIRRORED, mirrored, false));
        let alone = choice(ALONE, parts, mirrored.is_some());
        mirrored.into_iter().chain([alone])
    };
    selected
        .into_iter()
        .filter(moves)
        .flat_map(of_one)
        .collect()
}

/// An axis for what can stand half way; a button for what can only be there or
/// not.
fn kind_for(site: &Site<'_>, parts: &Parts) -> Option<ControlKind> {
    Some(usual_kind(site, parts))
}

fn request(parts: Parts, control: Option<ControlKind>) -> Request {
    Request {
        parts,
        control,
        name: None,
        input: None,
    }
}

fn adjust_offers(site: &Site<'_>, selection: TextRange, findings: &[Finding]) -> Vec<Offer> {
    let choices = choices(site, selection);
    let several = choices.len() > 1;
    let offer = |(at, choice): (usize, Choice)| {
        let Choice { key, parts, .. } = choice;
        let labels = parts.labels(site);
        let alone = if choice.is_alone { " alone" } else { "" };
        let from = choice.from;
        let repaired = unplayed(site, &parts, findings);
        let offer = Offer {
            kind: if repaired.is_some() {
                OfferKind::Quick
            } else {
                OfferKind::Rewrite
            },
            code: repaired.map(|finding| finding.code),
            finding: repaired.map(|finding| finding.range),
            is_preferred: several && at == 0 && from.is_empty(),
            ..Offer::new(
                ADJUST.id,
                selection,
                key,
                format!("Make adjustable: {}{alone}{from}", listed(&labels)),
            )
        };
        let kind = kind_for(site, &parts);
        match plan(site, &request(parts, kind)) {
            Ok(plan) => {
                let name = plan.name.as_deref().map(humanised);
                let title = name.map_or_else(
                    || offer.title.clone(),
                    |name| format!("{} ({name})", offer.title),
                );
                Offer {
                    trust: plan.trust,
                    title,
                    ..offer
                }
            }
            Err(reason) => Offer {
                is_preferred: false,
                disabled: Some(spoken(&reason)),
                ..offer
            },
        }
    };
    choices.into_iter().enumerate().map(offer).collect()
}

/// The finding that nothing plays the animation, which a control for all of it
/// repairs.
fn unplayed<'f>(site: &Site<'_>, parts: &Parts, findings: &'f [Finding]) -> Option<&'f Finding> {
    let name = parts.animation_of(site)?.name.as_ref()?.range;
    let is_it = |finding: &&Finding| {
        finding.code == codes::UNREACHABLE_ANIMATION.name && finding.range == name
    };
    findings.iter().find(is_it).filter(|_| parts.are_all(site))
}

fn extract_offers(site: &Site<'_>, selection: TextRange, _: &[Finding]) -> Vec<Offer> {
    let choices = choices(site, selection);
    let offer = |choice: Choice| {
        let Choice {
            key, parts, from, ..
        } = choice;
        let labels = parts.labels(site);
        let own = if labels.len() == 1 { "its" } else { "their" };
        let offer = Offer {
            kind: OfferKind::Extract,
            ..Offer::new(
                EXTRACT.id,
                selection,
                key,
                format!(
                    "Extract {}{from} into an animation of {own} own",
                    listed(&labels)
                ),
            )
        };
        match plan(site, &request(parts, None)) {
            Ok(plan) => Offer {
                trust: plan.trust.max(Trust::Review),
                ..offer
            },
            Err(reason) => Offer {
                disabled: Some(spoken(&reason)),
                ..offer
            },
        }
    };
    choices.into_iter().map(offer).collect()
}

fn make(
    site: &Site<'_>,
    key: &OfferKey,
    control: fn(&Site<'_>, &Parts) -> Option<ControlKind>,
) -> Result<Change, String> {
    let chosen = choices(site, key.selection)
        .into_iter()
        .find(|choice| choice.key == key.choice);
    let Choice { parts, .. } = chosen.ok_or("These channels are no longer there.")?;
    let control = control(site, &parts);
    let (plan, _) = proven(site, &request(parts, control)).map_err(|refusal| match refusal {
        Refusal::Planned(reason) => spoken(&reason),
        Refusal::Tried(reason) => spoken(&format!("nothing was changed: {reason}")),
    })?;
    Ok(Change {
        edits: plan.edits,
        places: plan.places,
    })
}

/// A reason as a sentence.
pub(crate) fn spoken(reason: &str) -> String {
    let mut chars = reason.trim_end_matches('.').chars();
    let first = chars
        .next()
        .map(|first| first.to_uppercase().to_string())
        .unwrap_or_default();
    format!("{first}{}.", chars.as_str())
}
