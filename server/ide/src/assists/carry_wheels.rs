//! Lets a control carry the wheels that move with its animation.

use super::{
    Assist,
    after::mapped,
    carried::wheel_words,
    control::list_joint,
    naming::listed,
    offer::{Change, Offer, OfferKey},
    parts::{Parts, moved_paths, wheels_on},
    proof::{Claim, ControlClaim, prove},
    site::Site,
};
use crate::{
    Finding, codes,
    writer::{Names, NewAttribute, Unwritable, declaration, parent_for},
};
use dialect::{ControlRole, Leaf, Path, ValueType};
use foldhash::HashSet;
use machine::{Chain, Control, Wheel};
use syntax::{TextEdit, TextRange, TextSize};

pub(super) const ASSIST: Assist = Assist {
    id: "carry-wheels",
    offers,
    make,
    together: None,
};

fn offers(site: &Site<'_>, selection: TextRange, findings: &[Finding]) -> Vec<Offer> {
    let mut offers: Vec<Offer> = Vec::new();
    for finding in findings
        .iter()
        .filter(|finding| finding.code == codes::WHEEL_LEFT_BEHIND.name)
    {
        // The finding points at what the control plays, which may be said outside of it.
        let controls = site.machine.controls.iter();
        let told = controls.filter(|control| {
            control
                .animation
                .as_ref()
                .is_some_and(|played| played.range == finding.range)
        });
        let Some((control, left)) = told
            .into_iter()
            .find_map(|control| Some((control, left_behind(site, control)?)))
        else {
            continue;
        };
        let names: Vec<String> = left.iter().map(|wheel| name(site, *wheel)).collect();
        let what = if left.len() == 1 { "wheel" } else { "wheels" };
        let choice = u32::from(control.element.start()).to_string();
        offers.push(Offer {
            is_preferred: true,
            ..Offer::new(
                ASSIST.id,
                selection,
                choice,
                format!("Carry the {what} {}", listed(&names)),
            )
            .repairing(finding)
        });
    }
    offers
}

fn name(site: &Site<'_>, wheel: usize) -> String {
    let label = site.machine.wheels.get(wheel).and_then(Wheel::label);
    label.map_or_else(|| (wheel + 1).to_string(), str::to_owned)
}

/// The wheels that a control moves and does not carry; None if there are none.
pub(super) fn left_behind(site: &Site<'_>, control: &Control) -> Option<Vec<usize>> {
    let carried: HashSet<usize> = carried(site, control).into_iter().collect();
    let parts = Parts::all(site, site.played(control)?)?;
    let moving = wheels_on(site, &moved_paths(site, &parts.channels_of(site)));
    let left: Vec<usize> = moving
        .into_iter()
        .filter(|wheel| !carried.contains(wheel))
        .collect();
    (!left.is_empty()).then_some(left)
}

/// The wheels that a control carries, by position.
pub(super) fn carried(site: &Site<'_>, control: &Control) -> Vec<usize> {
    control
        .wheels
        .iter()
        .filter_map(|word| site.wheel(word))
        .collect()
}

fn make(site: &Site<'_>, key: &OfferKey) -> Result<Change, String> {
    let gone = "This control is no longer there.";
    let start = key
        .choice
        .parse::<u32>()
        .map(TextSize::new)
        .map_err(|_| gone)?;
    let mut controls = site.machine.controls.iter();
    let control = controls
        .find(|control| control.element.start() == start)
        .ok_or(gone)?;
    let left = left_behind(site, control).ok_or(gone)?;
    let edit =
        words(site, control, &left).map_err(|reason| super::adjust_offers::spoken(&reason))?;
    let edits = vec![edit];
    let mut wheels = carried(site, control);
    wheels.extend(&left);
    wheels.sort_unstable();
    let parts = site
        .played(control)
        .and_then(|animation| Parts::all(site, animation))
        .ok_or(gone)?;
    let claim = Claim {
        parts: &parts,
        new_animation: None,
        control: control.kind.map(|kind| ControlClaim {
            within: mapped(&edits, control.element),
            kind,
            input: control.input.as_ref().map(|input| &*input.value),
            wheels: &wheels,
            replaces: site
                .machine
                .controls
                .iter()
                .position(|known| known.element == control.element),
        }),
        places: &[],
    };
    prove(site, &edits, &claim).map_err(|reason| {
        super::adjust_offers::spoken(&format!("nothing was changed: {reason}"))
    })?;
    Ok(Change::from(edits))
}

/// The edit that writes words on wheels into a control.
pub(super) fn words(
    site: &Site<'_>,
    control: &Control,
    wheels: &[usize],
) -> Result<TextEdit, String> {
    let role = site.dialect.roles.controls.get(control.role);
    let found = role.and_then(|role| {
        Some((
            role,
            site.locate(&[], &role.at, control.element)?,
            role.wheels.as_ref()?,
        ))
    });
    let (role, chain, path) = found.ok_or("controls of this dialect carry no wheels")?;
    let contexts: Vec<_> = chain.iter().map(|at| at.context).collect();
    let declared = declaration(site.dialect, &contexts, path);
    let words = wheel_words(site, wheels, declared)?;
    let list = declared.filter(|declared| declared.value.list.is_some());
    let edit = if let Some(list) = list {
        into_list(site, role, &chain, path, &list.value, &words)
    } else if path.steps().is_empty() {
        let is_free = site.reader.value(&chain, path).is_none();
        match words.as_slice() {
            [only] if is_free => site.set_value(&chain, path, only),
            _ => return Err("the control can carry one wheel only".to_owned()),
        }
    } else {
        as_elements(site, &chain, path, &words)
    };
    edit.map_err(|error| error.to_string())
}

/// The words behind those that stand in a list, which may be empty.
fn into_list(
    site: &Site<'_>,
    role: &ControlRole,
    chain: &Chain<'_>,
    path: &Path,
    list: &ValueType,
    words: &[String],
) -> Result<TextEdit, Unwritable> {
    let separator = site
        .dialect
        .write_list(list, &[String::new(), String::new()]);
    let joint = list_joint(site, &role.at, path).unwrap_or(&separator);
    let written = site.reader.value(chain, path);
    let last = written.and_then(|found| Some(found.members().last()?.end()));
    let words = words.join(joint);
    match last {
        Some(end) => Ok(TextEdit::insert(end, format!("{joint}{words}"))),
        None => site.set_value(chain, path, &words),
    }
}

/// An element for each of the words.
fn as_elements(
    site: &Site<'_>,
    chain: &Chain<'_>,
    path: &Path,
    words: &[String],
) -> Result<TextEdit, Unwritable> {
    let parent = parent_for(&site.reader, chain, path.steps())?;
    let mut names = Names::of(site.machine, "");
    let mut elements = Vec::new();
    for word in words {
        let mut element = parent.element(site.dialect)?;
        match path.leaf() {
            Leaf::Attribute(name) => element.set_attribute(NewAttribute::new(name, word)),
            Leaf::Text | Leaf::Element => element.set_text(word, false),
        }
        site.complete(&mut element, &mut names, "");
        elements.push(element);
    }
    let insertion = site.insertion(&parent, elements, &mut names)?;
    Ok(insertion.edit)
}
