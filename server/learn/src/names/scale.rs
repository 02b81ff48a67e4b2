//! What speaks for a reading and against it.

use super::Form;
use super::reading::{Miss, Reading, STRAY};
use super::readings::{Desk, Found};
use crate::symbols::Symbol;
use foldhash::{HashMap, HashMapExt as _, HashSet, HashSetExt as _};

/// Most strays of one document that count: a document with a foreign part has many.
const STRAYS_PER_DOCUMENT: u32 = 2;

/// The most that vocabulary alone may add to a score.
const VOCABULARY: f64 = 8.0;

/// Takes in one name after the other.
pub(super) struct Scale<'d, 'a, 's, 'c> {
    desk: &'d Desk<'a, 's, 'c>,
    to: &'d [u32],
    pub(super) reading: Reading,
    distinct: HashSet<Symbol>,
    /// What the looks of the names add.
    vocabulary: f64,
    /// Documents with hits.
    files: HashSet<u32>,
    /// By document, how many names lead nowhere.
    strays: HashMap<u32, u32>,
    frequencies: HashMap<Symbol, u32>,
}

impl<'d, 'a, 's, 'c> Scale<'d, 'a, 's, 'c> {
    pub(super) fn new(desk: &'d Desk<'a, 's, 'c>, form: &Form, to: &'d [u32]) -> Self {
        Self {
            desk,
            to,
            reading: Reading {
                form: form.clone(),
                to: Vec::new(),
                score: 0.0,
                hits: 0,
                misses: Vec::new(),
                counted: 0,
                distinct: 0,
                files: 0,
                inline: 0,
                mixed: false,
                numeric: false,
                called: false,
            },
            distinct: HashSet::new(),
            vocabulary: 0.0,
            files: HashSet::new(),
            strays: HashMap::new(),
            frequencies: HashMap::new(),
        }
    }

    /// The probability that a name leads there by chance.
    fn chance(&mut self, name: Symbol, is_hit: bool) -> f64 {
        let (desk, to) = (self.desk, self.to);
        let frequency = self.frequencies.entry(name);
        let frequency = frequency.or_insert_with(|| desk.index.frequency(name, to));
        desk.chance(name, is_hit, to, *frequency)
    }

    /// A name that leads somewhere.
    pub(super) fn hit(&mut self, one: &Found, name: Symbol) {
        self.reading.hits += 1;
        self.files.insert(one.document);
        let is_new = self.distinct.insert(name);
        // Who calls a thing after another need not refer to it.
        if !one.others {
            return;
        }
        self.reading.score += libm::log((1.0 - STRAY) / self.chance(name, true)).max(0.0);
        if is_new {
            self.vocabulary += self.desk.looks.look(name).weight();
        }
    }

    /// A name, or a value that is none, that leads nowhere. `is_excused`: that does not speak against the reading.
    pub(super) fn stray(&mut self, one: &Found, is_excused: bool) {
        let strays = self.strays.entry(one.document).or_default();
        *strays += 1;
        let is_one_of_few = *strays <= STRAYS_PER_DOCUMENT;
        if is_excused {
            return;
        }
        if is_one_of_few {
            let chance = one.name.map_or(0.0, |name| self.chance(name, false));
            self.reading.score += libm::log(STRAY / (1.0 - chance)).min(-1.0);
        }
        self.reading.misses.push(Miss {
            document: one.document,
            line: one.line,
            value: one.value,
        });
    }

    /// What comes of it. Of the strays of a document without hits only a few count.
    pub(super) fn read(self) -> Reading {
        let mut reading = self.reading;
        let mut foreign: HashMap<u32, usize> = HashMap::new();
        for miss in &reading.misses {
            if self.files.contains(&miss.document) {
                reading.counted += 1;
            } else {
                *foreign.entry(miss.document).or_default() += 1;
            }
        }
        let few = STRAYS_PER_DOCUMENT as usize;
        reading.counted += foreign.values().map(|count| few.min(*count)).sum::<usize>();
        reading.distinct = self.distinct.len();
        reading.files = self.files.len() as u32;
        if reading.distinct >= 3 && reading.fit() >= 0.97 {
            reading.score += self.vocabulary.min(VOCABULARY);
        }
        reading
    }
}
