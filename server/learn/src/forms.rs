//! Which contexts of one name hold the same sort of element.
//!
//! The same name under different parents may stand for different things (`call` names a wheel here
//! and a sound there), or for one thing that may stand anywhere. Contexts whose elements are made
//! alike, and whose values are of a kind, are taken together: what is seldom in one place is then
//! known from the others.

use crate::content::Makeup;
use crate::contexts::ContextId;
use crate::names::{Names, SlotRef};
use crate::survey::Survey;
use crate::symbols::Symbol;
use dialect::{ColourNotation, ItemType, ValueType};
use foldhash::{HashMap, HashMapExt as _};
use std::collections::BTreeSet;

/// A context of one of the survey's groups.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Place {
    /// Index into [`Survey::groups`].
    pub group: usize,
    pub context: ContextId,
}

/// Contexts whose elements are one sort.
#[derive(Clone, Debug)]
pub(crate) struct Form {
    pub(crate) name: Symbol,
    pub(crate) places: Vec<Place>,
    pub(crate) makeup: Makeup,
    /// Attributes (`None`: the text) with the type they were first seen to have, and what they name or
    /// refer to.
    values: HashMap<Option<Symbol>, Sort>,
}

/// What sort of value a slot has.
#[derive(Clone, Debug)]
pub(crate) struct Sort {
    pub(crate) value_type: ValueType,
    /// How many places it was told from.
    pub(crate) places: u32,
    /// Kinds of names that it gives or asks for.
    pub(crate) kinds: BTreeSet<usize>,
}

/// So much of two elements must be alike.
const ALIKE: f64 = 0.5;

/// Fewer elements than these do not show what they may hold.
const TELLING: u32 = 5;

/// `makeups` by group and context, `sorts` by group and slot.
pub(crate) fn of(survey: &Survey<'_>, makeups: &[Vec<Makeup>], sorts: &[Vec<Sort>]) -> Vec<Form> {
    let mut order: Vec<Symbol> = Vec::new();
    let mut by_name: HashMap<Symbol, Vec<Form>> = HashMap::new();
    for (at, group) in survey.groups.iter().enumerate() {
        for context in group.contexts.all() {
            let makeup = &makeups[at][context.index()];
            if makeup.elements == 0 {
                continue;
            }
            let values = group
                .slot_range(context)
                .map(|slot| (group.slots[slot].attribute, sorts[at][slot].clone()));
            let form = Form {
                name: group.contexts.name(context),
                places: vec![Place { group: at, context }],
                makeup: makeup.clone(),
                values: values.collect(),
            };
            let forms = by_name.entry(form.name).or_insert_with(|| {
                order.push(form.name);
                Vec::new()
            });
            forms.push(form);
        }
    }
    order
        .into_iter()
        .flat_map(|name| joined(by_name.remove(&name).unwrap_or_default()))
        .collect()
}

/// Takes together what is alike, beginning with what there is most of.
fn joined(mut forms: Vec<Form>) -> Vec<Form> {
    forms.sort_by_key(|form| std::cmp::Reverse(form.makeup.elements));
    let mut joined: Vec<Form> = Vec::new();
    for form in forms {
        let best = joined
            .iter_mut()
            .map(|known| (known.likeness(&form), known))
            .filter(|(likeness, _)| *likeness >= ALIKE)
            .max_by(|(one, _), (other, _)| one.total_cmp(other));
        match best {
            Some((_, known)) => known.take_in(form),
            None => joined.push(form),
        }
    }
    joined
}

impl Form {
    pub(crate) fn take_in(&mut self, other: Form) {
        self.places.extend(other.places);
        self.makeup.take_in(&other.makeup);
        for (name, sort) in other.values {
            match self.values.get_mut(&name) {
                Some(known) => {
                    known.kinds.extend(sort.kinds);
                    if known.places < sort.places {
                        known.value_type = sort.value_type;
                    }
                    known.places += sort.places;
                }
                None => {
                    self.values.insert(name, sort);
                }
            }
        }
    }

