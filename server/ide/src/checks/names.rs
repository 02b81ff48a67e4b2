//! Do names and their uses fit together?

use foldhash::{HashMap, HashSet};

use dialect::{Kind, NameScope};
use machine::{Definition, Machine, Sort, Use, UseTarget};
use syntax::{TextEdit, TextRange, TextSize};

use super::gravest::Gravest;
use super::index::{Given, GivenRole, Group, Index, Place};
use super::site::Site;
use super::suggest::{Budget, Suggestion};
use super::unread::Unread;
use crate::{Finding, Fix, Severity, codes};

/// Everything that the checks of names look at.
#[derive(Debug, Clone, Copy)]
pub(super) struct Names<'a, 'v> {
    pub(super) site: &'a Site<'v>,
    pub(super) index: &'a Index,
    pub(super) unread: &'a Unread,
}

/// A use of a name that nothing has.
struct Unknown<'a> {
    place: Place,
    kinds: &'a [Kind],
    name: &'a str,
    or_path: bool,
    range: TextRange,
}

pub(super) fn check(names: &Names<'_, '_>, found: &mut Gravest) {
    // Where the names stand that are used by their position, or that a misspelled name seems to mean.
    let mut used: HashSet<TextSize> = HashSet::default();
    if names.index.has_positions() {
        positions(names, found, &mut used);
    }
    let mut unknown: Vec<Unknown<'_>> = Vec::new();
    for (_, group) in names.index.troubled() {
        unknown.extend(unknown_in(names, group));
    }
    // No two are at one place.
    unknown.sort_unstable_by_key(|one| one.place);
    let meanings = meanings(names, &unknown);
    for one in &unknown {
        let meant = meanings.get(&(one.kinds, one.name)).copied().flatten();
        let definition = meant.and_then(|meant| names.index.definition(one.kinds, meant.word));
        let definition = definition.and_then(|given| names.placed(given));
        used.extend(definition.map(TextRange::start));
        if names.unread.may_hold(one.name) {
            continue;
        }
        if found.wants(Severity::Error, one.range.start()) {
            found.push(self::unknown(names.site, one, meant, definition));
        }
    }
    let (played, beside) = (names.played(), names.beside());
    for (name, group) in names.index.troubled() {
        duplicates(names, name, group, found);
    }
    for (name, group) in names.maybe_unused(&beside) {
        unused(names, name, group, &used, &played, &beside, found);
    }
}

impl<'v> Names<'_, 'v> {
    /// Where a given name stands in the document.
    fn placed(&self, given: &Given) -> Option<TextRange> {
        let outline = self.site.outline;
        let entry = outline.labelled(given.place.label)?;
        let definition = entry.facts.definitions.get(given.place.at)?;
        Some(definition.name.range + entry.start())
    }

    /// A use with its place in the document.
    fn used(&self, place: Place) -> Option<(&'v Use, TextRange)> {
        let outline = self.site.outline;
        let entry = outline.labelled(place.label)?;
        let used = entry.facts.uses.get(place.at)?;
        Some((used, used.range + entry.start()))
    }

    /// The animations that controls play.
    fn played(&self) -> HashSet<&'v str> {
        let entries = self.site.outline.saying(Sort::Controls);
        let controls = entries.flat_map(|(_, entry)| &entry.facts.controls);
        let animations = controls.filter_map(|control| control.animation.as_ref());
        animations.map(|animation| &*animation.value).collect()
    }

    /// The channels that stand beside their animation, in order. That they name it plays nothing.
    fn beside(&self) -> Vec<TextRange> {
        let roles = &self.site.dialect.roles.channels;
        if roles.iter().all(|role| role.animation.is_none()) {
            return Vec::new();
        }
        let mut beside = Vec::new();
        for (entry, animation) in self.site.outline.all(|facts| &facts.animations) {
            let channels = animation.channels.iter().map(|channel| channel.element);
            let outside = channels.filter(|element| !animation.element.contains_range(*element));
            beside.extend(outside.map(|element| element + entry.start()));
        }
        beside.sort_unstable_by_key(|element| element.start());
        beside
    }

    /// The names that something may be wrong with, and those of animations that such channels name.
    fn maybe_unused<'a>(&'a self, beside: &[TextRange]) -> Vec<(&'a str, &'a Group)> {
        let mut groups: Vec<_> = self.index.troubled().collect();
        if beside.is_empty() {
            return groups;
        }
        let mut known: HashSet<&str> = groups.iter().map(|(name, _)| *name).collect();
        for (_, animation) in self.site.outline.all(|facts| &facts.animations) {
            let name = animation.name.as_ref().map(|name| &*name.value);
            let group = name.and_then(|name| Some((name, self.index.group(name)?)));
            groups.extend(group.filter(|(name, _)| known.insert(name)));
        }
        groups
    }
}

