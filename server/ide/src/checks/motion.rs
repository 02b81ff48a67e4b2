//! Do the motions make sense?
//!
//! Each animation is looked at by itself and again only when it, or a node that it moves, has changed. What concerns
//! several animations or the wheels is put together from what is known of each.

mod contested;
mod jumps;
mod lopsided;
mod wheels;
mod windows;

use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use ::motion::{AtRest, Rig};
use dialect::{Dialect, Property, Quantity};
use machine::{Animation, Channel, Facts, Machine, Motion, NodeRef, Ranges};
use scene::NodeIndex;

use self::contested::Drivers;
use self::wheels::Wheels;
use super::index::{Index, Place};
use super::site::Site;
use crate::Finding;

/// What is known of a document's animations.
#[derive(Debug, Default)]
pub(super) struct Motions {
    animations: HashMap<Place, Known>,
    drivers: Drivers,
    wheels: Wheels,
    at_rest: Arc<AtRest>,
}

/// What is known of one animation.
#[derive(Debug)]
struct Known {
    /// What its portions say.
    facts: Vec<Arc<Facts>>,
    /// Ranges relative to the start of the entry that holds its start tag.
    findings: Vec<Finding>,
    /// The topmost nodes that it moves, in the order of the scene.
    moved: Vec<NodeIndex>,
}

/// An animation of the document at hand.
#[derive(Debug, Clone, Copy)]
struct Located<'v> {
    place: Place,
    /// The entry that holds its start tag, and how many entries it has.
    entry: usize,
    extent: usize,
    /// Without the channels that are in other entries than its start tag; ranges relative to that entry.
    head: &'v Animation,
}

impl<'v> Located<'v> {
    fn name(&self) -> Option<&'v str> {
        self.head.name.as_ref().map(|name| name.value.as_str())
    }
}

impl Motions {
    /// Takes in what has changed. `renamed`: the names that mean another node than before.
    pub(super) fn update(&mut self, site: &Site<'_>, index: &Index, renamed: &HashSet<String>) {
        let animations = animations(site);
        let affected = affected(site, index, renamed);
        let mut before = std::mem::take(&mut self.animations);
        let mut changed: HashSet<Place> = HashSet::new();
        let is_untouched = |animation: &Located<'_>, known: &Known| {
            let entries = &site.outline.entries()[animation.entry..][..animation.extent];
            let same = |(entry, facts): (&machine::Entry, &Arc<Facts>)| {
                Arc::ptr_eq(&entry.facts, facts) && !affected.contains(&entry.label)
            };
            entries.len() == known.facts.len() && entries.iter().zip(&known.facts).all(same)
        };
        for animation in &animations {
            let place = animation.place;
            let known = before.remove(&place);
            let known = match known {
                Some(known) if is_untouched(animation, &known) => known,
                _ => {
                    changed.insert(place);
                    self.look(site, index, animation)
                }
            };
            self.animations.insert(place, known);
        }
        for gone in before.into_keys() {
            self.drivers.forget(gone);
        }
        let moved = |place: Place| {
            self.animations
                .get(&place)
                .map(|known| known.moved.as_slice())
        };
        self.wheels.update(
            site,
            index,
            &animations,
            &changed,
            !affected.is_empty(),
            moved,
            &self.at_rest,
        );
    }

    fn look(&mut self, site: &Site<'_>, index: &Index, animation: &Located<'_>) -> Known {
        let machine = alone(site, animation);
        let moving = moving(site, index, &machine);
        let mut findings = windows::check(site, &machine);
        findings.extend(jumps::check(site, &moving));
        let mut moved = Vec::new();
        if let Some(rig) = rig(site, index, &machine, &self.at_rest) {
            findings.extend(lopsided::check(site, &rig));
            moved = rig.moved_nodes(0);
        }
        let entries = &site.outline.entries()[animation.entry..][..animation.extent];
        let start = entries[0].start();
        self.drivers
            .replace(animation.place, animation.name(), &moving, start);
        Known {
            facts: entries.iter().map(|entry| entry.facts.clone()).collect(),
            findings: findings.moved_back(start),
            moved,
        }
    }

    pub(super) fn findings(&self, site: &Site<'_>) -> Vec<Finding> {
        let mut findings = Vec::new();
        for (place, known) in &self.animations {
            if known.findings.is_empty() {
                continue;
            }
            if let Some(entry) = site.outline.position(place.label) {
                let start = site.outline.entries()[entry].start();
                findings.extend(known.findings.clone().moved_on(start));
            }
        }
        findings.extend(self.drivers.findings(site));
        findings.extend(self.wheels.findings(site));
        findings
    }
}

