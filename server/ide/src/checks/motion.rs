//! Do the motions make sense?
//!
//! Each animation is looked at by itself and again only when it, or a node that it moves, has changed; and then mostly
//! only what has changed of it. What concerns several animations or the wheels is put together from what is known of each.

mod again;
mod against;
mod animated;
mod contested;
mod jumps;
mod lopsided;
mod nodes;
mod rest;
mod wheels;
mod windows;

use foldhash::{HashMap, HashSet};
use std::sync::Arc;

use ::motion::{AtRest, Drive, Rig};
use dialect::{EndValue, Property};
use machine::{Animation, Channel, Entry, Motion, NodeRef, Ranges, Sort, Spanned, in_parallel};
use scene::{NodeIndex, Scene};
use syntax::TextSize;

use self::again::{Again, Loud, Seen};
use self::animated::{Animated, Reached, is_among};
use self::contested::{Driven, Drivers, First};
use self::nodes::{Nodes, Resolved};
use self::wheels::Wheels;
use super::gravest::Gravest;
use super::index::{Index, Part, Place, Renamed};
use super::site::Site;
use crate::Finding;
use crate::measures::{measure, rounded};
use crate::nodes::number;

/// What is known of a document's animations.
#[derive(Debug, Default)]
pub(super) struct Motions {
    /// Boxed: they are large, and all are put into their places again after each keystroke.
    animations: HashMap<Place, Box<Known>>,
    drivers: Drivers,
    wheels: Wheels,
    nodes: Nodes,
    resolved: Resolved,
    at_rest: Arc<AtRest>,
}

/// What is known of one animation.
#[derive(Debug)]
struct Known {
    seen: Seen,
    /// What is wrong with it; of most, nothing is.
    told: Option<Box<Told>>,
    /// What it drives, and where first, in order.
    driven: Vec<(Driven, First)>,
    animated: Animated,
}

/// What is to be told of one animation. Ranges are relative to the start of the entry that holds its start tag.
#[derive(Debug)]
struct Told {
    findings: Vec<Finding>,
    /// Whether these are all there are.
    are_all: bool,
    /// Told only of what no other animation drives, and if the path to it is right.
    unless_shared: Vec<(Driven, Finding)>,
}

impl Told {
    fn boxed(self) -> Option<Box<Self>> {
        let is_nothing = self.findings.is_empty() && self.are_all && self.unless_shared.is_empty();
        (!is_nothing).then(|| Box::new(self))
    }
}

/// An animation that has to be looked at.
#[derive(Debug)]
struct Asked<'v> {
    animation: Located<'v>,
    channels: Vec<ChannelAt<'v>>,
    /// As in [`Seen`].
    parts: Vec<(u64, Part)>,
    again: Again,
    /// What was known of it before.
    known: Option<Box<Known>>,
}

/// What was seen of an animation, as in [`Seen`] and [`Known`].
#[derive(Debug, Default)]
struct LookedAt {
    findings: Gravest,
    loud_entries: HashSet<u64>,
    loud_parts: HashSet<Part>,
    unless_shared: Vec<(Driven, Finding)>,
    /// Of the parts that were looked at.
    driven: Vec<(Driven, First)>,
    animated: Animated,
}

/// So many channels are worth a thread.
const CHANNELS_AT_ONCE: usize = 500;
/// So many animations and channels are looked at before what was found is put in its place: there may be a hundred
/// thousand animations.
const MOST_AT_ONCE: usize = 40 * CHANNELS_AT_ONCE;

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

/// Where a channel is said: among the channels of an animation of the entry, or among the loose ones. No document has
/// more than 32 bits can count.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct ChannelPlace {
    label: u64,
    animation: Option<u32>,
    at: u32,
}

/// A channel of the document at hand.
#[derive(Debug, Clone, Copy)]
struct ChannelAt<'v> {
    channel: &'v Channel,
    /// Its ranges are relative to this.
    start: TextSize,
    place: ChannelPlace,
    part: Option<Part>,
}

