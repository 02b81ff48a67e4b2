//! A document checked from version to version.

use foldhash::HashSet;
use std::sync::Arc;

use ::scene::NodeIndex;
use dialect::{Dialect, DocumentKind};
use machine::{Entry, Outline, PORTIONS_AT_ONCE, Ranges, both, in_parallel};
use project::{Earlier, SceneFile, SceneState, View};
use syntax::TextRange;

use super::broken::Broken;
use super::gravest::{Gravest, Tally, most_of};
use super::index::{Change, Index, Place, Renamed};
use super::local::{self, Local};
use super::motion::Motions;
use super::names::{self, Names};
use super::scene::{self, Nodes, Stale};
use super::site::Site;
use super::strays::{self, Strays};
use super::unread::{Unread, Words};
use super::{
    Judgement, MOST_FINDINGS, consequences, controls, files, form, learnt, mod_folder, settings,
    suppressions,
};
use crate::repath::Followed;
use crate::{Finding, Severity, codes};

/// Checks a document, and remembers of it what the next check can use. Any version can follow on any other.
#[derive(Debug, Default)]
pub struct Checker {
    state: Option<State>,
}

/// What is known of the version that was checked last.
#[derive(Debug)]
struct State {
    dialect: Arc<Dialect>,
    kind: DocumentKind,
    scene: Option<Arc<SceneFile>>,
    earlier: Option<Arc<Earlier>>,
    followed: Option<Followed>,
    outline: Arc<Outline>,
    /// By entry of the outline.
    locals: Vec<Known>,
    /// The entries of which there is something to tell.
    loud: Vec<usize>,
    /// The labels of long elements of whose content, all together, there is nothing to tell.
    orderly: HashSet<u64>,
    index: Index,
    unread: Unread,
    /// What is in `unread` besides what the locals say.
    elsewhere_unread: Vec<Words>,
    nodes: Nodes,
    suspects: Vec<Place>,
    stale: Vec<Stale>,
    motions: Motions,
}

#[derive(Debug)]
struct Known {
    digest: u64,
    /// What of the digest the long element around it has to do with.
    around: u64,
    /// For the portions in the long element, if this is its tag.
    inner_digest: u64,
    is_quiet: bool,
    /// It is the tag of a long element whose content is to be looked at.
    is_entered: bool,
    bar: Option<Severity>,
    local: Arc<Local>,
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

    fn take(&mut self, local: Local) {
        self.is_quiet = local.is_quiet();
        self.is_entered = local.is_entered;
        self.bar = local.bar;
        self.local = Arc::new(local);
    }
}

impl Checker {
    /// All that is wrong with the document; see [`super::run`].
    pub fn run(&mut self, view: &View) -> Vec<Finding> {
        self.judge(view).findings
    }

    /// All that is wrong with the document, and what comments accept; see [`super::judge`].
    pub fn judge(&mut self, view: &View) -> Judgement {
        let mut found = Gravest::default();
        found.extend(form::check(&view.document.tree));
        let mut accepted = Vec::new();
        let (mut findings, are_all);
        match Site::of(view) {
            Some(site) => {
                let mut state = match self.state.take() {
                    Some(state) if state.is_of(&site) && state.is_worth_keeping(&site) => state,
                    _ => State::new(&site),
                };
                let followed = state.followed.clone();
                let site = Site {
                    followed: followed.as_ref(),
                    ..site
                };
                found.extend(settings::rival(&site));
                state.run(&site, &mut found);
                (findings, are_all) = found.done();
                findings = consequences::without(&site, findings);
                findings = learnt::in_learnt_places(&site, findings);
                let comments = state.comments();
                (findings, accepted) = suppressions::apply(&site, &comments, findings, are_all);
                self.state = Some(state);
            }
            None => {
                (findings, are_all) = found.done();
                self.state = None;
            }
        }
        Judgement {
            findings: told(findings, are_all),
            accepted,
        }
    }
}

/// By place, and not too many. `were_all`: whether there were no others before.
fn told(findings: Vec<Finding>, were_all: bool) -> Vec<Finding> {
    let (mut findings, are_all) = most_of(findings);
    if !(are_all && were_all) {
        let message = format!("There is more to report than these {MOST_FINDINGS} findings.");
        findings.push(codes::TOO_MANY_ERRORS.at(TextRange::default(), message));
    }
    findings
}