/// The animations in the order of the document.
fn animations<'v>(site: &Site<'v>) -> Vec<Located<'v>> {
    let mut animations = Vec::new();
    let entries = site.outline.entries().iter().enumerate();
    for (at, entry) in entries.filter(|(_, entry)| entry.sorts.animations) {
        for (number, head) in entry.facts.animations.iter().enumerate() {
            animations.push(Located {
                place: Place {
                    label: entry.label,
                    at: number,
                },
                entry: at,
                extent: site.outline.extent(at),
                head,
            });
        }
    }
    animations
}

/// The labels of the entries that use one of these names.
fn affected(site: &Site<'_>, index: &Index, names: &HashSet<String>) -> HashSet<u64> {
    let groups = names.iter().filter_map(|name| index.group(name));
    let labels = groups.flat_map(|group| group.used.iter().map(|place| place.label));
    let _ = site;
    labels.collect()
}

/// A machine that has only this animation, with ranges in the document.
fn alone(site: &Site<'_>, animation: &Located<'_>) -> Machine {
    let entries = &site.outline.entries()[animation.entry..][..animation.extent];
    let mut whole = animation.head.clone().moved_on(entries[0].start());
    if let Some(element) = entries[0].portion.element() {
        whole.element = element.range();
    }
    for (at, entry) in entries.iter().enumerate().skip(1) {
        for loose in &entry.facts.loose {
            if site.outline.animation_around(animation.entry + at, loose) == Some(animation.entry) {
                whole
                    .channels
                    .push(loose.channel.clone().moved_on(entry.start()));
            }
        }
    }
    Machine {
        animations: vec![whole],
        ..Machine::default()
    }
}

/// The machine in its scene; None without one.
fn rig<'m>(
    site: &Site<'m>,
    index: &Index,
    machine: &'m Machine,
    at_rest: &Arc<AtRest>,
) -> Option<Rig<'m>> {
    let scene = site.scene?;
    let node = |node: &NodeRef| scene.walk(index.path_of(node)?).ok();
    let notation = &site.dialect.notation;
    Some(Rig::resolved(
        scene,
        machine,
        notation,
        node,
        at_rest.clone(),
    ))
}

/// A motion of which node, property and window can be read, and whose window is not empty.
#[derive(Clone, Copy)]
struct Moving<'v> {
    node: &'v NodeRef,
    /// The path to the node, whatever it is called here.
    path: &'v [u32],
    property: Property,
    begin: f64,
    end: f64,
    motion: &'v Motion,
}

/// The motions that can be read, in the order of the document.
fn moving<'v>(site: &Site<'_>, index: &'v Index, machine: &'v Machine) -> Vec<Moving<'v>> {
    let _ = site;
    let of_channel = |channel: &'v Channel| {
        let node = channel.node.as_ref();
        let path = node.and_then(|node| index.path_of(node));
        channel.motions.iter().filter_map(move |motion| {
            let (begin, end) = motion.window.seconds()?;
            let (node, path, property) = (node?, path?, motion.property?);
            (end > begin).then_some(Moving {
                node,
                path,
                property,
                begin,
                end,
                motion,
            })
        })
    };
    let animations = machine.animations.iter();
    animations
        .flat_map(|animation| animation.channels.iter().flat_map(of_channel))
        .collect()
}

/// A number of base units in the dialect's unit, rounded for reading: `0.32 m`.
fn measure(dialect: &Dialect, quantity: Quantity, number: f64) -> String {
    let unit = dialect.notation.units.of(quantity);
    format!(
        "{} {}",
        rounded(dialect, unit.from_base(number)),
        unit.symbol()
    )
}

/// A number with four digits that matter at most.
fn rounded(dialect: &Dialect, number: f64) -> String {
    let digits = 3 - number.abs().log10().floor().clamp(-6.0, 3.0) as i32;
    let scale = 10_f64.powi(digits);
    dialect.write_number((number * scale).round() / scale)
}
