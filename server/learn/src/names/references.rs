//! Which places refer, and to which.

use super::index::Index;
use super::looks::Looks;
use super::places::{Family, Place, Unique};
use super::reading::{LEAST_FITTING, Reading};
use super::readings::Desk;
use super::scopes::Scopes;
use super::{Form, Scope};
use crate::survey::Survey;
use crate::symbols::Symbol;
use foldhash::{HashMap, HashMapExt as _, HashSet};
use std::collections::BTreeMap;

/// Per place, how it is read as a reference.
pub(super) type Readings = Vec<Option<Reading>>;

/// Whether a place may give names at all, by itself and by its kin: the places of the same
/// attribute.
fn may_give(place: &Place<'_>, kin: &Kin) -> bool {
    place.unique != Unique::Not
        && kin.distinct >= 2
        && place.nameable >= LEAST_NAMEABLE
        && place.files < 0.5
        && (expected(place) >= 1.0 || kin.repeating <= KIN_REPEATING * kin.values)
        // To be different within a small part of a document says little.
        && (place.scope() != Scope::Parent || expected(place).max(kin.expected) >= 1.0)
}

/// The least share of values that may be names, where names are given: some may look like
/// numbers.
const LEAST_NAMEABLE: f64 = 0.75;

/// By chance, so many of a place's values would have been equal.
fn expected(place: &Place<'_>) -> f64 {
    match place.unique {
        Unique::Within { expected, .. } => expected,
        _ => 0.0,
    }
}

/// The greatest share of values in places where they repeat, among places where a name is given
/// only once in each document.
const KIN_REPEATING: f64 = 0.3;

/// What the places of one attribute have in common.
#[derive(Clone, Default)]
struct Kin {
    values: f64,
    /// Values in places where they repeat.
    repeating: f64,
    /// At least so many different ones.
    distinct: usize,
    expected: f64,
}

