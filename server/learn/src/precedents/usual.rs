//! What is usually written in a place, counted in machines.

use super::Spot;
use crate::symbols::Symbol;
use foldhash::{HashMap, HashMapExt as _};
use std::hash::Hash;

/// The values of an attribute, or of an element's text.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Usual<'p> {
    /// How many machines write something there.
    pub machines: u32,
    /// By how many machines each value is written, the most usual first.
    pub values: Vec<Habit<'p>>,
}

/// Something that machines write, and how many of them do.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub struct Habit<'p> {
    pub text: &'p str,
    pub machines: u32,
}

impl Spot<'_> {
    /// `attribute`: its name with the prefix; None is the element's text.
    pub fn values(&self, attribute: Option<&str>) -> Usual<'_> {
        let corpus = &self.precedents.corpus;
        let name = match attribute.map(|name| corpus.symbols.find(name)) {
            Some(None) => return Usual::default(),
            Some(Some(name)) => Some(name),
            None => None,
        };
        let (mut all, mut counts) = (Counts::new(), Counts::new());
        for place in self.places() {
            let document = self.precedents.document(place.document);
            let element = &document.elements[place.element as usize];
            let value = match name {
                None => Some(element.text).filter(|text| *text != Symbol::EMPTY),
                Some(name) => {
                    let mut attributes = document.attributes_of(element).iter();
                    attributes.find(|it| it.name == name).map(|it| it.value)
                }
            };
            if let Some(value) = value {
                all.add((), place.document);
                counts.add(value, place.document);
            }
        }
        Usual {
            machines: all.0.get(&()).map_or(0, |(count, _)| *count),
            values: self.habits(counts, Some(crate::Corpus::LEFT_OUT)),
        }
    }

    /// The attributes of such elements, the most usual first.
    pub fn attributes(&self) -> Vec<Habit<'_>> {
        let mut counts = Counts::new();
        for place in self.places() {
            let document = self.precedents.document(place.document);
            let element = &document.elements[place.element as usize];
            for attribute in document.attributes_of(element) {
                counts.add(attribute.name, place.document);
            }
        }
        self.habits(counts, None)
    }

    /// The children of such elements, the most usual first.
    pub fn children(&self) -> Vec<Habit<'_>> {
        let mut counts = Counts::new();
        for place in self.places() {
            let document = self.precedents.document(place.document);
            for child in document.children_of(place.element) {
                counts.add(document.elements[child as usize].name, place.document);
            }
        }
        self.habits(counts, None)
    }

    fn habits(&self, counts: Counts<Symbol>, except: Option<&str>) -> Vec<Habit<'_>> {
        let counts = counts.0.into_iter();
        let habit = |(symbol, (machines, _))| Habit {
            text: self.text(symbol),
            machines,
        };
        let mut habits: Vec<Habit<'_>> = counts
            .map(habit)
            .filter(|habit| Some(habit.text) != except)
            .collect();
        habits.sort_by(|a, b| b.machines.cmp(&a.machines).then(a.text.cmp(b.text)));
        habits
    }
}

/// In how many documents something occurs: the count, and the document that was counted last.
struct Counts<T>(HashMap<T, (u32, u32)>);

impl<T: Hash + Eq> Counts<T> {
    fn new() -> Self {
        Self(HashMap::new())
    }

    /// Documents come one after the other.
    fn add(&mut self, what: T, document: u32) {
        let known = self.0.entry(what).or_insert((0, u32::MAX));
        if known.1 != document {
            *known = (known.0 + 1, document);
        }
    }
}
