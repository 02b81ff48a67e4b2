//! Archives of mods (ZIP): unpacked without harm, packed without loss.
//!
//! What is made is made beside its place and takes it in one step, so that whoever looks, at whatever moment, finds
//! the old or the new, whole. Nothing that was there before is overwritten or deleted.

mod contents;
mod directory;
mod leftovers;
mod members;
mod names;
mod pack;
mod plan;
mod read_back;
mod shadows;
mod unpack;

use std::fmt;

pub use contents::{Contents, is_archive};
pub use leftovers::{is_kept_apart, leftover};
pub use pack::Packed;
pub use plan::{Plan, Wishes};
pub use shadows::Moved;
pub use unpack::{Unpacked, unpack};

/// What is not taken over, and why.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refused {
    /// A file of the archive or folder; None: all of it.
    pub name: Option<String>,
    /// A sentence.
    pub reason: String,
}

impl Refused {
    fn all(reason: impl Into<String>) -> Self {
        Self {
            name: None,
            reason: reason.into(),
        }
    }

    fn one(name: impl Into<String>, reason: impl Into<String>) -> Self {
        Self {
            name: Some(name.into()),
            reason: reason.into(),
        }
    }
}

/// Names in archives may hold anything; what is shown has no control characters.
impl fmt::Display for Refused {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(name) = &self.name {
            write!(out, "{}: ", names::shown(name))?;
        }
        write!(out, "{}", self.reason)
    }
}

/// Why nothing was done.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Stopped {
    /// The archive or the folder is not as it must be; all reasons.
    Refused(Vec<Refused>),
    /// Something stood in the way; a sentence without its end.
    Failed(String),
}