impl<'v> Located<'v> {
    fn name(&self) -> Option<&'v str> {
        self.head.name.as_ref().map(|name| &*name.value)
    }

    fn entries(&self, site: &Site<'v>) -> &'v [Entry] {
        &site.outline.entries()[self.entry..][..self.extent]
    }

    /// Its channels, in the order of the document.
    fn channels(
        &self,
        site: &Site<'v>,
        index: &mut Index,
        resolved: &mut Resolved,
    ) -> Vec<ChannelAt<'v>> {
        let entries = self.entries(site);
        let loose = entries.iter().map(|entry| entry.facts.loose.len());
        // There may be thousands, after each keystroke.
        let most = self.head.channels.len() + loose.sum::<usize>();
        let mut channels = Vec::with_capacity(most);
        let mut add = |entry: &'v Entry, animation, at, channel: &'v Channel, part| {
            channels.push(ChannelAt {
                channel,
                start: entry.start(),
                place: ChannelPlace {
                    label: entry.label,
                    animation,
                    at,
                },
                part,
            });
        };
        let own = u32::try_from(self.place.at).unwrap_or(u32::MAX);
        for (at, channel) in (0..).zip(&self.head.channels) {
            let node = channel.node.as_ref();
            let part = node.and_then(|node| index.part_of(node));
            add(&entries[0], Some(own), at, channel, part);
        }
        let with_loose = entries.iter().enumerate().skip(1);
        for (below, entry) in with_loose.filter(|(_, entry)| entry.sorts.has(Sort::Loose)) {
            let mut around = None;
            let parts = resolved.parts(entry, index);
            for (at, (number, loose)) in (0..).zip(&entry.facts.loose).enumerate() {
                // Mostly all of an entry belong to the same.
                let holder = match around {
                    Some((depth, holder)) if depth == loose.depth => holder,
                    _ => site.outline.animation_around(self.entry + below, loose),
                };
                around = Some((loose.depth, holder));
                if holder == Some(self.entry) {
                    let part = parts.get(at).copied().flatten();
                    add(entry, None, number, &loose.channel, part);
                }
            }
        }
        channels
    }
}

