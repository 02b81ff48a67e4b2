//! What can be calculated of a definition's motion, in words.

use std::sync::Arc;

use dialect::{Dialect, Quantity};
use foldhash::HashSet;
use machine::{Animated, Animation, Channel, Control, Machine, NodeRef};
use motion::{AtRest, Axle, Drive, Movement, Rig, Travel};
use project::View;
use scene::NodeIndex;
use syntax::TextRange;

use crate::measures::{measure, rounded, speed};
use crate::nodes::Nodes;

/// A definition, or a part of one, with its scene.
#[derive(Debug)]
pub(crate) struct Figures<'v> {
    dialect: &'v Dialect,
    machine: &'v Machine,
    rig: Rig<'v>,
    axles: Vec<Axle>,
}

/// The track width of the axles with the same one.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct TrackLine {
    /// The wheels, in pairs.
    pub(crate) wheels: Vec<String>,
    pub(crate) start: String,
    pub(crate) end: String,
}

/// The part of a document that tells what some controls do: they, the animations that they play and all wheels. None
/// without a dialect.
pub(crate) fn around(view: &View, controls: Vec<Control>) -> Option<Machine> {
    let outline = &view.meaning.as_ref()?.outline;
    let names = controls.iter().filter_map(|one| one.animation.as_ref());
    let names: HashSet<&str> = names.map(|name| &*name.value).collect();
    let is_played = |head: &Animation| {
        let name = head.name.as_ref();
        name.is_some_and(|name| names.contains(&*name.value))
    };
    let animations = outline.animations();
    let played = animations.iter().filter(|one| is_played(one.head));
    let wheels = outline.all(|facts| &facts.wheels);
    Some(Machine {
        wheels: wheels.map(|(entry, wheel)| entry.placed(wheel)).collect(),
        animations: played.map(Animated::whole).collect(),
        controls,
        ..Machine::default()
    })
}

/// "0.32 m, 0.16 m/s" for each motion of the channel with this element, which moves this node (`find` knows them all); "0.9 m over 3 keyframes,
/// up to 0.3 m/s" for keyframes. Who asks about many channels lends all the same `at_rest`.
pub(crate) fn travels(
    view: &View,
    find: &dyn Fn(&NodeRef) -> Option<NodeIndex>,
    at_rest: &Arc<AtRest>,
    node: NodeIndex,
    channel: &Channel,
    element: TextRange,
) -> Vec<String> {
    let (Some(dialect), Some(scene)) = (view.dialect(), view.scene()) else {
        return Vec::new();
    };
    let mut drives: Vec<Drive> = Drive::of_channel(0, 0, node, channel).collect();
    // Where a motion starts depends on those before it, in other channels.
    if channel.motions.iter().any(|motion| motion.starts_here) {
        drives.extend(others_of(view, find, node, element));
    }
    let rig = Rig::of_drives(scene, &dialect.notation, drives, at_rest.clone());
    let is_keyed = |drive: &Drive| {
        let motion = channel.motions.get(drive.motion);
        motion.is_some_and(|motion| motion.is_keyed)
    };
    let mut drives: Vec<&Drive> = rig.drives_of_channel(0, 0).collect();
    // Of keyframes, those that speak of the same axes stand together.
    for keyed in drives.chunk_by_mut(|a, b| a.property == b.property && is_keyed(a) && is_keyed(b))
    {
        keyed.sort_by_key(|drive| drive.motion);
    }
    let runs = drives.chunk_by(|a, b| {
        a.property == b.property && a.axes == b.axes && is_keyed(a) && is_keyed(b)
    });
    runs.filter_map(|run| {
        let movements = run.iter().map(|drive| rig.movement(drive));
        travel(dialect, &movements.collect::<Vec<_>>())
    })
    .collect()
}

