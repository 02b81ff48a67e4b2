//! The proof that a change to a definition kept its motion.

use std::fmt;

use glam::{DMat4, DVec3};
use scene::NodeIndex;

use crate::{Pose, Rig};

/// How far two poses are apart, each number the worst of all nodes and moments.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Difference {
    /// Between the places of a node's origin.
    pub metres: f64,
    /// Between the directions of a node's axes.
    pub degrees: f64,
    /// Between the lengths of a node's axes, relative to the longer one.
    pub scale: f64,
    /// The node that is farthest from its place, if any is.
    pub node: Option<NodeIndex>,
}

impl Difference {
    fn worst(self, other: Self) -> Self {
        Self {
            metres: self.metres.max(other.metres),
            degrees: self.degrees.max(other.degrees),
            scale: self.scale.max(other.scale),
            node: if other.metres > self.metres {
                other.node
            } else {
                self.node
            },
        }
    }
}

/// Why two poses cannot be compared, or differ in more than numbers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Mismatch {
    /// The two machines drive scenes of different nodes.
    OtherScene,
    /// An animation that one of the machines does not have.
    NoSuchAnimation(usize),
    /// A node is shown in one pose only.
    Visibility(NodeIndex),
    /// A node has no place: some number is not finite.
    NotFinite(NodeIndex),
}

impl fmt::Display for Mismatch {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::OtherScene => f.write_str("the two machines drive different scenes"),
            Self::NoSuchAnimation(index) => write!(f, "there is no animation {index}"),
            Self::Visibility(node) => write!(f, "node {} is shown in one pose only", node.0),
            Self::NotFinite(node) => write!(f, "node {} has no place", node.0),
        }
    }
}

/// The times in seconds at which the animations of a machine stand, by their positions in it.
pub type Moment = Vec<(usize, f64)>;

/// The worst difference between the poses of two machines, at pairs of moments: the first of each pair of `before`,
/// the second of `after`.
///
/// # Errors
/// They cannot be compared, or a difference is none of place: something is shown in one of them only.
pub fn compare(
    before: &Rig<'_>,
    after: &Rig<'_>,
    moments: &[(Moment, Moment)],
) -> Result<Difference, Mismatch> {
    if before.scene.nodes.len() != after.scene.nodes.len() {
        return Err(Mismatch::OtherScene);
    }
    let mut worst = Difference::default();
    for (of_before, of_after) in moments {
        let [one, other] = [(before, of_before), (after, of_after)].map(|(rig, moment)| {
            let missing = moment
                .iter()
                .find(|(animation, _)| *animation >= rig.machine.animations.len());
            match missing {
                Some((animation, _)) => Err(Mismatch::NoSuchAnimation(*animation)),
                None => Ok(rig.pose(moment)),
            }
        });
        worst = worst.worst(difference(before, &one?, &other?)?);
    }
    Ok(worst)
}

fn difference(rig: &Rig<'_>, one: &Pose, other: &Pose) -> Result<Difference, Mismatch> {
    let mut worst = Difference::default();
    for id in rig.scene.ids() {
        let at = id.index();
        let (here, there) = (one.world[at], other.world[at]);
        if !here.is_finite() || !there.is_finite() {
            return Err(Mismatch::NotFinite(id));
        }
        if one.visible[at] != other.visible[at] {
            return Err(Mismatch::Visibility(id));
        }
        let (turn, scale) = turn_and_scale(here, there);
        worst = worst.worst(Difference {
            metres: one.place(id).distance(other.place(id)),
            degrees: turn,
            scale,
            node: Some(id),
        });
    }
    Ok(worst)
}

/// The greatest angle between axes in degrees, and the greatest relative difference of their lengths.
fn turn_and_scale(one: DMat4, other: DMat4) -> (f64, f64) {
    let axes =
        |matrix: DMat4| [matrix.x_axis, matrix.y_axis, matrix.z_axis].map(|axis| axis.truncate());
    let (mut turn, mut scale) = (0.0_f64, 0.0_f64);
    for (a, b) in axes(one).into_iter().zip(axes(other)) {
        let longer = a.length().max(b.length());
        if longer == 0.0 {
            continue;
        }
        scale = scale.max((a.length() - b.length()).abs() / longer);
        turn = turn.max(angle(a, b));
    }
    (turn, scale)
}

/// The angle between two vectors in degrees; exact for small ones, where an arc cosine is not. 0 if one has no
/// direction.
fn angle(a: DVec3, b: DVec3) -> f64 {
    let (a, b) = (a.normalize_or_zero(), b.normalize_or_zero());
    libm::atan2(a.cross(b).length(), a.dot(b)).to_degrees()
}
