//! Accepts a finding with a comment before the element that it is about; the reason is left to fill in.

use super::{
    Assist,
    offer::{Change, Offer, OfferKey},
    site::Site,
};
use crate::{
    Finding, Trust,
    checks::may_be_accepted,
    codes::{self, Code},
    writer::Lines,
};
use foldhash::HashSet;
use syntax::{TextEdit, TextRange, TextSize};

pub(super) const ASSIST: Assist = Assist {
    id: "accept",
    offers,
    make,
    together: None,
};

fn offers(_: &Site<'_>, selection: TextRange, findings: &[Finding]) -> Vec<Offer> {
    let mut offers: Vec<Offer> = Vec::new();
    let mut known: HashSet<String> = HashSet::default();
    for finding in findings {
        let Some(code) = codes::find(finding.code).filter(|code| may_be_accepted(code)) else {
            continue;
        };
        let choice = format!("{} {}", code.name, u32::from(finding.range.start()));
        if known.insert(choice.clone()) {
            offers.push(Offer {
                trust: Trust::Draft,
                ..Offer::new(
                    ASSIST.id,
                    selection,
                    choice,
                    format!("Accept `{}` here, with a reason", code.name),
                )
                .repairing(finding)
            });
        }
    }
    offers
}

fn make(site: &Site<'_>, key: &OfferKey) -> Result<Change, String> {
    let gone = "This is no longer there.";
    let (code, at) = key.choice.split_once(' ').ok_or(gone)?;
    let at: u32 = at.parse().map_err(|_| gone)?;
    accept(site, codes::find(code).ok_or(gone)?, TextSize::new(at)).ok_or_else(|| gone.to_owned())
}

fn accept(site: &Site<'_>, code: &Code, at: TextSize) -> Option<Change> {
    let tree = site.view.tree();
    // What is about the whole document is said before the root.
    let element = tree.elements_at(at).pop().or_else(|| tree.root())?;
    let start = element.range().start();
    let begin = format!("<!-- trunnion: accept {} because ", code.name);
    let place = TextRange::empty(start + TextSize::of(begin.as_str()));
    let lines = Lines::new(site.text());
    // On a line of its own, if the element begins its line.
    let rest = match lines.indent(start) {
        Some(indent) => format!(" -->{}{indent}", site.style.newline),
        None => " -->".to_owned(),
    };
    Some(Change {
        edits: vec![TextEdit::insert(start, begin + &rest)],
        places: vec![place],
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        assists::{make, offers},
        checks,
        fixture::Fixture,
    };
    use project::View;
    use std::ops::Range;

    const TITLE: &str = "Accept `still-channel` here, with a reason";

    fn still(before: &str) -> View {
        Fixture::rig(&format!(
            "  <animations>\n    <animation id=\"a\">{before}<channel target=\"0/2\" property=\"translation\" begin=\"0\" \
             end=\"1\" from=\"0 1 0\" to=\"0 1 0\"/></animation>\n  </animations>"
        ))
        .view()
    }

    fn accepted(view: &View) -> (String, TextRange) {
        let findings = checks::run(view);
        let still = findings
            .iter()
            .find(|finding| finding.code == "still-channel");
        let range = still.expect("it is found").range;
        let offers = offers(view, range);
        let offer = offers.iter().find(|offer| offer.title == TITLE);
        let change = make(view, &offer.expect("it is offered").key).expect("it can be made");
        let text = syntax::apply(view.text(), &change.edits).expect("it fits");
        (text, change.places[0])
    }

    #[test]
    fn it_stands_on_a_line_of_its_own_and_counts_once_the_reason_is_there() {
        let view = still("\n\t  ");
        let (text, place) = accepted(&view);
        let lines = "\n\t  <!-- trunnion: accept still-channel because  -->\n\t  <channel";
        assert!(text.contains(lines), "{text}");
        let codes = |text: &str| -> Vec<&str> {
            let findings = checks::run(&view.with_text(text.to_owned()));
            findings.iter().map(|finding| finding.code).collect()
        };
        assert!(
            codes(&text).contains(&"still-channel") && codes(&text).contains(&"bad-suppression")
        );
        let mut filled = text.clone();
        filled.replace_range(Range::<usize>::from(place), "it holds the mast");
        let codes = codes(&filled);
        assert!(
            !codes.contains(&"still-channel") && !codes.contains(&"bad-suppression"),
            "{codes:?}"
        );
    }

    #[test]
    fn among_others_on_a_line_it_stands_right_before() {
        let (text, _) = accepted(&still(""));
        assert!(
            text.contains(
                "<animation id=\"a\"><!-- trunnion: accept still-channel because  --><channel"
            ),
            "{text}"
        );
    }

    #[test]
    fn what_is_not_well_formed_cannot_be_accepted() {
        let view = Fixture::rig("<animations").view();
        let at = TextRange::empty(TextSize::of(view.text()));
        let all = TextRange::new(TextSize::new(0), at.end());
        assert!(!view.tree().errors().is_empty());
        assert!(offers(&view, all).iter().all(|offer| {
            !offer.title.starts_with("Accept")
                || offer
                    .code
                    .is_some_and(|code| codes::find(code).is_some_and(may_be_accepted))
        }));
    }
}
