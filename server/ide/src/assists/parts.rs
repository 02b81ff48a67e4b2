//! Which channels an assist is about: those that are selected, with what must
//! not be torn from them.

use super::{site::Site, stretches::Stretches};
use crate::writer::Lines;
use dialect::{EndValue, Property};
use foldhash::HashSet;
use machine::{Animation, Channel, Motion};
use std::{hash::Hash, sync::Arc};
use syntax::{TextRange, TextSize};

/// Channels of one animation. At least one; in the order of the document.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Parts {
    pub(crate) animation: usize,
    pub(crate) channels: Vec<usize>,
}

impl Parts {
    /// The channels in a selection, or the one at the cursor, or all of the
    /// animation whose tag the cursor is on. Channels that several animations share are told for each; none for those of
    /// several animations that have not all in common.
    pub(crate) fn selected(site: &Site<'_>, selection: TextRange) -> Vec<Self> {
        let lines = Lines::new(site.text());
        let touched = |channel: &Channel| {
            if !selection.is_empty() {
                let common = channel.element.intersect(selection);
                return common.is_some_and(|common| !common.is_empty());
            }
            let at = selection.start();
            let on_its_lines = || {
                let start = channel.element.start();
                let indent = lines.indent(start);
                indent.is_some_and(|indent| at < start && start <= at + TextSize::of(indent))
            };
            channel.element.contains_inclusive(at) || on_its_lines()
        };
        let animations = site.machine.animations.iter().enumerate();
        let found = animations.filter_map(|(index, animation)| {
            let channels: Vec<usize> = (0..animation.channels.len())
                .filter(|channel| touched(&animation.channels[*channel]))
                .collect();
            (!channels.is_empty()).then_some(Self {
                animation: index,
                channels,
            })
        });
        let found: Vec<Self> = found.collect();
        let elements = |parts: &Self| {
            let channels = parts.channels_of(site).into_iter();
            channels.map(|channel| channel.element).collect::<Vec<_>>()
        };
        match &found[..] {
            [] => {
                let at = selection.start();
                let whole = Self::of_tag(site, at).or_else(|| Self::of_alias(site, at));
                whole.into_iter().collect()
            }
            [first, others @ ..] if others.iter().all(|one| elements(one) == elements(first)) => {
                let completed = found.into_iter().map(|parts| parts.completed(site));
                completed.collect()
            }
            _ => Vec::new(),
        }
    }

    /// What moves the node of the alias at the cursor, if one animation does.
    fn of_alias(site: &Site<'_>, at: TextSize) -> Option<Self> {
        let named = |alias: &&machine::Alias| {
            let name = alias.name.as_ref();
            name.is_some_and(|name| name.range.contains_inclusive(at))
        };
        let alias = site.machine.aliases.iter().find(named)?;
        let path = site.path_of(alias.path.as_ref()?)?;
        let moving = site.machine.animations.iter().enumerate();
        let mut moving = moving.filter_map(|(animation, read)| {
            let moves = |channel: &Channel| {
                let node = channel.node.as_ref().and_then(|node| site.path_of(node));
                node.as_ref() == Some(&path)
            };
            let channels: Vec<usize> = (0..read.channels.len())
                .filter(|at| moves(&read.channels[*at]))
                .collect();
            (!channels.is_empty()).then_some(Self {
                animation,
                channels,
            })
        });
        let only = moving.next()?;
        moving.next().is_none().then(|| only.completed(site))
    }

    fn of_tag(site: &Site<'_>, at: TextSize) -> Option<Self> {
        let index = site.machine.animations.iter().position(|animation| {
            let element = site
                .view
                .tree()
                .elements_at(animation.element.start())
                .pop();
            element.is_some_and(|element| element.start_tag_range().contains_inclusive(at))
                || animation
                    .name
                    .as_ref()
                    .is_some_and(|name| name.range.contains_inclusive(at))
        })?;
        Self::all(site, index)
    }

    /// All channels of an animation, if it has any.
    pub(crate) fn all(site: &Site<'_>, animation: usize) -> Option<Self> {
        let count = site.machine.animations.get(animation)?.channels.len();
        (count > 0).then(|| Self {
            animation,
            channels: (0..count).collect(),
        })
    }

    /// With what cannot stay behind: other motions of the same property of the
    /// same node, which two animations must not share, and what stands in the
    /// same elements.
    pub(crate) fn completed(mut self, site: &Site<'_>) -> Self {
        let Some(animation) = site.machine.animations.get(self.animation) else {
            return self;
        };
        loop {
            let before = self.channels.len();
            let chosen = || {
                let chosen = self.channels.iter();
                chosen.filter_map(|at| animation.channels.get(*at))
            };
            let elements = Stretches::of(chosen().map(|channel| channel.element));
            let driven: HashSet<(Arc<[u32]>, Property)> = chosen()
                .flat_map(|channel| driven_by(site, channel))
                .collect();
            let belongs = |channel: &Channel| {
                elements.touch(channel.element)
                    || driven_by(site, channel)
                        .iter()
                        .any(|driven_here| driven.contains(driven_here))
            };
            let channels: Vec<usize> = (0..animation.channels.len())
                .filter(|at| belongs(&animation.channels[*at]))
                .collect();
            self.channels = channels;
            if self.channels.len() == before {
                return self;
            }
        }
    }

