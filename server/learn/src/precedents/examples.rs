//! The best few, different, examples of an element, the closest first.

use super::{Place, Spot};
use crate::contexts::ContextId;
use crate::corpus::Source;
use crate::symbols::Symbol;
use foldhash::{HashMap, HashMapExt as _};

/// What an example should be like.
#[derive(Clone, Debug, Default)]
pub struct Like<'l> {
    /// The element's attributes: names and values.
    pub attributes: Vec<(&'l str, String)>,
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

/// What is known of a [`Like`] in the library's own symbols. Names are sorted.
struct Wanted {
    attributes: Vec<Symbol>,
    values: Vec<(Symbol, Symbol)>,
    children: Vec<Symbol>,
    siblings: Vec<Symbol>,
    machine: Vec<ContextId>,
}

/// Examples of one shape.
struct Alike {
    best: Place,
    closeness: f64,
    machines: u32,
    last: u32,
}

/// How much each likeness weighs.
const ATTRIBUTES: f64 = 0.25;
const VALUES: f64 = 0.2;
const CHILDREN: f64 = 0.15;
const SIBLINGS: f64 = 0.15;
const MACHINE: f64 = 0.25;

impl<'p> Spot<'p> {
    /// At most `most` examples, no two of the same shape; the closest first, of equally close
    /// ones those whose shape more machines have.
    pub fn examples(&self, like: &Like<'_>, most: usize) -> Vec<Example<'p>> {
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
            let closeness = closeness + MACHINE * machine.1;
            let alike = shapes.entry(shape).or_insert(Alike {
                best: place,
                closeness,
                machines: 0,
                last: u32::MAX,
            });
            if alike.last != place.document {
                (alike.last, alike.machines) = (place.document, alike.machines + 1);
            }
            if closeness > alike.closeness {
                (alike.best, alike.closeness) = (place, closeness);
            }
        }
        let mut found: Vec<Alike> = shapes.into_values().collect();
        found.sort_by(|a, b| {
            let closer = b.closeness.total_cmp(&a.closeness);
            let usual = b.machines.cmp(&a.machines);
            let first = (a.best.document, a.best.element).cmp(&(b.best.document, b.best.element));
            closer.then(usual).then(first)
        });
        found.truncate(most);
        let example = |alike: Alike| {
            let document = self.precedents.document(alike.best.document);
            Example {
                source: &document.source,
                line: document.elements[alike.best.element as usize].line,
                alike: alike.machines,
            }
        };
        found.into_iter().map(example).collect()
    }

    fn wanted(&self, like: &Like<'_>) -> Wanted {
        let symbols = &self.precedents.corpus.symbols;
        let known = |names: &[&str]| sorted(names.iter().filter_map(|name| symbols.find(name)));
        let names: Vec<&str> = like.attributes.iter().map(|(name, _)| *name).collect();
        let values = like.attributes.iter();
        let values = values.filter_map(|(name, value)| symbols.find(name).zip(symbols.find(value)));
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
            values: values.collect(),
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
        let same = own
            .iter()
            .filter(|it| wanted.values.contains(&(it.name, it.value)));
        let values = match wanted.values.len() {
            0 => 0.0,
            all => same.count() as f64 / all as f64,
        };
        let closeness = ATTRIBUTES * likeness(&attributes, &wanted.attributes)
            + VALUES * values
            + CHILDREN * likeness(&children, &wanted.children)
            + SIBLINGS * likeness(&siblings, &wanted.siblings);
        ((attributes, children), closeness)
    }
}

fn sorted(names: impl Iterator<Item = Symbol>) -> Vec<Symbol> {
    let mut names: Vec<Symbol> = names.collect();
    names.sort_unstable();
    names.dedup();
    names
}

/// What two sorted lists share, out of all that they have (Jaccard, 1901): 0 to 1.
fn likeness<T: Ord>(one: &[T], other: &[T]) -> f64 {
    if one.is_empty() && other.is_empty() {
        return 1.0;
    }
    let shared = one
        .iter()
        .filter(|it| other.binary_search(it).is_ok())
        .count();
    shared as f64 / (one.len() + other.len() - shared) as f64
}
