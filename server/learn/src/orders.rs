//! The order that children keep, if they keep one.
//!
//! What stands before what is a relation on names. Where it goes both ways, names have no order among each other, and
//! neither have those between them: they make a block. The blocks have an order (the chain regular expressions of Bex
//! and others, 2010).

use crate::choices::Alternatives;
use crate::content::Makeup;
use crate::rules::{Child, Slips};
use crate::symbols::Symbol;

/// Fewer elements with several sorts of children than these do not show an order.
const ENOUGH: u32 = 10;

/// Names that have one place in the order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Block {
    pub(crate) names: Vec<Symbol>,
    /// Whether only one of them stands in one element.
    pub(crate) is_exclusive: bool,
    /// Whether one of those must.
    pub(crate) is_required: bool,
}

/// The children in blocks, and whether these stand in this order.
pub(crate) fn of(
    makeup: &Makeup,
    children: &[Child],
    alternatives: &[Alternatives],
    slips: Slips,
) -> (Vec<Block>, bool) {
    let units = units(children, alternatives);
    let is_shown = !makeup.unordered && makeup.mixed >= ENOUGH && units.len() > 1;
    match is_shown.then(|| ordered(makeup, &units, slips)).flatten() {
        Some(blocks) => (blocks, true),
        None => (units, false),
    }
}

/// Each name by itself, but those that exclude each other together: where the first of them was met.
pub(crate) fn units(children: &[Child], alternatives: &[Alternatives]) -> Vec<Block> {
    let mut units: Vec<Block> = Vec::new();
    for child in children {
        let group = alternatives
            .iter()
            .find(|group| group.names.contains(&child.name));
        let unit = match group {
            None => Block {
                names: vec![child.name],
                is_exclusive: false,
                is_required: false,
            },
            Some(group) => Block {
                names: group.names.clone(),
                is_exclusive: true,
                is_required: group.is_required,
            },
        };
        if !units.contains(&unit) {
            units.push(unit);
        }
    }
    units
}

/// `None` if there is no order.
fn ordered(makeup: &Makeup, units: &[Block], slips: Slips) -> Option<Vec<Block>> {
    let before: Vec<Vec<u32>> = units
        .iter()
        .map(|one| {
            units
                .iter()
                .map(|other| times_before(makeup, one, other))
                .collect()
        })
        .collect();
    let stands_before = |one: usize, other: usize| {
        one != other && before[one][other] > slips.of(before[one][other] + before[other][one])
    };
    let reached: Vec<Vec<bool>> = (0..units.len())
        .map(|from| reached(from, units.len(), &stands_before))
        .collect();
    let same =
        |one: usize, other: usize| one == other || reached[one][other] && reached[other][one];
    // Each block with its units.
    let mut blocks: Vec<Vec<usize>> = Vec::new();
    for unit in 0..units.len() {
        match blocks.iter_mut().find(|block| same(block[0], unit)) {
            Some(block) => block.push(unit),
            None => blocks.push(vec![unit]),
        }
    }
    if blocks.len() < 2 {
        return None;
    }
    let times = |one: &[usize], other: &[usize]| -> u32 {
        one.iter()
            .flat_map(|one| other.iter().map(|other| before[*one][*other]))
            .sum()
    };
    // That a block has a place of its own is a claim that must show; single names that are seldom together with
    // others may stand anywhere among them.
    let has_block = blocks.iter().any(|block| block.len() > 1);
    let mut left = blocks;
    let mut order: Vec<Vec<usize>> = Vec::new();
    while !left.is_empty() {
        // Of those that need not wait, the one that was met first.
        let is_first = |block: &Vec<usize>| {
            left.iter()
                .all(|other| other == block || !reached[other[0]][block[0]])
        };
        let next = left.iter().position(is_first)?;
        let next = left.remove(next);
        match order.last_mut() {
            Some(last) if has_block && times(last, &next) < ENOUGH => last.extend(next),
            _ => order.push(next),
        }
    }
    if order.len() < 2 {
        return None;
    }
    let joined = |block: Vec<usize>| match block.as_slice() {
        [only] => units[*only].clone(),
        several => Block {
            names: several
                .iter()
                .flat_map(|unit| units[*unit].names.iter().copied())
                .collect(),
            is_exclusive: false,
            is_required: false,
        },
    };
    Some(order.into_iter().map(joined).collect())
}

/// In how many elements one stands before the other.
fn times_before(makeup: &Makeup, one: &Block, other: &Block) -> u32 {
    let names = one
        .names
        .iter()
        .flat_map(|one| other.names.iter().map(|other| (*one, *other)));
    let times = names.filter_map(|pair| makeup.before.get(&pair));
    times.sum()
}

fn reached(from: usize, count: usize, leads: &dyn Fn(usize, usize) -> bool) -> Vec<bool> {
    let mut reached = vec![false; count];
    let mut waiting = vec![from];
    while let Some(at) = waiting.pop() {
        for (next, known) in reached.iter_mut().enumerate() {
            if !*known && leads(at, next) {
                *known = true;
                waiting.push(next);
            }
        }
    }
    reached
}
