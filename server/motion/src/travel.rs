//! How far a motion goes.

use dialect::Property;
use glam::DVec3;

use crate::drive::{Drive, Ends};
use crate::rig::Rig;
use scene::rotation;

/// The way between the two ends of a motion.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Travel {
    /// A translation.
    Distance {
        /// From the first end to the second, in the scene's axes, while what the node hangs on is at rest. Metres.
        offset: DVec3,
        /// Its length.
        metres: f64,
    },
    /// A rotation.
    Angle {
        /// How much each of the three angles changes.
        change: DVec3,
        /// The way turned: if one angle changes, by how much (more than 360 if it turns more than once); if several
        /// do, the angle between the two ends (180 at most).
        degrees: f64,
    },
    /// A scaling: the factors at the two ends.
    Factor {
        /// At the first end.
        from: DVec3,
        /// At the second end.
        to: DVec3,
    },
    /// Showing or hiding.
    Visibility {
        /// At the first end.
        from: bool,
        /// At the second end.
        to: bool,
    },
}

impl Rig<'_> {
    /// How far a motion goes.
    pub fn travel(&self, drive: &Drive) -> Travel {
        match drive.ends {
            Ends::Visible { from, to } => Travel::Visibility { from, to },
            Ends::Vectors { from, to } => match drive.property {
                Property::Rotation => {
                    let change = to - from;
                    let changing = change
                        .to_array()
                        .iter()
                        .filter(|angle| **angle != 0.0)
                        .count();
                    let order = self.notation.euler;
                    let between = rotation(from, order).angle_between(rotation(to, order));
                    let degrees = if changing == 1 {
                        change.length()
                    } else {
                        between.to_degrees()
                    };
                    Travel::Angle { change, degrees }
                }
                Property::Scale => Travel::Factor { from, to },
                Property::Translation | Property::Visibility => {
                    let offset = match self.scene[drive.node].parent {
                        Some(parent) => self.world_at_rest(parent).transform_vector3(to - from),
                        None => to - from,
                    };
                    Travel::Distance {
                        offset,
                        metres: offset.length(),
                    }
                }
            },
        }
    }
}
