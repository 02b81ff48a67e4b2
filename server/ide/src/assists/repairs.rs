//! The safe repairs of a whole document, as many at once as do not get in each other's way.

use super::{
    REPAIRS, fixes,
    offer::{Offer, OfferKind},
    site::Site,
};
use crate::{Finding, Trust};
use foldhash::HashSet;
use project::View;
use std::collections::BTreeMap;
use syntax::{TextEdit, TextRange, TextSize};

/// A repair that nobody has to look at.
#[derive(Debug, Clone, PartialEq)]
pub struct Repair {
    /// Of the finding that it repairs.
    pub code: &'static str,
    /// Of that finding, in the text before the repair.
    pub range: TextRange,
    pub title: String,
    /// In the text before any repair.
    pub edits: Vec<TextEdit>,
}

/// The safe repairs of some findings that can be made together, in the order of the text. A finding with more than one
/// is left alone: that would be a choice. Of several that touch each other only the first is given; whether the others
/// are still wanted shows in the text after it.
pub fn safe_repairs(view: &View, findings: &[Finding]) -> Vec<Repair> {
    let site = Site::of(view);
    let mut repairs: Vec<Repair> = Vec::new();
    let mut taken = Taken::default();
    // What several findings ask for is worked out once.
    let mut worked_out: HashSet<String> = HashSet::default();
    for finding in findings {
        let Some(offer) = offer(view, site.as_ref(), finding) else {
            continue;
        };
        let change = match offer.ready {
            Some(change) => change,
            None if !worked_out.insert(offer.title.clone()) => continue,
            None => match super::make(view, &offer.key) {
                Ok(change) => change,
                Err(_) => continue,
            },
        };
        // What is to be filled in or looked at is for a person.
        if change.places.is_empty() && taken.take(&change.edits) {
            repairs.push(Repair {
                code: finding.code,
                range: finding.range,
                title: offer.title,
                edits: change.edits,
            });
        }
    }
    repairs
}

/// The only safe repair of a finding.
fn offer(view: &View, site: Option<&Site<'_>>, finding: &Finding) -> Option<Offer> {
    let one = std::slice::from_ref(finding);
    let mut offers = fixes::offers(view, finding.range, one);
    if let Some(site) = site {
        for assist in REPAIRS {
            offers.extend((assist.offers)(site, finding.range, one));
        }
    }
    let is_safe = |offer: &Offer| {
        offer.trust == Trust::Safe && offer.kind == OfferKind::Quick && offer.disabled.is_none()
    };
    let mut safe = offers.into_iter().filter(is_safe);
    let only = safe.next()?;
    safe.next().is_none().then_some(only)
}

/// Ranges that are changed already: by their starts, with their ends.
#[derive(Default)]
struct Taken(BTreeMap<TextSize, TextSize>);

impl Taken {
    /// Takes the ranges of edits, unless one of them touches one that is taken.
    fn take(&mut self, edits: &[TextEdit]) -> bool {
        let is_free = |edit: &TextEdit| {
            let before = self.0.range(..=edit.range.end()).next_back();
            before.is_none_or(|(_, end)| *end < edit.range.start())
        };
        let is_free = edits.iter().all(is_free);
        if is_free {
            for edit in edits {
                let end = self.0.entry(edit.range.start()).or_default();
                *end = edit.range.end().max(*end);
            }
        }
        is_free
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{checks, fixture::Fixture};

    fn repaired(view: &View) -> (String, Vec<String>) {
        let repairs = safe_repairs(view, &checks::run(view));
        let edits: Vec<TextEdit> = repairs
            .iter()
            .flat_map(|repair| repair.edits.clone())
            .collect();
        let text = syntax::apply(view.text(), &edits).expect("repairs do not overlap");
        (
            text,
            repairs.into_iter().map(|repair| repair.title).collect(),
        )
    }

    #[test]
    fn what_is_plainly_wrong_is_repaired_at_once() {
        let view = Fixture::rig(
            "<aliases><alias name=\"mast\" path=\"0/2\"/></aliases>\n<animations><animation id=\"a\">\
             <channel target=\"masst\" property=\"translation\" begin=\"0\" end=\"1,5\" from=\"0 1 0\" to=\"0 2 0\"/>\
             </animation></animations>\n<controls><switch animation=\"a\" input=\"button.raise\"/></controls>",
        )
        .view();
        let (text, titles) = repaired(&view);
        assert!(
            text.contains("target=\"mast\"") && text.contains("end=\"1.5\""),
            "{text}"
        );
        assert_eq!(titles.len(), 2, "{titles:?}");
    }

    #[test]
    fn what_several_places_ask_for_is_made_once() {
        let channel = |property: &str, from: &str| {
            format!(
                "<channel target=\"hook\" property=\"{property}\" begin=\"0\" end=\"1\" from=\"{from}\" to=\"0 1 0\"/>"
            )
        };
        let view = Fixture::rig(&format!(
            "<aliases><alias name=\"arm.left\" path=\"0/0\"/></aliases>\n<animations><animation id=\"a\">{}{}</animation></animations>",
            channel("translation", "0 0.25 -0.1"),
            channel("rotation", "0 0 0"),
        ))
        .view();
        let (text, titles) = repaired(&view);
        assert_eq!(
            text.matches("<alias name=\"hook\"").count(),
            1,
            "{titles:?}\n{text}"
        );
    }

    #[test]
    fn what_is_a_choice_is_left_alone() {
        let view = Fixture::rig(
            "<animations><animation id=\"a\"><channel target=\"0/2\" property=\"translation\" begin=\"2\" end=\"1\" \
             from=\"0 1 0\" to=\"0 2 0\"/></animation></animations>",
        )
        .view();
        assert!(
            checks::run(&view)
                .iter()
                .any(|finding| !finding.fixes.is_empty())
        );
        assert_eq!(repaired(&view).1, Vec::<String>::new());
    }
}