impl Motions {
    /// Takes in what has changed. `renamed`: the names that mean another node than before.
    pub(super) fn update(&mut self, site: &Site<'_>, index: &mut Index, renamed: &Renamed) {
        let animations = animations(site);
        let affected = index.users(renamed);
        self.resolved.forget(site, &affected);
        if self.animations.is_empty() {
            self.resolved.look_ahead(site, index);
        }
        let mut before = std::mem::take(&mut self.animations);
        let is_untouched = |animation: &Located<'_>, known: &Known| {
            known.seen.is_same(animation.entries(site), &affected)
        };
        let mut changed = HashSet::default();
        let mut asked: Vec<Asked<'_>> = Vec::new();
        let mut room = MOST_AT_ONCE;
        for animation in &animations {
            let known = match before.remove(&animation.place) {
                Some(known) if is_untouched(animation, &known) => {
                    self.animations.insert(animation.place, known);
                    continue;
                }
                known => known,
            };
            let one = self.ask(site, index, *animation, known, &affected);
            changed.insert(animation.place);
            room = room.saturating_sub(1 + one.channels.len());
            asked.push(one);
            if room == 0 {
                self.look(site, std::mem::take(&mut asked));
                room = MOST_AT_ONCE;
            }
        }
        self.look(site, asked);
        for (gone, known) in before {
            self.drivers.replace(gone, &known.driven, &[]);
        }
        let known = &self.animations;
        let context = wheels::Context {
            site,
            animations: &animations,
            changed: &changed,
            affected: &affected,
            moved: &|place| {
                let known = known.get(&place).zip(site.scene);
                known.map_or_else(Vec::new, |(known, scene)| known.animated.moved(scene))
            },
            at_rest: &self.at_rest,
        };
        self.wheels
            .update(&context, index, &mut self.nodes, &mut self.resolved);
    }

    /// `known`: what was known of it before.
    fn ask<'v>(
        &mut self,
        site: &Site<'v>,
        index: &mut Index,
        animation: Located<'v>,
        known: Option<Box<Known>>,
        affected: &HashSet<u64>,
    ) -> Asked<'v> {
        let channels = animation.channels(site, index, &mut self.resolved);
        if let Some(scene) = site.scene {
            self.nodes.look_up(scene, index);
        }
        let mut parts = Vec::with_capacity(channels.len());
        parts.extend(channels.iter().filter_map(|at| {
            let part = self.nodes.first(at.part?);
            Some((at.place.label, part))
        }));
        let entries = animation.entries(site);
        let again = match &known {
            Some(known) => Again::of(&known.seen, entries, &parts, affected),
            None => Again::all(),
        };
        Asked {
            animation,
            channels,
            parts,
            again,
            known,
        }
    }

    /// Looks at all that has changed, on all cores if that is much.
    fn look(&mut self, site: &Site<'_>, asked: Vec<Asked<'_>>) {
        let channels = asked.iter().map(|asked| asked.channels.len());
        let channels: usize = channels.sum();
        let share = (asked.len() * CHANNELS_AT_ONCE).div_ceil(channels.max(1));
        let looked_at = in_parallel(asked.len(), share.max(1), |nth| {
            self.looked_at(site, &asked[nth])
        });
        for (asked, looked_at) in asked.into_iter().zip(looked_at) {
            self.take(site, asked, looked_at);
        }
    }

    fn looked_at(&self, site: &Site<'_>, asked: &Asked<'_>) -> LookedAt {
        let Asked {
            animation,
            channels,
            again,
            ..
        } = asked;
        let start = animation.entries(site)[0].start();
        let mut found = LookedAt::default();
        for at in channels.iter().filter(|at| again.has_entry(at.place.label)) {
            let findings = windows::check(site, at);
            if !findings.is_empty() {
                found.loud_entries.insert(at.place.label);
                found.findings.extend(findings);
            }
        }
        found.findings.extend(windows::past_duration(
            site,
            animation.head,
            start,
            channels,
        ));
        let moving = moving(&self.nodes, again, channels);
        let turns = in_turn(&moving);
        found.loud_parts = jumps::check(site, &turns, &mut found.findings);
        if let Some(scene) = site.scene {
            let mut restless = rest::check(site, scene, &self.nodes, &turns);
            let parts = restless.iter().map(|(driven, _)| driven.part());
            found.loud_parts.extend(parts);
            let (rig, animated, reached) = self.reached(site, scene, asked);
            let mut compared =
                lopsided::check(site, scene, &rig, channels, &reached.pairs, &mut restless);
            compared.extend(against::check(site, &rig, channels));
            for (finding, about) in compared {
                let parts = about
                    .iter()
                    .filter_map(|number| channels.get(*number)?.part);
                let parts = parts.map(|part| self.nodes.first(part));
                found.loud_parts.extend(parts);
                found.findings.extend([finding]);
            }
            found.animated = animated;
            let restless = restless.into_iter();
            found.unless_shared =
                Vec::from_iter(restless.map(|(driven, one)| (driven, one.moved_back(start))));
        }
        found.driven = contested::driven(&turns);
        found
    }

    /// The motions that have to be compared with others, as animation 0; what the animation drives now; and what of that the
    /// change reaches.
    fn reached<'v>(
        &self,
        site: &Site<'v>,
        scene: &'v Scene,
        asked: &Asked<'v>,
    ) -> (Rig<'v>, Animated, Reached) {
        let rig = |channels: Vec<(usize, &ChannelAt<'v>)>| {
            rig(site, scene, &self.nodes, channels, &self.at_rest)
        };
        let channels = || asked.channels.iter().enumerate();
        let Some((known, parts)) = asked.known.as_ref().zip(asked.again.parts()) else {
            let rig = rig(channels().collect());
            let animated = Animated::default().after(&[], &rig, &self.at_rest);
            let all = animated.all();
            return (rig, animated, all);
        };
        let those = |is_asked: &dyn Fn(Part) -> bool| {
            let part = |at: &ChannelAt<'_>| at.part.map(|part| self.nodes.first(part));
            let those = channels().filter(|(_, at)| part(at).is_some_and(is_asked));
            those.collect::<Vec<_>>()
        };
        let nodes = parts.iter().filter_map(|part| self.nodes.get(*part));
        let mut touched: Vec<NodeIndex> = nodes.collect();
        touched.sort_unstable();
        touched.dedup();
        let own = rig(those(&|part| asked.again.has_part(part)));
        let animated = known.animated.after(&touched, &own, &self.at_rest);
        let reached = animated.reached(&known.animated, &touched, scene);
        let node = |part| self.nodes.get(part);
        let is_reached = |node| is_among(&reached.nodes, &node);
        let rig = match reached.nodes == touched {
            true => own,
            false => rig(those(&|part| node(part).is_some_and(is_reached))),
        };
        (rig, animated, reached)
    }

    fn take(&mut self, site: &Site<'_>, asked: Asked<'_>, found: LookedAt) {
        let Asked {
            animation,
            parts,
            again,
            known,
            ..
        } = asked;
        let entries = animation.entries(site);
        let mut driven = known.map(|known| known.driven).unwrap_or_default();
        let is_old = |(driven, _): &mut (Driven, First)| again.has_part(driven.part());
        let before: Vec<(Driven, First)> = driven.extract_if(.., is_old).collect();
        self.drivers
            .replace(animation.place, &before, &found.driven);
        if driven.is_empty() {
            // This list has no room to spare.
            driven = found.driven;
        } else {
            driven.extend(found.driven);
            // Two sorted runs, which a stable sort merges.
            driven.sort_by_key(|(driven, _)| *driven);
        }
        let (findings, are_all) = found.findings.done();
        let known = Box::new(Known {
            seen: Seen {
                entries: entries
                    .iter()
                    .map(|entry| (entry.label, entry.facts.clone()))
                    .collect(),
                parts: parts.into(),
                loud: Loud::boxed(found.loud_entries, found.loud_parts),
            },
            told: Told {
                findings: findings.moved_back(entries[0].start()),
                are_all,
                unless_shared: found.unless_shared,
            }
            .boxed(),
            driven,
            animated: found.animated,
        });
        self.animations.insert(animation.place, known);
    }

    /// `wrong`: the nodes that stale paths lead to, of which nothing more is said.
    pub(super) fn findings(
        &self,
        site: &Site<'_>,
        wrong: &HashSet<NodeIndex>,
        found: &mut Gravest,
    ) {
        let is_wrong = |driven: Driven| {
            let node = self.nodes.get(driven.part());
            node.is_some_and(|node| wrong.contains(&node))
        };
        let is_alone = |driven: Driven| !self.drivers.is_shared(driven) && !is_wrong(driven);
        for (place, known) in &self.animations {
            let Some(told) = &known.told else {
                continue;
            };
            if let Some(entry) = site.outline.labelled(place.label) {
                let start = entry.start();
                let alone = told.unless_shared.iter();
                let alone = alone.filter(|(driven, _)| is_alone(*driven));
                for finding in told
                    .findings
                    .iter()
                    .chain(alone.map(|(_, finding)| finding))
                {
                    if found.wants(finding.severity, finding.range.start() + start) {
                        found.push(finding.clone().moved_on(start));
                    }
                }
                if !told.are_all {
                    found.leave_out();
                }
            }
        }
        let driven = |place: Place| self.animations.get(&place).map(|known| &*known.driven);
        self.drivers.findings(site, driven, found);
        self.wheels.findings(site, found);
    }
}

