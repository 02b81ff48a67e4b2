//! Reads places as references, and weighs that against chance.
//!
//! A value that leads to a name of its own document says much if the same value would have led
//! nowhere in most other documents, and little if all documents give that name. So each
//! document's values are compared with the names of the other documents: what is found there
//! is what chance finds. Where all documents give the same names, the vocabulary is left as
//! evidence: words that read as identifiers and occur in few other fields.

use super::index::{Index, Posting};
use super::looks::Looks;
use super::places::Place;
use super::reading::{FITTING, LEAST_FITTING, LEAST_SCORE, Reading, STRAY};
use super::scale::Scale;
use super::scopes::Scopes;
use super::{Affix, Form, Member, Scope, clues, homes};
use crate::survey::{Seen, Survey};
use crate::symbols::Symbol;
use foldhash::{HashMap, HashMapExt as _, HashSet, HashSetExt as _};

/// All that readings are made from.
pub(super) struct Desk<'a, 's, 'c> {
    pub survey: &'a Survey<'c>,
    pub places: &'a [Place<'s>],
    pub looks: &'a Looks,
    pub index: &'a Index,
    /// Per place, whether little shows that it gives names.
    pub weak: &'a [bool],
    /// Whether names of other documents are looked for.
    pub abroad: bool,
    /// Whether places are believed to refer though many of their names lead nowhere.
    pub loose: bool,
    pub scopes: &'a Scopes,
    /// Per document, whether some of what it brings in is not in the library.
    pub lacking: &'a [bool],
    /// Whether that is the whole library: there are no other parts to compare with.
    pub whole: bool,
}

/// A name at places that are read as references, within one scope.
#[derive(Clone, Debug)]
pub(super) struct Found {
    pub document: u32,
    pub line: u32,
    /// The whole value.
    pub value: Symbol,
    /// The name in it; `None` if nothing in the library is called so.
    pub name: Option<Symbol>,
    /// Whether it is a number.
    pub number: bool,
    /// The places that give the name there, sorted.
    pub givers: Vec<u32>,
    /// Whether the thing itself is called so, or one around it.
    pub own: bool,
    /// Whether others name it as well.
    pub others: bool,
    /// Whether the element could be a thing with this name itself: it holds more than the name.
    pub filled: bool,
}

/// The least share of elements with nothing but a name, among those that may define in passing.
const BARE: f64 = 0.05;

/// The least chance to meet a value at a place of which little shows that it gives names.
const WEAK: f64 = 0.2;

/// The greatest share of values of other sorts that is put down to mistakes.
const MIXED: f64 = 0.05;

/// The least share of numbers where names are numbers.
const NUMBERS: f64 = 0.8;

