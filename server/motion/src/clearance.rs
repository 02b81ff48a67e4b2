//! The room below a machine, between its sides, and around it.

use glam::DVec3;
use scene::{Bounds, NodeIndex};

use crate::{Pose, Rig};

/// The room between the ground and the lowest mesh.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Clearance {
    /// Metres; below 0 if something is in the ground.
    pub height: f64,
    /// The node whose mesh is lowest.
    pub node: NodeIndex,
}

impl Rig<'_> {
    /// From left to right, of length 1.
    pub(crate) fn right(&self) -> DVec3 {
        DVec3::from_array(self.notation.axes.right.vector())
    }

    fn up(&self) -> DVec3 {
        DVec3::from_array(self.notation.axes.up.vector())
    }

    /// Ground clearance (ISO 612): from the ground up to the lowest shown mesh, wheels and what hangs on them left out.
    /// The ground is where the lowest wheel stands, by its radius, or at height 0 if no wheel has one. `None` if no mesh
    /// can be measured.
    pub(crate) fn ground_clearance(&self, pose: &Pose) -> Option<Clearance> {
        let up = self.up();
        let mut is_of_wheel = vec![false; self.scene.nodes.len()];
        for (_, node) in self.wheel_nodes() {
            is_of_wheel[node.index()] = true;
        }
        for id in self.scene.ids() {
            if let Some(parent) = self.scene[id].parent {
                is_of_wheel[id.index()] |= is_of_wheel[parent.index()];
            }
        }
        let stands = self.wheel_nodes().filter_map(|(wheel, node)| {
            Some(pose.place(node).dot(up) - self.machine.wheels[wheel].radius?)
        });
        let ground = stands
            .reduce(f64::min)
            .filter(|ground| ground.is_finite())
            .unwrap_or(0.0);
        let lowest = self
            .scene
            .ids()
            .filter(|id| pose.visible[id.index()] && !is_of_wheel[id.index()])
            .filter_map(|id| Some((id, extent(pose.mesh_box(self.scene, id)?, up).0)))
            .min_by(|a, b| a.1.total_cmp(&b.1));
        lowest.map(|(node, lowest)| Clearance {
            height: lowest - ground,
            node,
        })
    }

    /// From the outermost point on the left to that on the right: of all shown meshes and of the wheels. Metres.
    pub fn outer_width(&self, pose: &Pose) -> Option<f64> {
        let right = self.right();
        let meshes = self.bounds(pose).map(|bounds| extent(bounds, right));
        let wheels = self.wheel_nodes().map(|(wheel, node)| {
            let (at, half) = (pose.place(node).dot(right), self.half_width(wheel));
            (at - half, at + half)
        });
        let (least, most) = meshes
            .into_iter()
            .chain(wheels)
            .reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))?;
        Some(most - least)
    }

    /// The room between the sides: between the inner faces of the wheels of each axle, and between the parts that
    /// `moved` names, as far as they are wholly on one side at rest. The narrowest counts. Metres; below 0 if they
    /// overlap. `None` without axles and without parts on both sides.
    pub(crate) fn inner_clearance(&self, pose: &Pose, moved: &[NodeIndex]) -> Option<f64> {
        let right = self.right();
        let axles = self.axles(self.rest());
        let between_wheels = axles.iter().filter_map(|pair| {
            let faces = self.half_width(pair.left) + self.half_width(pair.right);
            Some(self.width_of(pair, pose)? - faces)
        });
        let narrowest = between_wheels.reduce(f64::min);
        let middle = self.middle();
        let mut left_inner: Option<f64> = None;
        let mut right_inner: Option<f64> = None;
        for &node in moved {
            let (Some(rest), Some(now)) = (
                self.subtree_bounds(self.rest(), node),
                self.subtree_bounds(pose, node),
            ) else {
                continue;
            };
            let (rest, now) = (extent(rest, right), extent(now, right));
            if rest.1 <= middle {
                left_inner = Some(left_inner.map_or(now.1, |inner| inner.max(now.1)));
            } else if rest.0 >= middle {
                right_inner = Some(right_inner.map_or(now.0, |inner| inner.min(now.0)));
            }
        }
        let between_parts = left_inner
            .zip(right_inner)
            .map(|(left, right)| right - left);
        narrowest.into_iter().chain(between_parts).reduce(f64::min)
    }

    /// Where the middle of the machine is along its right: between its wheels, else at 0.
    fn middle(&self) -> f64 {
        let (rest, right) = (self.rest(), self.right());
        let first = self.axles(rest).into_iter().next();
        let middle = first.and_then(|pair| {
            let place = |wheel| Some(rest.place(self.wheel_node(wheel)?).dot(right));
            Some(f64::midpoint(place(pair.left)?, place(pair.right)?))
        });
        middle.unwrap_or(0.0)
    }

    fn wheel_nodes(&self) -> impl Iterator<Item = (usize, NodeIndex)> {
        let all = 0..self.machine.wheels.len();
        all.filter_map(|wheel| Some((wheel, self.wheel_node(wheel)?)))
    }

    /// Half the width of a wheel; 0 if the definition does not say it.
    fn half_width(&self, wheel: usize) -> f64 {
        let width = self.machine.wheels.get(wheel).and_then(|wheel| wheel.width);
        width.filter(|width| *width > 0.0).unwrap_or(0.0) / 2.0
    }
}

/// From where to where a box reaches along an axis.
fn extent(bounds: Bounds, axis: DVec3) -> (f64, f64) {
    let (one, other) = (bounds.min.dot(axis), bounds.max.dot(axis));
    (one.min(other), one.max(other))
}
