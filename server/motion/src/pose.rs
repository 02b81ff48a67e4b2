//! Where every node stands at a time.

use std::collections::BTreeMap;

use glam::{DMat4, DVec3};
use scene::{Bounds, NodeIndex, Rest, Scene};

use crate::rig::{Rig, place};

/// Every node of a scene at one moment; index by [`NodeIndex::index`].
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
    /// animations drive the same property, the later one of the list counts.
    pub fn pose(&self, times: &[(usize, f64)]) -> Pose {
        let mut changed: BTreeMap<NodeIndex, Rest> = BTreeMap::new();
        for &(animation, time) in times {
            for motions in self
                .drives_of(animation)
                .chunk_by(|a, b| place(a) == place(b))
            {
                let begun = motions.partition_point(|drive| drive.begin <= time);
                let drive = &motions[begun.saturating_sub(1)];
                let rest = changed
                    .entry(drive.node)
                    .or_insert_with(|| self.scene[drive.node].rest.clone());
                drive.apply(drive.sample(time), self.notation.euler, rest);
            }
        }
        self.posed(&changed)
    }

    /// The pose in which some nodes have another rest transform than the file says. Only these and what hangs on them
    /// are worked out anew.
    fn posed(&self, changed: &BTreeMap<NodeIndex, Rest>) -> Pose {
        let mut pose = self.rest().clone();
        let mut done = NodeIndex(0);
        for &root in changed.keys() {
            // It hangs on one before.
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
                let (local, visible) = (pose.local[at], rest.unwrap_or(&node.rest).visible);
                (pose.world[at], pose.visible[at]) = match node.parent.map(NodeIndex::index) {
                    Some(parent) => (pose.world[parent] * local, pose.visible[parent] && visible),
                    None => (local, visible),
                };
            }
        }
        pose
    }
}

impl Pose {
    /// The pose in which nothing is driven.
    pub fn at_rest(scene: &Scene) -> Self {
        let mut visible: Vec<bool> = Vec::with_capacity(scene.nodes.len());
        for node in &scene.nodes {
            let above = node.parent.is_none_or(|parent| visible[parent.index()]);
            visible.push(above && node.rest.visible);
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
        let moved = scene[id].bounds?.transformed(self.world[id.index()]);
        Bounds::new(moved.min, moved.max)
    }

    /// Where a node's origin stands in the scene. Metres.
    pub fn place(&self, id: NodeIndex) -> DVec3 {
        self.world[id.index()].w_axis.truncate()
    }
}
