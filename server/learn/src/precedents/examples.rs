//! The best few, different, examples of an element, the closest first.

use super::{Place, Spot};
use crate::contexts::ContextId;
use crate::corpus::{Document, Source};
use crate::symbols::Symbol;
use foldhash::{HashMap, HashMapExt as _};
use std::cmp::Ordering;

/// What an example should be like.
#[derive(Clone, Debug, Default)]
pub struct Like<'l> {
    /// The element's attributes: names and values.
    pub attributes: Vec<(&'l str, String)>,
    /// Its own text, without that of its children; empty if there is none.
    pub text: String,
    /// The names of its children that have text, and the text.
    pub texts: Vec<(&'l str, String)>,
    /// The names of its children, and of the elements beside it.
    pub children: Vec<&'l str>,
    pub siblings: Vec<&'l str>,
    /// The paths of names, from the root, of the document's elements.
    pub machine: Vec<Vec<&'l str>>,
}

/// An element of the library.
#[derive(Clone, Debug, PartialEq)]
pub struct Example<'p> {
    pub source: &'p Source,
    /// Line of its start tag, from 0.
    pub line: u32,
    /// How many machines have one of this shape: the same attributes and children.
    pub alike: u32,
}

/// Attributes and children: two examples that have the same show the same.
type Shape = (Vec<Symbol>, Vec<Symbol>);

/// A value of an element, and where it stands: formats have it in attributes, in the text, or in children made for it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Said {
    Attribute(Symbol, Symbol),
    Text(Symbol),
    Child(Symbol, Symbol),
}

/// What is known of a [`Like`] in the library's own symbols. Names are sorted.
struct Wanted {
    attributes: Vec<Symbol>,
    /// Sorted; those that the library has somewhere.
    values: Vec<Said>,
    /// How many values there are.
    value_count: usize,
    children: Vec<Symbol>,
    siblings: Vec<Symbol>,
    machine: Vec<ContextId>,
}

/// Examples of one shape.
#[derive(Default)]
struct Alike {
    /// The closest of each of a few machines, the closest first.
    best: Vec<Close>,
    machines: u32,
    /// The machine that was counted last.
    last: Option<u32>,
}

/// A place, and how close it is.
#[derive(Clone, Copy)]
struct Close {
    place: Place,
    closeness: f64,
}

/// How much each likeness weighs.
const ATTRIBUTES: f64 = 0.25;
const VALUES: f64 = 0.2;
const CHILDREN: f64 = 0.15;
const SIBLINGS: f64 = 0.15;
const MACHINE: f64 = 0.25;

