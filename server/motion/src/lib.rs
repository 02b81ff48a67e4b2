//! Poses over time: travel, track width, mirrored parts, and the proof that a change kept the motion.
//!
//! # Conventions
//! - Lengths are metres, angles degrees, times seconds, all as 64-bit floats. Axes are the scene's; which of
//!   them points right, up and forward is the dialect's word.
//! - A channel *replaces* one property of a node's rest transform, as in glTF 2.0 (section 3.11): a translation
//!   is a place in the parent's space, not an offset from where the node rests.
//! - Rotations are three angles about x, y and z, applied in the dialect's order, each about the axes as turned
//!   so far (intrinsic, [`rotation`]). Between two rotations each angle goes its own way, so a turn of 360 degrees
//!   is a turn, and not nothing.
//! - Before its window a motion holds its first value, after it the last one. Of several motions of the same
//!   property in one animation the one that began last counts, along each axis of those that speak of it.
//! - A node is visible if itself and all it hangs on are.
//! - A matrix acts on column vectors; the local one is translation · rotation · scale, the world one that of the
//!   parent times it (glTF 2.0, section 3.5.3).
//! - A control's setting runs from 0, the start of the animation that it plays, to 1, its end.
//! - The box of a mesh is the box around the eight moved corners of its own box: a turned mesh may be smaller.
//! - A wheel is a cylinder across the machine around its node's origin; it stands on the ground.

mod at_rest;
mod axles;
mod clearance;
mod compare;
mod drive;
mod easing;
mod fit;
mod mirror;
mod opposites;
mod pose;
mod report;
mod rig;
mod sampling;
mod settings;
mod size;
mod sweep;
mod topmost;
mod travel;
mod turns;

pub use at_rest::AtRest;
pub use axles::Axle;
pub use clearance::Clearance;
pub use compare::{Difference, Mismatch, Moment, compare};
pub use drive::{Drive, Ends, Sample};
pub use easing::progress;
pub use fit::{Asked, Extreme, Fit, Span};
pub use mirror::{Counterpart, Counterparts, mirrored};
pub use opposites::{Opposites, opposite_nodes};
pub use pose::Pose;
pub use report::{AnimationReport, ControlReport, Movement, Report, Stance};
pub use rig::Rig;
pub use scene::{angles, rotation};
pub use settings::{Setting, speed};
pub use size::Overall;
pub use sweep::{Sweep, Swept, Track};
pub use topmost::of as topmost;
pub use travel::Travel;
pub use turns::{acting, together};
