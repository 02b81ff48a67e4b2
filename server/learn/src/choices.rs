//! Children that stand for each other.
//!
//! Two names that would meet often by chance, and never do, exclude each other. If besides every element has one of them,
//! it must have one. (Where names stand in any order among each other, but together keep their place among the others,
//! they are a choice that may be made again and again: [`crate::orders`] finds those.)

use crate::content::Makeup;
use crate::rules::{Child, Slips};
use crate::symbols::Symbol;

/// Fewer elements than these show no choice.
const ENOUGH: u32 = 10;

/// And elements in fewer files.
const ENOUGH_FILES: u32 = 3;

/// So many elements at least have another than the most frequent one.
const ENOUGH_OTHERS: u32 = 3;

/// So often two names would meet by chance at least, before it is told by their never meeting that they must not.
const EXPECTED: f64 = 5.0;

/// Names of which one element has only one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Alternatives {
    /// The most frequent first.
    pub(crate) names: Vec<Symbol>,
    pub(crate) is_required: bool,
}

/// The groups of children that exclude each other; no child is in two of them.
pub(crate) fn of(makeup: &Makeup, children: &[Child], slips: Slips) -> Vec<Alternatives> {
    if makeup.elements < ENOUGH || !makeup.sets.are_known() || makeup.spread.files() < ENOUGH_FILES
    {
        return Vec::new();
    }
    let mut left: Vec<&Child> = children.iter().filter(|child| child.min == 0).collect();
    left.sort_by_key(|child| std::cmp::Reverse(child.parents));
    let mut found = Vec::new();
    // First what must be there: it is the surest.
    for must in [true, false] {
        let mut at = 0;
        while at < left.len() {
            let group = match must {
                true => required(makeup, &left, at, slips),
                false => exclusive(makeup, &left, at, slips),
            };
            match group {
                Some(group) => {
                    left.retain(|child| !group.contains(&child.name));
                    found.push(Alternatives {
                        names: group,
                        is_required: must,
                    });
                }
                None => at += 1,
            }
        }
    }
    found
}

/// Whether two names are as good as never together.
fn are_apart(makeup: &Makeup, one: &Child, other: &Child, slips: Slips) -> bool {
    let together = makeup.sets.both(one.name, other.name);
    together <= slips.of(one.parents.min(other.parents))
}

/// A group that begins with one of the names, of which nearly every element has one.
fn required(
    makeup: &Makeup,
    children: &[&Child],
    first: usize,
    slips: Slips,
) -> Option<Vec<Symbol>> {
    let mut group = vec![children[first]];
    for child in children.iter().skip(first + 1) {
        if group
            .iter()
            .all(|member| are_apart(makeup, member, child, slips))
        {
            group.push(child);
        }
    }
    let names: Vec<Symbol> = group.iter().map(|child| child.name).collect();
    let most = group.iter().map(|child| child.parents).max().unwrap_or(0);
    let is_choice = names.len() > 1
        && makeup.elements - most.min(makeup.elements) >= ENOUGH_OTHERS
        && slips.ask_for(makeup.sets.any(&names), makeup.elements);
    is_choice.then_some(names)
}

/// A group that begins with one of the names, all of which would have met by chance.
fn exclusive(
    makeup: &Makeup,
    children: &[&Child],
    first: usize,
    slips: Slips,
) -> Option<Vec<Symbol>> {
    let would_meet = |one: &Child, other: &Child| {
        f64::from(one.parents) * f64::from(other.parents) / f64::from(makeup.elements) >= EXPECTED
    };
    let mut group = vec![children[first]];
    for child in children.iter().skip(first + 1) {
        let fits =
            |member: &&&Child| would_meet(member, child) && are_apart(makeup, member, child, slips);
        if child.files > 2 && group.iter().filter(fits).count() == group.len() {
            group.push(child);
        }
    }
    (group.len() > 1 && group[0].files > 2).then(|| group.iter().map(|child| child.name).collect())
}
