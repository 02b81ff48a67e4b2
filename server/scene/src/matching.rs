//! Which node of a newly exported scene is which node of the old one.
//!
//! Names come first: a name that both scenes have once, then a path of names that both have once, then names and
//! unchanged subtrees among what hangs on a node that was found. What was renamed is found by its neighbourhood: what
//! it hangs on, what hangs on it, how alike the names are, where it rests, how large it is. Each of these is
//! evidence; a node counts as found only if enough of it comes together and nothing else is nearly as likely. All
//! else is reported with its candidates.
//!
//! The time grows with the number of nodes, but for sorting and hashing.

mod evidence;
mod pairs;
mod side;
mod similar;

use crate::{NodeIndex, Scene};
use pairs::Pairs;

/// What became of a node in another scene.
#[derive(Clone, Debug, PartialEq)]
pub enum Fate {
    /// It is this one.
    Found(Candidate),
    /// It may be one of these, the likeliest first. Never empty.
    Unsure(Vec<Candidate>),
    /// Nothing in the other scene is like it.
    Gone,
}

/// A node that another one may have become.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Candidate {
    /// In the new scene.
    pub node: NodeIndex,
    /// From 0 to 1: how much speaks for it. Not a probability, but larger is surer.
    pub confidence: f64,
}

/// What became of each node of an old scene: by [`NodeIndex::index`].
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Matching {
    /// One for each node of the old scene. No node of the new one is found twice.
    pub fates: Vec<Fate>,
}

/// A node counts as found from this confidence on.
pub const SURE: f64 = 0.9;

/// Candidates with less than this are not worth mentioning.
const LEAST: f64 = 0.65;

/// So many candidates are reported.
const MOST_CANDIDATES: usize = 5;

impl Matching {
    /// Compares two scenes.
    pub fn of(old: &Scene, new: &Scene) -> Self {
        let mut pairs = Pairs::new(old, new);
        pairs.by_names();
        // What the first round finds is evidence for what it had to leave open.
        for _ in 0..2 {
            pairs.by_neighbourhood();
        }
        pairs.old.list_leftover();
        pairs.new.list_leftover();
        let mut matching = Self::default();
        for id in old.ids() {
            // Parents come before their children.
            let parent = old[id].parent;
            let above = parent.and_then(|parent| matching.fates.get(parent.index()));
            let fate = pairs.fate(id, above);
            matching.fates.push(fate);
        }
        matching
    }
}
