//! Wheels in pairs, and how far apart they are.

use glam::DVec3;

use crate::mirror::{is_at, mirrored};
use crate::{Pose, Rig};

/// A left and a right wheel that stand opposite each other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Axle {
    /// The left wheel, by position in the machine.
    pub left: usize,
    /// The right wheel, by position in the machine.
    pub right: usize,
    /// The track width: the distance between the centres of the two wheels across the machine (ISO 612). Metres.
    pub width: f64,
}

/// Metres. A wheel nearer to the middle than this has no side.
const MIDDLE: f64 = 1e-3;
/// A machine with more wheels than this is none, and comparing each with each would take for ever.
const MOST_WHEELS: usize = 1_000;

impl Rig<'_> {
    /// The pairs of wheels, from front to back, with their track widths in a pose. Which wheels are a pair is
    /// seen at rest: each stands where the other one's mirror image across the machine does. The centre of a
    /// wheel is its node's origin. None of a machine with more than a thousand wheels.
    pub fn axles(&self, pose: &Pose) -> Vec<Axle> {
        if self.machine.wheels.len() > MOST_WHEELS {
            return Vec::new();
        }
        let rest = self.rest();
        let axes = self.notation.axes;
        let right = DVec3::from_array(axes.right.vector());
        let forward = DVec3::from_array(axes.forward.vector());
        let wheels: Vec<(usize, DVec3)> = (0..self.machine.wheels.len())
            .filter_map(|wheel| Some((wheel, rest.place(self.wheel_node(wheel)?))))
            .collect();
        // Scenes are built around their middle; one that is not is taken by the middle of its wheels.
        let mut pairs = pairs(&wheels, right, 0.0);
        if pairs.is_empty() {
            let across = || wheels.iter().map(|(_, place)| place.dot(right));
            let middle = across()
                .fold(f64::INFINITY, f64::min)
                .midpoint(across().fold(f64::NEG_INFINITY, f64::max));
            pairs = self::pairs(&wheels, right, middle);
        }
        pairs.sort_by(|a, b| b.2.dot(forward).total_cmp(&a.2.dot(forward)));
        pairs
            .into_iter()
            .filter_map(|(left, right_wheel, _)| {
                let apart =
                    pose.place(self.wheel_node(right_wheel)?) - pose.place(self.wheel_node(left)?);
                Some(Axle {
                    left,
                    right: right_wheel,
                    width: apart.dot(right).abs(),
                })
            })
            .collect()
    }
}

/// Left wheel, right wheel, and where the left one is. Nearest ones first, so that twin wheels pair outer with
/// outer.
fn pairs(wheels: &[(usize, DVec3)], right: DVec3, middle: f64) -> Vec<(usize, usize, DVec3)> {
    let side = |place: DVec3| place.dot(right) - middle;
    let mut candidates = Vec::new();
    for &(left, place) in wheels.iter().filter(|(_, place)| side(*place) < -MIDDLE) {
        let image = mirrored(place, right, middle);
        for &(other, there) in wheels.iter().filter(|(_, place)| side(*place) > MIDDLE) {
            if is_at(there, image, side(place)) {
                candidates.push((there.distance(image), left, other, place));
            }
        }
    }
    candidates.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut pairs: Vec<(usize, usize, DVec3)> = Vec::new();
    for (_, left, other, place) in candidates {
        if pairs.iter().all(|pair| pair.0 != left && pair.1 != other) {
            pairs.push((left, other, place));
        }
    }
    pairs
}
