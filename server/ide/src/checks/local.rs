//! What can be said of one portion of a document by looking at nothing else.

use foldhash::fast::FixedState;
use std::hash::{BuildHasher, Hash, Hasher};
use std::sync::Arc;

use dialect::{ElementDecl, NodePath, Property};
use machine::{
    Attributes, Chain, Channel, Conformity, Entry, Kept, Located, NodeTarget, Ranges, Reader,
    UseTarget,
};
use syntax::{Element, Portion, TextRange, TextSize};

use super::broken::Broken;
use super::grammar::{self, Altogether, Among, Check};
use super::gravest::Gravest;
use super::scene::is_elsewhere;
use super::site::Site;
use super::unread::Words;
use super::{strays, suppressions};
use crate::{Finding, Severity};

/// What was found in one portion. All ranges are relative to its start.
#[derive(Debug, Default, PartialEq)]
pub(super) struct Local {
    pub(super) findings: Vec<Finding>,
    /// Whether these are all there are, but for those that the bar keeps out.
    pub(super) are_all: bool,
    /// Findings of this severity and lesser ones were not wanted any more.
    pub(super) bar: Option<Severity>,
    /// Not told where there is a bar: there is too much wrong before to make anything of names.
    pub(super) unread: Words,
    /// What its items, or its long element, are among the children of the element around.
    pub(super) among: Among,
    /// The first text among its items.
    pub(super) stray: Option<TextRange>,
    /// It is the tag of a long element whose content is to be looked at.
    pub(super) is_entered: bool,
    /// It holds the root, and that is in some other namespace, so that nothing else of the document is looked at.
    pub(super) is_foreign: bool,
    /// The uses whose paths lead to no node of the scene, what may be the name of something else included.
    pub(super) nowhere: Vec<usize>,
    /// The aliases that lead to a node with another name.
    pub(super) elsewhere: Vec<usize>,
    /// The uses whose index paths would lead astray if they were written for the scene as it was.
    pub(super) astray: Vec<usize>,
    /// The comments that speak to Trunnion.
    pub(super) comments: Vec<TextRange>,
    /// From the first to the last place where something is broken or could not be read.
    pub(super) upset: Option<TextRange>,
}

/// What was found in an earlier version of a portion, in the same surroundings.
#[derive(Debug, Clone)]
pub(super) struct Earlier {
    pub(super) portion: Portion,
    pub(super) local: Arc<Local>,
}

impl Earlier {
    /// What of it holds for the portion as it is now: what is said of items that are the same, as long as nothing is broken
    /// or was left out there, neither then nor now.
    fn kept(&self, broken: &Broken<'_>, now: &Portion) -> Option<(Kept, &Local)> {
        let local = &*self.local;
        if local.bar.is_some() || !local.are_all {
            return None;
        }
        let kept = Kept::of(now, &self.portion);
        let upset = broken.reach(now.range).moved_back(now.range.start());
        let is_in = |between: TextRange, upset: Option<TextRange>| {
            upset.is_none_or(|upset| between.contains_range(upset))
        };
        let is_sound = is_in(kept.between(), upset) && is_in(kept.between_before(), local.upset);
        is_sound.then_some((kept, local))
    }
}

impl Local {
    /// Whether there is nothing to tell.
    pub(super) fn is_quiet(&self) -> bool {
        !self.is_foreign
            && self.findings.is_empty()
            && self.nowhere.is_empty()
            && self.elsewhere.is_empty()
            && self.astray.is_empty()
            && self.comments.is_empty()
    }
}

/// What a portion's [`Local`] depends on besides the portion and its [`machine::Inside`]: the form errors there and,
/// as `holder`, what the long element around it is like.
pub(super) fn digest(broken: &Broken<'_>, portion: &Portion, holder: u64) -> u64 {
    if broken.is_nowhere() {
        return holder;
    }
    let seen = match portion.element() {
        Some(element) => element.range(),
        None => portion.range,
    };
    if !broken.touches(seen) {
        return holder;
    }
    let mut hasher = FixedState::default().build_hasher();
    holder.hash(&mut hasher);
    broken.digest(seen, &mut hasher);
    hasher.finish()
}