impl State {
    fn new(site: &Site<'_>) -> Self {
        Self {
            dialect: site.meaning.dialect.clone(),
            kind: site.meaning.kind.clone(),
            scene: scene_of(site),
            earlier: site.meaning.earlier().cloned(),
            followed: Followed::of(site.meaning),
            outline: Arc::default(),
            locals: Vec::new(),
            loud: Vec::new(),
            orderly: HashSet::default(),
            index: Index::expecting(site.outline),
            unread: Unread::default(),
            elsewhere_unread: Vec::new(),
            nodes: Nodes::default(),
            suspects: Vec::new(),
            stale: Vec::new(),
            motions: Motions::default(),
        }
    }

    /// Whether what is known holds for that document.
    fn is_of(&self, site: &Site<'_>) -> bool {
        let same_scene = is_same(self.scene.as_ref(), scene_of(site).as_ref())
            && is_same(self.earlier.as_ref(), site.meaning.earlier());
        Arc::ptr_eq(&self.dialect, &site.meaning.dialect)
            && self.kind == site.meaning.kind
            && same_scene
    }

    /// Whether it takes less to go on with this than to begin afresh: most is as it was.
    fn is_worth_keeping(&self, site: &Site<'_>) -> bool {
        let (old, new) = (self.outline.entries(), site.outline.entries());
        let enough = (old.len() / 2).saturating_sub(7);
        let (front, back) = site.outline.taken_over(&self.outline);
        if front + back >= enough {
            return !self.index.is_worn();
        }
        let mut rest = old.iter().peekable();
        let is_kept = |entry: &&Entry| {
            while rest.next_if(|old| old.label < entry.label).is_some() {}
            let same =
                |old: &&Entry| old.label == entry.label && Arc::ptr_eq(&old.facts, &entry.facts);
            rest.next_if(same).is_some()
        };
        let kept = new.iter().filter(is_kept).take(enough).count();
        kept == enough && !self.index.is_worn()
    }

    fn run(&mut self, site: &Site<'_>, found: &mut Gravest) {
        let broken = Broken::of(site.tree());
        let (renamed, are_aliases_touched) = self.look(site, &broken);
        let known = self.locals.iter().enumerate();
        let loud = known.filter(|(_, known)| !known.is_quiet);
        self.loud = loud.map(|(at, _)| at).collect();
        self.outline = site.meaning.outline.clone();
        let (grammar, are_all) = self.grammar(site, &broken).done();
        if !are_all {
            found.leave_out();
        }
        self.motions.update(site, &mut self.index, &renamed);
        self.suspect(site, are_aliases_touched || !renamed.is_empty());
        if self
            .loud(site.outline)
            .any(|(_, known)| known.local.is_foreign)
        {
            // In a namespace that is not the dialect's, nothing more can be said.
            return found.extend(grammar);
        }
        let faulty = grammar.iter().map(|finding| finding.range).collect();
        found.extend(grammar);
        let names = Names {
            site,
            index: &self.index,
            unread: &self.unread,
        };
        names::check(&names, found);
        let strays = strays::find(site, self.locals.iter().map(|known| &*known.local));
        self.in_scene(site, &faulty, &strays, found);
        files::check(site, &faulty, found);
        let wrong = self.wrong_nodes(site, &strays);
        self.motions.findings(site, &wrong, found);
        controls::check(site, found);
        found.extend(mod_folder::check(site, &self.unread));
    }

    /// The comments that speak to Trunnion, in the order of the text.
    fn comments(&self) -> Vec<TextRange> {
        let loud = self.loud(&self.outline);
        loud.flat_map(|(entry, known)| known.local.comments.clone().moved_on(entry.start()))
            .collect()
    }

