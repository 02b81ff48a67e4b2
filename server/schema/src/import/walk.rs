//! The states of the automaton that walks down a document from its root and knows what each element may be.

use std::collections::HashMap;

use super::Importer;
use super::components::Name;
use super::constraints::{Constraint, Step};

/// What an element of a document may be, where it stands.
#[derive(Clone, Debug)]
pub(super) struct State<'a> {
    pub(super) declaration: usize,
    pub(super) is_root: bool,
    /// The constraints whose path leads through it: index, and how many steps were taken.
    pub(super) marks: Vec<(usize, usize)>,
    pub(super) edges: Vec<Edge<'a>>,
}

/// From an element to a child.
#[derive(Clone, Debug)]
pub(super) struct Edge<'a> {
    pub(super) name: &'a str,
    pub(super) to: usize,
    pub(super) max: Option<u32>,
}

/// States by what tells them apart: declaration and marks.
type Known = HashMap<(usize, Vec<(usize, usize)>), usize>;

/// States at most; with more, elements are told apart without regard to constraints.
const MOST_STATES: usize = 20_000;

impl<'a> Importer<'a> {
    /// All states that documents with these roots come to; None if they are too many.
    pub(super) fn walk(
        &mut self,
        roots: &[usize],
        constraints: &[Constraint<'a>],
    ) -> Option<Vec<State<'a>>> {
        let mut states: Vec<State<'a>> = Vec::new();
        let mut known = Known::new();
        for root in roots {
            let marks = entered(constraints, *root, Vec::new());
            let at = state(&mut states, &mut known, *root, marks);
            states[at].is_root = true;
        }
        let mut next = 0;
        while next < states.len() {
            if states.len() > MOST_STATES && !constraints.is_empty() {
                return None;
            }
            let State {
                declaration, marks, ..
            } = states[next].clone();
            let mut edges = Vec::new();
            for child in self.children(declaration) {
                let moved = step(constraints, &marks, child.name);
                let marks = entered(constraints, child.declaration, moved);
                edges.push(Edge {
                    name: child.name.local,
                    to: state(&mut states, &mut known, child.declaration, marks),
                    max: child.max,
                });
            }
            states[next].edges = edges;
            next += 1;
        }
        Some(states)
    }
}

fn state(
    states: &mut Vec<State<'_>>,
    known: &mut Known,
    declaration: usize,
    marks: Vec<(usize, usize)>,
) -> usize {
    let next = states.len();
    let at = *known.entry((declaration, marks.clone())).or_insert(next);
    if at == next {
        states.push(State {
            declaration,
            is_root: false,
            marks,
            edges: Vec::new(),
        });
    }
    at
}

/// The constraints that begin at this element join in; sorted, so that equal ones compare equal.
fn entered(
    constraints: &[Constraint<'_>],
    declaration: usize,
    mut marks: Vec<(usize, usize)>,
) -> Vec<(usize, usize)> {
    let begun = constraints
        .iter()
        .enumerate()
        .filter(|(_, constraint)| constraint.declaration == declaration);
    marks.extend(begun.map(|(at, _)| (at, 0)));
    // A descent may also take no step at all.
    let mut next = 0;
    while let Some((constraint, taken)) = marks.get(next).copied() {
        next += 1;
        let steps = constraints
            .get(constraint)
            .map(|constraint| constraint.steps.as_slice());
        if steps.and_then(|steps| steps.get(taken)) == Some(&Step::Descend) {
            marks.push((constraint, taken + 1));
        }
    }
    marks.sort_unstable();
    marks.dedup();
    marks
}

fn step(
    constraints: &[Constraint<'_>],
    marks: &[(usize, usize)],
    name: Name<'_>,
) -> Vec<(usize, usize)> {
    let mut moved = Vec::new();
    for (constraint, taken) in marks {
        let steps = constraints
            .get(*constraint)
            .map(|constraint| constraint.steps.as_slice());
        match steps.and_then(|steps| steps.get(*taken)) {
            Some(Step::Descend) => moved.push((*constraint, *taken)),
            Some(Step::Child(asked)) if asked.is_none_or(|asked| asked == name) => {
                moved.push((*constraint, taken + 1));
            }
            _ => {}
        }
    }
    moved
}
