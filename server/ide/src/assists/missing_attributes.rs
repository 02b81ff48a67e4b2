//! Adds the attributes that an element must have.

use super::{
    Assist,
    after::landings,
    offer::{Change, Offer, OfferKey},
    site::Site,
};
use crate::{
    Finding, codes,
    writer::{guess, new_attribute},
};
use dialect::AttributeDecl;
use machine::Located;
use syntax::{TextEdit, TextRange, TextSize};

pub(super) const ASSIST: Assist = Assist {
    id: "add-missing-attributes",
    offers,
    make,
    together: None,
};

fn offers(site: &Site<'_>, selection: TextRange, findings: &[Finding]) -> Vec<Offer> {
    let mut offers: Vec<Offer> = Vec::new();
    for finding in findings
        .iter()
        .filter(|finding| finding.code == codes::MISSING_ATTRIBUTE.name)
    {
        let Some(at) = element_of(site, finding.range) else {
            continue;
        };
        let missing = missing(site, &at);
        let choice = u32::from(at.element.range().start()).to_string();
        if missing.is_empty() || offers.iter().any(|offer| offer.key.choice == choice) {
            continue;
        }
        let names: Vec<String> = missing
            .iter()
            .map(|declared| declared.name.clone())
            .collect();
        let plan = plan(site, &at, &missing);
        offers.push(Offer {
            trust: plan.trust(),
            is_preferred: true,
            ready: Some(plan),
            ..Offer::new(
                ASSIST.id,
                selection,
                choice,
                format!("Add {}", super::naming::listed(&names)),
            )
            .repairing(finding)
        });
    }
    offers
}

fn make(site: &Site<'_>, key: &OfferKey) -> Result<Change, String> {
    let start = key.choice.parse::<u32>().ok().map(TextSize::new);
    let gone = || "This element is no longer there.".to_owned();
    let element = start
        .and_then(|start| site.view.tree().elements_at(start).pop())
        .ok_or_else(gone)?;
    let at = element_of(site, element.name_range()).ok_or_else(gone)?;
    Ok(plan(site, &at, &missing(site, &at)))
}

/// The element in whose start tag a range is.
fn element_of<'v>(site: &Site<'v>, range: TextRange) -> Option<Located<'v>> {
    let chain = site.chain_at(range.start())?;
    let at = *chain.last()?;
    let is_in_tag = at.element.start_tag_range().contains_range(range);
    is_in_tag.then_some(at)
}

fn missing<'v>(site: &Site<'v>, at: &Located<'v>) -> Vec<&'v AttributeDecl> {
    let declared = site
        .dialect
        .element(at.context)
        .map_or(&[][..], |declared| &declared.attributes);
    declared
        .iter()
        .filter(|declared| declared.required && at.element.attribute(&declared.name).is_none())
        .collect()
}

fn plan(site: &Site<'_>, at: &Located<'_>, missing: &[&AttributeDecl]) -> Change {
    let declared = site.dialect.element(at.context);
    let mut names = crate::writer::Names::of(site.machine, "");
    let mut edits: Vec<TextEdit> = Vec::new();
    let mut guesses = Vec::new();
    for attribute in missing {
        let (value, is_guess) = guess(site.dialect, site.machine, attribute, &mut names, "");
        if is_guess {
            guesses.push(edits.len());
        }
        edits.push(new_attribute(
            site.text(),
            &at.element,
            &attribute.name,
            &value,
            &site.style,
            declared,
        ));
    }
    let landed = landings(&edits);
    let place = |edit: usize| {
        let range = landed.get(edit)?;
        let inserted = edits.get(edit)?;
        let quote = inserted.insert.find(['"', '\''])?;
        let start = range.start() + TextSize::new(u32::try_from(quote + 1).ok()?);
        Some(TextRange::new(start, range.end() - TextSize::of('"')))
    };
    Change {
        places: guesses.into_iter().filter_map(place).collect(),
        edits,
    }
}
