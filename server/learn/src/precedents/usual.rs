//! What is usually written in a place, counted in machines.

use super::{Place, Precedents, Spot};
use crate::corpus::Corpus;
use crate::symbols::Symbol;
use foldhash::{HashMap, HashMapExt as _};
use std::borrow::Cow;
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
            machines: all.totals().values().sum(),
            values: self.ordered(&counts.totals()),
        }
    }

    /// How many machines have such an element.
    pub fn machines(&self) -> u32 {
        self.names().machines
    }

    /// The attributes of such elements, the most usual first.
    pub fn attributes(&self) -> Vec<Habit<'_>> {
        self.ordered(&self.names().attributes)
    }

    /// The children of such elements, the most usual first.
    pub fn children(&self) -> Vec<Habit<'_>> {
        self.ordered(&self.names().children)
    }

    fn names(&self) -> Cow<'_, Names> {
        let context = self.context.index();
        let places = &self.kind.places[context];
        let all = self.kind.names[context].get_or_init(|| Names::of(self.precedents, places));
        let mut names = Cow::Borrowed(all);
        for document in &self.except {
            let from = places.partition_point(|place| place.document < *document);
            let to = places.partition_point(|place| place.document <= *document);
            if from < to {
                let own = Names::of(self.precedents, &places[from..to]);
                names.to_mut().take_away(&own);
            }
        }
        names
    }

    fn ordered(&self, counts: &HashMap<Symbol, u32>) -> Vec<Habit<'_>> {
        let habit = |(symbol, machines): (&Symbol, &u32)| Habit {
            text: self.text(*symbol),
            machines: *machines,
        };
        let mut habits: Vec<Habit<'_>> = counts
            .iter()
            .map(habit)
            .filter(|habit| habit.machines > 0 && habit.text != Corpus::LEFT_OUT)
            .collect();
        habits.sort_by(|a, b| b.machines.cmp(&a.machines).then(a.text.cmp(b.text)));
        habits
    }
}

/// What the elements of a context have, counted in machines. Worked out once: who types asks for
/// it again and again.
#[derive(Clone, Debug, Default)]
pub(super) struct Names {
    machines: u32,
    attributes: HashMap<Symbol, u32>,
    children: HashMap<Symbol, u32>,
}

impl Names {
    /// `places`: in the order of their documents.
    fn of(precedents: &Precedents, places: &[Place]) -> Self {
        let (mut machines, mut attributes, mut children) =
            (Counts::new(), Counts::new(), Counts::new());
        for place in places {
            let document = precedents.document(place.document);
            let element = &document.elements[place.element as usize];
            machines.add((), place.document);
            for attribute in document.attributes_of(element) {
                attributes.add(attribute.name, place.document);
            }
            for child in document.children_of(place.element) {
                let name = document.elements[child as usize].name;
                children.add(name, place.document);
            }
        }
        Self {
            machines: machines.totals().values().sum(),
            attributes: attributes.totals(),
            children: children.totals(),
        }
    }

    fn take_away(&mut self, own: &Self) {
        self.machines -= own.machines.min(self.machines);
        for (all, own) in [
            (&mut self.attributes, &own.attributes),
            (&mut self.children, &own.children),
        ] {
            for (name, count) in own {
                if let Some(known) = all.get_mut(name) {
                    *known -= (*count).min(*known);
                }
            }
        }
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

    fn totals(self) -> HashMap<T, u32> {
        let counts = self.0.into_iter();
        counts.map(|(what, (count, _))| (what, count)).collect()
    }
}
