//! What moves a node: one property between two values.

use dialect::{Easing, EndValue, EulerOrder, Property};
use glam::DVec3;
use machine::{Channel, Motion};
use scene::{NodeIndex, Rest};

use crate::easing::{eased, progress};
use scene::rotation;

/// One property of one node, moving between two values in a window of time: a motion of a definition of which
/// everything that a pose needs could be read.
#[derive(Clone, Debug, PartialEq)]
pub struct Drive {
    /// Which of the machine's animations.
    pub animation: usize,
    /// Which of the animation's channels.
    pub channel: usize,
    /// Which of the channel's motions.
    pub motion: usize,
    /// The node it moves.
    pub node: NodeIndex,
    /// The property it moves.
    pub property: Property,
    /// Seconds.
    pub begin: f64,
    /// Seconds.
    pub end: f64,
    /// How it passes through its window.
    pub easing: Easing,
    /// Between which values.
    pub ends: Ends,
}

/// The two values of a [`Drive`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Ends {
    /// Metres, degrees or factors.
    Vectors {
        /// Until the window begins.
        from: DVec3,
        /// From when it ends.
        to: DVec3,
    },
    /// Shown or hidden.
    Visible {
        /// Until the window ends.
        from: bool,
        /// From when it ends.
        to: bool,
    },
}

/// The value of a [`Drive`] at one time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Sample {
    /// Metres, degrees or factors.
    Vector(DVec3),
    /// Shown or hidden.
    Visible(bool),
}

impl Ends {
    /// The two values, if both can be read and are of the kind that the property asks for.
    pub(crate) fn read(property: Property, motion: &Motion) -> Option<Self> {
        match (
            property,
            motion.from.as_ref()?.value,
            motion.to.as_ref()?.value,
        ) {
            (Property::Visibility, EndValue::Visible(from), EndValue::Visible(to)) => {
                Some(Self::Visible { from, to })
            }
            (
                Property::Translation | Property::Rotation | Property::Scale,
                EndValue::Vector(from),
                EndValue::Vector(to),
            ) => Some(Self::Vectors {
                from: DVec3::from_array(from),
                to: DVec3::from_array(to),
            }),
            _ => None,
        }
    }
}

impl Drive {
    /// What one channel drives, so far as it can be read. `animation` and `channel` are noted as they are given.
    pub fn of_channel(
        animation: usize,
        channel: usize,
        node: NodeIndex,
        read: &Channel,
    ) -> impl Iterator<Item = Self> {
        let motions = read.motions.iter().enumerate();
        motions.filter_map(move |(motion, written)| {
            let property = written.property?;
            let (begin, end) = written.window.seconds()?;
            Some(Self {
                animation,
                channel,
                motion,
                node,
                property,
                begin,
                end,
                easing: read.easing,
                ends: Ends::read(property, written)?,
            })
        })
    }

    /// The value at a time in seconds.
    pub fn sample(&self, time: f64) -> Sample {
        self.sample_at(progress(self.begin, self.end, time))
    }

    /// The value when a part of the window, from 0 to 1, has passed.
    pub fn sample_at(&self, progress: f64) -> Sample {
        let way = eased(self.easing, progress);
        match self.ends {
            // Both ends are hit exactly, which `from + way * (to - from)` would not do.
            Ends::Vectors { from, to } => Sample::Vector(from * (1.0 - way) + to * way),
            Ends::Visible { to, .. } if way >= 1.0 => Sample::Visible(to),
            Ends::Visible { from, .. } => Sample::Visible(from),
        }
    }

    /// Whether the two values differ.
    pub fn changes(&self) -> bool {
        match self.ends {
            Ends::Vectors { from, to } => from != to,
            Ends::Visible { from, to } => from != to,
        }
    }

    /// Whether it changes where the node or what hangs on it stands.
    pub fn moves(&self) -> bool {
        self.property != Property::Visibility && self.changes()
    }

    /// The rest transform with the property replaced by a value.
    pub(crate) fn apply(&self, sample: Sample, order: EulerOrder, rest: &mut Rest) {
        let vector = match sample {
            Sample::Visible(visible) => return rest.visible = visible,
            Sample::Vector(vector) => vector,
        };
        // A matrix that shears has no property to replace; its nearest reading has.
        rest.matrix = None;
        match self.property {
            Property::Translation => rest.translation = vector,
            Property::Rotation => rest.rotation = rotation(vector, order),
            Property::Scale => rest.scale = vector,
            Property::Visibility => {}
        }
    }
}
