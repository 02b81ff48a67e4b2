//! The look at each portion by itself: what is new is looked at, what is known of the others stays.

use std::ops::Range;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

use machine::{Entry, Outline, PORTIONS_AT_ONCE, both, in_parallel};

use super::super::broken::Broken;
use super::super::gravest::{MOST, Tally};
use super::super::index::{Change, Renamed};
use super::super::local::{self, Local};
use super::super::site::Site;
use super::State;
use crate::Severity;

/// What is known of an entry.
#[derive(Debug)]
pub(super) struct Known {
    digest: u64,
    /// What of the digest the long element around it has to do with.
    around: u64,
    /// For the portions in the long element, if this is its tag.
    inner_digest: u64,
    pub(super) is_quiet: bool,
    /// It is the tag of a long element whose content is to be looked at.
    pub(super) is_entered: bool,
    bar: Option<Severity>,
    pub(super) local: Arc<Local>,
}

/// The entries of the version before with what is known of them. There are thousands after each keystroke, and this
/// moves less than an iterator that can be peeked into.
struct Before<'o> {
    entries: std::slice::Iter<'o, Entry>,
    known: std::vec::IntoIter<Known>,
}

impl<'o> Before<'o> {
    fn next_if(&mut self, is_it: impl FnOnce(&Entry) -> bool) -> Option<(&'o Entry, Known)> {
        let first = self.entries.as_slice().first()?;
        if !is_it(first) {
            return None;
        }
        self.entries.next();
        Some((first, self.known.next()?))
    }
}

/// An entry that may have to be looked at.
#[derive(Debug)]
struct Later {
    at: usize,
    /// Not if no more is wanted of it than what is graver than this.
    unless: Option<Severity>,
    /// What stood there before.
    earlier: Option<local::Earlier>,
}

impl Known {
    /// What is known of `old` if it holds, for items that are the same, where `now` stands. `around`: what is around that.
    fn earlier(&self, old: &Entry, now: &Entry, around: u64) -> Option<local::Earlier> {
        let is_there = self.around == around && old.is_in_the_same_place(now);
        let is_run = |entry: &Entry| entry.portion.element().is_none() && entry.around.is_some();
        (is_there && is_run(old) && is_run(now)).then(|| local::Earlier {
            portion: old.portion.clone(),
            local: self.local.clone(),
        })
    }

    /// `last`: of another entry. Most have as little to tell, and hold it together.
    fn take(&mut self, local: Local, last: Option<&Arc<Local>>) {
        self.is_quiet = local.is_quiet();
        self.is_entered = local.is_entered;
        self.bar = local.bar;
        let same = last.filter(|last| ***last == local);
        self.local = same.cloned().unwrap_or_else(|| Arc::new(local));
    }
}

/// A look at all entries, in the making.
struct Round<'r, 'v> {
    site: &'r Site<'v>,
    broken: &'r Broken<'v>,
    /// What is known of the entries, from the first one on.
    locals: Vec<Known>,
    /// What may still have to be looked at.
    later: Vec<Later>,
}

impl State {
    /// Looks at the entries that are new; takes over what is known of the others. Gives back the names that mean another
    /// node than before, and whether aliases may have come, gone or changed.
    pub(super) fn look(&mut self, site: &Site<'_>, broken: &Broken<'_>) -> (Renamed, bool) {
        let before = self.outline.clone();
        let (now, then) = (site.outline.entries().len(), before.entries());
        // Thousands stay after each keystroke: what is known of them stays where it is.
        let (front, back) = site.outline.taken_over(&before);
        let (now_back, then_back) = (now - back, then.len() - back);
        let mut locals = std::mem::take(&mut self.locals);
        let mut at_back = locals.split_off(then_back);
        let between = Before {
            entries: then[front..then_back].iter(),
            known: locals.split_off(front).into_iter(),
        };
        locals.reserve_exact(now - front);
        let mut round = Round {
            site,
            broken,
            locals,
            later: Vec::with_capacity(now_back - front),
        };
        for (at, old) in then[..front].iter().enumerate() {
            self.look_again(&mut round, at, old);
        }
        let changes = self.look_between(&mut round, front..now_back, between);
        round.locals.append(&mut at_back);
        for (at, old) in (now_back..now).zip(&then[then_back..]) {
            self.look_again(&mut round, at, old);
        }
        let Round {
            mut locals, later, ..
        } = round;
        // They have nothing to do with each other, and only one of them is divided among the cores.
        let mut index = std::mem::take(&mut self.index);
        let is_much = changes.len().min(later.len()) > PORTIONS_AT_ONCE;
        let mut change = || index.change(site.outline, &changes);
        let mut look = || self.look_later(site, broken, &mut locals, &later);
        let (changed, ()) = match is_much {
            true => both(change, look),
            false => (change(), look()),
        };
        (self.index, self.locals) = (index, locals);
        changed
    }

