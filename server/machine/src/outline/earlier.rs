//! What of an outline can be taken over into the next one.

use super::{Entry, Inside, Outline, is_same, same::Same};
use foldhash::{HashMap, HashSet};
use std::sync::Arc;
use syntax::{Identity, Portion};

/// The outline before, searched portion by portion in the order of the new document.
pub(super) struct Earlier<'o> {
    entries: &'o [Entry],
    same: &'o Same,
    /// Of the entries that stand neither in the part that is the same at the front nor in that at the back.
    by_identity: HashMap<Identity, usize>,
    /// Those of them that stand before this one have had their turn.
    next: usize,
    /// All surroundings that are known, so that equal ones are the same.
    known: HashSet<Arc<Inside>>,
}

impl<'o> Earlier<'o> {
    pub(super) fn of(before: &'o Outline, same: &'o Same) -> Self {
        let entries = &before.entries;
        let tags = before.places.tags.iter().map(|at| &entries[*at as usize]);
        // The first counts where tags are alike: the last would leave nothing behind it for what stands between them.
        let between = (same.front..same.back_before()).rev();
        Self {
            entries,
            same,
            by_identity: between
                .map(|at| (entries[at].portion.lasting_identity(), at))
                .collect(),
            next: same.front,
            known: tags.filter_map(|entry| entry.inside.clone()).collect(),
        }
    }

    /// The entry that says all that a portion says, in the same surroundings. A long element that is the same in the same
    /// surroundings means the same to what is in it.
    #[inline]
    pub(super) fn unchanged(
        &self,
        at: usize,
        portion: &Portion,
        around: Option<&Arc<Inside>>,
    ) -> Option<&'o Entry> {
        let was = &self.entries[self.same.place_before(at)?];
        let stays = portion.identity == was.portion.identity
            && is_same(around, was.around.as_ref())
            // Which element is the root depends on what else is at the top level.
            && (around.is_some() || was.inside.is_none());
        stays.then_some(was)
    }

    /// The surroundings that are known and equal to these, else these.
    pub(super) fn shared(&mut self, inside: Inside) -> Arc<Inside> {
        if let Some(known) = self.known.get(&inside) {
            return known.clone();
        }
        let inside = Arc::new(inside);
        self.known.insert(inside.clone());
        inside
    }

    /// The place of the entry whose portion is the same as this one but for the content of a long element, and stands in
    /// the same surroundings. `inside`: what it means to stand in the long element, if the portion is a tag.
    pub(super) fn counterpart(
        &mut self,
        at: usize,
        portion: &Portion,
        around: Option<&Arc<Inside>>,
        inside: Option<&Arc<Inside>>,
    ) -> Option<usize> {
        if !self.is_between(at) {
            let old = self.same.place_before(at)?;
            return self.is_there(old, around, inside).then_some(old);
        }
        // Where an edit in several places left much as it was.
        let old = *self.by_identity.get(&portion.lasting_identity())?;
        let is_it = old >= self.next
            && portion.is_same_but_for_content(&self.entries[old].portion)
            && self.is_there(old, around, inside);
        if !is_it {
            return None;
        }
        self.next = old + 1;
        Some(old)
    }

    /// The place of an entry with which a run of items that has no counterpart may have items in common.
    pub(super) fn like(&self, at: usize, around: Option<&Arc<Inside>>) -> Option<usize> {
        // At the top level, which element is the root depends on all that stands beside it.
        let may_be = around.is_some() && self.is_between(at) && at < self.same.back_before();
        (may_be && self.is_there(at, around, None)).then_some(at)
    }

    fn is_between(&self, at: usize) -> bool {
        (self.same.front..self.same.back).contains(&at)
    }

    /// Whether an entry stands in these surroundings.
    fn is_there(
        &self,
        old: usize,
        around: Option<&Arc<Inside>>,
        inside: Option<&Arc<Inside>>,
    ) -> bool {
        let old = &self.entries[old];
        is_same(around, old.around.as_ref()) && is_same(inside, old.inside.as_ref())
    }
}