    /// How alike elements are made, from 0 to 1: the share of what they hold that they share.
    fn likeness(&self, other: &Form) -> f64 {
        let apart = self.values.iter().any(|(name, sort)| {
            other
                .values
                .get(name)
                .is_some_and(|there| !sort.is_like(there))
        });
        if apart {
            return 0.0;
        }
        let (mut shared, mut all) = (0.0, 0.0);
        let mut compare = |here: u32, there: u32| {
            let here = f64::from(here) / f64::from(self.makeup.elements.max(1));
            let there = f64::from(there) / f64::from(other.makeup.elements.max(1));
            shared += here.min(there);
            all += here.max(there);
        };
        compare(self.makeup.texts, other.makeup.texts);
        let attributes = |form: &Form, name| form.makeup.attributes.get(name).copied().unwrap_or(0);
        let children = |form: &Form, name| {
            form.makeup
                .children
                .get(name)
                .map_or(0, |child| child.parents)
        };
        for (name, count) in self.makeup.attributes.iter() {
            compare(*count, attributes(other, name));
        }
        for (name, child) in self.makeup.children.iter() {
            compare(child.parents, children(other, name));
        }
        let few = self.makeup.elements.min(other.makeup.elements) < TELLING;
        for (name, count) in other.makeup.attributes.iter() {
            if self.makeup.attributes.get(name).is_none() {
                compare(0, *count);
            }
        }
        for (name, child) in other.makeup.children.iter() {
            if self.makeup.children.get(name).is_none() {
                compare(0, child.parents);
            }
        }
        match all == 0.0 {
            // Both are empty.
            true => 1.0,
            // A few elements may by chance lack what others of their sort have.
            false if few && shared > 0.0 => f64::max(shared / all, ALIKE),
            false => shared / all,
        }
    }
}

impl Sort {
    pub(crate) fn new(value_type: ValueType, places: u32, kinds: BTreeSet<usize>) -> Self {
        Self {
            value_type,
            places,
            kinds,
        }
    }

    fn is_like(&self, other: &Self) -> bool {
        if !self.kinds.is_empty() && !other.kinds.is_empty() {
            return !self.kinds.is_disjoint(&other.kinds);
        }
        // A name in a few places is not told from text.
        match self.places.min(other.places) < TELLING {
            true => may_be_like(&self.value_type, &other.value_type),
            false => {
                self.kinds.is_empty() == other.kinds.is_empty()
                    && is_like(&self.value_type, &other.value_type)
            }
        }
    }
}

/// Whether a few values of one type may be of the sort of another's: numbers are told from rows of them, and rows
/// from longer ones, by one value.
fn may_be_like(one: &ValueType, other: &ValueType) -> bool {
    match (members(one), members(other)) {
        (Members::Words, Members::Words) | (Members::Answer, _) | (_, Members::Answer) => true,
        (Members::Words, _) | (_, Members::Words) => false,
        (Members::Numbers(one), Members::Numbers(other)) => {
            one.is_none() || other.is_none() || one == other
        }
    }
}

/// What a value is made of.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
enum Members {
    /// So many numbers; any count.
    Numbers(Option<u32>),
    /// Noughts and ones may be answers, and so may words.
    Answer,
    Words,
}

fn members(value_type: &ValueType) -> Members {
    match &value_type.item {
        ItemType::Boolean { .. } => Members::Answer,
        ItemType::Integer { .. } | ItemType::Number { .. } => match &value_type.list {
            None => Members::Numbers(Some(1)),
            Some(_) => Members::Numbers(None),
        },
        ItemType::Vector { count, .. } => match &value_type.list {
            None => Members::Numbers(Some(*count)),
            Some(_) => Members::Numbers(None),
        },
        ItemType::Colour(ColourNotation::Row { .. }) => Members::Numbers(None),
        _ => Members::Words,
    }
}

fn is_like(one: &ValueType, other: &ValueType) -> bool {
    use ItemType::{Integer, Number, Text, Vector, Word};
    match (&one.item, &other.item) {
        (Integer { .. } | Number { .. }, Integer { .. } | Number { .. }) => true,
        (Vector { .. }, Integer { .. } | Number { .. }) => other.list.is_some(),
        (Integer { .. } | Number { .. }, Vector { .. }) => one.list.is_some(),
        (Vector { count: one, .. }, Vector { count: other, .. }) => one == other,
        (Word(one), Word(other)) => {
            let shared = one.texts().filter(|word| other.get(word).is_some()).count();
            shared * 3 >= one.words.len().min(other.words.len())
        }
        (Word(_), Text) | (Text, Word(_)) => true,
        (one, other) => std::mem::discriminant(one) == std::mem::discriminant(other),
    }
}

/// The kinds that each slot gives or asks for, by group and slot.
pub(crate) fn kinds(survey: &Survey<'_>, names: &Names) -> Vec<Vec<BTreeSet<usize>>> {
    let mut kinds: Vec<Vec<BTreeSet<usize>>> = survey
        .groups
        .iter()
        .map(|group| vec![BTreeSet::new(); group.slots.len()])
        .collect();
    let mut note = |slot: SlotRef, kind: usize| {
        kinds[slot.group][slot.slot].insert(kind);
    };
    for (kind, known) in names.kinds.iter().enumerate() {
        known.defined_by.iter().for_each(|slot| note(*slot, kind));
    }
    for reference in &names.references {
        reference
            .to
            .iter()
            .for_each(|kind| note(reference.slot, *kind));
    }
    kinds
}
