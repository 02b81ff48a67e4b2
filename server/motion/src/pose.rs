//! Where every node stands at a time.

use std::collections::HashMap;

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
        let mut changed: HashMap<NodeIndex, Rest> = HashMap::new();
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
        Pose::of(self.scene, |id| changed.get(&id))
    }
}

impl Pose {
    /// The pose of a scene in which some nodes have another rest transform than the file says.
    pub fn of<'r>(scene: &Scene, changed: impl Fn(NodeIndex) -> Option<&'r Rest>) -> Self {
        let count = scene.nodes.len();
        let mut pose = Self {
            local: Vec::with_capacity(count),
            world: Vec::with_capacity(count),
            visible: Vec::with_capacity(count),
        };
        for id in scene.ids() {
            let node = &scene[id];
            let rest = changed(id).unwrap_or(&node.rest);
            let local = rest.matrix();
            let (world, visible) = match node.parent {
                Some(parent) => (
                    pose.world[parent.index()] * local,
                    pose.visible[parent.index()] && rest.visible,
                ),
                None => (local, rest.visible),
            };
            pose.local.push(local);
            pose.world.push(world);
            pose.visible.push(visible);
        }
        pose
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
