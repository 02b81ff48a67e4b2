//! How much speaks for two nodes being the same one.
//!
//! Each piece of evidence is how sure one would be by it alone; several come together as independent witnesses do:
//! what remains of the doubt is the product of their doubts. The figures were chosen so that two weak witnesses are
//! not enough, and an own name needs one more witness of any kind.

use super::pairs::Pairs;
use super::similar::similarity;
use crate::NodeIndex;

/// The same name, which no other node of the scenes has.
const OWN_NAME: f64 = 0.7;
/// The same name, which no other child of the same node has.
const OWN_AMONG_SIBLINGS: f64 = 0.6;
/// The same name as other nodes have too.
const SHARED_NAME: f64 = 0.5;
/// Another name, as far as it is alike.
const LIKE_NAME: f64 = 0.5;
/// It hangs on the same node, or somewhere below or above it.
const PARENT: f64 = 0.7;
/// It hangs on nothing, as before.
const ROOT: f64 = 0.3;
/// Nothing else hangs on nothing.
const ONLY_ROOT: f64 = 0.85;
/// All that hangs on it is the same; in proportion if it is a part of it.
const CHILDREN: f64 = 0.65;
/// It rests in the same place, and not just where its parent is.
const REST: f64 = 0.6;
/// Its mesh is as large.
const BOUNDS: f64 = 0.6;
/// Nothing of it and of what hangs on it has changed.
const SUBTREE: f64 = 0.5;
/// It rests where its parent is, as before, and its name is alike.
const UNMOVED: f64 = 0.2;
/// The confidence shrinks to this part unless enough is as before: a name that no other node has; or a name that is alike,
/// the place, and what it hangs on or something near that; or the place, the size and what it hangs on.
const TOO_LITTLE_KEPT: f64 = 0.92;

impl Pairs<'_> {
    /// From 0 to 1.
    pub(super) fn confidence(&self, old: NodeIndex, new: NodeIndex) -> f64 {
        let (o, n) = (old.index(), new.index());
        let same = |old: u32, new: u32, weight: f64| {
            if old == new && old != 0 { weight } else { 0.0 }
        };
        let name = match self.old.names[o] == self.new.names[n] {
            _ if self.old.names[o] == 0 || self.new.names[n] == 0 => 0.0,
            true if self.old.has_name_alone(old) && self.new.has_name_alone(new) => OWN_NAME,
            true if self.is_own_among_siblings(old, new) => OWN_AMONG_SIBLINGS,
            true => SHARED_NAME,
            false => {
                let alike = similarity(&self.old.scene[old].name, &self.new.scene[new].name);
                if alike >= 0.5 { LIKE_NAME * alike } else { 0.0 }
            }
        };
        let is_named_alike = name > 0.0;
        let subtree = match self.old.scene.children(old).is_empty() || !is_named_alike {
            true => 0.0,
            false => same(self.old.subtrees[o], self.new.subtrees[n], SUBTREE),
        };
        let has_same_geometry = self.old.geometry(old) == self.new.geometry(new);
        let unmoved = match is_named_alike && has_same_geometry && self.old.rests[o] == 0 {
            true => UNMOVED,
            false => 0.0,
        };
        let doubts = [
            name,
            self.above(old, new),
            self.below(old, new),
            same(self.old.rests[o], self.new.rests[n], REST),
            same(self.old.bounds[o], self.new.bounds[n], BOUNDS),
            unmoved,
            subtree,
        ]
        .map(|evidence| 1.0 - evidence);
        let sure = 1.0 - doubts.into_iter().product::<f64>();
        let is_at_home = self.hangs_alike(old, new) || self.has_same_parent(old, new);
        let rests_alike = self.old.rests[o] == self.new.rests[n];
        match name == OWN_NAME
            || (is_named_alike && is_at_home && rests_alike)
            || (has_same_geometry && self.has_same_parent(old, new))
        {
            true => sure,
            false => sure * TOO_LITTLE_KEPT,
        }
    }

    fn above(&self, old: NodeIndex, new: NodeIndex) -> f64 {
        let (old_parent, new_parent) = (self.old.scene[old].parent, self.new.scene[new].parent);
        match (old_parent, new_parent) {
            (None, None) if self.old.scene.roots.len() == 1 && self.new.scene.roots.len() == 1 => {
                ONLY_ROOT
            }
            (None, None) => ROOT,
            _ if self.hangs_alike(old, new) => PARENT,
            _ => 0.0,
        }
    }

    /// Whether one hangs, at any depth, on what the other hangs on: something may have been put in between or taken
    /// out. Roots hang on nothing and so not alike.
    pub(super) fn hangs_alike(&self, old: NodeIndex, new: NodeIndex) -> bool {
        let (old_parent, new_parent) = (self.old.scene[old].parent, self.new.scene[new].parent);
        let kept = old_parent.and_then(|parent| self.old.partner[parent.index()]);
        let lifted = new_parent.and_then(|parent| self.new.partner[parent.index()]);
        kept.is_some_and(|parent| self.new.scene.is_below(new, parent))
            || lifted.is_some_and(|parent| self.old.scene.is_below(old, parent))
    }

    fn below(&self, old: NodeIndex, new: NodeIndex) -> f64 {
        let (olds, news) = (self.old.scene.children(old), self.new.scene.children(new));
        let all = olds.len() + news.len();
        if all == 0 {
            return 0.0;
        }
        let common = olds
            .iter()
            .filter_map(|child| self.old.partner[child.index()])
            .filter(|partner| self.new.scene[*partner].parent == Some(new))
            .count();
        CHILDREN * (2 * common) as f64 / all as f64
    }
}