fn kins(places: &[Place<'_>]) -> HashMap<Family, Kin> {
    let mut kins: HashMap<Family, Kin> = HashMap::new();
    for place in places {
        let kin = kins.entry(place.kin()).or_default();
        let values = place.slot.seen.len() as f64;
        kin.values += values;
        if place.unique == Unique::Not {
            kin.repeating += values;
        }
        kin.distinct = place
            .distinct
            .max(kin.distinct + usize::from(place.distinct > 0));
        kin.expected += expected(place);
    }
    kins
}

/// The least share of values that are more than numbers, or whole numbers, at places that refer.
const LEAST_WORDED: f64 = 0.01;

/// Whether a place may hold names of others.
fn may_refer(place: &Place<'_>) -> bool {
    place.distinct >= 1 && place.nameable.max(place.worded) > LEAST_WORDED
}

/// Finds the references of a library in which names are looked for within `scopes`. Places that are
/// `settled` are left alone. `lacking`: per document, whether the library lacks some of what it brings in.
pub(super) fn references(
    survey: &Survey<'_>,
    places: &[Place<'_>],
    looks: &Looks,
    (scopes, lacking): (&Scopes, &[bool]),
    settled: &Readings,
    loose: bool,
) -> Readings {
    let kins = kins(places);
    let kin = |place: &Place<'_>| &kins[&place.kin()];
    let mut candidates: Vec<bool> = places.iter().map(|p| may_give(p, kin(p))).collect();
    let weak: Vec<bool> = places
        .iter()
        .map(|place| expected(place) < 1.0 && kin(place).expected < 1.0)
        .collect();
    for (at, settled) in settled.iter().enumerate() {
        candidates[at] &= settled.is_none();
    }
    // With nothing to compare with, names of the whole library must be new in each place.
    let whole = scopes.are_one();
    if whole {
        for (candidate, place) in candidates.iter_mut().zip(places) {
            *candidate &= place.distinct as f64 >= NEW * place.slot.seen.len() as f64;
        }
    }
    if !candidates.contains(&true) {
        return vec![None; places.len()];
    }
    // What refers gives no names to others, unless it is referred to in turn: first all that
    // may give names is taken for givers, then only what does not refer itself.
    let mut readings = Vec::new();
    for _ in 0..ROUNDS {
        let index = Index::of(survey, places, &candidates, scopes);
        let desk = Desk {
            survey,
            places,
            looks,
            index: &index,
            weak: &weak,
            abroad: scopes.reach_out(),
            loose,
            scopes,
            lacking,
            whole,
        };
        readings = round(&desk, settled);
        let mut demoted = drop_backward(&desk, &mut readings);
        if demoted.is_empty() {
            drop_names(&desk, &mut readings);
            demoted = self::demoted(&desk, &readings);
        }
        if demoted.is_empty() {
            break;
        }
        for place in demoted {
            candidates[place] = false;
        }
    }
    drop_echoes(places, &mut readings);
    for (reading, settled) in readings.iter_mut().zip(settled) {
        reading.take_if(|_| settled.is_some());
    }
    readings
}

/// The least share of different values among those that are names within a whole library.
const NEW: f64 = 0.9;

/// Most rounds in which places are found to give no names after all.
const ROUNDS: usize = 5;

fn round(desk: &Desk<'_, '_, '_>, settled: &Readings) -> Readings {
    let mut tried: Readings = (0..desk.places.len())
        .map(|at| match &settled[at] {
            Some(reading) => Some(reading.clone()),
            None if may_refer(&desk.places[at]) => best(desk, &[at]),
            None => None,
        })
        .collect();
    let mut accepted: Vec<bool> = tried
        .iter()
        .enumerate()
        .map(|(at, reading)| {
            let holds = |reading| desk.holds(reading, desk.places[at].gives());
            settled[at].is_some() || reading.as_ref().is_some_and(holds)
        })
        .collect();
    // Places that show too little by themselves are judged with those like them.
    let families: [fn(&Place<'_>) -> Option<Family>; 3] = [by_element, by_attribute, by_word];
    for family in families {
        let mut families: BTreeMap<Family, Vec<usize>> = BTreeMap::new();
        for (at, reading) in tried.iter().enumerate() {
            if let (Some(reading), Some(family)) = (reading, family(&desk.places[at])) {
                let fits = reading.hits > 0 && reading.fit() >= LEAST_FITTING;
                if accepted[at] || fits {
                    families.entry(family).or_default().push(at);
                }
            }
        }
        for (key, members) in families {
            if members.len() < 2 || members.iter().all(|member| accepted[*member]) {
                continue;
            }
            // A family whose greater part does not refer is none.
            let worded =
                |at: usize| desk.places[at].worded * desk.places[at].slot.seen.len() as f64;
            let all: f64 = (0..tried.len())
                .filter(|at| family(&desk.places[*at]) == Some(key))
                .map(worded)
                .sum();
            if members.iter().map(|member| worded(*member)).sum::<f64>() < all / 2.0 {
                continue;
            }
            let mut forms: Vec<Form> = members
                .iter()
                .filter_map(|member| tried[*member].as_ref())
                .map(|reading| reading.form.clone())
                .collect();
            forms.sort();
            forms.dedup();
            let readings = forms.iter().filter_map(|form| desk.read(&members, form));
            let readings = readings.filter(|reading| desk.holds(reading, false));
            let best = readings.max_by(|a, b| a.score.total_cmp(&b.score));
            let Some(pooled) = best else {
                continue;
            };
            for member in members {
                if accepted[member] {
                    continue;
                }
                let own = desk.read_towards(&[member], &pooled.form, &pooled.to);
                let fits = |own: &Reading| own.score > -2.0 && own.fit() >= LEAST_FITTING;
                if let Some(own) = own.filter(fits) {
                    tried[member] = Some(own);
                    accepted[member] = true;
                }
            }
        }
    }
    for (at, accepted) in accepted.into_iter().enumerate() {
        if !accepted {
            tried[at] = None;
        }
    }
    tried
}

/// The best reading of some places: of the whole value, or else of a part of it.
fn best(desk: &Desk<'_, '_, '_>, members: &[usize]) -> Option<Reading> {
    let whole = desk.read(members, &Form::whole());
    if whole
        .as_ref()
        .is_some_and(|reading| desk.holds(reading, false))
    {
        return whole;
    }
    let mut best = whole;
    if members
        .iter()
        .any(|member| desk.places[*member].files > 0.5)
    {
        return best;
    }
    for form in desk.forms(members) {
        let Some(reading) = desk.read(members, &form) else {
            continue;
        };
        let better = |than: &Reading| {
            let (new, old) = (desk.holds(&reading, false), desk.holds(than, false));
            (new, reading.score) > (old, than.score)
        };
        if best.as_ref().is_none_or(better) {
            best = Some(reading);
        }
    }
    best
}

fn by_element(place: &Place<'_>) -> Option<Family> {
    Some((place.at.group, Some(place.element), place.slot.attribute))
}

fn by_attribute(place: &Place<'_>) -> Option<Family> {
    place.slot.attribute?;
    Some((place.at.group, None, place.slot.attribute))
}

/// Places of one attribute in documents of all kinds.
fn by_word(place: &Place<'_>) -> Option<Family> {
    place.slot.attribute?;
    Some((usize::MAX, None, place.slot.attribute))
}

/// Places that others refer to, but that only repeat names which are given elsewhere. Where
/// places refer to each other, the best of them gives the names.
fn demoted(desk: &Desk<'_, '_, '_>, readings: &Readings) -> Vec<usize> {
    let mut referrers = vec![0_usize; readings.len()];
    for reading in readings.iter().flatten() {
        for to in &reading.to {
            referrers[*to as usize] += 1;
        }
    }
    let mut givers: Vec<usize> = (0..readings.len())
        .filter(|at| referrers[*at] > 0)
        .collect();
    givers.sort_by_key(|at| {
        let place = &desk.places[*at];
        let whole = place.scope() == Scope::Document;
        let rich = desk.rich(place);
        let called = readings[*at].as_ref().is_some_and(|reading| reading.called);
        let standing = (
            !called,
            rich,
            whole,
            place.gives(),
            referrers[*at],
            place.slot.seen.len(),
        );
        (std::cmp::Reverse(standing), *at)
    });
    let traffic = traffic(desk, readings);
    let mut firm = vec![false; readings.len()];
    let mut demoted = Vec::new();
    for at in givers {
        // Where other values of the attribute refer, these do.
        let kin = traffic.get(&desk.places[at].kin());
        if kin.is_some_and(|(given, taken)| *taken > 2 * given) {
            demoted.push(at);
            continue;
        }
        let repeats = readings[at].as_ref().is_some_and(|reading| {
            reading
                .to
                .iter()
                .any(|to| firm[*to as usize] || referrers[*to as usize] == 0)
        });
        if repeats {
            demoted.push(at);
        } else {
            firm[at] = true;
        }
    }
    demoted
}

/// Leaves out what only repeats a reference: where two values of an element lead to two names
/// of the same thing, one refers and the other is equal.
fn drop_echoes(places: &[Place<'_>], readings: &mut Readings) {
    let mut by_element: BTreeMap<_, Vec<usize>> = BTreeMap::new();
    for (at, place) in places.iter().enumerate() {
        if readings[at].is_some() {
            let element = (place.at.group, place.thing_context());
            by_element.entry(element).or_default().push(at);
        }
    }
    let thing = |to: u32| {
        let place = &places[to as usize];
        (place.at.group, place.thing_context())
    };
    for members in by_element.into_values() {
        for a in &members {
            for b in &members {
                let (Some(from), Some(other)) = (&readings[*a], &readings[*b]) else {
                    continue;
                };
                let echoes = from.hits < other.hits
                    && from.to.iter().all(|to| {
                        !other.to.contains(to) && other.to.iter().any(|o| thing(*o) == thing(*to))
                    });
                if echoes {
                    readings[*a] = None;
                }
            }
        }
    }
}

/// Leaves out what runs against the stream: if the values of one attribute are found among those
/// of another more often than the other way round, it is the first that refers. Returns the
/// places that were referred to in the wrong direction.
fn drop_backward(desk: &Desk<'_, '_, '_>, readings: &mut Readings) -> Vec<usize> {
    let mut streams = Streams::default();
    let mut dropped = Vec::new();
    for (at, reading) in readings.iter_mut().enumerate() {
        let from = desk.places[at].kin();
        let backward = |to: &u32| streams.backward(desk, from, desk.places[*to as usize].kin());
        let Some(wrong) = reading
            .as_ref()
            .map(|r| r.to.iter().copied().filter(backward))
        else {
            continue;
        };
        let wrong: Vec<u32> = wrong.collect();
        if !wrong.is_empty() {
            dropped.extend(wrong.into_iter().map(|to| to as usize));
            *reading = None;
        }
    }
    dropped.sort_unstable();
    dropped.dedup();
    dropped
}

/// Per family, how many names others find there, and how many it finds at others.
fn traffic(desk: &Desk<'_, '_, '_>, readings: &Readings) -> HashMap<Family, (usize, usize)> {
    let mut traffic: HashMap<Family, (usize, usize)> = HashMap::new();
    for (at, reading) in readings.iter().enumerate() {
        let from = desk.places[at].kin();
        for reading in reading.iter() {
            let to: HashSet<Family> = to(desk, reading).map(Place::kin).collect();
            for family in to.into_iter().filter(|family| *family != from) {
                traffic.entry(family).or_default().0 += reading.hits;
                traffic.entry(from).or_default().1 += reading.hits;
            }
        }
    }
    traffic
}

/// Leaves out places that give names themselves, by all appearances: values of the same attribute
/// are referred to elsewhere, they are unique, and their elements hold more than a reference.
fn drop_names(desk: &Desk<'_, '_, '_>, readings: &mut Readings) {
    let traffic = traffic(desk, readings);
    for (at, reading) in readings.iter_mut().enumerate() {
        let place = &desk.places[at];
        reading.take_if(|reading| {
            traffic
                .get(&place.kin())
                .is_some_and(|(given, _)| *given > reading.hits)
                && place.unique != Unique::Not
                && desk.described(place)
                && to(desk, reading)
                    .all(|to| to.element != place.element || to.kin() != place.kin())
        });
    }
}

/// The places that a reading leads to.
fn to<'d>(desk: &'d Desk<'_, '_, '_>, reading: &Reading) -> impl Iterator<Item = &'d Place<'d>> {
    reading.to.iter().map(|to| &desk.places[*to as usize])
}

/// A word of so many scopes that is nobody's name in any is no name.
const CONSTANT: u32 = 3;

/// How often values of attributes are found among those of others, within their scopes.
#[derive(Default)]
struct Streams {
    values: HashMap<Family, HashSet<(u32, Symbol)>>,
    known: HashMap<(Family, Family), bool>,
}

impl Streams {
    /// Whether values of `to` are found among those of `from` rather than the other way round.
    fn backward(&mut self, desk: &Desk<'_, '_, '_>, from: Family, to: Family) -> bool {
        if from == to {
            return false;
        }
        if let Some(known) = self.known.get(&(from, to)) {
            return *known;
        }
        for family in [from, to] {
            self.values
                .entry(family)
                .or_insert_with(|| values(desk, family));
        }
        let (a, b) = (&self.values[&from], &self.values[&to]);
        // Where a name is given in several ways, what is referred to elsewhere is given in another one. A single word
        // that is nobody's name anywhere stands for something else, such as `none`; several are names that all give.
        let scopes: HashSet<u32> = b.iter().map(|(scope, _)| *scope).collect();
        let given: HashSet<Symbol> = b.iter().map(|(_, value)| *value).collect();
        let mut strange: HashMap<Symbol, u32> = HashMap::new();
        for (_, value) in a.iter().filter(|(_, value)| !given.contains(value)) {
            *strange.entry(*value).or_default() += 1;
        }
        strange.retain(|_, count| *count >= CONSTANT);
        let is_odd = |value: &Symbol| strange.len() == 1 && strange.contains_key(value);
        let there = a
            .iter()
            .filter(|(scope, value)| scopes.contains(scope) && !is_odd(value))
            .count();
        // Both shares have the same numerator.
        let backward = there > b.len() && a.intersection(b).count() * 2 > b.len();
        self.known.insert((from, to), backward);
        backward
    }
}

/// The values of a family, without numbers, once per scope.
fn values(desk: &Desk<'_, '_, '_>, family: Family) -> HashSet<(u32, Symbol)> {
    let places = desk.places.iter().filter(|place| place.kin() == family);
    let values = places.flat_map(|place| {
        place.slot.seen.iter().filter_map(|seen| {
            let name = !desk.looks.look(seen.value).is_number();
            name.then(|| (desk.scopes.asked(place.document(seen)), seen.value))
        })
    });
    values.collect()
}