/// What the portions in a long element may see of it.
pub(super) fn holder_digest(element: Element<'_>, local: &Local) -> u64 {
    let mut hasher = FixedState::default().build_hasher();
    local.is_entered.hash(&mut hasher);
    element.end_tag().is_some().hash(&mut hasher);
    element.name().hash(&mut hasher);
    hasher.finish()
}

/// Looks at one portion. `holder`: what was found in the tag of the long element around it; `bar`: only what is graver
/// is wanted; `earlier`: its items that are the same need not be looked at again.
pub(super) fn look<'v>(
    site: &Site<'v>,
    broken: &Broken<'v>,
    at: usize,
    holder: Option<&Local>,
    bar: Option<Severity>,
    earlier: Option<&Earlier>,
) -> Local {
    let conformity = site.outline.entries()[at].conformity;
    look_unless(conformity, site, broken, at, holder, bar, earlier)
}

/// `conformity`: what of the portion nobody need look at.
pub(super) fn look_unless<'v>(
    conformity: Conformity,
    site: &Site<'v>,
    broken: &Broken<'v>,
    at: usize,
    holder: Option<&Local>,
    bar: Option<Severity>,
    earlier: Option<&Earlier>,
) -> Local {
    let entry = &site.outline.entries()[at];
    let earlier = earlier.filter(|_| bar.is_none());
    let kept = earlier.and_then(|earlier| earlier.kept(broken, &entry.portion));
    let between = kept.as_ref().map(|(kept, _)| kept.between());
    let mut local = Local {
        comments: suppressions::comments(site, &entry.portion).moved_back(entry.start()),
        bar,
        ..Local::default()
    };
    in_scene(site, entry, &mut local);
    let mut check = Check {
        site,
        broken,
        properties: match conformity {
            Conformity::Doubtful => properties(entry),
            _ => Default::default(),
        },
        findings: Gravest::below(bar),
        tag: Attributes::default(),
        unread: Vec::new(),
    };
    let is_entered = holder.is_none_or(|holder| holder.is_entered);
    match (conformity, entry.portion.holder) {
        (Conformity::All, Some(holder)) if is_entered => local.among = among(site, entry, holder),
        _ if is_entered => {
            let wanted = between.map_or(entry.portion.range, |between| between + entry.start());
            let wanted = Some(wanted).filter(|_| conformity == Conformity::Doubtful);
            look_at(&mut check, &mut local, at, holder.is_some(), wanted);
        }
        _ => {}
    }
    if bar.is_none() {
        note_unread(site, broken, entry, check.unread, &mut local);
    }
    let (findings, are_all) = check.findings.done();
    (local.findings, local.are_all) = (findings.moved_back(entry.start()), are_all);
    if let Some((kept, earlier)) = kept {
        let start = |finding: &Finding| finding.range.start();
        let mut new = std::mem::take(&mut local.findings);
        new.retain(|finding| kept.between().contains(start(finding)));
        local.findings = kept.put_around(new, &earlier.findings, start);
    }
    local.stray = local.stray.moved_back(entry.start());
    local
}

/// Notes which words of a portion could not be read, and from where to where it is broken. `unread`: what the look at its
/// elements passed over.
fn note_unread(
    site: &Site<'_>,
    broken: &Broken<'_>,
    entry: &Entry,
    unread: Vec<TextRange>,
    local: &mut Local,
) {
    let range = entry.portion.range;
    let garbled = within(broken.garbled_tags(), range).iter().copied();
    let mut upset = broken.reach(range);
    for part in garbled.chain(apart(unread)) {
        local.unread.add(&site.text(part));
        upset = Some(upset.map_or(part, |upset| upset.cover(part)));
    }
    local.upset = upset.moved_back(entry.start());
}

/// What the items of an entry are of which all conforms. `holder`: the entry of the long element around it.
fn among(site: &Site<'_>, entry: &Entry, holder: usize) -> Among {
    let holder = site.outline.entries()[holder].context();
    let declared = holder.and_then(|context| site.dialect.element(context));
    let elements = entry.portion.items().filter_map(|item| item.into_element());
    let names = elements.map(|element| element.local_name());
    declared.map_or_else(Among::default, |declared| Among::of(declared, names, false))
}

