//! The content model of each type of elements in XML Schema.
//!
//! Where a model cannot say that a child stands at most once, a constraint does: in `unique` with the element itself as
//! the only one that is selected, nothing is compared, but a field must not lead to two nodes (XML Schema 1.0, part 1,
//! 3.11.4). So a field that leads into the child, to a value that it has once, allows the child once only.

use dialect::{Choice, Order};

use super::grammar::{ElementType, Grammar};
use super::orders::{self, Particle, Unit, What};
use crate::note::Notes;

/// What the elements of a type hold.
#[derive(Debug, Default)]
pub(super) struct Model {
    /// None if they hold no elements that are known.
    pub(super) particle: Option<Particle>,
    /// Paths of fields each of which must not lead to two nodes: one or several, as steps from the element on.
    pub(super) single: Vec<Vec<Field>>,
}

/// A path to a value in a child.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Field {
    /// Names of elements.
    pub(super) steps: Vec<String>,
    /// None: the text.
    pub(super) attribute: Option<String>,
}

/// Fields lead no deeper than this into a child.
const DEEPEST: usize = 3;

const COUNTS: &str =
    "how often children may stand is looser, since XML Schema has no such counts in any order";
const ALTERNATIVES: &str =
    "how many of several children that stand for each other there may be is looser";

/// The models of all types of a grammar, in their order.
pub(super) fn models(grammar: &Grammar<'_>, notes: &mut Notes) -> Vec<Model> {
    let types = grammar.types.iter();
    types.map(|one| model(grammar, one, notes)).collect()
}

fn model(grammar: &Grammar<'_>, one: &ElementType<'_>, notes: &mut Notes) -> Model {
    if one.declared.open || one.children.is_empty() {
        return Model::default();
    }
    let is_listed = one.declared.order == Order::Listed;
    let (units, mut left) = units(one, is_listed);
    let particle = match is_listed {
        true => orders::one_after_the_other(&units),
        false => {
            let (particle, is_looser) = orders::any_order(&units, !one.holds_foreign());
            if is_looser {
                left.extend(units.iter().filter_map(Left::of));
            }
            particle
        }
    };
    let particle = match one.holds_foreign() {
        true => orders::with_foreign(particle),
        false => particle,
    };
    let mut single = Vec::new();
    for left in left {
        let fields = fields(grammar, one, &left);
        if fields.is_empty() || fields.len() < left.once.len() {
            notes.add_about(one.name.as_str(), left.told);
        }
        single.extend((!fields.is_empty()).then_some(fields));
    }
    Model {
        particle: Some(particle),
        single,
    }
}

/// What a particle leaves to a constraint.
#[derive(Debug)]
struct Left {
    /// The children, by their places in the list of rules, of which there may be one. Empty: no constraint says it.
    once: Vec<usize>,
    told: &'static str,
}

impl Left {
    /// The greatest number of a unit, where counts are given up.
    fn of(unit: &Unit) -> Option<Self> {
        let once = match (&unit.what, unit.count.1) {
            (_, None) => return None,
            (What::Element(at), Some(1)) => vec![*at],
            (What::Choice(among), Some(1)) => {
                let among = among.iter().map(|particle| match particle.what {
                    What::Element(at) if particle.max == Some(1) => Some(at),
                    _ => None,
                });
                among.collect::<Option<Vec<usize>>>().unwrap_or_default()
            }
            _ => Vec::new(),
        };
        Some(Self { once, told: COUNTS })
    }
}

/// The children, those that stand for each other together.
fn units(one: &ElementType<'_>, is_listed: bool) -> (Vec<Unit>, Vec<Left>) {
    let (mut units, mut left) = (Vec::new(), Vec::new());
    let single = |at: usize| Unit {
        what: What::Element(at),
        count: one
            .children
            .get(at)
            .map_or((0, None), |(rule, _)| (rule.min, rule.max)),
    };
    for (places, choice) in one.units() {
        let Some(choice) = choice else {
            units.extend(places.map(single));
            continue;
        };
        let members: Vec<Unit> = places.clone().map(single).collect();
        let are_once = members.iter().all(|unit| unit.count.1 == Some(1));
        if choice.is_exclusive() && !is_listed && !are_once {
            // Others may stand between them.
            left.push(Left {
                once: Vec::new(),
                told: ALTERNATIVES,
            });
            units.extend(members);
            continue;
        }
        if !choice.is_exclusive() && !is_listed {
            units.extend(members);
            left.extend((choice.min > 0).then(|| Left {
                once: Vec::new(),
                told: ALTERNATIVES,
            }));
            continue;
        }
        if !choice.is_exclusive() {
            let limited = members.iter().filter_map(Left::of);
            left.extend(limited.map(|left| Left {
                told: ALTERNATIVES,
                ..left
            }));
        }
        units.push(together(choice, &members));
    }
    (units, left)
}

/// Children that stand for each other as one.
fn together(choice: &Choice, members: &[Unit]) -> Unit {
    let members = members.iter().map(|unit| Particle {
        what: unit.what.clone(),
        min: 1,
        max: match choice.is_exclusive() {
            true => unit.count.1,
            false => Some(1),
        },
    });
    Unit {
        what: What::Choice(members.collect()),
        count: (choice.min, choice.max),
    }
}

/// Fields of which there are two if there are two of the children, as far as these have values.
fn fields(grammar: &Grammar<'_>, one: &ElementType<'_>, left: &Left) -> Vec<Field> {
    let fields = left.once.iter().filter_map(|at| {
        let (rule, to) = one.children.get(*at)?;
        let mut field = value_in(grammar, *to, DEEPEST)?;
        field.steps.insert(0, rule.name.clone());
        Some(field)
    });
    fields.collect()
}

/// A value that an element of a type has once: rather one that it must have.
fn value_in(grammar: &Grammar<'_>, at: usize, depth: usize) -> Option<Field> {
    let one = grammar.types.get(at)?;
    let declared = &*one.declared;
    let field = |attribute: Option<&str>| Field {
        steps: Vec::new(),
        attribute: attribute.map(str::to_owned),
    };
    if declared.text.is_some() && !one.holds_elements() {
        return Some(field(None));
    }
    let own = || {
        let attributes = declared.attributes.iter();
        attributes.filter(|attribute| !attribute.name.contains(':'))
    };
    if let Some(attribute) = own().find(|attribute| attribute.required) {
        return Some(field(Some(&attribute.name)));
    }
    let depth = depth.checked_sub(1)?;
    let children = one.children.iter();
    let needed = children.filter(|(rule, _)| (rule.min, rule.max) == (1, Some(1)));
    let mut needed = needed.take(if declared.open { 0 } else { usize::MAX });
    let below = needed.find_map(|(rule, to)| {
        let mut field = value_in(grammar, *to, depth)?;
        field.steps.insert(0, rule.name.clone());
        Some(field)
    });
    below.or_else(|| own().next().map(|attribute| field(Some(&attribute.name))))
}
