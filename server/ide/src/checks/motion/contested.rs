//! Properties of nodes that more than one animation drives along the same axis, under whatever names.

use foldhash::HashMap;
use std::collections::hash_map::Entry;

use dialect::{EndValue, Property, Quantity};
use glam::DVec3;
use machine::NodeRef;
use syntax::TextRange;

use super::super::gravest::Gravest;
use super::super::index::{Part, Place};
use super::super::site::Site;
use super::{ChannelPlace, Moving, Turn, measure, rounded};
use crate::finding::short;
use crate::{Finding, codes};

/// A property of a node.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) struct Driven {
    part: Part,
    /// Of [`Property`].
    property: u8,
}

impl Driven {
    pub(super) fn part(self) -> Part {
        self.part
    }

    pub(super) fn of(moving: &Moving<'_>) -> Self {
        Self {
            part: moving.part,
            property: moving.property as u8,
        }
    }
}

/// The first channels of an animation that drive a property along each axis. Mostly one does along all of them, and there
/// may be a hundred thousand.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum First {
    Along(ChannelPlace),
    ByAxis(Box<[Option<ChannelPlace>; 3]>),
}

impl First {
    fn of(by_axis: [Option<ChannelPlace>; 3]) -> Self {
        match by_axis {
            [Some(x), Some(y), Some(z)] if x == y && y == z => Self::Along(x),
            _ => Self::ByAxis(Box::new(by_axis)),
        }
    }

    fn by_axis(&self) -> [Option<ChannelPlace>; 3] {
        match self {
            Self::Along(channel) => [Some(*channel); 3],
            Self::ByAxis(by_axis) => **by_axis,
        }
    }
}

/// What an animation drives, and where first, in order.
pub(super) fn driven(turns: &[Turn<'_, '_>]) -> Vec<(Driven, First)> {
    let of_one = turns.chunk_by(|a, b| Driven::of(a.moving) == Driven::of(b.moving));
    let first = of_one.map(|turns| {
        let mut first: [Option<&Turn<'_, '_>>; 3] = [None; 3];
        for turn in turns {
            for (first, says) in first.iter_mut().zip(turn.moving.axes()) {
                if says && first.is_none_or(|first| turn.number < first.number) {
                    *first = Some(turn);
                }
            }
        }
        let channel = |turn: Option<&Turn<'_, '_>>| turn.map(|turn| turn.moving.channel);
        let first = First::of(first.map(channel));
        (Driven::of(turns[0].moving), first)
    });
    let mut driven = Vec::with_capacity(turns.len());
    driven.extend(first);
    driven.shrink_to_fit();
    driven
}

/// Which animations drive what.
#[derive(Debug, Default)]
pub(super) struct Drivers {
    /// What one animation drives, which is nearly all.
    alone: HashMap<Driven, Place>,
    /// What several animations drive; these in order.
    shared: HashMap<Driven, Vec<Place>>,
}

impl Drivers {
    /// Whether several animations drive it.
    pub(super) fn is_shared(&self, driven: Driven) -> bool {
        self.shared.contains_key(&driven)
    }

    /// Takes in what an animation drives now.
    pub(super) fn replace(
        &mut self,
        animation: Place,
        before: &[(Driven, First)],
        now: &[(Driven, First)],
    ) {
        let (mut before, mut now) = (before.iter().peekable(), now.iter().peekable());
        loop {
            match (before.peek(), now.peek()) {
                (None, None) => return,
                (Some((gone, _)), next) if next.is_none_or(|(new, _)| gone < new) => {
                    self.remove(animation, *gone);
                    before.next();
                }
                (next, Some((new, _))) if next.is_none_or(|(old, _)| new < old) => {
                    self.add(animation, *new);
                    now.next();
                }
                _ => {
                    before.next();
                    now.next();
                }
            }
        }
    }

    fn add(&mut self, animation: Place, driven: Driven) {
        if let Some(animations) = self.shared.get_mut(&driven) {
            if let Err(at) = animations.binary_search(&animation) {
                animations.insert(at, animation);
            }
            return;
        }
        match self.alone.entry(driven) {
            Entry::Vacant(free) => {
                free.insert(animation);
            }
            Entry::Occupied(one) if *one.get() != animation => {
                let mut animations = vec![one.remove(), animation];
                animations.sort_unstable();
                self.shared.insert(driven, animations);
            }
            Entry::Occupied(_) => {}
        }
    }

    fn remove(&mut self, animation: Place, driven: Driven) {
        if let Some(animations) = self.shared.get_mut(&driven) {
            if let Ok(at) = animations.binary_search(&animation) {
                animations.remove(at);
            }
            if let [only] = animations[..] {
                self.shared.remove(&driven);
                self.alone.insert(driven, only);
            }
        } else if self.alone.get(&driven) == Some(&animation) {
            self.alone.remove(&driven);
        }
    }