/// `wanted`: where elements are looked into, if anywhere.
fn look_at<'v>(
    check: &mut Check<'_, 'v>,
    local: &mut Local,
    at: usize,
    is_held: bool,
    wanted: Option<TextRange>,
) {
    let site = check.site;
    let reader = Reader::new(site.tree(), site.dialect, &site.meaning.kind);
    let entry = &site.outline.entries()[at];
    let Some(chain) = site.outline.chain(at) else {
        return;
    };
    let known = match chain.last() {
        None if is_held => None,
        None => root(check, local, &reader, entry),
        Some(parent) => children(check, local, &reader, entry, &chain, parent),
    };
    let Some(known) = known else {
        return;
    };
    let is_wanted = |_: &TextRange| {
        let start = entry.portion.range.start();
        check.findings.wants(Severity::Error, start)
    };
    let Some(wanted) = wanted.filter(is_wanted) else {
        // Only what the element around wants to know was of interest.
        return;
    };
    let around = entry.around.as_ref().and_then(|around| around.property);
    if entry.portion.element().is_none() {
        let is_wanted = |child: &Located<'_>| wanted.contains_range(child.element.range());
        let known = known.into_iter().filter(is_wanted).collect();
        return check.elements_and_below(&reader, chain, known, around);
    }
    for child in known {
        if let Some(declared) = check.declared(&child) {
            local.is_entered = true;
            let property = entry.property().or(around);
            check.attributes(child.element, declared, property);
            check.declared_text(child.element, declared, property);
        }
    }
}

/// The root, if it stands in this portion of the top level. None if nothing else is to be looked at.
fn root<'v>(
    check: &mut Check<'_, 'v>,
    local: &mut Local,
    reader: &Reader<'v>,
    entry: &Entry,
) -> Option<Vec<Located<'v>>> {
    let range = entry.portion.range;
    let is_here = |root: &Located<'_>| range.contains(root.element.range().start());
    let root = reader.root().filter(is_here);
    local.is_foreign = root.is_some_and(|root| check.root(root.element));
    (!local.is_foreign).then(|| root.into_iter().collect())
}

/// The elements of the portion that may stand in `parent`, the last of `chain`. None if nobody can tell.
fn children<'v>(
    check: &mut Check<'_, 'v>,
    local: &mut Local,
    reader: &Reader<'v>,
    entry: &'v Entry,
    chain: &Chain<'v>,
    parent: &Located<'v>,
) -> Option<Vec<Located<'v>>> {
    let declared = check.declared(parent)?;
    let items = || entry.portion.items().filter_map(|item| item.into_element());
    let all = || entry.portion.element().into_iter().chain(items());
    let children = all().filter_map(|element| reader.locate(chain, parent, element));
    let children: Vec<Located<'_>> = children.collect();
    let known = check.known_children(parent, declared, &children);
    let some_bare = check.without_prefix(reader, chain, declared, all());
    let some_unknown = some_bare || known.len() < children.len();
    local.among = Among::of(declared, known.iter().map(Located::name), some_unknown);
    local.stray = grammar::stray_text(entry.portion.items());
    Some(known)
}

/// What only the contents of a long element, all together, can show: its text, and the order and number of its
/// children. `parts`: what was found in the portions right below its tag, by entry. Gives back what cannot be read of
/// it; None if all is right.
pub(super) fn content<'v>(
    site: &Site<'v>,
    broken: &Broken<'v>,
    at: usize,
    parts: &[(usize, &Local)],
    found: &mut Gravest,
) -> Option<Words> {
    let entries = site.outline.entries();
    let context = entries[at].context();
    let declared = context.and_then(|context| site.dialect.element(context));
    let all = declared
        .map(|declared| Altogether::of(declared, parts.iter().map(|(_, local)| &local.among)));
    let is_right = declared.zip(all.as_ref());
    let is_right = is_right.is_none_or(|(declared, all)| all.is_right(declared));
    if is_right && parts.iter().all(|(_, local)| local.stray.is_none()) {
        return None;
    }
    let element = entries[at].portion.element()?;
    let chain = site.outline.chain(at)?;
    let reader = Reader::new(site.tree(), site.dialect, &site.meaning.kind);
    let located = match chain.last() {
        Some(parent) => reader.locate(&chain, parent, element),
        None => reader.root(),
    };
    let mut check = Check {
        site,
        broken,
        properties: Default::default(),
        findings: std::mem::take(found),
        tag: Attributes::default(),
        unread: Vec::new(),
    };
    let declared = located.and_then(|located| Some((located, check.declared(&located)?)));
    if let Some(((located, declared), all)) = declared.zip(all) {
        whole(&mut check, (element, located, chain), declared, &all, parts);
    }
    *found = check.findings;
    let mut words = Words::default();
    for part in check.unread {
        words.add(&site.text(part));
    }
    Some(words)
}