/// The animations in the order of the document.
fn animations<'v>(site: &Site<'v>) -> Vec<Located<'v>> {
    let mut animations = Vec::new();
    for (at, entry) in site.outline.saying(Sort::Animations) {
        let extent = site.outline.extent(at);
        for (number, head) in entry.facts.animations.iter().enumerate() {
            animations.push(Located {
                place: Place {
                    label: entry.label,
                    at: number,
                },
                entry: at,
                extent,
                head,
            });
        }
    }
    animations
}

/// What channels drive in the scene; animation 0 of the rig. `channels`: with their numbers.
fn rig<'v>(
    site: &Site<'v>,
    scene: &'v Scene,
    nodes: &Nodes,
    channels: Vec<(usize, &ChannelAt<'_>)>,
    at_rest: &Arc<AtRest>,
) -> Rig<'v> {
    let mut drives = Vec::with_capacity(channels.len());
    for (at, channel) in channels {
        if let Some(node) = channel.part.and_then(|part| nodes.get(part)) {
            drives.extend(Drive::of_channel(0, at, node, channel.channel));
        }
    }
    let notation = &site.dialect.notation;
    Rig::of_drives(scene, notation, drives, at_rest.clone())
}

/// A motion of which node, property and window can be read, and whose window is not empty.
#[derive(Clone, Copy)]
struct Moving<'v> {
    node: &'v NodeRef,
    part: Part,
    property: Property,
    begin: f64,
    end: f64,
    motion: &'v Motion,
    /// The ranges are relative to this.
    start: TextSize,
    channel: ChannelPlace,
}