/// The uses of a name that nothing has.
fn unknown_in<'a, 'v>(
    names: &'a Names<'_, 'v>,
    group: &'a Group,
) -> impl Iterator<Item = Unknown<'v>> + use<'a, 'v> {
    let used = group.used.iter();
    used.filter_map(move |place| {
        let (used, range) = names.used(*place)?;
        let UseTarget::Name {
            kinds,
            name,
            or_path,
            // What may be the name of a node is looked for in the scene.
            or_node: None,
        } = &used.target
        else {
            return None;
        };
        // Names of a mod may be given by documents that nobody has read here.
        let dialect = names.site.dialect;
        let abroad = |kind| dialect.name_scope(kind) == NameScope::Folder;
        if group.definition(kinds).is_some() || kinds.iter().any(abroad) {
            return None;
        }
        Some(Unknown {
            place: *place,
            kinds,
            name,
            or_path: *or_path,
            range,
        })
    })
}

type Meanings<'v> = HashMap<(&'v [Kind], &'v str), Option<Suggestion<'v>>>;

/// What the unknown names may mean, as far as the budget lasts. The same name may stand in thousands of places.
fn meanings<'v>(names: &Names<'_, 'v>, unknown: &[Unknown<'v>]) -> Meanings<'v> {
    let budget = Budget::new();
    let mut candidates: HashMap<&[Kind], Vec<&str>> = HashMap::default();
    let mut meanings = Meanings::default();
    for one in unknown {
        let count = one.kinds.iter().map(|kind| names.index.count(kind)).sum();
        if count == 0 || meanings.contains_key(&(one.kinds, one.name)) || !budget.take(count) {
            continue;
        }
        let candidates = candidates
            .entry(one.kinds)
            .or_insert_with(|| candidates_of(names.site, one.kinds));
        let meant = super::suggest::nearest(one.name, candidates.iter().copied());
        meanings.insert((one.kinds, one.name), meant);
    }
    meanings
}

/// The names of some kinds: by kind, then in the order of the document.
pub(super) fn candidates_of<'v>(site: &Site<'v>, kinds: &[Kind]) -> Vec<&'v str> {
    let of_kind = |kind: &Kind| {
        let kind = *kind;
        let entries = site.outline.entries().iter();
        let given = entries.flat_map(|entry| &entry.facts.definitions);
        given
            .filter(move |definition| definition.kind == kind)
            .map(|definition| &*definition.name.value)
    };
    kinds.iter().flat_map(of_kind).collect()
}

fn duplicates(names: &Names<'_, '_>, name: &str, group: &Group, found: &mut Gravest) {
    let once = |given: &&Given| names.site.dialect.name_scope(&given.kind) != NameScope::Parent;
    let again = group.given.iter().filter(|given| !group.is_first(given));
    let report = |given: &Given, range: TextRange| {
        let first = group.definition(std::slice::from_ref(&given.kind))?;
        let first = names.placed(first)?;
        let message = format!(
            "There is another {} called `{name}`: each needs a name of its own.",
            given.kind
        );
        let finding = codes::DUPLICATE_NAME.at(range, message);
        Some(finding.see(first, "the first one"))
    };
    for given in again.filter(once) {
        let Some(range) = names.placed(given) else {
            continue;
        };
        if !found.wants(codes::DUPLICATE_NAME.severity, range.start()) {
            // Those that follow stand behind it.
            return;
        }
        found.extend(report(given, range));
    }
}

