//! Puts an alias's path back where its name stands; an alias that nothing uses
//! any more goes.

use super::{
    Assist,
    offer::{Change, Offer, OfferKey, OfferKind},
    proof::keeps_nodes,
    site::Site,
};
use crate::{Finding, Trust, codes, writer::remove_elements};
use dialect::NodePath;
use machine::{Alias, Definition, NodeTarget, Use, UseTarget};
use syntax::{TextEdit, TextRange};

pub(super) const ASSIST: Assist = Assist {
    id: "inline-alias",
    offers,
    make,
    together: None,
};

const HERE: &str = "here";
const EVERYWHERE: &str = "everywhere";
const UNUSED: &str = "unused";

/// An alias that the cursor is on, at its definition or at a use.
struct Found<'v> {
    definition: &'v Definition,
    alias: &'v Alias,
    path: &'v str,
    leads: &'v NodePath,
    /// All uses of the name.
    uses: Vec<&'v Use>,
    /// The one at the cursor.
    here: Option<&'v Use>,
}

fn found<'v>(site: &Site<'v>, selection: TextRange) -> Option<Found<'v>> {
    let machine = site.machine;
    let symbol = machine.symbol_at(selection.start())?;
    let definition = machine.definition(std::slice::from_ref(&symbol.kind), &symbol.name)?;
    let alias = machine.alias(definition)?;
    // Of two of one name nobody can say which one is meant.
    let mut namesakes = machine
        .definitions_of(&symbol.kind)
        .filter(|other| *other.name.value == *symbol.name);
    if namesakes.nth(1).is_some() {
        return None;
    }
    let path = alias.path.as_ref()?;
    let NodeTarget::Path(leads) = &path.target else {
        return None;
    };
    let uses = machine.uses.iter().filter(|used| {
        let target = site.target_of(used);
        matches!(used.target, UseTarget::Name { .. })
            && target.is_some_and(|target| target.name.range == definition.name.range)
    });
    Some(Found {
        definition,
        alias,
        path: &path.text,
        leads,
        uses: uses.collect(),
        here: machine
            .use_at(selection.start())
            .filter(|used| used.range == symbol.range),
    })
}

impl Found<'_> {
    /// Whether the alias's path may stand where its name is used.
    fn fits(&self, used: &Use) -> bool {
        match (&used.target, self.leads) {
            (UseTarget::Name { or_path, .. }, NodePath::Positions(_)) => *or_path,
            (UseTarget::Name { or_node, .. }, NodePath::Names(_)) => or_node.is_some(),
            _ => false,
        }
    }
}

fn offers(site: &Site<'_>, selection: TextRange, findings: &[Finding]) -> Vec<Offer> {
    let Some(found) = found(site, selection) else {
        return Vec::new();
    };
    let (name, path) = (&found.definition.name.value, found.path);
    let mut offers = Vec::new();
    if found.uses.is_empty() {
        let finding = findings.iter().find(|finding| {
            finding.code == codes::UNUSED_ALIAS.name && finding.range == found.definition.name.range
        });
        if let Some(finding) = finding {
            let title = format!("Remove the alias `{name}`");
            offers.push(Offer::new(ASSIST.id, selection, UNUSED, title).repairing(finding));
        }
        return offers;
    }
    if found.here.is_some_and(|used| found.fits(used)) {
        let and_remove = if found.uses.len() == 1 {
            format!(" and remove the alias `{name}`")
        } else {
            String::new()
        };
        offers.push(Offer {
            trust: Trust::Safe,
            kind: OfferKind::Inline,
            ..Offer::new(
                ASSIST.id,
                selection,
                HERE,
                format!("Put the path `{path}` back here{and_remove}"),
            )
        });
    }
    let is_only_here = found.uses.len() == 1 && found.here.is_some();
    if found.uses.iter().all(|used| found.fits(used)) && !is_only_here {
        let places = match found.uses.len() {
            1 => "where it is used".to_owned(),
            count => format!("in all {count} places"),
        };
        offers.push(Offer {
            kind: OfferKind::Inline,
            ..Offer::new(
                ASSIST.id,
                selection,
                EVERYWHERE,
                format!("Put the path `{path}` back {places} and remove the alias `{name}`"),
            )
        });
    }
    offers
}

fn make(site: &Site<'_>, key: &OfferKey) -> Result<Change, String> {
    let found = found(site, key.selection).ok_or("The alias is no longer there.")?;
    let replaced: Vec<&Use> = match key.choice.as_str() {
        UNUSED => Vec::new(),
        EVERYWHERE => found.uses.clone(),
        _ => found.here.into_iter().collect(),
    };
    if let Some(used) = replaced.iter().find(|used| !found.fits(used)) {
        return Err(format!(
            "The place on line {} takes no such path.",
            site.line(used.range.start())
        ));
    }
    // It stands escaped in the alias already.
    let path = found
        .alias
        .path
        .as_ref()
        .map_or(found.path, |path| site.slice(path.range));
    let mut edits: Vec<TextEdit> = replaced
        .iter()
        .map(|used| TextEdit::replace(used.range, path))
        .collect();
    if replaced.len() == found.uses.len() {
        edits.extend(remove_elements(site.text(), &[found.alias.element]));
    }
    keeps_nodes(site, &edits)?;
    Ok(Change::from(edits))
}