impl Moving<'_> {
    /// Of which axes it speaks.
    fn axes(&self) -> [bool; 3] {
        self.motion.axes.unwrap_or([true; 3])
    }
}

/// The motions that can be read, in the order of the document, of the parts that are looked at again.
fn moving<'v>(nodes: &Nodes, again: &Again, channels: &[ChannelAt<'v>]) -> Vec<Moving<'v>> {
    let mut moving = Vec::new();
    for at in channels {
        let (Some(node), Some(part)) = (&at.channel.node, at.part.map(|part| nodes.first(part)))
        else {
            continue;
        };
        if !again.has_part(part) {
            continue;
        }
        moving.extend(at.channel.motions.iter().filter_map(|motion| {
            let (begin, end) = motion.window.seconds()?;
            (end > begin).then_some(Moving {
                node,
                part,
                property: motion.property?,
                begin,
                end,
                motion,
                start: at.start,
                channel: at.place,
            })
        }));
    }
    moving
}

/// A value as it is written; where that is axis by axis, each number with its axis.
fn written(
    site: &Site<'_>,
    motion: &Motion,
    property: Property,
    value: &Spanned<EndValue>,
    start: TextSize,
) -> String {
    let (Some(axes), EndValue::Vector(numbers)) = (motion.axes, value.value) else {
        return format!("`{}`", site.text(value.range + start));
    };
    let direction = match property {
        Property::Rotation => "about",
        _ => "along",
    };
    let said = [0, 1, 2].into_iter().filter(|axis| axes[*axis]);
    let said = said.map(|axis| {
        let number = number(site.dialect, numbers[axis], property.quantity());
        format!("`{number}` {direction} {}", ["x", "y", "z"][axis])
    });
    said.collect::<Vec<_>>().join(", ")
}

/// A motion with its number in the order of the document.
#[derive(Clone, Copy)]
struct Turn<'m, 'v> {
    number: usize,
    moving: &'m Moving<'v>,
}

/// The motions by part and property, and then as they begin. Those that begin together stay in the order of the document.
fn in_turn<'m, 'v>(moving: &'m [Moving<'v>]) -> Vec<Turn<'m, 'v>> {
    let turns = moving.iter().enumerate();
    let mut turns: Vec<Turn<'_, '_>> = turns
        .map(|(number, moving)| Turn { number, moving })
        .collect();
    turns.sort_unstable_by(|a, b| {
        let place = |turn: &Turn<'_, '_>| Driven::of(turn.moving);
        let begin = a.moving.begin.total_cmp(&b.moving.begin);
        let order = place(a).cmp(&place(b)).then(begin);
        order.then(a.number.cmp(&b.number))
    });
    turns
}
