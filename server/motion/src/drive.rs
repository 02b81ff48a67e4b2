//! What moves a node: one property between two values.

use dialect::{Easing, EndValue, EulerOrder, Property};
use glam::DVec3;
use machine::{Channel, Machine, Motion};
use scene::{NodeIndex, Rest};

use crate::easing::{eased, progress};
use scene::{angles, rotation};

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
    /// Of which axes it speaks: of all, unless the values are written axis by axis. Along the others both values are
    /// where the motion before it ended, at first where the node rests.
    pub axes: [bool; 3],
    /// By axis: which of the animation's motions of this node's property counts along it once this one has begun, by its
    /// place among them.
    pub(crate) acting: [usize; 3],
    /// How the values are to be completed by the scene and by the motion before; see [`Drive::close`].
    pub(crate) open: Option<Open>,
}

/// What of a motion's values depends on where the node is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Open {
    start: Start,
    /// The values that are said are added to where the node rests.
    from_rest: bool,
}

/// Where a motion starts.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Start {
    /// At a value that is said.
    Said,
    /// Where the node is at that moment.
    Here,
    /// There too; it is not said where the motion ends, but by how much it moves the node.
    More,
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
    /// The two values, if what is written of them can be read and is of the kind that the property asks for.
    fn read(property: Property, motion: &Motion) -> Option<(Self, Option<Open>)> {
        let said = |start| {
            let from_rest = motion.from_rest;
            let is_open = start != Start::Said || motion.axes.is_some() || from_rest;
            is_open.then_some(Open { start, from_rest })
        };
        let (from, to, start) = match (&motion.from, &motion.to, &motion.by) {
            (Some(from), Some(to), _) => (from.value, to.value, Start::Said),
            (None, Some(to), _) if motion.starts_here => (to.value, to.value, Start::Here),
            (None, None, Some(by)) => (by.value, by.value, Start::More),
            _ => return None,
        };
        let ends = match (property, from, to) {
            (Property::Visibility, EndValue::Visible(from), EndValue::Visible(to)) => {
                Self::Visible { from, to }
            }
            (
                Property::Translation | Property::Rotation | Property::Scale,
                EndValue::Vector(from),
                EndValue::Vector(to),
            ) => Self::Vectors {
                from: DVec3::from_array(from),
                to: DVec3::from_array(to),
            },
            _ => return None,
        };
        Some((ends, said(start)))
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
            let (ends, open) = Ends::read(property, written)?;
            Some(Self {
                animation,
                channel,
                motion,
                node,
                property,
                begin,
                end,
                easing: read.easing,
                ends,
                axes: written.axes.unwrap_or([true; 3]),
                acting: [0; 3],
                open,
            })
        })
    }

    /// Whether the node only waits, between two keyframes of the same value.
    pub fn waits(&self, machine: &Machine) -> bool {
        let is_same = match self.ends {
            Ends::Vectors { from, to } => from == to,
            Ends::Visible { from, to } => from == to,
        };
        let animation = machine.animations.get(self.animation);
        let channel = animation.and_then(|animation| animation.channels.get(self.channel));
        let motion = channel.and_then(|channel| channel.motions.get(self.motion));
        is_same && motion.is_some_and(|motion| motion.is_keyed)
    }

    /// Fills in what depends on where the node rests and on how the motion before this one ended.
    pub(crate) fn close(&mut self, before: Option<&Ends>, rest: &Rest, order: EulerOrder) {
        let Some(open) = self.open.take() else {
            return;
        };
        let resting = match self.property {
            Property::Translation => rest.translation,
            Property::Rotation => angles(rest.rotation(), order),
            Property::Scale | Property::Visibility => rest.scale(),
        };
        match &mut self.ends {
            Ends::Visible { from, .. } => {
                *from = match before {
                    Some(Ends::Visible { to, .. }) => *to,
                    _ => rest.is_visible(),
                };
            }
            Ends::Vectors { from, to } => {
                let here = match before {
                    Some(Ends::Vectors { to, .. }) => *to,
                    _ => resting,
                };
                // `Start::More` counts from where the node is, whatever the values are added to.
                if open.from_rest && open.start != Start::More {
                    let placed = |said: DVec3| match self.property {
                        Property::Scale => resting * said,
                        _ => resting + said,
                    };
                    (*from, *to) = (placed(*from), placed(*to));
                }
                match open.start {
                    Start::Said => {}
                    Start::Here => *from = here,
                    Start::More if self.property == Property::Scale => {
                        (*from, *to) = (here, here * *to);
                    }
                    Start::More => (*from, *to) = (here, here + *to),
                }
                for axis in (0..3).filter(|axis| !self.axes[*axis]) {
                    (from[axis], to[axis]) = (here[axis], here[axis]);
                }
            }
        }
    }

    /// The value at a time in seconds.
    pub fn sample(&self, time: f64) -> Sample {
        self.sample_at(progress(self.begin, self.end, time))
    }

    /// The value when a part of the window, from 0 to 1, has passed.
    pub(crate) fn sample_at(&self, progress: f64) -> Sample {
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
            Sample::Visible(visible) => return rest.visible = Some(visible),
            Sample::Vector(vector) => vector,
        };
        // A matrix that shears has no property to replace; its nearest reading has.
        rest.drop_shear();
        match self.property {
            Property::Translation => rest.translation = vector,
            Property::Rotation => rest.set_rotation(rotation(vector, order)),
            Property::Scale => rest.set_scale(vector),
            Property::Visibility => {}
        }
    }
}
