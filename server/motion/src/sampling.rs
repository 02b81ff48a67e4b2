//! At which moments a motion is looked at, and how much may happen between them.
//!
//! Between two moments a point can leave the box around where it was at both by no more than M h² / 8, where h is the time
//! between them and M a bound of its acceleration (the error of linear interpolation). With all that drives a point added
//! up along the nodes it hangs on (turning ω and its change α, moving v and its change a, at a distance r from what turns):
//! M = ω² r + 2 ω v + α r + a. A motion along a straight line at constant speed has no error at all. The moments are chosen
//! so that the error stays below [`WANTED`] where [`MOST`] moments are enough for that. Where windows begin and end, a
//! motion may change its speed at once: these moments are always among them, and so are both ends of the animation.

use std::collections::BTreeMap;

use dialect::{Easing, Property};
use glam::DVec3;
use scene::NodeIndex;

use crate::drive::{Drive, Ends};
use crate::{Pose, Rig};

/// Metres.
const WANTED: f64 = 1e-4;
/// Moments at equal distances, at least and at most.
const LEAST: usize = 16;
const MOST: usize = 720;

/// The moments at which an animation is looked at.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Moments {
    /// Seconds, in order, each once; the first is 0, the last the length of the animation.
    pub(crate) times: Vec<f64>,
    /// The longest time between two of them.
    pub(crate) step: f64,
    /// By node: a bound of the acceleration of its shape and origin. m/s².
    acceleration: Vec<f64>,
}

impl Moments {
    /// How far outside the samples a node may have been. Metres.
    pub(crate) fn error_of(&self, node: NodeIndex) -> f64 {
        self.acceleration[node.index()] * self.step * self.step / 8.0
    }
}

/// What happens to a node in a second, all that it hangs on included.
#[derive(Clone, Copy, Debug, Default)]
struct Liveliness {
    /// rad/s, and factors per second.
    turning: f64,
    turning_change: f64,
    /// m/s.
    moving: f64,
    moving_change: f64,
    /// Metres: from the farthest node it hangs on that turns to its own shape.
    reach: f64,
}

impl Rig<'_> {
    /// The moments for an animation.
    pub(crate) fn moments(&self, animation: usize) -> Moments {
        let length = self.length(animation);
        let acceleration = self.accelerations(animation);
        let most = acceleration.iter().copied().fold(0.0, f64::max);
        let wanted = (length * (most / (8.0 * WANTED)).sqrt()).ceil();
        let steps = if wanted.is_finite() {
            (wanted as usize).clamp(LEAST, MOST)
        } else {
            MOST
        };
        let mut times: Vec<f64> = (0..=steps)
            .map(|step| self.time_at(animation, step as f64 / steps as f64))
            .collect();
        for drive in self.drives_of(animation) {
            // A motion may jump when its window begins or ends: the moment before counts too.
            for edge in [drive.begin, drive.end] {
                let edges = [edge.next_down(), edge];
                times.extend(
                    edges
                        .into_iter()
                        .filter(|time| (0.0..=length).contains(time)),
                );
            }
        }
        times.sort_by(f64::total_cmp);
        times.dedup();
        Moments {
            times,
            step: length / steps as f64,
            acceleration,
        }
    }

    /// By node.
    fn accelerations(&self, animation: usize) -> Vec<f64> {
        let length = self.length(animation);
        let ends = [0.0, 0.5, 1.0].map(|part| self.pose(&[(animation, part * length)]));
        let mut own = vec![Liveliness::default(); self.scene.nodes.len()];
        let mut turns = vec![false; self.scene.nodes.len()];
        for motions in self.turns_of(animation) {
            // Motions of one property along the same axes follow each other: the liveliest counts.
            let mut by_axes: BTreeMap<[bool; 3], Liveliness> = BTreeMap::new();
            for drive in motions {
                let (most, lively) = (by_axes.entry(drive.axes).or_default(), self.own(drive));
                most.turning = most.turning.max(lively.turning);
                most.turning_change = most.turning_change.max(lively.turning_change);
                most.moving = most.moving.max(lively.moving);
                most.moving_change = most.moving_change.max(lively.moving_change);
            }
            let at = motions[0].node.index();
            for most in by_axes.values() {
                turns[at] |= most.turning > 0.0;
                let node = &mut own[at];
                node.turning += most.turning;
                node.turning_change += most.turning_change;
                node.moving += most.moving;
                node.moving_change += most.moving_change;
            }
        }
        let mut around: Vec<Liveliness> = Vec::with_capacity(own.len());
        // The topmost node that turns, by node: distances are taken from it.
        let mut pivot: Vec<Option<NodeIndex>> = Vec::with_capacity(own.len());
        for id in self.scene.ids() {
            let (mut sum, mut from) = match self.scene[id].parent {
                Some(parent) => (around[parent.index()], pivot[parent.index()]),
                None => (Liveliness::default(), None),
            };
            let at = id.index();
            sum.turning += own[at].turning;
            sum.turning_change += own[at].turning_change;
            sum.moving += own[at].moving;
            sum.moving_change += own[at].moving_change;
            if turns[at] && from.is_none() {
                from = Some(id);
            }
            if let Some(from) = from {
                let reach = ends.iter().map(|pose| self.distance(pose, from, id));
                sum.reach = reach.fold(sum.reach, f64::max);
            }
            around.push(sum);
            pivot.push(from);
        }
        let total = |one: &Liveliness| {
            let Liveliness {
                turning,
                turning_change,
                moving,
                moving_change,
                reach,
            } = *one;
            turning * turning * reach
                + 2.0 * turning * moving
                + turning_change * reach
                + moving_change
        };
        around.iter().map(total).collect()
    }

    /// What a motion does to its node in a second.
    fn own(&self, drive: &Drive) -> Liveliness {
        let (Ends::Vectors { from, to }, lasts) = (drive.ends, drive.end - drive.begin) else {
            return Liveliness::default();
        };
        if lasts <= 0.0 {
            return Liveliness::default();
        }
        // The greatest speed and its greatest change, of a way of 1 in a time of 1.
        let (speed, change) = match drive.easing {
            Easing::Linear => (1.0, 0.0),
            Easing::Smooth => (1.5, 6.0),
            Easing::Step => return Liveliness::default(),
        };
        let (speed, change) = (speed / lasts, change / (lasts * lasts));
        let way = match drive.property {
            // Three angles that change together turn no faster than their sum.
            Property::Rotation => (to - from).abs().element_sum().to_radians(),
            Property::Scale => (to - from).abs().max_element(),
            Property::Translation => match self.scene[drive.node].parent {
                Some(parent) => self
                    .world_at_rest(parent)
                    .transform_vector3(to - from)
                    .length(),
                None => (to - from).length(),
            },
            Property::Visibility => 0.0,
        };
        let mut lively = Liveliness::default();
        if drive.property == Property::Translation {
            (lively.moving, lively.moving_change) = (way * speed, way * change);
        } else {
            (lively.turning, lively.turning_change) = (way * speed, way * change);
        }
        lively
    }

    /// From the origin of a node to the farthest point of another one's shape, or to its origin.
    fn distance(&self, pose: &Pose, from: NodeIndex, to: NodeIndex) -> f64 {
        let here = pose.place(from);
        let origin = pose.place(to).distance(here);
        let far = pose.mesh_box(self.scene, to).map_or(0.0, |bounds| {
            let corner = (bounds.min - here).abs().max((bounds.max - here).abs());
            DVec3::length(corner)
        });
        origin.max(far)
    }
}
