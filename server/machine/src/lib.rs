//! What one definition means, read off its tree through a dialect's roles.
//!
//! [`read`] survives anything: what is broken or missing is absent from the
//! [`Machine`], and what is there is there with its range. Nothing here knows
//! a scene's contents.

mod assemble;
mod attributes;
mod channel;
mod conformity;
mod document;
mod facts;
mod few;
mod found;
mod here;
mod index;
mod kept;
mod lookup;
mod model;
mod names;
mod outline;
mod parallel;
mod queries;
mod reach;
mod read;
mod select;

pub use assemble::read;
pub use attributes::{Assigned, Attributes, is_foreign};
pub use conformity::Conformity;
pub use document::{Chain, Located, Reader, walk};
pub use facts::{Facts, LooseChannel, Ranges, Sort, Sorts};
pub use few::Few;
pub use found::{Found, ListItem, has_text};
pub use index::NameIndex;
pub use kept::Kept;
pub use lookup::{Animated, Named};
pub use model::{
    Alias, Animation, Channel, Control, Counted, Definition, FileUse, Machine, Motion, NodeRef,
    NodeTarget, Sound, Spanned, Use, UseTarget, Wheel, WheelRef, WheelTarget, Window, Wording,
    Written,
};
pub use outline::{Entry, Inside, Outline, PORTIONS_AT_ONCE, Said};
pub use parallel::{Made, both, in_parallel, is_one_of_many};
pub use queries::Symbol;