    /// The later of two animations that drive it along the same axis is reported, once for each property of a node.
    /// `driven`: what an animation drives.
    pub(super) fn findings<'a>(
        &self,
        site: &Site<'_>,
        driven: impl Fn(Place) -> Option<&'a [(Driven, First)]>,
        found: &mut Gravest,
    ) {
        for (shared, animations) in &self.shared {
            let drivers = animations.iter().filter_map(|animation| {
                let all = driven(*animation)?;
                let at = all
                    .binary_search_by_key(shared, |(driven, _)| *driven)
                    .ok()?;
                Some((*animation, all[at].1.by_axis()))
            });
            let mut first = [None; 3];
            for (animation, channels) in drivers {
                let clash = (0..3).find_map(|axis| first[axis].zip(channels[axis]));
                for (first, channel) in first.iter_mut().zip(channels) {
                    *first = first.or(channel.map(|channel| (animation, channel)));
                }
                let drivers = clash.and_then(|((earlier, there), here)| {
                    let first = Driver::of(site, earlier, there)?;
                    Some((first, Driver::of(site, animation, here)?))
                });
                let Some((first, later)) = drivers else {
                    continue;
                };
                // Two of the same name are one mistake, and it is reported as that.
                if later.animation.is_some() && later.animation == first.animation {
                    continue;
                }
                if found.wants(codes::CONTESTED_PART.severity, later.range.start()) {
                    found.extend(finding(site, &first, &later, *shared));
                }
            }
        }
    }
}

/// An animation that drives something.
struct Driver<'v> {
    /// Its name.
    animation: Option<&'v str>,
    /// Where it does.
    channel: &'v machine::Channel,
    node: &'v NodeRef,
    range: TextRange,
}

impl<'v> Driver<'v> {
    fn of(site: &Site<'v>, animation: Place, channel: ChannelPlace) -> Option<Self> {
        let outline = site.outline;
        let around = outline.labelled(animation.label)?;
        let animation = around.facts.animations.get(animation.at)?;
        let here = outline.labelled(channel.label)?;
        let channel = match channel.animation {
            Some(animation) => here
                .facts
                .animations
                .get(animation as usize)?
                .channels
                .get(channel.at as usize)?,
            None => &here.facts.loose.get(channel.at as usize)?.channel,
        };
        let node = channel.node.as_ref()?;
        Some(Self {
            animation: animation.name.as_ref().map(|name| &*name.value),
            channel,
            node,
            range: node.range + here.start(),
        })
    }

    fn called(&self) -> String {
        match self.animation {
            Some(name) => format!("`{}`", short(name)),
            None => "a nameless one".to_owned(),
        }
    }

    /// " over 0.3 m"; nothing if that cannot be said.
    fn way(&self, site: &Site<'_>, property: Property) -> String {
        let mut motions = self.channel.motions.iter();
        let motion = motions.find(|motion| motion.property == Some(property) && !motion.is_keyed);
        let ends = motion.and_then(|motion| motion.from.as_ref().zip(motion.to.as_ref()));
        let way = ends.and_then(|(from, to)| way(site, property, from.value, to.value));
        way.map_or_else(String::new, |way| format!(" over {way}"))
    }
}

/// "0.3 m": how far it is from one value to another.
fn way(site: &Site<'_>, property: Property, from: EndValue, to: EndValue) -> Option<String> {
    let (EndValue::Vector(from), EndValue::Vector(to)) = (from, to) else {
        return None;
    };
    let change = DVec3::from_array(to) - DVec3::from_array(from);
    Some(match property {
        Property::Translation => measure(site.dialect, Quantity::Length, change.length()),
        Property::Rotation => measure(site.dialect, Quantity::Angle, change.abs().max_element()),
        Property::Scale => rounded(site.dialect, change.abs().max_element()),
        Property::Visibility => return None,
    })
}

fn finding(
    site: &Site<'_>,
    earlier: &Driver<'_>,
    later: &Driver<'_>,
    shared: Driven,
) -> Option<Finding> {
    let mut properties = later
        .channel
        .motions
        .iter()
        .filter_map(|motion| motion.property);
    let property = properties.find(|property: &Property| *property as u8 == shared.property)?;
    let there = if later.node.text == earlier.node.text {
        String::new()
    } else {
        format!(" (as `{}`)", short(&earlier.node.text))
    };
    let message = format!(
        "The {} of {} is driven by {}{}{there} and by {}{}: when both play, it jumps between the two.",
        property.as_str(),
        site.node_label(later.node),
        earlier.called(),
        earlier.way(site, property),
        later.called(),
        later.way(site, property),
    );
    let finding = codes::CONTESTED_PART.at(later.range, message);
    Some(finding.see(earlier.range, "driven here as well"))
}
