//! Which elements of a document are nodes: those that nest without end.

use crate::corpus::Document;
use crate::symbols::Symbol;
use foldhash::HashSet;
use std::collections::{BTreeMap, BTreeSet};

/// Where nodes stand in documents of one kind.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Shape {
    /// Names from the root element down to the elements whose children are the roots of the scene.
    pub(super) top: Vec<Symbol>,
    /// The element between a node and its children, if there is one.
    pub(super) holder: Option<Symbol>,
    pub(super) nodes: BTreeSet<Symbol>,
}

/// A document with the children of each element.
pub(super) struct Family<'c> {
    pub(super) document: &'c Document,
    pub(super) children: Vec<Vec<u32>>,
}

impl<'c> Family<'c> {
    pub(super) fn of(document: &'c Document) -> Self {
        let mut children = vec![Vec::new(); document.elements.len()];
        for (at, element) in document.elements.iter().enumerate() {
            if let Some(parent) = element.parent {
                children[parent as usize].push(at as u32);
            }
        }
        Self { document, children }
    }

    pub(super) fn name(&self, at: u32) -> Symbol {
        self.document.elements[at as usize].name
    }

    fn parent(&self, at: u32) -> Option<u32> {
        self.document.elements[at as usize].parent
    }

    fn all(&self) -> impl Iterator<Item = u32> + use<> {
        0..self.document.elements.len() as u32
    }

    fn named(&self, at: u32, name: Symbol) -> impl Iterator<Item = u32> + '_ {
        let children = self.children[at as usize].iter().copied();
        children.filter(move |child| self.name(*child) == name)
    }

    /// Whether an element has nothing but children.
    fn is_bare(&self, at: u32) -> bool {
        let element = &self.document.elements[at as usize];
        element.attributes.is_empty() && element.text == Symbol::EMPTY
    }

    /// The names on the way from the root element, without it.
    fn way(&self, at: u32) -> Vec<Symbol> {
        let mut way: Vec<Symbol> = std::iter::successors(Some(at), |at| self.parent(*at))
            .filter(|at| self.parent(*at).is_some())
            .map(|at| self.name(at))
            .collect();
        way.reverse();
        way
    }

    /// The nodes of a shape, each with its depth, as scenes are read: parents before children.
    pub(super) fn nodes(&self, shape: &Shape) -> Vec<(u32, u32)> {
        let mut holders = vec![0];
        for name in &shape.top {
            holders = holders
                .iter()
                .flat_map(|at| self.named(*at, *name))
                .collect();
        }
        let roots = holders.iter().flat_map(|at| &self.children[*at as usize]);
        let is_node = |at: &u32| shape.nodes.contains(&self.name(*at));
        let mut open: Vec<(u32, u32)> = roots
            .copied()
            .filter(is_node)
            .map(|root| (root, 0))
            .collect();
        open.reverse();
        let mut found = Vec::new();
        while let Some((at, depth)) = open.pop() {
            found.push((at, depth));
            let before = open.len();
            let children = match shape.holder {
                None => self.children[at as usize].clone(),
                Some(name) => {
                    let holders = self.named(at, name);
                    let below = holders.flat_map(|holder| self.children[holder as usize].iter());
                    below.copied().collect()
                }
            };
            let children = children.into_iter().filter(is_node);
            open.extend(children.map(|child| (child, depth + 1)));
            open[before..].reverse();
        }
        found
    }
}

