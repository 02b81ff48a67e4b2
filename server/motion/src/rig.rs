//! A machine and the scene it drives, joined.

use std::sync::{Arc, LazyLock, OnceLock};

use dialect::{Notation, Property};
use foldhash::HashMap;
use glam::{DMat4, DVec3};
use machine::{Machine, NodeRef};
use scene::{Bounds, NodeIndex, Scene};

use crate::at_rest::AtRest;
use crate::drive::Drive;
use crate::pose::Pose;
use crate::topmost;
use crate::turns;

/// A machine with the nodes that it names looked up in its scene. What cannot be read or found is left out.
#[derive(Clone, Debug)]
pub struct Rig<'a> {
    /// The scene.
    pub scene: &'a Scene,
    /// The machine.
    pub machine: &'a Machine,
    /// The order of angles, and which way is right, up and forward.
    pub notation: &'a Notation,
    /// By animation, then by node and property, then by begin.
    drives: Vec<Drive>,
    wheels: Vec<Option<NodeIndex>>,
    at_rest: Arc<AtRest>,
    /// By name, once somebody asks.
    pub(crate) animations: OnceLock<HashMap<Arc<str>, usize>>,
    /// By animation, in seconds, once somebody asks: thousands of moments do, and there may be thousands of channels.
    pub(crate) lengths: OnceLock<Vec<f64>>,
}

impl<'a> Rig<'a> {
    /// Looks the machine's nodes up in the scene.
    pub fn new(scene: &'a Scene, machine: &'a Machine, notation: &'a Notation) -> Self {
        let names = machine.index();
        let node = |asked: &'a NodeRef| scene.find(names.path_of(asked)?).ok();
        Self::resolved(scene, machine, notation, node, Arc::default())
    }

