//! The safe repairs of a whole document, as many at once as do not get in each other's way.

use super::{
    REPAIRS, fixes,
    offer::{Change, Offer, OfferKey, OfferKind},
    site::Site,
};
use crate::{Finding, Trust};
use foldhash::{HashMap, HashSet};
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
    let offered = |finding| Some((finding, offer(view, site.as_ref(), finding)?));
    let offered: Vec<(&Finding, Offer)> = findings.iter().filter_map(offered).collect();
    let mut joint = site
        .as_ref()
        .map_or_else(Joint::default, |site| Joint::of(site, &offered));
    let mut repairs: Vec<Repair> = Vec::new();
    let mut taken = Taken::default();
    for (finding, offer) in offered {
        let edits = match offer.ready {
            // What is to be filled in or looked at is for a person.
            Some(change) if change.places.is_empty() && taken.take(&change.edits) => change.edits,
            None => match joint.edits(&offer.title, &mut taken) {
                Some(edits) => edits,
                None => continue,
            },
            Some(_) => continue,
        };
        repairs.push(Repair {
            code: finding.code,
            range: finding.range,
            title: offer.title,
            edits,
        });
    }
    repairs
}

/// The only safe repair of a finding.
fn offer(view: &View, site: Option<&Site<'_>>, finding: &Finding) -> Option<Offer> {
    let one = std::slice::from_ref(finding);
    let mut offers = fixes::offers(view, finding.range, one);
    if let Some(site) = site {
        for assist in REPAIRS.iter().filter(|assist| assist.together.is_some()) {
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

/// Offers that cannot be made together are tried in so many parts: if none can be made, that takes hardly more attempts than
/// there are offers.
const PARTS: usize = 8;

/// Changes that were worked out for several offers at once.
#[derive(Default)]
struct Joint {
    /// None: it was asked for.
    changes: Vec<Option<Change>>,
    /// By title, as what several findings ask for is made once: which change makes it.
    by_title: HashMap<String, usize>,
    /// Those that did not get in the way of others.
    made: HashSet<usize>,
}

impl Joint {
    fn of(site: &Site<'_>, offered: &[(&Finding, Offer)]) -> Self {
        let mut joint = Self::default();
        for assist in REPAIRS {
            let Some(together) = assist.together else {
                continue;
            };
            let mut known: HashSet<&str> = HashSet::default();
            let offers = offered.iter().map(|(_, offer)| offer).filter(|offer| {
                let is_open = offer.ready.is_none() && offer.key.id == assist.id;
                is_open && known.insert(&offer.title)
            });
            joint.make(&offers.collect::<Vec<_>>(), |offers| {
                let keys: Vec<&OfferKey> = offers.iter().map(|offer| &offer.key).collect();
                together(site, &keys).ok()
            });
        }
        joint
    }

    /// All of them but those that cannot be made: parts are tried by themselves, down to each alone, and what can be made
    /// then together, if possible.
    fn make(&mut self, offers: &[&Offer], on_paper: impl Fn(&[&Offer]) -> Option<Change>) {
        let mut possible: Vec<(&[&Offer], Change)> = Vec::new();
        let mut open = vec![offers];
        while let Some(offers) = open.pop().filter(|offers| !offers.is_empty()) {
            match on_paper(offers) {
                Some(change) => possible.push((offers, change)),
                None if offers.len() > 1 => {
                    open.extend(offers.chunks(offers.len().div_ceil(PARTS)).rev());
                }
                None => {}
            }
        }
        if possible.len() > 1 {
            let all: Vec<&Offer> = possible
                .iter()
                .flat_map(|(offers, _)| *offers)
                .copied()
                .collect();
            if let Some(change) = on_paper(&all) {
                return self.add(&all, change);
            }
        }
        for (offers, change) in possible {
            self.add(offers, change);
        }
    }

    fn add(&mut self, offers: &[&Offer], change: Change) {
        let at = self.changes.len();
        let titles = offers.iter().map(|offer| offer.title.clone());
        self.by_title.extend(titles.map(|title| (title, at)));
        self.changes.push(Some(change));
    }

    /// The edits that are left to be made for what has this title: all of its change, or none if that is made already.
    fn edits(&mut self, title: &str, taken: &mut Taken) -> Option<Vec<TextEdit>> {
        let at = self.by_title.remove(title)?;
        let Some(change) = self.changes[at].take() else {
            return self.made.contains(&at).then(Vec::new);
        };
        let is_made = change.places.is_empty() && taken.take(&change.edits);
        is_made.then(|| {
            self.made.insert(at);
            change.edits
        })
    }
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

    /// As they would stand after having been added one by one, whether others stand there or not.
    #[test]
    fn all_aliases_that_are_missing_come_at_once() {
        let channel = |node: &str, property: &str, from: &str| {
            format!(
                "<channel target=\"{node}\" property=\"{property}\" begin=\"0\" end=\"1\" from=\"{from}\" to=\"0 2 0\"/>"
            )
        };
        let channels = [
            channel("hook", "translation", "0 0.25 -0.1"),
            channel("wheel.left", "translation", "0 0.5 0"),
            // It would start where its node is not, so an alias would show another mistake.
            channel("arm.right", "translation", "0 0 0"),
            channel("mast", "translation", "0 1 0"),
            channel("hook", "rotation", "0 0 0"),
        ];
        for aliases in [
            "",
            "  <aliases>\n    <alias name=\"arm\" path=\"0/0\"/>\n  </aliases>\n",
        ] {
            let view = Fixture::rig(&format!(
                "{aliases}  <animations><animation id=\"a\">{}</animation></animations>",
                channels.concat()
            ))
            .view();
            let (text, titles) = repaired(&view);
            assert!(!text.contains("<alias name=\"arm.right\""));
            let mut one_by_one = view;
            for title in &titles {
                let finding = checks::run(&one_by_one).into_iter().find_map(|finding| {
                    let offers = crate::assists::offers(&one_by_one, finding.range);
                    offers.into_iter().find(|offer| offer.title == *title)
                });
                let key = finding.expect("it is missing").key;
                let change = crate::assists::make(&one_by_one, &key).expect("it can be made");
                let next = syntax::apply(one_by_one.text(), &change.edits).expect("it fits");
                one_by_one = one_by_one.with_text(next);
            }
            assert_eq!(text, one_by_one.text());
            assert_eq!(
                text.matches("<alias name").count() - aliases.matches("<alias name").count(),
                3
            );
        }
    }

    /// What is inserted for each of twelve offers. `is_possible`: whether some can be made together.
    fn inserted(is_possible: impl Fn(&[&str]) -> bool) -> Vec<String> {
        let offer = |at: u32| {
            let range = TextRange::empty(TextSize::new(10 * at));
            Offer::new("x", range, at.to_string(), format!("Do {at}"))
        };
        let offers: Vec<Offer> = (0..12).map(offer).collect();
        let mut joint = Joint::default();
        joint.make(&offers.iter().collect::<Vec<_>>(), |offers| {
            let choices: Vec<&str> = offers.iter().map(|offer| &*offer.key.choice).collect();
            let edit = TextEdit::insert(offers[0].key.selection.start(), choices.join(" "));
            is_possible(&choices).then(|| Change::from(vec![edit]))
        });
        // The place of one of them is taken by something else.
        let mut taken = Taken::default();
        taken.take(&[TextEdit::insert(TextSize::new(20), "other")]);
        let inserted = offers
            .iter()
            .map(|offer| match joint.edits(&offer.title, &mut taken) {
                Some(edits) => edits.into_iter().map(|edit| edit.insert).collect(),
                None => "-".to_owned(),
            });
        inserted.collect()
    }

    /// One that cannot be made keeps no other from being made.
    #[test]
    fn what_cannot_be_made_together_is_made_apart() {
        let all = inserted(|_| true);
        assert_eq!(all[0], "0 1 2 3 4 5 6 7 8 9 10 11");
        assert!(all[1..].iter().all(String::is_empty));
        let most = inserted(|choices| !choices.contains(&"4"));
        assert_eq!(most[0], "0 1 2 3 5 6 7 8 9 10 11");
        assert_eq!(most[4], "-");
        let apart = inserted(|choices| !choices.contains(&"4") && choices.len() < 10);
        let expected = [
            "0 1", "", "-", "-", "-", "5", "6 7", "", "8 9", "", "10 11", "",
        ];
        assert_eq!(apart, expected);
        assert!(inserted(|_| false).iter().all(|inserted| inserted == "-"));
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