/// Checks a long element's content with all of its children at hand. `chain`: down to what holds it.
fn whole<'v>(
    check: &mut Check<'_, 'v>,
    (element, located, mut chain): (Element<'v>, Located<'v>, Chain<'v>),
    declared: &ElementDecl,
    all: &Altogether,
    parts: &[(usize, &Local)],
) {
    let site = check.site;
    let entries = site.outline.entries();
    let reader = Reader::new(site.tree(), site.dialect, &site.meaning.kind);
    if declared.text.is_none() && !declared.open {
        let stray = parts
            .iter()
            .find_map(|(part, local)| Some(local.stray? + entries[*part].start()));
        check.stray_text(element, declared, stray);
    }
    if !all.is_right(declared) {
        chain.push(located);
        let children = reader.children(&chain).into_iter();
        let is_known = |child: &machine::Located<'_>| {
            declared.open || declared.child(child.element.local_name()).is_some()
        };
        let known: Vec<_> = children.filter(is_known).collect();
        check.order(declared, &known);
        check.counts(element, declared, &known, all.some_unknown());
    }
}

/// By the start of a channel's element: what the channel moves, where that is one thing.
fn properties(entry: &Entry) -> foldhash::HashMap<TextSize, Property> {
    let facts = &entry.facts;
    let nested = facts
        .animations
        .iter()
        .flat_map(|animation| &animation.channels);
    let loose = facts.loose.iter().map(|loose| &loose.channel);
    let property =
        |channel: &Channel| Some((entry.start() + channel.element.start(), channel.property()?));
    nested.chain(loose).filter_map(property).collect()
}

fn in_scene(site: &Site<'_>, entry: &Entry, local: &mut Local) {
    let Some(scene) = site.scene else { return };
    let uses = entry.facts.uses.iter().enumerate();
    let nowhere = uses.filter(|(_, used)| match &used.target {
        UseTarget::Path(path) => scene.find(path).is_err(),
        UseTarget::Name {
            or_node: Some(path),
            ..
        } => scene.find(path).is_err(),
        _ => false,
    });
    local.nowhere = nowhere.map(|(at, _)| at).collect();
    let aliases = entry.facts.aliases.iter().enumerate();
    let elsewhere = aliases.filter(|(_, alias)| {
        let path = alias.path.as_ref().map(|path| &path.target);
        match (&alias.name, path) {
            (Some(name), Some(NodeTarget::Path(NodePath::Positions(path)))) => scene
                .walk(path)
                .is_ok_and(|node| is_elsewhere(&name.value, &scene[node].name)),
            _ => false,
        }
    });
    local.elsewhere = elsewhere.map(|(at, _)| at).collect();
    local.astray = strays::suspects(site, entry);
}

/// Those of sorted ranges that start in a range.
fn within(sorted: &[TextRange], range: TextRange) -> &[TextRange] {
    let first = sorted.partition_point(|part| part.start() < range.start());
    let count = sorted[first..].partition_point(|part| part.start() < range.end());
    &sorted[first..first + count]
}

/// The ranges without what is in another of them.
fn apart(mut ranges: Vec<TextRange>) -> Vec<TextRange> {
    ranges.sort_by_key(|range| (range.start(), std::cmp::Reverse(range.end())));
    let mut done = TextSize::new(0);
    ranges.retain(|range| {
        let is_new = range.end() > done;
        done = done.max(range.end());
        is_new
    });
    ranges
}