    /// The same where somebody else knows which nodes the machine means.
    pub fn resolved(
        scene: &'a Scene,
        machine: &'a Machine,
        notation: &'a Notation,
        node: impl Fn(&'a NodeRef) -> Option<NodeIndex>,
        at_rest: Arc<AtRest>,
    ) -> Self {
        let node = |asked: Option<&'a NodeRef>| node(asked?);
        let wheels = machine
            .wheels
            .iter()
            .map(|wheel| node(wheel.node.as_ref()))
            .collect();
        Self {
            scene,
            machine,
            notation,
            drives: sorted(read_drives(machine, node), scene, notation),
            wheels,
            at_rest,
            animations: OnceLock::new(),
            lengths: OnceLock::new(),
        }
    }

    /// The same without a machine: only what moves.
    pub fn of_drives(
        scene: &'a Scene,
        notation: &'a Notation,
        drives: Vec<Drive>,
        at_rest: Arc<AtRest>,
    ) -> Self {
        static NONE: LazyLock<Machine> = LazyLock::new(Machine::default);
        Self {
            scene,
            machine: &NONE,
            notation,
            drives: sorted(drives, scene, notation),
            wheels: Vec::new(),
            at_rest,
            animations: OnceLock::new(),
            lengths: OnceLock::new(),
        }
    }

    /// What moves in one animation, sorted by node and property, then by begin.
    pub fn drives_of(&self, animation: usize) -> &[Drive] {
        let start = self
            .drives
            .partition_point(|drive| drive.animation < animation);
        let rest = &self.drives[start..];
        &rest[..rest.partition_point(|drive| drive.animation == animation)]
    }

    /// The same of one node.
    pub fn drives_of_node(&self, animation: usize, node: NodeIndex) -> &[Drive] {
        let drives = self.drives_of(animation);
        let start = drives.partition_point(|drive| drive.node < node);
        let rest = &drives[start..];
        &rest[..rest.partition_point(|drive| drive.node == node)]
    }

    /// Those of an animation, one property of one node after the other. Finds where the next one begins without looking at
    /// all before it: there may be a hundred thousand keyframes, and as many moments to look at.
    pub(crate) fn turns_of(&self, animation: usize) -> impl Iterator<Item = &[Drive]> {
        let mut rest = self.drives_of(animation);
        std::iter::from_fn(move || {
            let first = place(rest.first()?);
            let is_one = |drive: &Drive| place(drive) == first;
            let mut most = 1;
            while rest.get(most).is_some_and(is_one) {
                most *= 2;
            }
            let within = &rest[..most.min(rest.len())];
            let (turns, others) = rest.split_at(within.partition_point(is_one));
            rest = others;
            Some(turns)
        })
    }

    /// The motions of one channel.
    pub fn drives_of_channel(
        &self,
        animation: usize,
        channel: usize,
    ) -> impl Iterator<Item = &Drive> {
        self.drives_of(animation)
            .iter()
            .filter(move |drive| drive.channel == channel)
    }

    /// The node of a wheel.
    pub fn wheel_node(&self, wheel: usize) -> Option<NodeIndex> {
        self.wheels.get(wheel).copied().flatten()
    }

    /// The pose in which nothing is driven.
    pub fn rest(&self) -> &Pose {
        self.at_rest.pose(self.scene)
    }

    /// From a node's coordinates to the scene's in that pose, without working out the rest of it.
    pub(crate) fn world_at_rest(&self, node: NodeIndex) -> DMat4 {
        self.scene.world_rest(node)
    }

    /// Where a node's origin stands in that pose. Metres.
    pub fn place_at_rest(&self, node: NodeIndex) -> DVec3 {
        self.scene.place_at_rest(node)
    }

    /// The box around a node and what hangs on it at rest, hidden or not, in the scene's axes. `None` if no mesh
    /// of these can be measured.
    pub(crate) fn rest_box(&self, node: NodeIndex) -> Option<Bounds> {
        self.at_rest.whole_box(self.scene, node)
    }

    /// The nodes that an animation moves, without those that hang on another of them, in document order.
    /// Showing and hiding is no moving, nor is a motion between equal values.
    pub fn moved_nodes(&self, animation: usize) -> Vec<NodeIndex> {
        let drives = self.drives_of(animation).iter();
        let moving = drives.filter(|drive| drive.moves());
        topmost::of(self.scene, moving.map(|drive| drive.node))
    }

    /// The wheels, by position in the machine, whose node an animation moves or carries along.
    pub fn wheels_carried(&self, animation: usize) -> Vec<usize> {
        let moved = self.moved_nodes(animation);
        let is_moved = |node: NodeIndex| topmost::above(self.scene, &moved, node).is_some();
        (0..self.wheels.len())
            .filter(|&wheel| self.wheel_node(wheel).is_some_and(is_moved))
            .collect()
    }

    /// Properties of nodes that more than one animation drives along the same axis: each with all that drives it
    /// along such axes.
    pub fn contested(&self) -> Vec<Vec<&Drive>> {
        let mut by_node: Vec<&Drive> = self.drives.iter().collect();
        by_node.sort_by_key(|drive| (drive.node, drive.property));
        by_node
            .chunk_by(|a, b| a.node == b.node && a.property == b.property)
            .map(contested_of)
            .filter(|drives| !drives.is_empty())
            .collect()
    }
}

/// Those of some motions of one property that speak of an axis of which several animations do.
fn contested_of<'d>(drives: &[&'d Drive]) -> Vec<&'d Drive> {
    let is_contested = [0, 1, 2].map(|axis| {
        let mut speakers = drives.iter().filter(|drive| drive.axes[axis]);
        let first = speakers.next().map(|drive| drive.animation);
        speakers.any(|drive| Some(drive.animation) != first)
    });
    let speaks = |drive: &Drive| (0..3).any(|axis| is_contested[axis] && drive.axes[axis]);
    let contested = drives.iter().copied();
    contested.filter(|drive| speaks(drive)).collect()
}

/// Motions that begin together are in the order of the document. Those that go on from where their node is are given its
/// values.
fn sorted(mut drives: Vec<Drive>, scene: &Scene, notation: &Notation) -> Vec<Drive> {
    // A sort that takes no room: there may be thousands, at each keystroke.
    drives.sort_unstable_by(|a, b| {
        let in_document = |drive: &Drive| (drive.channel, drive.motion);
        let begin = a.begin.total_cmp(&b.begin);
        let order = place(a).cmp(&place(b)).then(begin);
        order.then_with(|| in_document(a).cmp(&in_document(b)))
    });
    for motions in drives.chunk_by_mut(|a, b| place(a) == place(b)) {
        let mut before = None;
        for motion in motions.iter_mut() {
            motion.close(before.as_ref(), &scene[motion.node].rest, notation.euler);
            before = Some(motion.ends);
        }
        turns::note_acting(motions);
    }
    drives
}

fn read_drives<'a>(
    machine: &'a Machine,
    node: impl Fn(Option<&'a NodeRef>) -> Option<NodeIndex>,
) -> Vec<Drive> {
    let mut drives = Vec::new();
    for (animation, in_animation) in machine.animations.iter().enumerate() {
        for (channel, in_channel) in in_animation.channels.iter().enumerate() {
            let Some(node) = node(in_channel.node.as_ref()) else {
                continue;
            };
            drives.extend(Drive::of_channel(animation, channel, node, in_channel));
        }
    }
    drives
}

/// What two drives share if they move the same property in the same animation.
fn place(drive: &Drive) -> (usize, NodeIndex, Property) {
    (drive.animation, drive.node, drive.property)
}
