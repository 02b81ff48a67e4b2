//! A document checked from version to version.

mod looking;

use foldhash::HashSet;
use std::sync::Arc;

use ::scene::NodeIndex;
use dialect::{Dialect, DocumentKind};
use machine::{Entry, Outline, Ranges};
use project::{Earlier, SceneFile, SceneState, View};
use syntax::TextRange;

use self::looking::Known;
use super::broken::Broken;
use super::gravest::{Gravest, Tally, most_of};
use super::index::{Index, Place};
use super::local;
use super::motion::Motions;
use super::names::{self, Names};
use super::scene::{self, Nodes, Stale};
use super::site::Site;
use super::strays::{self, Strays};
use super::unread::{Unread, Words};
use super::{
    Judgement, MOST_FINDINGS, consequences, controls, entities, files, form, learnt, mod_folder,
    settings, suppressions,
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
    kind: Arc<DocumentKind>,
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

impl Checker {
    /// All that is wrong with the document; see [`super::run`].
    pub fn run(&mut self, view: &View) -> Vec<Finding> {
        self.judge(view).findings
    }

    /// All that is wrong with the document, and what comments accept; see [`super::judge`].
    pub fn judge(&mut self, view: &View) -> Judgement {
        if let Some(findings) = settings::of_itself(view) {
            self.state = None;
            return Judgement {
                findings: told(findings, true),
                accepted: Vec::new(),
            };
        }
        let mut found = Gravest::default();
        found.extend(form::check(view));
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
                findings = consequences::without(&site, findings, Severity::Error);
                findings = entities::without(&site, findings);
                findings = learnt::in_learnt_places(&site, findings);
                findings = consequences::without(&site, findings, Severity::Hint);
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

    /// What the grammar's checks say, up to a bound; and what cannot be read for reasons beyond single portions.
    fn grammar(&mut self, site: &Site<'_>, broken: &Broken<'_>) -> Gravest {
        for words in self.elsewhere_unread.drain(..) {
            self.unread.remove(&words);
        }
        let mut elsewhere = Vec::new();
        for range in broken.swallowed() {
            let mut words = Words::default();
            words.add(&site.text(*range));
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
        let unreadable = scene::unreadable(site).or_else(|| scene::incomplete(site));
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
                    &self.unread,
                ));
            }
        }
        found.extend(strays::findings(site, strays, &self.stale));
    }
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
