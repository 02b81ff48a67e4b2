//! The repairs that findings bring along.

use super::offer::{Change, Offer, OfferKey};
use crate::{Finding, Fix, Trust, checks};
use project::View;
use syntax::TextRange;

pub(super) const ID: &str = "fix";

pub(super) fn offers(_: &View, selection: TextRange, findings: &[Finding]) -> Vec<Offer> {
    let mut offers: Vec<Offer> = Vec::new();
    for finding in findings {
        for (at, fix) in finding.fixes.iter().enumerate() {
            offers.push(Offer {
                trust: fix.trust,
                is_preferred: at == 0 && fix.trust == Trust::Safe,
                ready: Some(Change::from(fix.edits.clone())),
                ..Offer::new(ID, selection, choice(finding, fix), &fix.title).repairing(finding)
            });
        }
    }
    offers
}

pub(super) fn make(view: &View, key: &OfferKey) -> Result<Change, String> {
    let findings = checks::run(view);
    let mut fixes = findings
        .iter()
        .flat_map(|finding| finding.fixes.iter().map(move |fix| (finding, fix)));
    let chosen = fixes.find(|(finding, fix)| choice(finding, fix) == key.choice);
    let (_, fix) = chosen.ok_or("What this repairs is no longer there.")?;
    Ok(Change::from(fix.edits.clone()))
}

/// Names a fix of a finding.
fn choice(finding: &Finding, fix: &Fix) -> String {
    let (start, end) = (
        u32::from(finding.range.start()),
        u32::from(finding.range.end()),
    );
    format!("{} {start}-{end} {}", finding.code, fix.title)
}