impl Desk<'_, '_, '_> {
    /// Reads the values of places in a form.
    pub(super) fn read(&self, members: &[usize], form: &Form) -> Option<Reading> {
        self.read_some(members, form, &|_| true)
    }

    /// The same, as references to some places only.
    pub(super) fn read_towards(
        &self,
        members: &[usize],
        form: &Form,
        to: &[u32],
    ) -> Option<Reading> {
        self.read_some(members, form, &|place| to.contains(&place))
    }

    /// Reads the values of places as references to others, whether or not they lead there.
    pub(super) fn presume(&self, members: &[usize], form: &Form, to: &[u32]) -> Reading {
        let found = self.find(members, form);
        self.weigh(members, form, &found, to.to_vec())
    }

    fn read_some(
        &self,
        members: &[usize],
        form: &Form,
        towards: &dyn Fn(u32) -> bool,
    ) -> Option<Reading> {
        let mut found = self.find(members, form);
        for one in &mut found {
            // Who has the name itself need not go to other documents for it.
            one.givers
                .retain(|giver| !(self.abroad && one.own) && towards(*giver));
        }
        // Numbers among names are values of another sort: no references, no mistakes.
        let leading = found.iter().filter(|one| !one.givers.is_empty());
        let numbers = leading.clone().filter(|one| one.number).count();
        let numeric = numbers as f64 > NUMBERS * leading.count() as f64;
        let all = found.len();
        let numbers = match numeric {
            true => Vec::new(),
            false => found.extract_if(.., |one| one.number).collect(),
        };
        let to = self.cover(members, &found);
        if to.is_empty() {
            return None;
        }
        let mut reading = self.weigh(members, form, &found, to);
        reading.numeric = numeric;
        let strange = |one: &&Found| !one.givers.iter().any(|giver| reading.to.contains(giver));
        let strange = numbers.iter().filter(strange).count();
        reading.mixed = strange as f64 > MIXED * all as f64;
        let at_home = reading.to.iter().map(|to| &self.places[*to as usize]);
        let at_home = at_home.filter(|to| to.scope() == Scope::Parent);
        let at_home = at_home.filter_map(|to| homes::score(self, members, form, to));
        reading.score = at_home.fold(reading.score, f64::max);
        let mut leads = reading.to.iter();
        reading.called = !numeric && leads.any(|to| self.called(members, *to));
        let mut leads = reading.to.iter();
        reading.score += match reading.called {
            true => clues::CALLED,
            false if numeric => 0.0,
            false if leads.all(|to| self.called_around(members, *to)) => clues::CALLED_AROUND,
            false => 0.0,
        };
        if numeric
            && form.separator.is_some()
            && !reading.to.iter().any(|to| self.called(members, *to))
        {
            return None;
        }
        reading.score -= effort(form) + self.doubts(members, &reading);
        Some(reading)
    }

    /// All names at places, once per scope.
    fn find(&self, members: &[usize], form: &Form) -> Vec<Found> {
        let symbols = &self.survey.corpus.symbols;
        let mut found: Vec<Found> = Vec::new();
        let mut known: HashMap<(u32, Symbol, usize), usize> = HashMap::new();
        // Per value its names, with their place in it.
        let mut cut: HashMap<Symbol, Vec<Option<Symbol>>> = HashMap::new();
        let whole = *form == Form::whole();
        let among: HashSet<u32> = members.iter().map(|member| *member as u32).collect();
        for member in members {
            let place = &self.places[*member];
            for seen in &place.slot.seen {
                let alone = [Some(seen.value)];
                let names: &[Option<Symbol>] = if whole {
                    &alone
                } else {
                    cut.entry(seen.value).or_insert_with(|| {
                        let names = form.names(symbols.text(seen.value));
                        names.into_iter().map(|name| symbols.find(name)).collect()
                    })
                };
                for (number, name) in names.iter().enumerate() {
                    self.meet(&among, place, seen, *name, number, &mut known, &mut found);
                }
            }
        }
        found
    }

    #[allow(clippy::too_many_arguments)]
    fn meet(
        &self,
        members: &HashSet<u32>,
        place: &Place<'_>,
        seen: &Seen,
        name: Option<Symbol>,
        number: usize,
        known: &mut HashMap<(u32, Symbol, usize), usize>,
        found: &mut Vec<Found>,
    ) {
        let document = place.document(seen);
        let scope = self.scopes.asked(document);
        // Unknown names of a list are told apart by their place in it.
        let key = (
            scope,
            name.unwrap_or(seen.value),
            name.map_or(number + 1, |_| 0),
        );
        let at = *known.entry(key).or_insert_with(|| {
            found.push(Found {
                document,
                line: seen.line,
                value: seen.value,
                name,
                number: name.is_some_and(|name| self.looks.look(name).is_number()),
                givers: Vec::new(),
                own: false,
                others: false,
                filled: true,
            });
            found.len() - 1
        });
        let found = &mut found[at];
        found.filled &= self.filled(place, seen);
        let Some(name) = name else {
            return;
        };
        let (mut thing, mut own) = (None, false);
        for posting in self.index.within(name, scope) {
            if members.contains(&posting.place) {
                continue;
            }
            let thing = *thing.get_or_insert_with(|| place.thing(self.survey, seen));
            if self.same(posting, document, thing) {
                own = true;
            } else if let Err(at) = found.givers.binary_search(&posting.place) {
                found.givers.insert(at, posting.place);
            }
        }
        found.own |= own;
        found.others |= !own;
    }

    /// Whether a name belongs to the thing itself or to one around it: no need to refer to them.
    fn same(&self, posting: &Posting, document: u32, thing: u32) -> bool {
        if posting.document != document || posting.thing > thing {
            return false;
        }
        let elements = &self.survey.corpus.documents[document as usize].elements;
        let mut above = std::iter::successors(Some(thing), |at| elements[*at as usize].parent);
        // Elements around another come before it.
        above
            .find(|at| *at <= posting.thing)
            .is_some_and(|at| at == posting.thing)
    }

    /// Whether the element holds more than this value.
    fn filled(&self, place: &Place<'_>, seen: &Seen) -> bool {
        let document = &self.survey.corpus.documents[place.document(seen) as usize];
        let at = seen.element as usize;
        let next = document.elements.get(at + 1);
        next.is_some_and(|next| next.parent == Some(seen.element))
            || (place.slot.attribute.is_some() && document.elements[at].text != Symbol::EMPTY)
    }

    /// Whether most elements of a place hold more than a reference does.
    pub(super) fn rich(&self, place: &Place<'_>) -> bool {
        if place.lift > 0 {
            return false;
        }
        let slots = place.group.slots_of(place.slot.context).len();
        let filled = place
            .slot
            .seen
            .iter()
            .filter(|seen| self.filled(place, seen));
        slots > 3 || 2 * filled.count() >= place.slot.seen.len()
    }

    /// The probability that a name leads to one of these places by chance. A `hit` does not count among the names that
    /// do.
    pub(super) fn chance(&self, name: Symbol, hit: bool, places: &[u32], frequency: u32) -> f64 {
        let others = f64::from(self.index.parts(places)) - f64::from(u8::from(hit));
        let frequency = f64::from(frequency) - f64::from(u8::from(hit));
        let met = match self.whole {
            true => 0.0,
            false => (frequency.max(0.0) + 0.5) / (others.max(0.0) + 1.0),
        };
        let weak = places.iter().all(|place| self.weak[*place as usize]);
        let floor = if weak { WEAK } else { 0.0 };
        met.max(self.looks.floor(name)).max(floor).min(0.97)
    }

    /// The places that account best for what was found: those that explain most first, each
    /// further one for what is left.
    fn cover(&self, members: &[usize], found: &[Found]) -> Vec<u32> {
        let mut frequencies: HashMap<Symbol, Vec<(u32, u32)>> = HashMap::new();
        // Per name in its scope, how much each place's giving it says.
        let mut open: Vec<Vec<(u32, f64)>> = Vec::new();
        for one in found {
            let (Some(name), false) = (one.name, one.givers.is_empty()) else {
                continue;
            };
            let frequencies = frequencies
                .entry(name)
                .or_insert_with(|| self.index.frequencies(name));
            let givers = one.givers.iter().map(|giver| {
                let at = frequencies.binary_search_by_key(giver, |(place, _)| *place);
                let frequency = at.map_or(1, |at| frequencies[at].1);
                let chance = self.chance(name, true, &[*giver], frequency);
                // A little for each, so that common names are accounted for as well.
                (*giver, libm::log((1.0 - STRAY) / chance).max(0.0) + 0.05)
            });
            open.push(givers.collect());
        }
        let total = open.len();
        let mut cover: Vec<u32> = Vec::new();
        while !open.is_empty() {
            let mut gains: HashMap<u32, (u32, f64)> = HashMap::new();
            for (place, gain) in open.iter().flatten() {
                let (count, sum) = gains.entry(*place).or_default();
                *count += 1;
                *sum += gain;
            }
            gains.retain(|place, (count, _)| {
                let akin = self.akin(&cover, *place);
                let least = if cover.is_empty() || akin {
                    1
                } else {
                    2.max(total as u32 / 50)
                };
                *count >= least
            });
            let gains = gains.into_iter().map(|(place, (_, sum))| {
                let preferred = self.called(members, place);
                (place, sum * if preferred { clues::PREFERRED } else { 1.0 })
            });
            // Of equal gains, the place that comes first.
            let best = gains.max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)));
            let Some((best, _)) = best else {
                break;
            };
            cover.push(best);
            open.retain(|givers| givers.iter().all(|(place, _)| *place != best));
        }
        cover.sort_unstable();
        cover
    }

    /// Whether a place gives names the way one of the others does: by the same attribute, or
    /// by the same element.
    fn akin(&self, cover: &[u32], place: u32) -> bool {
        let place = &self.places[place as usize];
        let same = |other: &Place<'_>| {
            other.at.group == place.at.group
                && other.slot.attribute == place.slot.attribute
                && (other.slot.attribute.is_some() || other.element == place.element)
        };
        cover
            .iter()
            .any(|other| same(&self.places[*other as usize]))
    }

    fn weigh(&self, members: &[usize], form: &Form, found: &[Found], to: Vec<u32>) -> Reading {
        let hit = |one: &Found| one.givers.iter().any(|giver| to.contains(giver));
        let any_hit = found.iter().any(hit);
        let inline = self.inline(members, &to);
        let constants = self.constants(found, &to);
        let mut scale = Scale::new(self, form, &to);
        for one in found {
            match one.name {
                Some(name) if hit(one) => scale.hit(one, name),
                _ if one.own => {}
                _ if inline && one.filled => scale.reading.inline += 1,
                name => {
                    let document = &self.survey.corpus.documents[one.document as usize];
                    let half = document.broken || self.lacking[one.document as usize];
                    let special = constants.contains(&name.unwrap_or(one.value));
                    scale.stray(one, special || half && any_hit);
                }
            }
        }
        let mut reading = scale.read();
        reading.to = to;
        reading
    }

    /// Whether elements at these places may define in passing what others of the same name
    /// define for good: they look the same, and some hold more than the name, some do not.
    fn inline(&self, members: &[usize], to: &[u32]) -> bool {
        members.iter().all(|member| {
            let place = &self.places[*member];
            let namesake = to.iter().any(|to| {
                let to = &self.places[*to as usize];
                to.element == place.element && to.slot.attribute == place.slot.attribute
            });
            let seen = &place.slot.seen;
            let filled = seen.iter().filter(|seen| self.filled(place, seen)).count();
            let bare = seen.len() - filled;
            namesake && filled > 0 && bare as f64 >= BARE * seen.len() as f64
        })
    }

    /// Words that stand for something else: they come in several documents and are nobody's
    /// name in any.
    fn constants(&self, found: &[Found], to: &[u32]) -> HashSet<Symbol> {
        let mut strays: HashMap<Symbol, u32> = HashMap::new();
        let mut hits: HashSet<Symbol> = HashSet::new();
        for one in found {
            if one.givers.iter().any(|giver| to.contains(giver)) {
                hits.extend(one.name);
            } else {
                *strays.entry(one.name.unwrap_or(one.value)).or_default() += 1;
            }
        }
        let mut strays: Vec<(u32, Symbol)> = strays
            .into_iter()
            .filter(|(value, count)| *count >= 3 && self.index.frequency(*value, to) == 0)
            .map(|(value, count)| (count, value))
            .collect();
        strays.sort_unstable_by(|a, b| b.cmp(a));
        strays.truncate((hits.len() / 4).min(3.max(hits.len() / 20)));
        strays.into_iter().map(|(_, value)| value).collect()
    }

    /// Whether a reading is good enough to be believed. Where hits are far beyond chance and the
    /// place gives no names itself, more of them may lead to where the library does not reach.
    pub(super) fn holds(&self, reading: &Reading, gives: bool) -> bool {
        let gives = gives || !self.loose;
        let fit = reading.fit();
        let fitting = fit >= FITTING;
        let whole = reading.form == Form::whole() || reading.form.cuts();
        let loose = !gives && whole && fit >= LEAST_FITTING && reading.distinct >= 3;
        if reading.numeric {
            // Small numbers are everywhere.
            return reading.score >= 3.0 * LEAST_SCORE
                && fit >= FITTING.max(0.97)
                && reading.distinct >= 4;
        }
        let twice = if fitting { 1.0 } else { 2.0 };
        reading.score >= LEAST_SCORE * twice && (fitting || loose) && reading.distinct >= 2
    }

    /// The forms other than the whole name in which a place's values hold names.
    pub(super) fn forms(&self, members: &[usize]) -> Vec<Form> {
        let symbols = &self.survey.corpus.symbols;
        let mut tally = super::forms::Tally::default();
        let count: usize = members
            .iter()
            .map(|m| self.places[*m].slot.seen.len())
            .sum();
        let step = count.div_ceil(MOST_TRIED).max(1);
        for member in members {
            let place = &self.places[*member];
            for seen in place.slot.seen.iter().step_by(step) {
                if self.looks.look(seen.value).is_number() {
                    continue;
                }
                let scope = self.scopes.asked(place.document(seen));
                let is_name = |text: &str| {
                    symbols.find(text).is_some_and(|name| {
                        !self.looks.look(name).is_number()
                            && self
                                .index
                                .within(name, scope)
                                .iter()
                                .any(|posting| !members.contains(&(posting.place as usize)))
                    })
                };
                tally.add(symbols.text(seen.value), &is_name);
            }
        }
        let mut forms = tally.forms();
        forms.retain(|form| *form != Form::whole());
        forms
    }
}

/// Most values of a place that are searched for names.
const MOST_TRIED: usize = 4000;

/// How much less a reading is worth because more was tried to find it, in nats.
fn effort(form: &Form) -> f64 {
    let around = match &form.member {
        Member::Name { before, after } => {
            f64::from(u8::from(*before != Affix::Nothing))
                + f64::from(u8::from(*after != Affix::Nothing))
        }
        Member::Position { .. } => 2.0,
    };
    around * 1.5 + f64::from(u8::from(form.separator.is_some()))
}
