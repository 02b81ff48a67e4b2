//! Following a dialect's paths through a document.

use crate::attributes::Attributes;
use crate::document::{Chain, Located, Reader};
use crate::found::Found;
use dialect::{Leaf, Path, Predicate, Step, StepKind, ValueType};
use syntax::Element;

impl<'t> Reader<'t> {
    /// The elements that a path's steps lead to.
    pub fn elements(&self, from: &[Located<'t>], path: &Path) -> Vec<Chain<'t>> {
        let start = if path.is_absolute() {
            Vec::new()
        } else {
            from.to_vec()
        };
        let mut found = vec![start];
        for step in path.steps() {
            found = found
                .iter()
                .flat_map(|chain| self.step(chain, step))
                .collect();
        }
        found
    }

    /// The elements that one step of a path leads to.
    pub fn step(&self, chain: &Chain<'t>, step: &Step) -> Vec<Chain<'t>> {
        let mut found = match &step.kind {
            StepKind::Itself => vec![chain.clone()],
            StepKind::Parent => match chain.split_last() {
                Some((_, parents)) => vec![parents.to_vec()],
                None => Vec::new(),
            },
            StepKind::Child(name) => self.named_children(chain, name.as_deref()),
            StepKind::Descendant(name) => self.descendants(chain, name.as_deref()),
        };
        for predicate in &step.predicates {
            let mut position = 0;
            found.retain(|candidate| {
                position += 1;
                self.holds(candidate, predicate, position)
            });
        }
        found
    }

    /// Whether a path leads from the first `start` elements of a chain (none: from the document) to its end. Asks only
    /// what is in the chain and in its last element.
    pub(crate) fn leads_to(&self, path: &Path, start: usize, chain: &Chain<'t>) -> bool {
        let start = if path.is_absolute() { 0 } else { start };
        if let Some(name) = last_name(path)
            && chain.last().is_none_or(|at| at.name() != name)
        {
            // Each role asks each element, and this is nearly always the answer.
            return false;
        }
        self.steps_lead_to(path.steps(), start, chain)
    }

    fn steps_lead_to(&self, steps: &[Step], start: usize, chain: &[Located<'t>]) -> bool {
        let Some((last, before)) = steps.split_last() else {
            return chain.len() == start;
        };
        let fits = |name: &Option<String>| {
            chain.len() > start
                && chain
                    .last()
                    .is_some_and(|at| name.as_ref().is_none_or(|name| at.name() == name))
        };
        let leads = match &last.kind {
            StepKind::Itself => self.steps_lead_to(before, start, chain),
            StepKind::Child(name) => {
                fits(name) && self.steps_lead_to(before, start, &chain[..chain.len() - 1])
            }
            StepKind::Descendant(name) => {
                fits(name)
                    && (start..chain.len())
                        .any(|len| self.steps_lead_to(before, start, &chain[..len]))
            }
            StepKind::Parent => false,
        };
        leads
            && last
                .predicates
                .iter()
                .all(|predicate| self.holds(&chain.to_vec(), predicate, 1))
    }

    fn named_children(&self, chain: &Chain<'t>, name: Option<&str>) -> Vec<Chain<'t>> {
        self.children(chain)
            .into_iter()
            .filter(|child| name.is_none_or(|name| child.name() == name))
            .map(|child| extended(chain, child))
            .collect()
    }

    /// In document order, without recursion: documents may be deep.
    fn descendants(&self, chain: &Chain<'t>, name: Option<&str>) -> Vec<Chain<'t>> {
        let mut found = Vec::new();
        let mut open = self.named_children(chain, None);
        open.reverse();
        while let Some(next) = open.pop() {
            let mut below = self.named_children(&next, None);
            below.reverse();
            open.append(&mut below);
            let fits = next
                .last()
                .is_some_and(|last| name.is_none_or(|name| last.name() == name));
            if fits {
                found.push(next);
            }
        }
        found
    }

    fn holds(&self, chain: &Chain<'t>, predicate: &Predicate, position: u32) -> bool {
        match predicate {
            Predicate::Position(wanted) => position == *wanted,
            Predicate::Holds { path, value: None } => match path.leaf() {
                Leaf::Element => !self.elements(chain, path).is_empty(),
                _ => !self.values(chain, path).is_empty(),
            },
            Predicate::Holds {
                path,
                value: Some(value),
            } => self
                .values(chain, &path.clone().to_text())
                .iter()
                .any(|found| found.text == value.as_str()),
        }
    }

    /// The values that a path leads to. An attribute that is absent, or an
    /// element without text, is none.
    pub fn values(&self, from: &[Located<'t>], path: &Path) -> Vec<Found<'t>> {
        if stays(path) {
            return self.value(from, path).into_iter().collect();
        }
        if let (Some(name), Some(parent)) = (child_name(path), from.last()) {
            // Common too: `name/@name`, of many children.
            let children = parent.element.children();
            let children = children.filter(|child| child.local_name() == name);
            let mut attributes = Attributes::default();
            return children
                .filter_map(|child| self.child_leaf(from, child, path.leaf(), &mut attributes))
                .collect();
        }
        self.elements(from, path)
            .iter()
            .filter_map(|chain| self.leaf(chain.last()?, path.leaf()))
            .collect()
    }

    /// The first value that a path leads to.
    pub fn value(&self, from: &[Located<'t>], path: &Path) -> Option<Found<'t>> {
        if stays(path) {
            // The common case, `@name`, needs no chains.
            return self.leaf(from.last()?, path.leaf());
        }
        self.elements(from, path)
            .iter()
            .find_map(|chain| self.leaf(chain.last()?, path.leaf()))
    }

    /// What the game takes where a path leads to no value, if the grammar says so, and what that is a value of. Known of
    /// paths along parents and children by name.
    pub(crate) fn default_value(
        &self,
        from: &[Located<'t>],
        path: &Path,
    ) -> Option<(&'t ValueType, &'t str)> {
        let mut contexts = vec![self.dialect.document_context(self.kind)];
        if !path.is_absolute() {
            contexts.extend(from.iter().map(|located| located.context));
        }
        for step in path.steps() {
            match &step.kind {
                StepKind::Itself => {}
                StepKind::Parent => {
                    contexts.pop();
                }
                StepKind::Child(Some(name)) => {
                    let above = *contexts.last()?;
                    contexts.push(self.dialect.context_where(above, name, &step.predicates));
                }
                StepKind::Child(None) | StepKind::Descendant(_) => return None,
            }
        }
        let element = self.dialect.element(*contexts.last()?)?;
        let declared = match path.leaf() {
            Leaf::Attribute(name) => element.attribute(name),
            Leaf::Text | Leaf::Element => element.text.as_ref(),
        }?;
        Some((&declared.value, declared.default.as_deref()?))
    }

    /// The same of a child of the last of `from`. `attributes` is where its own go: there may be thousands of children.
    fn child_leaf(
        &self,
        from: &[Located<'t>],
        child: Element<'t>,
        leaf: &Leaf,
        attributes: &mut Attributes<'t>,
    ) -> Option<Found<'t>> {
        attributes.cut(child);
        let at = self.locate_cut(from, child, attributes)?;
        match leaf {
            Leaf::Attribute(name) => {
                attributes.declare(self.dialect.element(at.context));
                attributes.named(name)?.found(at)
            }
            Leaf::Text | Leaf::Element => self.text_value(&at),
        }
    }

    fn leaf(&self, at: &Located<'t>, leaf: &Leaf) -> Option<Found<'t>> {
        match leaf {
            Leaf::Attribute(name) => self.attribute_value(at, name),
            Leaf::Text | Leaf::Element => self.text_value(at),
        }
    }
}

/// The name that an element must have to be where the path leads.
pub(crate) fn last_name(path: &Path) -> Option<&str> {
    match &path.steps().last()?.kind {
        StepKind::Child(name) | StepKind::Descendant(name) => name.as_deref(),
        StepKind::Parent | StepKind::Itself => None,
    }
}

/// The name of the children of the element that a path starts at, if it leads to leaves of these.
fn child_name(path: &Path) -> Option<&str> {
    match path.steps() {
        [
            Step {
                kind: StepKind::Child(Some(name)),
                predicates,
            },
        ] if predicates.is_empty() && !path.is_absolute() => Some(name),
        _ => None,
    }
}

/// Whether a path only leads to a leaf of the element it starts at.
pub(crate) fn stays(path: &Path) -> bool {
    !path.is_absolute()
        && path
            .steps()
            .iter()
            .all(|step| step.kind == StepKind::Itself && step.predicates.is_empty())
}

fn extended<'t>(chain: &[Located<'t>], child: Located<'t>) -> Chain<'t> {
    let mut extended = Vec::with_capacity(chain.len() + 1);
    extended.extend_from_slice(chain);
    extended.push(child);
    extended
}
