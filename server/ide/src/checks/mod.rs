//! The checks: what is wrong with a document, one file per group of codes.
//!
//! One mistake gives one finding. What follows from a mistake that is reported already is left out: a part that could
//! not be read ([`unread`]) defines no names, so nothing that may stand in it is called unknown, missing or unused.
//!
//! A [`Checker`] goes along with a document through its versions and looks only at what is new:
//! - what depends on one portion of the document is kept with the portion ([`local`]);
//! - what depends on names is looked up in an index that each changed portion updates ([`index`]), and only names
//!   that have something wrong with them are looked at again;
//! - what depends on an animation is kept until the animation, or a node that it moves, changes ([`motion`]).
//!
//! A document may have more mistakes than anybody reads: [`gravest`] keeps no more than are told, and portions behind
//! so many are not looked at for what would not be told.
//!
//! Whatever was checked before, the result is that of a fresh run: how a document is cut into portions must not show.

mod broken;
mod checker;
mod consequences;
mod controls;
mod entities;
mod files;
mod form;
mod grammar;
mod gravest;
mod index;
mod learnt;
mod local;
mod mod_folder;
mod motion;
mod names;
mod numbered;
mod scene;
mod settings;
mod site;
mod strays;
mod suggest;
mod suppressions;
mod unread;
mod values;

use project::View;

use crate::Finding;

pub use checker::Checker;
pub use settings::{settings, settings_at};
pub use suppressions::Accepted;
pub(crate) use suppressions::{heading_of, may_be_accepted, with_own_comments};

/// Nobody reads more findings than this of one document.
pub const MOST_FINDINGS: usize = 10_000;

/// All that is wrong with a document, by place; the gravest [`MOST_FINDINGS`] if it is more.
///
/// A document that no dialect fits gets form checks only. Takes time in proportion to the document; a [`Checker`]
/// takes less for the next version.
pub fn run(view: &View) -> Vec<Finding> {
    judge(view).findings
}

/// What [`run`] finds, and what comments in the document accept.
pub fn judge(view: &View) -> Judgement {
    Checker::default().judge(view)
}

/// What was found in a document.
#[derive(Debug, Default, PartialEq)]
pub struct Judgement {
    /// What is wrong, by place.
    pub findings: Vec<Finding>,
    /// What would be wrong, if nobody had said why it is not.
    pub accepted: Vec<Accepted>,
}

/// A value as a fix writes it: right between quotes of either kind, and as a text.
pub(crate) fn escaped(value: &str) -> String {
    syntax::escape::attribute(value, '"').replace('\'', "&apos;")
}

#[cfg(test)]
mod tests;
