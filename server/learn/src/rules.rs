//! From what elements were seen to hold to what they may and must hold.
//!
//! Children get a multiplicity each, and an order if they keep one: a chain of single occurrences,
//! or a multiplicity schema where order does not matter (Bex and others 2010; Ciucanu and Staworko
//! 2013).

use crate::content::{Makeup, Occurrence};
use crate::symbols::Symbol;

/// Fewer elements than these do not show that something must be there.
const ENOUGH: u32 = 3;

/// Fewer elements with several sorts of children than these do not show an order.
const ENOUGH_ORDERED: u32 = 10;

/// How many of so many may be slips.
pub(crate) fn slips(of: u32) -> u32 {
    (of / 20).min(2 + of / 200)
}

/// Whether what `with` of `all` elements have must be there.
pub(crate) fn is_required(with: u32, all: u32) -> bool {
    all >= ENOUGH && with > 0 && all - with.min(all) <= slips(all)
}

/// How often a child may stand in its parent.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub struct Child {
    /// Local name.
    pub name: Symbol,
    pub min: u32,
    /// `None` is any.
    pub max: Option<u32>,
    /// How many parents have it.
    pub parents: u32,
}

/// What an element may hold besides attributes and text.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Content {
    pub children: Vec<Child>,
    /// Whether they stand in this order.
    pub ordered: bool,
    /// Whether there may be others: the names seem to be without end.
    pub open: bool,
}

pub(crate) fn content(makeup: &Makeup) -> Content {
    let files: Vec<u32> = makeup
        .children
        .iter()
        .map(|(_, child)| child.files)
        .collect();
    let open = is_open(&files);
    let known = |child: &Occurrence| !open || child.files > 1;
    let children = makeup.children.iter().filter(|(_, child)| known(child));
    let mut children: Vec<Child> = children
        .map(|(name, child)| Child {
            name,
            min: u32::from(is_required(child.parents, makeup.elements)),
            max: (child.several <= makeup.elements / 200).then_some(1),
            parents: child.parents,
        })
        .collect();
    let order = (!open).then(|| order(makeup, &children)).flatten();
    let ordered = order.is_some();
    if let Some(order) = order {
        children.sort_by_key(|child| order.iter().position(|name| *name == child.name));
    }
    Content {
        children,
        ordered,
        open,
    }
}

/// Whether names seem to be made up as one goes: many, and most of them met in one file only. `files`: in how
/// many files each name was met.
pub(crate) fn is_open(files: &[u32]) -> bool {
    let single = files.iter().filter(|files| **files == 1).count();
    files.len() >= 24 && single * 3 > files.len()
}

/// The order that the children keep, if they keep one.
fn order(makeup: &Makeup, children: &[Child]) -> Option<Vec<Symbol>> {
    if makeup.unordered || makeup.mixed < ENOUGH_ORDERED || children.len() < 2 {
        return None;
    }
    let before = |one: &Child, other: &Child| {
        makeup
            .before
            .get(&(one.name, other.name))
            .copied()
            .unwrap_or(0)
    };
    // Those that must come before each.
    let mut waiting: Vec<(Symbol, Vec<Symbol>)> = Vec::new();
    for child in children {
        let mut first = Vec::new();
        for other in children.iter().filter(|other| other.name != child.name) {
            let (after, ahead) = (before(other, child), before(child, other));
            let slips = slips(after + ahead);
            match (after > slips, ahead > slips) {
                (true, true) => return None,
                (true, false) => first.push(other.name),
                _ => {}
            }
        }
        waiting.push((child.name, first));
    }
    let mut order: Vec<Symbol> = Vec::new();
    while !waiting.is_empty() {
        // Of those that need not wait, the one that was met first.
        let ready = waiting
            .iter()
            .position(|(_, first)| first.iter().all(|name| order.contains(name)))?;
        order.push(waiting.remove(ready).0);
    }
    Some(order)
}