/// The shapes that documents of one kind may have. `leaves`: of some names, those whose elements are made like nodes though
/// nothing nests in them; it is asked with a shape that has only those that nest.
pub(super) fn shapes(
    documents: &[Family<'_>],
    leaves: impl Fn(&Shape, &BTreeSet<Symbol>) -> Vec<Symbol>,
) -> Vec<Shape> {
    let mut shapes = Vec::new();
    for holder in holders(documents) {
        let nodes = match holder {
            None => nesting(documents),
            Some(holder) => below(documents, holder),
        };
        if nodes.is_empty() {
            continue;
        }
        let Some(mut shape) = rooted(documents, holder, nodes) else {
            continue;
        };
        let others = around(documents, &shape);
        let more = match others.is_empty() {
            true => Vec::new(),
            false => leaves(&shape, &others),
        };
        if !more.is_empty() {
            shape.nodes.extend(more);
            match rooted(documents, holder, shape.nodes.clone()) {
                Some(grown) => shape = grown,
                None => continue,
            }
        }
        shapes.push(shape);
    }
    shapes
}

/// What may stand between a node and its children: nothing, or an element that has nothing of its own, once in each.
fn holders(documents: &[Family<'_>]) -> Vec<Option<Symbol>> {
    let mut nested: BTreeSet<Symbol> = BTreeSet::new();
    let mut unfit: BTreeSet<Symbol> = BTreeSet::new();
    for family in documents {
        for at in family.all() {
            let name = family.name(at);
            let above = family.parent(at);
            let farther = above.and_then(|parent| family.parent(parent));
            if farther.is_some_and(|at| family.name(at) == name) {
                nested.insert(name);
            }
            if !family.is_bare(at) {
                unfit.insert(name);
            }
        }
        for children in &family.children {
            let mut seen = HashSet::default();
            let names = children.iter().map(|child| family.name(*child));
            unfit.extend(names.filter(|name| !seen.insert(*name)));
        }
    }
    let held = nested.difference(&unfit).copied().map(Some);
    std::iter::once(None).chain(held).collect()
}

/// The names of elements that stand in each other, or in themselves.
fn nesting(documents: &[Family<'_>]) -> BTreeSet<Symbol> {
    let mut steps: BTreeSet<(Symbol, Symbol)> = BTreeSet::new();
    for family in documents {
        for at in family.all().skip(1) {
            if let Some(parent) = family.parent(at) {
                steps.insert((family.name(parent), family.name(at)));
            }
        }
    }
    let itself = steps.iter().filter(|(one, other)| one == other);
    let mut found: BTreeSet<Symbol> = itself.map(|(one, _)| *one).collect();
    if !found.is_empty() {
        let mutual = steps
            .iter()
            .filter(|(one, other)| steps.contains(&(*other, *one)));
        found.extend(mutual.map(|(one, _)| *one));
    }
    found
}

/// The names of the elements that a holder holds.
fn below(documents: &[Family<'_>], holder: Symbol) -> BTreeSet<Symbol> {
    let mut found = BTreeSet::new();
    for family in documents {
        let held = family.all().filter(|at| {
            family
                .parent(*at)
                .is_some_and(|parent| family.name(parent) == holder)
        });
        found.extend(held.map(|at| family.name(at)));
    }
    found
}

/// The shape with these nodes, and the place where most documents have the outermost of them.
fn rooted(
    documents: &[Family<'_>],
    holder: Option<Symbol>,
    nodes: BTreeSet<Symbol>,
) -> Option<Shape> {
    let mut tops: BTreeMap<Vec<Symbol>, usize> = BTreeMap::new();
    for family in documents {
        let mut is_inner = vec![false; family.children.len()];
        for at in family.all() {
            let Some(parent) = family.parent(at) else {
                continue;
            };
            is_inner[at as usize] = is_inner[parent as usize] || is_node(family, &nodes, parent);
            if is_node(family, &nodes, at) && !is_inner[at as usize] {
                *tops.entry(family.way(parent)).or_default() += 1;
            }
        }
    }
    let (top, _) = tops.into_iter().max_by_key(|(_, count)| *count)?;
    Some(Shape { top, holder, nodes })
}

/// The root element of a document is none of its nodes.
fn is_node(family: &Family<'_>, nodes: &BTreeSet<Symbol>, at: u32) -> bool {
    at > 0 && nodes.contains(&family.name(at))
}

/// Other names of elements that stand where nodes stand, or that hold what nodes hold.
fn around(documents: &[Family<'_>], shape: &Shape) -> BTreeSet<Symbol> {
    let mut found = BTreeSet::new();
    for family in documents {
        // Thousands of nodes may stand in one place.
        let mut places = BTreeSet::new();
        for (at, _) in family.nodes(shape) {
            places.extend(family.parent(at));
            places.extend(match shape.holder {
                None => Some(at),
                Some(name) => family.named(at, name).next(),
            });
        }
        for place in places {
            let children = family.children[place as usize].iter();
            found.extend(children.map(|child| family.name(*child)));
        }
        if let Some(holder) = shape.holder {
            let holding = family.all().filter(|at| family.name(*at) == holder);
            let holding = holding.filter_map(|at| family.parent(at));
            found.extend(holding.filter(|at| *at > 0).map(|at| family.name(at)));
        }
    }
    found.retain(|name| !shape.nodes.contains(name) && Some(*name) != shape.holder);
    found
}