impl<'p> Spot<'p> {
    /// At most `most` examples of different machines: first one of each shape, the closest
    /// first, of equally close ones those whose shape more machines have; then others that say
    /// something else.
    pub fn examples(&self, like: &Like<'_>, most: usize) -> Vec<Example<'p>> {
        let mut found: Vec<Alike> = self.alike(like, most).into_values().collect();
        found.sort_by(|a, b| {
            let closer = Close::closer(&a.best[0], &b.best[0]);
            let usual = b.machines.cmp(&a.machines);
            closer
                .then(usual)
                .then(a.best[0].place.cmp(&b.best[0].place))
        });
        let of_shape = |alike: &Alike, close: &Close| (close.place, alike.machines);
        let mut chosen: Vec<(Place, u32)> = found
            .iter()
            .map(|alike| of_shape(alike, &alike.best[0]))
            .take(most)
            .collect();
        let mut others: Vec<(Close, u32)> = found
            .iter()
            .flat_map(|alike| alike.best[1..].iter().map(|close| (*close, alike.machines)))
            .collect();
        others.sort_by(|(a, _), (b, _)| Close::closer(a, b).then(a.place.cmp(&b.place)));
        for (other, machines) in others {
            let is_new = |(known, _): &(Place, u32)| {
                known.document != other.place.document && !self.says_the_same(*known, other.place)
            };
            if chosen.len() < most && chosen.iter().all(is_new) {
                chosen.push((other.place, machines));
            }
        }
        let example = |(place, alike): (Place, u32)| {
            let document = self.precedents.document(place.document);
            Example {
                source: &document.source,
                line: document.elements[place.element as usize].line,
                alike,
            }
        };
        chosen.into_iter().map(example).collect()
    }

    /// The elements by shape; of each at most `most`.
    fn alike(&self, like: &Like<'_>, most: usize) -> HashMap<Shape, Alike> {
        let wanted = self.wanted(like);
        let mut shapes: HashMap<Shape, Alike> = HashMap::new();
        // Per document: all its elements here are alike as to the machine.
        let mut machine = (u32::MAX, 0.0);
        for place in self.places() {
            if machine.0 != place.document {
                let traits = self.kind.traits.get(&place.document);
                let traits = traits.map_or(&[][..], |traits| traits);
                machine = (place.document, likeness(traits, &wanted.machine));
            }
            let (shape, closeness) = self.look_at(place, &wanted);
            let alike = shapes.entry(shape).or_default();
            if alike.last.replace(place.document) != Some(place.document) {
                alike.machines += 1;
            }
            let closeness = closeness + MACHINE * machine.1;
            alike.take(Close { place, closeness }, most.max(1));
        }
        shapes
    }

    /// Whether two elements of one shape have the same values.
    fn says_the_same(&self, one: Place, other: Place) -> bool {
        let said = |place: Place| said(self.precedents.document(place.document), place.element);
        said(one) == said(other)
    }

    fn wanted(&self, like: &Like<'_>) -> Wanted {
        let symbols = &self.precedents.corpus.symbols;
        let known = |names: &[&str]| sorted(names.iter().filter_map(|name| symbols.find(name)));
        let names: Vec<&str> = like.attributes.iter().map(|(name, _)| *name).collect();
        let find = |text: &str| symbols.find(text);
        let attributes = like.attributes.iter();
        let attributes =
            attributes.map(|(name, value)| Some(Said::Attribute(find(name)?, find(value)?)));
        let text = Some(&like.text).filter(|text| !text.is_empty());
        let text = text.map(|text| Some(Said::Text(find(text)?)));
        let texts = like.texts.iter();
        let texts = texts.map(|(name, text)| Some(Said::Child(find(name)?, find(text)?)));
        let values: Vec<Option<Said>> = attributes.chain(text).chain(texts).collect();
        let value_count = values.len();
        let mut values: Vec<Said> = values.into_iter().flatten().collect();
        values.sort_unstable();
        let context = |path: &Vec<&str>| {
            let mut context = None;
            for name in path {
                context = Some(self.kind.contexts.find(context, symbols.find(name)?)?);
            }
            context
        };
        let mut machine: Vec<ContextId> = like.machine.iter().filter_map(context).collect();
        machine.sort_unstable();
        machine.dedup();
        Wanted {
            attributes: known(&names),
            values,
            value_count,
            children: known(&like.children),
            siblings: known(&like.siblings),
            machine,
        }
    }

    /// An element's shape, and how close it is, the machine aside.
    fn look_at(&self, place: Place, wanted: &Wanted) -> (Shape, f64) {
        let document = self.precedents.document(place.document);
        let element = &document.elements[place.element as usize];
        let names = |places: &mut dyn Iterator<Item = u32>| {
            sorted(places.map(|at| document.elements[at as usize].name))
        };
        let own = document.attributes_of(element);
        let attributes = sorted(own.iter().map(|attribute| attribute.name));
        let children = names(&mut document.children_of(place.element));
        let siblings = match element.parent {
            Some(parent) => names(&mut document.children_of(parent)),
            None => Vec::new(),
        };
        let values = match wanted.value_count {
            0 => 0.0,
            all => shared(&said(document, place.element), &wanted.values) as f64 / all as f64,
        };
        let closeness = ATTRIBUTES * likeness(&attributes, &wanted.attributes)
            + VALUES * values
            + CHILDREN * likeness(&children, &wanted.children)
            + SIBLINGS * likeness(&siblings, &wanted.siblings);
        ((attributes, children), closeness)
    }
}

impl Alike {
    /// Keeps the `most` closest, one of each document. Documents come one after the other.
    fn take(&mut self, new: Close, most: usize) {
        let own = |close: &Close| close.place.document == new.place.document;
        if let Some(at) = self.best.iter().position(own) {
            if self.best[at].closeness >= new.closeness {
                return;
            }
            self.best.remove(at);
        }
        let at = self
            .best
            .partition_point(|close| close.closeness >= new.closeness);
        if at < most {
            self.best.insert(at, new);
            self.best.truncate(most);
        }
    }
}

impl Close {
    fn closer(one: &Self, other: &Self) -> Ordering {
        other.closeness.total_cmp(&one.closeness)
    }
}

fn sorted(names: impl Iterator<Item = Symbol>) -> Vec<Symbol> {
    let mut names: Vec<Symbol> = names.collect();
    names.sort_unstable();
    names.dedup();
    names
}

/// What an element says: sorted values of its own and of its children's texts.
fn said(document: &Document, element: u32) -> Vec<Said> {
    let own = &document.elements[element as usize];
    let attributes = document.attributes_of(own).iter();
    let attributes = attributes.map(|it| Said::Attribute(it.name, it.value));
    let is_there = |text: &Symbol| *text != Symbol::EMPTY;
    let text = Some(own.text).filter(is_there).map(Said::Text);
    let children = document.children_of(element).filter_map(|child| {
        let child = &document.elements[child as usize];
        is_there(&child.text).then_some(Said::Child(child.name, child.text))
    });
    let mut said: Vec<Said> = attributes.chain(text).chain(children).collect();
    said.sort_unstable();
    said
}

/// How many members of a list are in a sorted one.
fn shared<T: Ord>(one: &[T], other: &[T]) -> usize {
    let is_shared = |it: &&T| other.binary_search(it).is_ok();
    one.iter().filter(is_shared).count()
}

/// What two sorted lists share, out of all that they have (Jaccard, 1901): 0 to 1.
fn likeness<T: Ord>(one: &[T], other: &[T]) -> f64 {
    if one.is_empty() && other.is_empty() {
        return 1.0;
    }
    let shared = shared(one, other);
    shared as f64 / (one.len() + other.len() - shared) as f64
}
