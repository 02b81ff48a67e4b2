//! How large a machine is in a pose.

use dialect::Axes;
use glam::DVec3;
use scene::{Bounds, NodeIndex};

use crate::{Pose, Rig};

/// Overall sizes in metres (ISO 612: vehicle width, height and length), of what the scene can measure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Overall {
    /// From side to side.
    pub width: f64,
    /// From the lowest to the highest point.
    pub height: f64,
    /// From back to front.
    pub length: f64,
}

impl Rig<'_> {
    /// The box around all meshes that are shown, in the scene's axes. `None` if no mesh can be measured.
    /// Turned meshes are taken as large as the turned box around them.
    pub fn bounds(&self, pose: &Pose) -> Option<Bounds> {
        self.bounds_of(pose, self.scene.ids())
    }

    /// The same of a node and what hangs on it.
    pub fn subtree_bounds(&self, pose: &Pose, node: NodeIndex) -> Option<Bounds> {
        self.bounds_of(pose, self.scene.subtree(node))
    }

    fn bounds_of(&self, pose: &Pose, nodes: impl Iterator<Item = NodeIndex>) -> Option<Bounds> {
        nodes
            .filter(|id| pose.visible[id.index()])
            .filter_map(|id| pose.mesh_box(self.scene, id))
            .reduce(Bounds::union)
    }

    /// Overall width, height and length. `None` if no mesh can be measured.
    pub fn overall(&self, pose: &Pose) -> Option<Overall> {
        let size = self.bounds(pose)?.size();
        let Axes { right, up, forward } = self.notation.axes;
        let along = |direction: [f64; 3]| size.dot(DVec3::from_array(direction).abs());
        Some(Overall {
            width: along(right.vector()),
            height: along(up.vector()),
            length: along(forward.vector()),
        })
    }
}