    /// The entries of which there is something to tell, each with that.
    fn loud<'s>(&'s self, outline: &'s Outline) -> impl Iterator<Item = (&'s Entry, &'s Known)> {
        let entries = outline.entries();
        let loud = self.loud.iter();
        loud.map(|at| (&entries[*at], &self.locals[*at]))
    }

    /// Looks at the entries that are new; takes over what is known of the others. Gives back the names that mean another
    /// node than before, and whether aliases may have come, gone or changed.
    fn look(&mut self, site: &Site<'_>, broken: &Broken<'_>) -> (Renamed, bool) {
        let before = self.outline.clone();
        let (now, then) = (site.outline.entries(), before.entries());
        // Thousands stay after each keystroke: what is known of them stays where it is.
        let (front, back) = site.outline.taken_over(&before);
        let mut locals = std::mem::take(&mut self.locals);
        let mut at_back = locals.split_off(then.len() - back);
        let between = locals.split_off(front);
        // What may still have to be looked at. The tags come first: what is in a long element depends on its tag.
        let mut later: Vec<Later> = Vec::new();
        for (at, old) in then[..front].iter().enumerate() {
            self.look_again(site, broken, at, old, &mut locals, &mut later);
        }
        let mut before = Before {
            entries: then[front..then.len() - back].iter(),
            known: between.into_iter(),
        };
        let mut changes: Vec<Change<'_>> = Vec::new();
        let mut gone_before = None;
        for (at, entry) in now.iter().enumerate().take(now.len() - back).skip(front) {
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
                    locals.push(known);
                    self.look_again(site, broken, at, old, &mut locals, &mut later);
                    continue;
                }
                self.unread.remove(&known.local.unread);
                earlier = Some((old, known));
            }
            let around = around(entry, &locals);
            let earlier = earlier.or(gone_before.take());
            let earlier = earlier.and_then(|(old, known)| known.earlier(old, entry, around));
            locals.push(self.look_afresh(site, broken, at, &locals, earlier, &mut later));
        }
        while let Some((gone, known)) = before.next_if(|_| true) {
            self.forget(gone, &known);
            changes.push(Change::Gone(gone));
        }
        locals.append(&mut at_back);
        for (at, old) in (now.len() - back..).zip(&then[then.len() - back..]) {
            self.look_again(site, broken, at, old, &mut locals, &mut later);
        }
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

    /// Looks at an entry that stands where it stood, if anything about it is not as it was.
    fn look_again(
        &mut self,
        site: &Site<'_>,
        broken: &Broken<'_>,
        at: usize,
        old: &Entry,
        locals: &mut [Known],
        later: &mut Vec<Later>,
    ) {
        let entry = &site.outline.entries()[at];
        let around = around(entry, locals);
        let known = &locals[at];
        let is_same = old.portion.identity == entry.portion.identity;
        if is_same && known.digest == local::digest(broken, &entry.portion, around) {
            if known.bar.is_some() {
                later.push(Later {
                    at,
                    unless: known.bar,
                    earlier: None,
                });
            }
            return;
        }
        self.unread.remove(&known.local.unread);
        let earlier = known.earlier(old, entry, around);
        locals[at] = self.look_afresh(site, broken, at, locals, earlier, later);
    }

    /// Looks at the tag of a long element, and notes that items have to be looked at.
    fn look_afresh(
        &mut self,
        site: &Site<'_>,
        broken: &Broken<'_>,
        at: usize,
        locals: &[Known],
        earlier: Option<local::Earlier>,
        later: &mut Vec<Later>,
    ) -> Known {
        let entry = &site.outline.entries()[at];
        self.disturb(site.outline, entry);
        let around = around(entry, locals);
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
            let local = look_at(site, broken, at, locals, None, None);
            known.inner_digest = local::holder_digest(element, &local);
            self.unread.add(&local.unread);
            known.take(local);
        } else {
            later.push(Later {
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
        while let Some(first) = later.first() {
            for known in locals[tallied..first.at].iter().filter(|one| !one.is_quiet) {
                tally.add(&known.local.findings, known.local.are_all);
            }
            tallied = first.at;
            let bar = tally.bar();
            let (now, rest) = later.split_at(share.min(later.len()));
            later = rest;
            // Without a bar all is wanted.
            let is_known = |unless: Severity| bar.is_some_and(|bar| bar <= unless);
            let asked = now.iter().filter(|one| !one.unless.is_some_and(is_known));
            let asked: Vec<&Later> = asked.collect();
            let looked_at = in_parallel(asked.len(), PORTIONS_AT_ONCE, |nth| {
                let Later { at, earlier, .. } = asked[nth];
                look_at(site, broken, *at, locals, bar, earlier.as_ref())
            });
            let mut found = 0;
            for (Later { at, .. }, local) in asked.into_iter().zip(looked_at) {
                let at = *at;
                found += local.findings.len();
                self.unread.remove(&locals[at].local.unread);
                self.unread.add(&local.unread);
                locals[at].take(local);
                self.disturb(site.outline, &site.outline.entries()[at]);
            }
            // Where little is wrong, the more at once the better.
            share = if found < few { 2 * share } else { few };
        }
    }

    /// What the grammar's checks say, up to a bound; and what cannot be read for reasons beyond single portions.
    fn grammar(&mut self, site: &Site<'_>, broken: &Broken<'_>) -> Gravest {
        for words in self.elsewhere_unread.drain(..) {
            self.unread.remove(&words);
        }
        let mut elsewhere = Vec::new();
        for range in broken.swallowed() {
            let mut words = Words::default();
            words.add(site.text(*range));
            elsewhere.push(words);
        }
        let (mut found, mut tally) = (Gravest::default(), Tally::default());
        for (entry, known) in self.loud(site.outline) {
            tally.add(&known.local.findings, known.local.are_all);
            for finding in &known.local.findings {
                if found.wants(finding.severity, finding.range.start() + entry.start()) {
                    found.push(finding.clone().moved_on(entry.start()));
                }
            }
        }
        if tally.is_over() {
            // Not all was looked for, and names that seem unknown may well be known.
            found.leave_out();
            let mut words = Words::default();
            words.add_anything();
            elsewhere.push(words);
        }
        for (at, entry) in site.outline.tags() {
            if self.locals[at].is_entered && !self.orderly.contains(&entry.label) {
                let parts = site.outline.right_below(at);
                let parts = parts
                    .map(|part| (part, &*self.locals[part].local))
                    .collect::<Vec<_>>();
                match local::content(site, broken, at, &parts, &mut found) {
                    Some(words) => elsewhere.push(words),
                    None => {
                        self.orderly.insert(entry.label);
                    }
                }
            }
        }
        for words in &elsewhere {
            self.unread.add(words);
        }
        self.elsewhere_unread = elsewhere;
        found
    }

    /// Looks at the aliases again that lead to nodes of other names, if something about aliases has changed.
    fn suspect(&mut self, site: &Site<'_>, is_changed: bool) {
        let suspects = self.loud(site.outline).flat_map(|(entry, known)| {
            let elsewhere = known.local.elsewhere.iter();
            elsewhere.map(|at| Place {
                label: entry.label,
                at: *at,
            })
        });
        let suspects: Vec<Place> = suspects.collect();
        if is_changed || suspects != self.suspects {
            self.stale = scene::stale(site, &self.index, &self.nodes, &suspects);
            self.suspects = suspects;
        }
    }

    /// The nodes that stale paths lead to.
    fn wrong_nodes(&self, site: &Site<'_>, strays: &Strays<'_>) -> HashSet<NodeIndex> {
        let of_strays = strays.values();
        let of_strays = of_strays.filter_map(|stray| stray.node(site.scene?));
        self.stale
            .iter()
            .map(Stale::node)
            .chain(of_strays)
            .collect()
    }

    fn in_scene(
        &self,
        site: &Site<'_>,
        faulty: &HashSet<TextRange>,
        strays: &Strays<'_>,
        found: &mut Gravest,
    ) {
        let unreadable = scene::unreadable(site);
        found.extend(unreadable.filter(|finding| !faulty.contains(&finding.range)));
        for (entry, known) in self.loud(site.outline) {
            if found.wants(Severity::Error, entry.start()) {
                found.extend(scene::nowhere(
                    site,
                    &self.index,
                    &self.nodes,
                    entry,
                    &known.local,
                    strays,
                ));
            }
        }
        found.extend(strays::findings(site, strays, &self.stale));
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

fn is_same<T>(one: Option<&Arc<T>>, other: Option<&Arc<T>>) -> bool {
    one.map(Arc::as_ptr) == other.map(Arc::as_ptr)
}

fn scene_of(site: &Site<'_>) -> Option<Arc<SceneFile>> {
    match &site.meaning.scene {
        SceneState::Loaded(file) => Some(file.clone()),
        _ => None,
    }
}
