//! Which places give names of one kind, and what the kind is called.

use super::places::{Family, Place, Unique};
use super::references::Readings;
use super::{Evidence, Exception, NameKind, Scope};
use crate::survey::{Seen, Survey};
use crate::symbols::Symbol;
use foldhash::{HashMap, HashMapExt as _, HashSet, HashSetExt as _};
use std::collections::BTreeMap;

/// Places that give names: those that others refer to, those like them, and those that read as
/// if they did.
pub(super) fn givers(places: &[Place<'_>], readings: &Readings) -> Vec<bool> {
    let mut gives = vec![false; places.len()];
    for reading in readings.iter().flatten() {
        for to in &reading.to {
            gives[*to as usize] = true;
        }
    }
    let kins = kins(places, &gives, readings);
    let may = |at: usize| {
        let place: &Place<'_> = &places[at];
        let root = place.group.contexts.parent(place.thing_context()).is_none();
        readings[at].is_none()
            && !root
            && !place.in_text
            && place.unique != Unique::Not
            && place.namelike >= LIKE_NAMES
    };
    // Elements that have a name already need no second one.
    let mut named = named(places, &gives);
    for at in 0..places.len() {
        if !gives[at]
            && kins
                .get(&places[at].kin())
                .is_some_and(|kin| kin.takes(&places[at]))
            && may(at)
            && !named.contains(&thing(&places[at]))
        {
            gives[at] = true;
        }
    }
    named.extend(self::named(places, &gives));
    let mut best: BTreeMap<_, (u32, usize)> = BTreeMap::new();
    for (at, place) in places.iter().enumerate() {
        if gives[at] || !may(at) || named.contains(&thing(place)) || !unique_by_design(place) {
            continue;
        }
        let count = place.slot.seen.len() as u32;
        let present = f64::from(count) / f64::from(elements(place).max(1));
        if present < PRESENT {
            continue;
        }
        let best = best.entry(thing(place)).or_insert((count, at));
        if count > best.0 {
            *best = (count, at);
        }
    }
    for (_, at) in best.into_values() {
        gives[at] = true;
    }
    gives
}

/// The places of one attribute, some of which give names.
#[derive(Default)]
struct Kin {
    giving: usize,
    referring: usize,
    /// The names that they give: document and name.
    given: HashSet<(u32, Symbol)>,
}

/// What is given by places of each family, if anything is.
fn kins(places: &[Place<'_>], gives: &[bool], readings: &Readings) -> HashMap<Family, Kin> {
    let mut kins: HashMap<Family, Kin> = HashMap::new();
    for (at, place) in places.iter().enumerate() {
        let kin = kins.entry(place.kin()).or_default();
        let seen = &place.slot.seen;
        if gives[at] {
            kin.giving += seen.len();
            let given = seen.iter().map(|seen| (place.document(seen), seen.value));
            kin.given.extend(given);
        } else if readings[at].is_some() {
            kin.referring += seen.len();
        }
    }
    kins.retain(|_, kin| kin.giving > 0);
    kins
}

impl Kin {
    /// Whether a place may give names as these do. Where the attribute mostly refers, values that its
    /// others give are taken from there.
    fn takes(&self, place: &Place<'_>) -> bool {
        let seen = &place.slot.seen;
        let taken = |seen: &&Seen| self.given.contains(&(place.document(seen), seen.value));
        self.giving >= self.referring || 2 * seen.iter().filter(taken).count() < seen.len()
    }
}

/// The least share of values that read as names at a place that nothing refers to.
const LIKE_NAMES: f64 = 0.9;

/// The least share of elements that have a name, if nothing refers to it.
const PRESENT: f64 = 0.5;

/// How many equal values there would be by chance at a place where all are different by design.
const EXPECTED: f64 = 5.0;

/// The least share of the different values of such a place that occur in one document only:
/// names are new in each, words are the same in all.
const OPEN: f64 = 0.3;

/// Documents that show that names are different: what one document says is its own affair.
const SHOWN: usize = 3;

fn unique_by_design(place: &Place<'_>) -> bool {
    if place.several < SHOWN.min(place.group.documents.len()) {
        return false;
    }
    match place.unique {
        Unique::Within { scope, expected } => {
            scope == Scope::Document && expected >= EXPECTED && place.open >= OPEN
        }
        _ => false,
    }
}

/// A kind of thing: group and context.
type Thing = (usize, crate::contexts::ContextId);

fn thing(place: &Place<'_>) -> Thing {
    (place.at.group, place.thing_context())
}

fn named(places: &[Place<'_>], gives: &[bool]) -> HashSet<Thing> {
    let named = places.iter().zip(gives).filter(|(_, gives)| **gives);
    named.map(|(place, _)| thing(place)).collect()
}

/// How many elements a place's values belong to.
fn elements(place: &Place<'_>) -> u32 {
    place.group.count[place.thing_context().index()]
}

/// Kinds of names, and which places give them.
pub(super) struct Kinds {
    pub kinds: Vec<NameKind>,
    /// Per place.
    kind: Vec<Option<usize>>,
    /// Words for kinds that are in use.
    taken: HashSet<String>,
}

impl Kinds {
    /// The kinds that places give names of.
    pub(super) fn of(&self, places: &[u32]) -> Vec<usize> {
        let kinds = places.iter().filter_map(|place| self.kind[*place as usize]);
        let mut kinds: Vec<usize> = kinds.collect();
        kinds.sort_unstable();
        kinds.dedup();
        kinds
    }

    /// Lets kinds be referred to from other documents.
    pub(super) fn widen(&mut self, kinds: &[usize]) {
        for kind in kinds {
            self.kinds[*kind].scope = Scope::Folder;
        }
    }

    /// The kind of things that are referred to by position.
    pub(super) fn counted(&mut self, survey: &Survey<'_>, things: Thing) -> usize {
        let known = self
            .kinds
            .iter()
            .position(|kind| kind.things.contains(&things));
        if let Some(known) = known {
            return known;
        }
        let group = &survey.groups[things.0];
        let word = survey.corpus.called(group.contexts.name(things.1));
        let parent = group.contexts.parent(things.1);
        let parent = parent.map(|parent| survey.corpus.called(group.contexts.name(parent)));
        self.kinds.push(NameKind {
            kind: free(word, parent, &mut self.taken),
            scope: Scope::Document,
            things: vec![things],
            defined_by: Vec::new(),
            evidence: Evidence::default(),
        });
        self.kinds.len() - 1
    }
}

/// Puts places together whose names are of one kind.
pub(super) fn kinds(
    survey: &Survey<'_>,
    places: &[Place<'_>],
    gives: &[bool],
    readings: &Readings,
) -> Kinds {
    let mut groups = Groups::new(places.len());
    let referrers = referrers(places.len(), readings);
    let documents: Vec<HashSet<u32>> = places
        .iter()
        .zip(gives)
        .map(|(place, gives)| match gives {
            true => place
                .slot
                .seen
                .iter()
                .map(|seen| place.document(seen))
                .collect(),
            false => HashSet::new(),
        })
        .collect();
    let apart = |a: usize, b: usize| {
        let only = |a: usize, b: usize| {
            let mut of = referrers[a].iter();
            of.any(|reading| !referrers[b].contains(reading))
        };
        only(a, b) && only(b, a) && together(&documents[a], &documents[b])
    };
    // Things of the same name, unless references keep them apart.
    let mut alike: BTreeMap<_, Vec<usize>> = BTreeMap::new();
    for (at, place) in places.iter().enumerate() {
        if gives[at] {
            let name = place.group.contexts.name(place.thing_context());
            let key = (place.at.group, name, place.element, place.slot.attribute);
            alike.entry(key).or_default().push(at);
        }
    }
    for alike in alike.values() {
        for (number, a) in alike.iter().enumerate() {
            for b in &alike[number + 1..] {
                if !apart(*a, *b) {
                    groups.join(*a, *b);
                }
            }
        }
    }
    // Things of other names that are referred to alike.
    for reading in readings.iter().flatten() {
        let names = |to: &[u32]| -> HashSet<Symbol> {
            let to = to.iter().map(|to| &places[*to as usize]);
            to.map(|to| to.group.contexts.name(to.thing_context()))
                .collect()
        };
        let one_attribute = reading.to.windows(2).all(|pair| {
            let of = |at: u32| places[at as usize].slot.attribute;
            of(pair[0]) == of(pair[1])
        });
        let any = one_attribute && names(&reading.to).len() >= MANY;
        for (number, a) in reading.to.iter().enumerate() {
            for b in &reading.to[number + 1..] {
                let (a, b) = (*a as usize, *b as usize);
                let only =
                    |a: usize, b: usize| referrers[a].iter().any(|r| !referrers[b].contains(r));
                if any || (!only(a, b) && !only(b, a)) {
                    groups.join(a, b);
                }
            }
        }
    }
    collect(survey, places, gives, &mut groups)
}

/// Where references lead to things of so many names, the names of all are of one kind.
const MANY: usize = 3;

/// Per place, the readings that lead to it.
fn referrers(count: usize, readings: &Readings) -> Vec<Vec<usize>> {
    let mut referrers = vec![Vec::new(); count];
    for (from, reading) in readings.iter().enumerate() {
        for to in reading.iter().flat_map(|reading| &reading.to) {
            referrers[*to as usize].push(from);
        }
    }
    referrers
}

/// Whether two places often occur in the same documents.
fn together(a: &HashSet<u32>, b: &HashSet<u32>) -> bool {
    let both = a.intersection(b).count();
    both as f64 >= 0.3 * a.len().min(b.len()) as f64
}

/// Groups that grow together.
struct Groups(Vec<usize>);

impl Groups {
    fn new(count: usize) -> Self {
        Self((0..count).collect())
    }

    fn of(&mut self, at: usize) -> usize {
        let mut root = at;
        while self.0[root] != root {
            self.0[root] = self.0[self.0[root]];
            root = self.0[root];
        }
        root
    }

    fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.of(a), self.of(b));
        self.0[a.max(b)] = a.min(b);
    }
}

fn collect(
    survey: &Survey<'_>,
    places: &[Place<'_>],
    gives: &[bool],
    groups: &mut Groups,
) -> Kinds {
    let mut members: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for at in (0..places.len()).filter(|at| gives[*at]) {
        members.entry(groups.of(at)).or_default().push(at);
    }
    let mut kinds = Vec::new();
    let mut kind_of = vec![None; places.len()];
    let mut taken = HashSet::new();
    for members in members.into_values() {
        for member in &members {
            kind_of[*member] = Some(kinds.len());
        }
        let members: Vec<&Place<'_>> = members.iter().map(|at| &places[*at]).collect();
        let parent = members.iter().any(|place| place.scope() == Scope::Parent);
        let scope = if parent {
            Scope::Parent
        } else {
            Scope::Document
        };
        let mut things: Vec<Thing> = members.iter().map(|place| thing(place)).collect();
        things.sort_unstable();
        things.dedup();
        kinds.push(NameKind {
            kind: name(survey, &members, &mut taken),
            scope,
            things,
            defined_by: members.iter().map(|place| place.at).collect(),
            evidence: evidence(&members, scope),
        });
    }
    Kinds {
        kinds,
        kind: kind_of,
        taken,
    }
}

/// A word for a kind: what its things are called, or what their names are if there are many.
fn name(survey: &Survey<'_>, members: &[&Place<'_>], taken: &mut HashSet<String>) -> String {
    let mut counts: BTreeMap<Symbol, usize> = BTreeMap::new();
    for place in members {
        let name = place.group.contexts.name(place.thing_context());
        *counts.entry(name).or_default() += place.slot.seen.len();
    }
    let most = counts.iter().max_by_key(|(_, count)| **count);
    let called = |symbol: Symbol| survey.corpus.called(symbol);
    let most = most.map_or("thing", |(name, _)| called(*name));
    let word = match members.first().and_then(|place| place.slot.attribute) {
        Some(attribute) if counts.len() >= MANY => called(attribute),
        _ => most,
    };
    let parent = members.first().and_then(|place| {
        let parent = place.group.contexts.parent(place.thing_context())?;
        Some(called(place.group.contexts.name(parent)))
    });
    free(word, parent, taken)
}

/// A word that no other kind has: this one, with its parent's in front, or with a number.
fn free(word: &str, parent: Option<&str>, taken: &mut HashSet<String>) -> String {
    let odd = |c: char| !c.is_alphanumeric() && c != '_' && c != '.';
    let word = word.replace(odd, "-");
    let longer = parent.map(|parent| format!("{}-{word}", parent.replace(odd, "-")));
    let numbered = (2..).map(|number| format!("{word}-{number}"));
    let mut words = std::iter::once(word.clone()).chain(longer).chain(numbered);
    let free = words.find(|word| word != "index-path" && !taken.contains(word));
    let free = free.unwrap_or_else(|| word.clone());
    taken.insert(free.clone());
    free
}

fn evidence(members: &[&Place<'_>], scope: Scope) -> Evidence {
    let mut given: HashMap<(u32, Symbol), u32> = HashMap::new();
    let mut evidence = Evidence::default();
    let mut files = HashSet::new();
    for place in members {
        for seen in &place.slot.seen {
            let document = place.document(seen);
            files.insert(document);
            evidence.places += 1;
            let times = given.entry((document, seen.value)).or_default();
            *times += 1;
            if *times > 1 && scope != Scope::Parent {
                evidence.exceptions.push(Exception {
                    document,
                    line: seen.line,
                    value: seen.value,
                });
            }
        }
    }
    evidence.files = files.len() as u32;
    evidence.exceptions.sort();
    evidence
}
