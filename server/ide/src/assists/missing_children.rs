//! Adds the elements that must stand inside another one.

use super::{
    Assist,
    after::landings,
    offer::{Change, Offer, OfferKey},
    site::Site,
};
use crate::{
    Finding, codes,
    writer::{Insertion, NewElement, Parent},
};
use dialect::ElementDecl;
use machine::{Chain, Located};
use syntax::{TextRange, TextSize};

pub(super) const ASSIST: Assist = Assist {
    id: "add-missing-children",
    offers,
    make,
    together: None,
};

/// No more of a sort are written at once.
const MOST: u32 = 16;

/// Children of one name that are too few.
struct Missing<'d> {
    name: &'d str,
    count: u32,
}

fn offers(site: &Site<'_>, selection: TextRange, findings: &[Finding]) -> Vec<Offer> {
    let mut offers: Vec<Offer> = Vec::new();
    for finding in findings
        .iter()
        .filter(|finding| finding.code == codes::MISSING_CHILD.name)
    {
        let start = finding.range.start();
        let Some(chain) = site.chain_at(start) else {
            continue;
        };
        for wanted in Wanted::all(site, &chain) {
            let choice = wanted.written(start);
            if offers.iter().any(|offer| offer.key.choice == choice) {
                continue;
            }
            let missing = wanted.missing(site, &chain);
            let Ok(plan) = plan(site, &chain, &missing) else {
                continue;
            };
            offers.push(Offer {
                trust: plan.trust(),
                is_preferred: matches!(wanted, Wanted::Required),
                ready: Some(plan),
                ..Offer::new(ASSIST.id, selection, choice, title(&missing)).repairing(finding)
            });
        }
    }
    offers
}

fn make(site: &Site<'_>, key: &OfferKey) -> Result<Change, String> {
    let gone = || "This element is no longer there.".to_owned();
    let (start, wanted) = Wanted::read(&key.choice).ok_or_else(gone)?;
    let chain = site.chain_at(start).ok_or_else(gone)?;
    let missing = wanted.missing(site, &chain);
    match missing.is_empty() {
        true => Err("Nothing is missing here any more.".to_owned()),
        false => plan(site, &chain, &missing),
    }
}

/// What can be added to an element.
enum Wanted {
    /// All that it must hold.
    Required,
    /// One of those that stand for each other: an index into the declared children.
    OneOf(usize),
}

impl Wanted {
    fn all(site: &Site<'_>, chain: &Chain<'_>) -> Vec<Self> {
        let Some((at, declared)) = declared(site, chain) else {
            return Vec::new();
        };
        let counts = counts(at, declared);
        let choices = declared.choices.iter();
        let open = choices.filter(|choice| choice.count(&counts) < choice.min);
        // Of several sorts that exclude each other, one that is there was the choice.
        let members = open.flat_map(|choice| choice.members.clone());
        let required = std::iter::once(Self::Required);
        let required = required.filter(|it| !it.missing(site, chain).is_empty());
        required.chain(members.map(Self::OneOf)).collect()
    }

    fn missing<'d>(&self, site: &Site<'d>, chain: &Chain<'_>) -> Vec<Missing<'d>> {
        let Some((at, declared)) = declared(site, chain) else {
            return Vec::new();
        };
        let counts = counts(at, declared);
        let rules = declared.children.iter().enumerate();
        let missing = rules.filter_map(|(at, rule)| {
            let wanted = match self {
                Self::Required => rule.min.saturating_sub(counts[at]),
                Self::OneOf(member) => u32::from(*member == at),
            };
            (wanted > 0).then_some(Missing {
                name: &rule.name,
                count: wanted.min(MOST),
            })
        });
        missing.collect()
    }

    /// As an offer's choice: where the element's name begins, and what is added.
    fn written(&self, start: TextSize) -> String {
        let start = u32::from(start);
        match self {
            Self::Required => start.to_string(),
            Self::OneOf(member) => format!("{start} {member}"),
        }
    }

    fn read(choice: &str) -> Option<(TextSize, Self)> {
        let (start, wanted) = match choice.split_once(' ') {
            Some((start, member)) => (start, Self::OneOf(member.parse().ok()?)),
            None => (choice, Self::Required),
        };
        Some((TextSize::new(start.parse().ok()?), wanted))
    }
}

/// The last element of a chain, with its declaration.
fn declared<'d, 't, 'c>(
    site: &Site<'d>,
    chain: &'c Chain<'t>,
) -> Option<(&'c Located<'t>, &'d ElementDecl)> {
    let at = chain.last()?;
    Some((at, site.dialect.element(at.context)?))
}

/// How many children of each declared name there are.
fn counts(at: &Located<'_>, declared: &ElementDecl) -> Vec<u32> {
    let mut counts = vec![0; declared.children.len()];
    for child in at.element.children() {
        let name = child.local_name();
        let rule = declared.children.place_of(name);
        if let Some(rule) = rule {
            counts[rule] += 1;
        }
    }
    counts
}

fn title(missing: &[Missing<'_>]) -> String {
    let names = missing.iter().flat_map(|missing| {
        let name = format!("<{}>", missing.name);
        std::iter::repeat_n(name, missing.count as usize)
    });
    let names: Vec<String> = names.collect();
    format!("Add {}", super::naming::listed(&names))
}

fn plan(site: &Site<'_>, chain: &Chain<'_>, missing: &[Missing<'_>]) -> Result<Change, String> {
    let at = chain.last().ok_or("There is no element here.")?;
    let mut names = crate::writer::Names::of(site.machine, "");
    let mut written: Vec<(Insertion, Vec<NewElement>)> = Vec::new();
    for missing in missing {
        let new = || {
            let context = site.dialect.child_context(at.context, missing.name);
            let mut element = NewElement::new(missing.name, context);
            site.complete(&mut element, &mut names, "");
            element
        };
        let own: Vec<NewElement> = std::iter::repeat_with(new)
            .take(missing.count as usize)
            .collect();
        let mut write = |elements: Vec<NewElement>| {
            let parent = Parent::inside(chain.clone(), &elements[0].name);
            site.insertion(&parent, elements, &mut names)
                .map_err(|error| error.to_string())
        };
        let inserted = write(own.clone())?;
        // What goes to the same place is written there at once.
        match written.last_mut() {
            Some((before, elements)) if before.edit.range == inserted.edit.range => {
                elements.extend(own);
                *before = write(elements.clone())?;
            }
            _ => written.push((inserted, own)),
        }
    }
    let insertions: Vec<Insertion> = written
        .into_iter()
        .map(|(insertion, _)| insertion)
        .collect();
    let edits: Vec<_> = insertions.iter().map(|it| it.edit.clone()).collect();
    let landed = landings(&edits);
    let places = landed
        .iter()
        .zip(&insertions)
        .flat_map(|(landed, inserted)| {
            inserted.places.iter().filter_map(|place| {
                let offset =
                    |at: usize| Some(landed.start() + TextSize::new(u32::try_from(at).ok()?));
                Some(TextRange::new(offset(place.start)?, offset(place.end)?))
            })
        });
    Ok(Change {
        places: places.collect(),
        edits,
    })
}