/// Aliases that nothing uses, and animations that nothing names.
fn unused(
    names: &Names<'_, '_>,
    name: &str,
    group: &Group,
    used: &HashSet<TextSize>,
    played: &HashSet<&str>,
    beside: &[TextRange],
    found: &mut Gravest,
) {
    let code = |given: &Given| match given.role {
        // Documents that nobody has read here may use it.
        _ if names.site.dialect.name_scope(&given.kind) == NameScope::Folder => None,
        GivenRole::Alias(_) => Some(&codes::UNUSED_ALIAS),
        GivenRole::Animation => Some(&codes::UNREACHABLE_ANIMATION),
        GivenRole::Other => None,
    };
    // Looked at first, since there may be more of them than are told.
    let wanted = group.given.iter().filter_map(|given| {
        let (code, range) = (code(given)?, names.placed(given)?);
        let is_wanted = found.wants(code.severity, range.start()) && group.is_first(given);
        is_wanted.then_some((given, code, range))
    });
    let wanted: Vec<_> = wanted.collect();
    if wanted.is_empty() || names.unread.may_hold(name) {
        return;
    }
    let resolved: HashSet<Place> = group
        .used
        .iter()
        .filter_map(|place| {
            let (used, range) = names.used(*place)?;
            let before = beside.partition_point(|element| element.start() <= range.start());
            let element = before.checked_sub(1).map(|last| beside[last]);
            let plays = element.is_none_or(|element| !element.contains_range(range));
            match &used.target {
                UseTarget::Name { kinds, .. } if plays => Some(group.definition(kinds)?.place),
                _ => None,
            }
        })
        .collect();
    let message = |given: &Given| match &given.role {
        GivenRole::Alias(part) => {
            let path = names.index.paths().get((*part)?.number())?;
            let scene = names.site.scene;
            let leads_somewhere = scene.is_none_or(|scene| scene.find(path).is_ok());
            leads_somewhere.then(|| format!("Nothing uses the {} `{name}`.", given.kind))
        }
        GivenRole::Animation => {
            let has_controls = !names.site.dialect.roles.controls.is_empty();
            (has_controls && !played.contains(name))
                .then(|| format!("No control plays the {} `{name}`.", given.kind))
        }
        GivenRole::Other => None,
    };
    for (given, code, range) in wanted {
        if !resolved.contains(&given.place) && !used.contains(&range.start()) {
            found.extend(message(given).map(|message| code.at(range, message)));
        }
    }
}

/// Uses by position. They depend on all that positions count, so all are looked at, in the whole document.
fn positions(names: &Names<'_, '_>, findings: &mut Gravest, found: &mut HashSet<TextSize>) {
    let machine: &Machine = names.site.meaning.machine();
    let mut counted: HashMap<&Kind, Vec<TextRange>> = HashMap::default();
    for thing in &machine.counted {
        counted.entry(&thing.kind).or_default().push(thing.element);
    }
    let definitions = machine.definitions.iter();
    let by_element: HashMap<TextRange, &Definition> = definitions
        .map(|definition| (definition.element, definition))
        .collect();
    for used in &machine.uses {
        let UseTarget::Position { kind, index } = &used.target else {
            continue;
        };
        let there = counted.get(kind).map_or(&[][..], Vec::as_slice);
        let element = usize::try_from(*index)
            .ok()
            .and_then(|index| there.get(index));
        match element {
            Some(element) => {
                let named = by_element.get(element);
                found.extend(named.map(|definition| definition.name.range.start()));
            }
            // Below the first is wrong whatever there is: the check of values says so.
            None if *index < 0 => {}
            // What is misspelled or broken may be one of those that are counted.
            None if !names.unread.is_empty() => {}
            None => findings.push(no_such_position(names.site, used, kind, there.len())),
        }
    }
}

/// "nick or mark".
pub(super) fn kinds_or(kinds: &[Kind]) -> String {
    let kinds: Vec<&str> = kinds.iter().map(Kind::as_str).collect();
    match kinds.split_last() {
        None => "thing".to_owned(),
        Some((only, [])) => (*only).to_owned(),
        Some((last, others)) => format!("{} or {last}", others.join(", ")),
    }
}

fn unknown(
    site: &Site<'_>,
    used: &Unknown<'_>,
    meant: Option<Suggestion<'_>>,
    definition: Option<TextRange>,
) -> Finding {
    let what = kinds_or(used.kinds);
    let hint = match meant {
        Some(meant) => meant.question(),
        None if used.or_path => format!(
            " Give a node this name, or write an index path such as `{}`.",
            site.dialect.notation.index_path.example()
        ),
        None => String::new(),
    };
    let message = format!("No {what} is called `{}`.{hint}", used.name);
    let mut finding = codes::UNKNOWN_NAME.at(used.range, message);
    let Some(meant) = meant else { return finding };
    if let Some(range) = definition {
        finding = finding.see(range, format!("`{}` is here", meant.word));
    }
    finding.fix(Fix {
        title: format!("Write `{}`", meant.word),
        trust: meant.trust,
        edits: vec![TextEdit::replace(used.range, super::escaped(meant.word))],
    })
}

fn no_such_position(site: &Site<'_>, used: &Use, kind: &Kind, there: usize) -> Finding {
    let written = site.text(used.range);
    let message = match there {
        0 => format!("There is no {kind} number {written}: this document has none."),
        1 => format!("There is no {kind} number {written}: this document has only one."),
        there => format!("There is no {kind} number {written}: this document has {there}."),
    };
    codes::UNKNOWN_NAME.at(used.range, message)
}