    /// With the channels that move the opposite parts the mirrored way; None
    /// if there are none besides these.
    pub(crate) fn with_mirrored(&self, site: &Site<'_>) -> Option<Self> {
        if self.are_all(site) {
            return None;
        }
        let rig = site.rig.as_ref()?;
        let mut channels = self.channels.clone();
        let counterparts = rig.counterparts(self.animation);
        for channel in &self.channels {
            channels.extend(counterparts.mirroring(*channel));
        }
        channels.sort_unstable();
        channels.dedup();
        let whole = Self {
            animation: self.animation,
            channels,
        }
        .completed(site);
        (whole != *self).then_some(whole)
    }

    pub(crate) fn animation_of<'v>(&self, site: &Site<'v>) -> Option<&'v Animation> {
        site.machine.animations.get(self.animation)
    }

    pub(crate) fn channels_of<'v>(&self, site: &Site<'v>) -> Vec<&'v Channel> {
        let Some(animation) = self.animation_of(site) else {
            return Vec::new();
        };
        self.channels
            .iter()
            .filter_map(|at| animation.channels.get(*at))
            .collect()
    }

    /// The channels that stay in the animation.
    pub(crate) fn others_of<'v>(&self, site: &Site<'v>) -> Vec<&'v Channel> {
        let Some(animation) = self.animation_of(site) else {
            return Vec::new();
        };
        let channels = animation.channels.iter().enumerate();
        channels
            .filter(|(at, _)| self.channels.binary_search(at).is_err())
            .map(|(_, channel)| channel)
            .collect()
    }

    /// Whether the animation has no other channels.
    pub(crate) fn are_all(&self, site: &Site<'_>) -> bool {
        self.others_of(site).is_empty()
    }

    /// The nodes that are moved, each once, in the order of the document.
    pub(crate) fn paths<'v>(&self, site: &Site<'v>) -> Vec<Arc<[u32]>> {
        let channels = self.channels_of(site).into_iter();
        let paths = channels.filter_map(|channel| site.path_of(channel.node.as_ref()?));
        each_once(paths)
    }

    /// What the parts are called here, each once.
    pub(crate) fn labels(&self, site: &Site<'_>) -> Vec<String> {
        let channels = self.channels_of(site).into_iter();
        let nodes = channels.filter_map(|channel| channel.node.as_ref());
        each_once(nodes.map(|node| match site.path_of(node) {
            Some(path) => site.node_label(&path),
            None => node.text.to_string(),
        }))
    }
}

/// All things in their order, each where it comes first.
pub(super) fn each_once<T: Clone + Eq + Hash>(all: impl Iterator<Item = T>) -> Vec<T> {
    let mut known = HashSet::default();
    all.filter(|one| known.insert(one.clone())).collect()
}

fn driven_by<'v>(site: &Site<'v>, channel: &'v Channel) -> Vec<(Arc<[u32]>, Property)> {
    let Some(path) = channel.node.as_ref().and_then(|node| site.path_of(node)) else {
        return Vec::new();
    };
    channel
        .motions
        .iter()
        .filter_map(|motion| Some((path.clone(), motion.property?)))
        .collect()
}

/// The index paths of the nodes that channels take somewhere else: showing,
/// hiding and standing still is not moving.
pub(crate) fn moved_paths<'v>(site: &Site<'v>, channels: &[&'v Channel]) -> Vec<Arc<[u32]>> {
    channels
        .iter()
        .filter(|channel| channel.motions.iter().any(moves))
        .filter_map(|channel| site.path_of(channel.node.as_ref()?))
        .collect()
}

fn moves(motion: &Motion) -> bool {
    let ends = motion.from.as_ref().zip(motion.to.as_ref());
    let changes = ends.is_none_or(|(from, to)| match (from.value, to.value) {
        (EndValue::Vector(from), EndValue::Vector(to)) => from != to,
        (from, to) => from != to,
    });
    changes && motion.property != Some(Property::Visibility)
}

/// The wheels, by position in the machine, that hang at or below moved nodes.
pub(crate) fn wheels_on(site: &Site<'_>, moved: &[Arc<[u32]>]) -> Vec<usize> {
    let moved: HashSet<&[u32]> = moved.iter().map(|path| &**path).collect();
    let wheels = site.machine.wheels.iter().enumerate();
    let hang = wheels.filter(|(_, wheel)| {
        let path = wheel.node.as_ref().and_then(|node| site.path_of(node));
        path.is_some_and(|path| (0..=path.len()).any(|len| moved.contains(&path[..len])))
    });
    hang.map(|(at, _)| at).collect()
}