    /// Looks at the entries of a range, where others may have come, gone or changed. `before`: those that stood there.
    /// Gives back what has changed.
    fn look_between<'o, 'v: 'o>(
        &mut self,
        round: &mut Round<'_, 'v>,
        range: Range<usize>,
        mut before: Before<'o>,
    ) -> Vec<Change<'o>> {
        let mut changes = Vec::new();
        let mut gone_before = None;
        let entries = &round.site.outline.entries()[range.clone()];
        // The tags come first: what is in a long element depends on its tag.
        for (at, entry) in range.zip(entries) {
            while let Some((gone, known)) = before.next_if(|old| old.label < entry.label) {
                self.forget(gone, &known);
                changes.push(Change::Gone(gone));
                gone_before = Some((gone, known));
            }
            let known = before.next_if(|old| old.label == entry.label);
            match &known {
                Some((old, _)) if Arc::ptr_eq(&old.facts, &entry.facts) => {}
                Some((old, _)) => changes.extend([Change::Gone(old), Change::New(entry)]),
                None => changes.push(Change::New(entry)),
            }
            let mut earlier = None;
            if let Some((old, known)) = known {
                if old.is_in_the_same_place(entry) {
                    round.locals.push(known);
                    self.look_again(round, at, old);
                    continue;
                }
                self.unread.remove(&known.local.unread);
                earlier = Some((old, known));
            }
            let around = around(entry, &round.locals);
            let earlier = earlier.or(gone_before.take());
            let earlier = earlier.and_then(|(old, known)| known.earlier(old, entry, around));
            let known = self.look_afresh(round, at, earlier);
            round.locals.push(known);
        }
        while let Some((gone, known)) = before.next_if(|_| true) {
            self.forget(gone, &known);
            changes.push(Change::Gone(gone));
        }
        changes
    }

    /// Looks at an entry that stands where it stood, if anything about it is not as it was.
    fn look_again(&mut self, round: &mut Round<'_, '_>, at: usize, old: &Entry) {
        let entry = &round.site.outline.entries()[at];
        let around = around(entry, &round.locals);
        let known = &round.locals[at];
        let is_same = old.portion.identity == entry.portion.identity;
        if is_same && known.digest == local::digest(round.broken, &entry.portion, around) {
            if known.bar.is_some() {
                round.later.push(Later {
                    at,
                    unless: known.bar,
                    earlier: None,
                });
            }
            return;
        }
        self.unread.remove(&known.local.unread);
        let earlier = known.earlier(old, entry, around);
        round.locals[at] = self.look_afresh(round, at, earlier);
    }

    /// Looks at the tag of a long element, and notes that items have to be looked at.
    fn look_afresh(
        &mut self,
        round: &mut Round<'_, '_>,
        at: usize,
        earlier: Option<local::Earlier>,
    ) -> Known {
        let (site, broken) = (round.site, round.broken);
        let entry = &site.outline.entries()[at];
        self.disturb(site.outline, entry);
        let around = around(entry, &round.locals);
        let mut known = Known {
            digest: local::digest(broken, &entry.portion, around),
            around,
            inner_digest: 0,
            is_quiet: true,
            is_entered: false,
            bar: None,
            local: Arc::default(),
        };
        if let Some(element) = entry.portion.element() {
            let local = look_at(site, broken, at, &round.locals, None, None);
            known.inner_digest = local::holder_digest(element, &local);
            self.unread.add(&local.unread);
            known.take(local, None);
        } else {
            round.later.push(Later {
                at,
                unless: None,
                earlier,
            });
        }
        known
    }

    /// An entry is gone.
    fn forget(&mut self, gone: &Entry, known: &Known) {
        self.unread.remove(&known.local.unread);
        let outline = self.outline.clone();
        self.disturb(&outline, gone);
    }

    /// An entry has come, gone or changed: the content of what is around it may be in another order.
    fn disturb(&mut self, outline: &Outline, entry: &Entry) {
        self.orderly.remove(&entry.label);
        if let Some(holder) = entry.portion.holder {
            self.orderly.remove(&outline.entries()[holder].label);
        }
    }

    /// Looks at portions, some at a time: what comes behind more mistakes than are told is not looked at for more.
    fn look_later(
        &mut self,
        site: &Site<'_>,
        broken: &Broken<'_>,
        locals: &mut [Known],
        mut later: &[Later],
    ) {
        let few = 2 * PORTIONS_AT_ONCE;
        let (mut tally, mut tallied, mut share) = (Tally::default(), 0, few);
        let mut last = None;
        // Those whose turn had come when too much had been found.
        let mut left: Vec<&Later> = Vec::new();
        while let Some(first) = left.first().copied().or(later.first()) {
            for known in locals[tallied..first.at].iter().filter(|one| !one.is_quiet) {
                tally.add(&known.local.findings, known.local.are_all);
            }
            tallied = first.at;
            let bar = tally.bar();
            let (now, rest) = later.split_at(share.saturating_sub(left.len()).min(later.len()));
            later = rest;
            // Without a bar all is wanted.
            let is_known = |unless: Severity| bar.is_some_and(|bar| bar <= unless);
            let asked = left.drain(..).chain(now);
            let asked = asked.filter(|one| !one.unless.is_some_and(is_known));
            let asked: Vec<&Later> = asked.collect();
            let found = AtomicUsize::new(0);
            let looked_at = in_parallel(asked.len(), PORTIONS_AT_ONCE, |nth| {
                // There may be a bar for it next time.
                if found.load(Ordering::Relaxed) > MOST {
                    return None;
                }
                let Later { at, earlier, .. } = asked[nth];
                let local = look_at(site, broken, *at, locals, bar, earlier.as_ref());
                found.fetch_add(local.findings.len(), Ordering::Relaxed);
                Some(local)
            });
            for (one, local) in asked.into_iter().zip(looked_at) {
                let Some(local) = local else {
                    left.push(one);
                    continue;
                };
                let at = one.at;
                self.unread.remove(&locals[at].local.unread);
                self.unread.add(&local.unread);
                locals[at].take(local, last.as_ref());
                last = Some(locals[at].local.clone());
                self.disturb(site.outline, &site.outline.entries()[at]);
            }
            // Where little is wrong, the more at once the better.
            share = match found.into_inner() < few {
                true => 2 * share,
                false => few,
            };
        }
    }
}

/// What an entry has to do with the long element around it.
fn around(entry: &Entry, locals: &[Known]) -> u64 {
    let holder = entry.portion.holder;
    holder.map_or(0, |holder| locals[holder].inner_digest)
}

fn look_at(
    site: &Site<'_>,
    broken: &Broken<'_>,
    at: usize,
    locals: &[Known],
    bar: Option<Severity>,
    earlier: Option<&local::Earlier>,
) -> Local {
    let holder = site.outline.entries()[at].portion.holder;
    local::look(
        site,
        broken,
        at,
        holder.map(|holder| &*locals[holder].local),
        bar,
        earlier,
    )
}
