//! Under which names and ends of paths the elements are declared.
//!
//! A schema tells elements apart by all their ancestors; a dialect by the shortest end of their path that is enough.

use std::collections::{HashMap, HashSet};

use super::facts::Facts;
use super::walk::State;
use crate::classes::classes;

/// Longest end of a path that is tried.
const LONGEST: usize = 5;
/// Ends of paths that are tried for one name.
const MOST_ENDS: usize = 20_000;

/// Declarations with their keys, those of the same name together. `facts`: by state.
pub(super) fn assign(
    states: &[State<'_>],
    names: &[String],
    facts: Vec<Facts>,
) -> Vec<(String, Facts)> {
    let (kinds, facts) = distinct(facts);
    let own = states.iter().enumerate();
    let own = own.map(|(at, state)| (names[at].as_str(), kinds[at], state.is_root));
    let classes = classes(own, |at, classes| {
        let below = states[at].edges.iter();
        let mut below: Vec<_> = below.map(|edge| (edge.name, classes[edge.to])).collect();
        below.sort_unstable();
        below
    });
    let graph = Graph::new(states, names, &kinds, &classes);
    let mut keys = Keys {
        graph: &graph,
        facts,
        found: Vec::new(),
        ends: 0,
        loosened: 0,
    };
    let mut named: HashMap<&str, Vec<(usize, usize)>> = HashMap::new();
    for (at, node) in graph.nodes.iter().enumerate() {
        named.entry(node.name).or_default().push((node.facts, at));
    }
    for node in &graph.nodes {
        // With the first of them, all of the same name are done.
        let Some(items) = named.remove(node.name) else {
            continue;
        };
        keys.ends = 0;
        let first = keys.found.len();
        if let Some(facts) = keys.settle(node.name.to_owned(), items, 1) {
            keys.found.push((node.name.to_owned(), facts));
        }
        keys.found[first..].sort_by_key(|(key, _)| key.matches('/').count());
    }
    let Keys { facts, found, .. } = keys;
    found
        .into_iter()
        .filter_map(|(key, at)| Some((key, facts.get(at)?.clone())))
        .collect()
}

/// The different facts, and for each of the given ones which it is.
fn distinct(facts: Vec<Facts>) -> (Vec<usize>, Vec<Facts>) {
    let mut known: HashMap<String, usize> = HashMap::new();
    let mut all = Vec::new();
    let mut kinds = Vec::with_capacity(facts.len());
    for one in facts {
        let next = all.len();
        let at = *known.entry(format!("{one:?}")).or_insert(next);
        if at == next {
            all.push(one);
        }
        kinds.push(at);
    }
    (kinds, all)
}

/// The classes of states, with those above each.
struct Graph<'s> {
    nodes: Vec<Node<'s>>,
}

struct Node<'s> {
    name: &'s str,
    facts: usize,
    is_root: bool,
    parents: Vec<usize>,
}

impl<'s> Graph<'s> {
    fn new(states: &[State<'_>], names: &'s [String], kinds: &[usize], classes: &[usize]) -> Self {
        let mut nodes: Vec<Node<'s>> = Vec::new();
        for (at, state) in states.iter().enumerate() {
            if classes[at] == nodes.len() {
                nodes.push(Node {
                    name: &names[at],
                    facts: kinds[at],
                    is_root: state.is_root,
                    parents: Vec::new(),
                });
            }
        }
        let mut known = HashSet::new();
        for (at, state) in states.iter().enumerate() {
            for edge in &state.edges {
                let (parent, child) = (classes[at], classes[edge.to]);
                if known.insert((parent, child)) {
                    nodes[child].parents.push(parent);
                }
            }
        }
        Self { nodes }
    }
}

struct Keys<'g, 's> {
    graph: &'g Graph<'s>,
    facts: Vec<Facts>,
    found: Vec<(String, usize)>,
    ends: usize,
    /// How many declarations were loosened.
    loosened: usize,
}

impl Keys<'_, '_> {
    /// Declares all elements whose path has this end. `items`: their facts, and the classes that the end can begin at.
    /// If one declaration does for all, that is given back instead of being written down.
    fn settle(&mut self, end: String, items: Vec<(usize, usize)>, length: usize) -> Option<usize> {
        let (first, _) = *items.first()?;
        if items.iter().all(|(facts, _)| *facts == first) {
            return Some(first);
        }
        self.ends += 1;
        if length >= LONGEST || self.ends > MOST_ENDS {
            return Some(self.loosen(&items));
        }
        let all = items.clone();
        let mut longer: Vec<(&str, Vec<(usize, usize)>)> = Vec::new();
        let mut places: HashMap<&str, usize> = HashMap::new();
        let mut usual: Vec<(usize, Option<String>)> = Vec::new();
        for (facts, at) in items {
            let node = &self.graph.nodes[at];
            if node.is_root {
                usual.push((facts, Some(format!("/{end}"))));
            }
            for parent in &node.parents {
                let name = self.graph.nodes[*parent].name;
                let place = *places.entry(name).or_insert(longer.len());
                if place == longer.len() {
                    longer.push((name, Vec::new()));
                }
                if !longer[place].1.contains(&(facts, *parent)) {
                    longer[place].1.push((facts, *parent));
                }
            }
        }
        let (before, loosened) = (self.found.len(), self.loosened);
        for (name, items) in longer {
            let end = format!("{name}/{end}");
            if let Some(facts) = self.settle(end.clone(), items, length + 1) {
                usual.push((facts, Some(end)));
            }
        }
        if self.loosened > loosened && length > 1 {
            // Rather one looser declaration than a long list of them.
            self.found.truncate(before);
            return Some(self.loosen(&all));
        }
        // What most places have in common goes without the longer ends.
        let count = |facts: usize| usual.iter().filter(|(other, _)| *other == facts).count();
        let best = usual
            .iter()
            .map(|(facts, _)| *facts)
            .rev()
            .max_by_key(|facts| count(*facts));
        if let Some(best) = best {
            for (facts, end) in usual {
                if facts != best
                    && let Some(end) = end
                {
                    self.found.push((end, facts));
                }
            }
            self.found.push((end, best));
        }
        None
    }

    fn loosen(&mut self, items: &[(usize, usize)]) -> usize {
        let mut all: Vec<usize> = items.iter().map(|(facts, _)| *facts).collect();
        all.sort_unstable();
        all.dedup();
        let mut merged: Option<Facts> = None;
        for at in all {
            let Some(facts) = self.facts.get(at) else {
                continue;
            };
            merged = Some(match merged {
                Some(merged) => merged.loosened(facts),
                None => facts.clone(),
            });
        }
        self.loosened += 1;
        self.facts.extend(merged);
        self.facts.len() - 1
    }
}