/// What other channels of the animation around a channel make of its node. Takes time in proportion to the animation.
fn others_of(
    view: &View,
    find: &dyn Fn(&NodeRef) -> Option<NodeIndex>,
    node: NodeIndex,
    element: TextRange,
) -> Vec<Drive> {
    let Some(meaning) = &view.meaning else {
        return Vec::new();
    };
    let around = meaning.outline.near(TextRange::empty(element.start()));
    let animations = around.flat_map(|entry| {
        let heads = entry.facts.animations.iter();
        heads.map(|head| entry.placed(&head.element))
    });
    let own = animations.filter(|own| own.contains_range(element));
    let Some(own) = own.max_by_key(|own| own.start()) else {
        return Vec::new();
    };
    let mut others = Vec::new();
    for entry in meaning.outline.near(own) {
        for channel in entry.channels() {
            let at = entry.placed(&channel.element);
            let asked = channel.node.as_ref();
            let is_of_node = || asked.and_then(find) == Some(node);
            if at != element && own.contains_range(at) && is_of_node() {
                others.extend(Drive::of_channel(0, 1, node, channel));
            }
        }
    }
    others
}

/// How far and how fast one motion goes, or several between keyframes.
fn travel(dialect: &Dialect, movements: &[Movement]) -> Option<String> {
    let (mut way, mut quantity) = (0.0, None);
    for movement in movements {
        way += match movement.travel {
            Travel::Distance { metres, .. } => {
                quantity = Some(Quantity::Length);
                metres
            }
            Travel::Angle { degrees, .. } => {
                quantity = Some(Quantity::Angle);
                degrees
            }
            Travel::Factor { from, to } => (to - from).abs().max_element(),
            Travel::Visibility { .. } => return None,
        };
    }
    let mut line = match quantity {
        Some(quantity) => measure(dialect, quantity, way),
        None => format!("by {}", rounded(dialect, way)),
    };
    if movements.len() > 1 {
        line.push_str(&format!(" over {} keyframes", movements.len() + 1));
    }
    let speeds = movements.iter().filter_map(|movement| movement.speed);
    if let Some((per_second, quantity)) = speeds.reduce(f64::max).zip(quantity) {
        let most = if movements.len() > 1 { "up to " } else { "" };
        line.push_str(&format!(", {most}{}", speed(dialect, quantity, per_second)));
    }
    Some(line)
}

impl<'v> Figures<'v> {
    /// Of a document, or a part of it; None without a scene.
    pub(crate) fn of(view: &'v View, machine: &'v Machine, nodes: &Nodes<'v>) -> Option<Self> {
        let (dialect, scene) = (view.dialect()?, view.scene()?);
        let node = |asked: &'v NodeRef| nodes.of_ref(asked);
        let rig = Rig::resolved(scene, machine, &dialect.notation, node, Arc::default());
        let axles = rig.axles(rig.rest());
        Some(Self {
            dialect,
            machine,
            rig,
            axles,
        })
    }

    /// "6 s": from one end of a control to the other, with its input held.
    pub(crate) fn full_travel(&self, control: usize) -> Option<String> {
        let seconds = self.rig.full_travel_time(control)?;
        Some(measure(self.dialect, Quantity::Time, seconds))
    }

    /// What an animation does to the track widths, from front to back. Only of axles with a wheel that it moves along.
    pub(crate) fn tracks(&self, animation: usize) -> Vec<TrackLine> {
        let carried = self.rig.wheels_carried(animation);
        let is_carried = |wheel: usize| carried.binary_search(&wheel).is_ok();
        let mut lines: Vec<TrackLine> = Vec::new();
        if carried.is_empty() {
            return lines;
        }
        let length = self.rig.length(animation);
        let ends = [0.0, length].map(|time| self.rig.pose(&[(animation, time)]));
        for axle in &self.axles {
            if !is_carried(axle.left) && !is_carried(axle.right) {
                continue;
            }
            let [Some(start), Some(end)] = [0, 1].map(|at| self.rig.width_of(axle, &ends[at]))
            else {
                continue;
            };
            let [start, end] =
                [start, end].map(|metres| measure(self.dialect, Quantity::Length, metres));
            let wheels = format!("{} and {}", self.wheel(axle.left), self.wheel(axle.right));
            match lines
                .iter_mut()
                .find(|line| line.start == start && line.end == end)
            {
                Some(line) => line.wheels.push(wheels),
                None => lines.push(TrackLine {
                    wheels: vec![wheels],
                    start,
                    end,
                }),
            }
        }
        lines
    }

    /// The animation that a control plays.
    pub(crate) fn played(&self, control: usize) -> Option<usize> {
        self.rig.played(control)
    }

    fn wheel(&self, wheel: usize) -> String {
        let label = self.machine.wheels.get(wheel).and_then(|one| one.label());
        label.map_or_else(|| format!("{}", wheel + 1), str::to_owned)
    }
}
