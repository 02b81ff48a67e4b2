//! Changes to a definition that a person can choose, one file each.
//!
//! [`offers`] says what can be done at a selection, and is quick; [`make`]
//! works the chosen one out, tries it on paper and returns the edits. Every
//! assist changes nothing but what its edits say, in the style of the
//! document.

mod accept;
mod adjust;
mod adjust_offers;
mod adjusting;
mod after;
mod carried;
mod carry_wheels;
mod control;
mod convert;
mod extraction;
mod fixes;
mod habits;
mod inline_alias;
mod inputs;
mod missing_alias;
mod missing_attributes;
mod missing_children;
mod motion_word;
mod name_path;
mod naming;
mod new_alias;
mod offer;
mod parts;
mod proof;
mod repairs;
mod repath;
mod site;
mod stretches;
mod windows;

#[cfg(test)]
mod tests;

pub use adjusting::{Adjustment, PartTravel, Track, Wish, adjust};
pub use offer::{Change, Offer, OfferKey, OfferKind};
pub use repairs::{Repair, safe_repairs};

use crate::{Finding, checks};
use project::View;
use site::Site;
use syntax::TextRange;

/// One assist: what it offers at a selection, and how it makes what was
/// chosen.
struct Assist {
    id: &'static str,
    offers: fn(&Site<'_>, TextRange, &[Finding]) -> Vec<Offer>,
    make: fn(&Site<'_>, &OfferKey) -> Result<Change, String>,
    /// Makes several of its offers as one change. None: none of them is safe, so nobody wants several at once.
    together: Option<Together>,
}

type Together = fn(&Site<'_>, &[&OfferKey]) -> Result<Change, String>;

/// Those that answer findings.
const REPAIRS: &[Assist] = &[
    missing_attributes::ASSIST,
    missing_children::ASSIST,
    missing_alias::ASSIST,
    repath::ASSIST,
    carry_wheels::ASSIST,
    accept::ASSIST,
];

/// Those that change what is not wrong.
const OTHERS: &[Assist] = &[
    adjust_offers::ADJUST,
    adjust_offers::EXTRACT,
    name_path::ASSIST,
    inline_alias::ASSIST,
];

/// All that need a dialect. What findings bring along comes before them and needs none.
fn all() -> impl Iterator<Item = &'static Assist> {
    REPAIRS.iter().chain(OTHERS)
}

/// What can be done at a selection: repairs first.
pub fn offers(view: &View, selection: TextRange) -> Vec<Offer> {
    offers_with(view, selection, &checks::run(view))
}

/// [`offers`], with the findings of the document at hand.
pub fn offers_with(view: &View, selection: TextRange, findings: &[Finding]) -> Vec<Offer> {
    // Where one ends and the other starts, they meet, too.
    let here: Vec<Finding> = findings
        .iter()
        .filter(|finding| finding.range.intersect(selection).is_some())
        .cloned()
        .collect();
    let mut offers = fixes::offers(view, selection, &here);
    if let Some(site) = Site::of(view) {
        for assist in all() {
            offers.extend((assist.offers)(&site, selection, &here));
        }
    }
    offers
}

/// Works out what was chosen, on the same version of the document.
///
/// # Errors
/// Why it cannot be done after all, in words for the person who chose it.
pub fn make(view: &View, key: &OfferKey) -> Result<Change, String> {
    if key.id == fixes::ID {
        return fixes::make(view, key);
    }
    let assist = all().find(|assist| assist.id == key.id);
    let assist = assist.ok_or_else(|| format!("There is no assist `{}`.", key.id))?;
    let site = Site::of(view).ok_or("No dialect fits this document.")?;
    (assist.make)(&site, key)
}
