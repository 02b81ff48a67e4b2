//! Where every node stands at a time.

use std::collections::{BTreeMap, HashMap};

use glam::{DMat4, DVec3};
use scene::{Bounds, NodeIndex, Rest, Scene};

use crate::drive::{Drive, Sample};
use crate::rig::Rig;
use crate::topmost;
use crate::turns::{acting, spoken, together};

/// Every node of a scene at one moment; index by [`NodeIndex::index`]. Metres.
#[derive(Clone, Debug, PartialEq)]
pub struct Pose {
    /// From a node's coordinates to its parent's.
    pub local: Vec<DMat4>,
    /// From a node's coordinates to the scene's.
    pub world: Vec<DMat4>,
    /// Whether a node and all it hangs on are shown.
    pub visible: Vec<bool>,
}

impl Rig<'_> {
    /// The pose with some animations at given times in seconds, and all else at rest. Where two of the
    /// animations drive the same property along the same axis, the later one of the list counts.
    pub fn pose(&self, times: &[(usize, f64)]) -> Pose {
        self.posed(&self.changed(times))
    }

    /// Where the origins of some nodes stand in [`Self::pose`]. Metres. Works out only the nodes that these hang on.
    pub fn places(&self, times: &[(usize, f64)], nodes: &[NodeIndex]) -> Vec<DVec3> {
        let changed = self.changed(times);
        let roots = topmost::of(self.scene, changed.keys().copied());
        let mut worlds: HashMap<NodeIndex, DMat4> = HashMap::new();
        let mut place = |node: NodeIndex| {
            let Some(root) = topmost::above(self.scene, &roots, node) else {
                return self.place_at_rest(node);
            };
            let mut above = Vec::new();
            let mut next = Some(node);
            while let Some(id) = next.filter(|id| *id >= root && !worlds.contains_key(id)) {
                above.push(id);
                next = self.scene[id].parent;
            }
            let mut world = next.map(|id| match worlds.get(&id) {
                Some(world) => *world,
                None => self.world_at_rest(id),
            });
            for id in above.into_iter().rev() {
                let local = match changed.get(&id) {
                    Some(rest) => rest.matrix(),
                    None => self.scene[id].rest.matrix(),
                };
                let here = world.map_or(local, |world| world * local);
                worlds.insert(id, here);
                world = Some(here);
            }
            world.map_or(DVec3::ZERO, |world| world.w_axis.truncate())
        };
        nodes.iter().map(|&node| place(node)).collect()
    }

    /// The nodes that animations drive, with what they have instead of their rest transform.
    fn changed(&self, times: &[(usize, f64)]) -> BTreeMap<NodeIndex, Rest> {
        let mut said = Vec::new();
        for &(animation, time) in times {
            for motions in self.turns_of(animation) {
                let acting = acting(motions, time).map(|acting| together(acting, time));
                said.extend(acting.map(|sample| (motions, sample)));
            }
        }
        // Stable: what a later animation of the list says comes later.
        let property = |motions: &[Drive]| (motions[0].node, motions[0].property);
        said.sort_by_key(|(motions, _)| property(motions));
        let mut changed: BTreeMap<NodeIndex, Rest> = BTreeMap::new();
        for of_one in said.chunk_by(|(a, _), (b, _)| property(a) == property(b)) {
            let (motions, first) = of_one[0];
            let value = of_one[1..].iter().fold(first, |value, (motions, later)| {
                over(value, spoken(motions), *later)
            });
            let drive = &motions[0];
            let rest = changed
                .entry(drive.node)
                .or_insert_with(|| self.scene[drive.node].rest.clone());
            drive.apply(value, self.notation.euler, rest);
        }
        changed
    }

    /// The pose in which some nodes have another rest transform than the file says. Only these and what hangs on them
    /// are worked out anew.
    fn posed(&self, changed: &BTreeMap<NodeIndex, Rest>) -> Pose {
        let mut pose = self.rest().clone();
        let mut done = NodeIndex(0);
        for &root in changed.keys() {
            // It hangs on one before it, and was worked out with that.
            if root < done {
                continue;
            }
            done = self.scene[root].end;
            for id in self.scene.subtree(root) {
                let (at, node) = (id.index(), &self.scene[id]);
                let rest = changed.get(&id);
                if let Some(rest) = rest {
                    pose.local[at] = rest.matrix();
                }
                let (local, visible) = (pose.local[at], rest.unwrap_or(&node.rest).is_visible());
                (pose.world[at], pose.visible[at]) = match node.parent.map(NodeIndex::index) {
                    Some(parent) => (pose.world[parent] * local, pose.visible[parent] && visible),
                    None => (local, visible),
                };
            }
        }
        pose
    }
}

/// The value of a property, with what a later animation says of some axes.
fn over(value: Sample, said: [bool; 3], later: Sample) -> Sample {
    let (Sample::Vector(mut value), Sample::Vector(later)) = (value, later) else {
        return later;
    };
    for axis in (0..3).filter(|axis| said[*axis]) {
        value[axis] = later[axis];
    }
    Sample::Vector(value)
}

impl Pose {
    /// The pose in which nothing is driven.
    pub fn at_rest(scene: &Scene) -> Self {
        let mut visible: Vec<bool> = Vec::with_capacity(scene.nodes.len());
        for node in &scene.nodes {
            let above = node.parent.is_none_or(|parent| visible[parent.index()]);
            visible.push(above && node.rest.is_visible());
        }
        Self {
            local: scene.nodes.iter().map(|node| node.rest.matrix()).collect(),
            world: scene.world_rests(),
            visible,
        }
    }

    /// The box around a node's own mesh, hidden or not, in the scene's axes. `None` if the node has no mesh, or none
    /// of known and finite size.
    pub fn mesh_box(&self, scene: &Scene, id: NodeIndex) -> Option<Bounds> {
        mesh_box(scene, id, self.world[id.index()])
    }

    /// Where a node's origin stands in the scene. Metres.
    pub fn place(&self, id: NodeIndex) -> DVec3 {
        self.world[id.index()].w_axis.truncate()
    }
}

/// [`Pose::mesh_box`] of a node that stands so in the scene.
pub(crate) fn mesh_box(scene: &Scene, id: NodeIndex, world: DMat4) -> Option<Bounds> {
    let moved = scene[id].bounds.as_ref()?.transformed(world);
    Bounds::new(moved.min, moved.max)
}
