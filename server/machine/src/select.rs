//! Following a dialect's paths through a document.

use crate::attributes::{Assigned, Attributes};
use crate::document::{Chain, Child, Located, Reader};
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
    pub fn step(&self, chain: &[Located<'t>], step: &Step) -> Vec<Chain<'t>> {
        let mut found = match &step.kind {
            StepKind::Itself => vec![chain.to_vec()],
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
    /// what is in the chain and in its last element. `own`: the attributes of that one, if they are cut up.
    pub(crate) fn leads_to(
        &self,
        path: &Path,
        start: usize,
        chain: &[Located<'t>],
        own: Option<&Attributes<'t>>,
    ) -> bool {
        let start = if path.is_absolute() { 0 } else { start };
        if let Some(name) = last_name(path)
            && chain.last().is_none_or(|at| at.name() != name)
        {
            // Each role asks each element, and this is nearly always the answer.
            return false;
        }
        self.steps_lead_to(path.steps(), start, chain, own)
    }

    fn steps_lead_to(
        &self,
        steps: &[Step],
        start: usize,
        chain: &[Located<'t>],
        own: Option<&Attributes<'t>>,
    ) -> bool {
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
            StepKind::Itself => self.steps_lead_to(before, start, chain, own),
            StepKind::Child(name) => {
                fits(name) && self.steps_lead_to(before, start, &chain[..chain.len() - 1], None)
            }
            StepKind::Descendant(name) => {
                fits(name)
                    && (start..chain.len())
                        .any(|len| self.steps_lead_to(before, start, &chain[..len], None))
            }
            StepKind::Parent => false,
        };
        let holds = |predicate| match own.and_then(|own| said_by_attribute(own, predicate)) {
            Some(is_said) => is_said,
            None => self.holds(chain, predicate, 1),
        };
        leads && last.predicates.iter().all(holds)
    }

    fn named_children(&self, chain: &[Located<'t>], name: Option<&str>) -> Vec<Chain<'t>> {
        let fits = |own: &str| name.is_none_or(|name| name == own);
        let Some(parent) = chain.last() else {
            let root = self.root().filter(|root| fits(root.name()));
            return root.map(|root| vec![root]).into_iter().collect();
        };
        // A name is told sooner than what the grammar makes of it.
        let children = parent.element.children();
        children
            .filter(|child| fits(child.local_name()))
            .filter_map(|child| Some(extended(chain, self.locate(chain, parent, child)?)))
            .collect()
    }

    /// In document order, without recursion: documents may be deep.
    fn descendants(&self, chain: &[Located<'t>], name: Option<&str>) -> Vec<Chain<'t>> {
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

    fn holds(&self, chain: &[Located<'t>], predicate: &Predicate, position: u32) -> bool {
        match predicate {
            Predicate::Position(wanted) => position == *wanted,
            Predicate::Holds { path, value: None } => match path.leaf() {
                Leaf::Element => !self.elements(chain, path).is_empty(),
                _ => !self.values(chain, path).is_empty(),
            },
            Predicate::Holds {
                path,
                value: Some(value),
            } => {
                let said = self.values(chain, path);
                said.iter().any(|found| found.text == value.as_str())
            }
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
        if goes_down_by_name(path) && !from.is_empty() {
            return self.first_below(from, path.steps(), path.leaf());
        }
        self.elements(from, path)
            .iter()
            .find_map(|chain| self.leaf(chain.last()?, path.leaf()))
    }

    /// The first value below the last of `from` that steps to named children lead to, where texts of elements are what
    /// others write as attributes.
    fn first_below(&self, from: &[Located<'t>], steps: &[Step], leaf: &Leaf) -> Option<Found<'t>> {
        let parent = from.last()?;
        let children = parent.element.children().map(Child::new);
        self.first_among(from, children, steps, leaf)
    }

    /// The same where the children of the last of `from` are known.
    pub(crate) fn first_among(
        &self,
        from: &[Located<'t>],
        mut children: impl Iterator<Item = Child<'t>>,
        steps: &[Step],
        leaf: &Leaf,
    ) -> Option<Found<'t>> {
        let parent = from.last()?;
        let Some((step, rest)) = steps.split_first() else {
            return self.leaf(parent, leaf);
        };
        let StepKind::Child(Some(name)) = &step.kind else {
            return None;
        };
        children.find_map(|child| {
            if child.name != name {
                // Told sooner than what the grammar makes of it.
                return None;
            }
            let located = self.locate_child(from, parent, child)?;
            match rest.is_empty() {
                true => self.leaf(&located, leaf),
                false => self.first_below(&extended(from, located), rest, leaf),
            }
        })
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
        let at = self.locate_cut(from, Child::new(child), attributes)?;
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

/// Whether a path starts at an element and goes down from child to child, each by its name alone.
pub(crate) fn goes_down_by_name(path: &Path) -> bool {
    let is_named =
        |step: &Step| matches!(step.kind, StepKind::Child(Some(_))) && step.predicates.is_empty();
    !path.is_absolute() && path.steps().iter().all(is_named)
}

/// Whether an element, of which the attributes are given, says what a predicate asks for; None if that is not only
/// about the value of an attribute.
fn said_by_attribute(own: &Attributes<'_>, predicate: &Predicate) -> Option<bool> {
    let Predicate::Holds { path, value } = predicate else {
        return None;
    };
    let name = own_attribute(path)?;
    let said = own.named(name).and_then(Assigned::text);
    Some(match value {
        Some(value) => said == Some(value.as_str()),
        None => said.is_some(),
    })
}

/// The attribute of the element that a path starts at, if it only leads there.
pub(crate) fn own_attribute(path: &Path) -> Option<&str> {
    match path.leaf() {
        Leaf::Attribute(name) if stays(path) => Some(name),
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::walk;
    use dialect::Dialect;

    /// Elements of the document's own and of foreign namespaces, with attributes and texts that are there, empty, blank
    /// or absent.
    const TEXT: &str = "<machine xmlns='urn:trunnion:machine:1' xmlns:o='u'>
        <a s='x'><b/><b> </b><b t=' y '>1<c>2</c></b><o:b>3</o:b><b xmlns='u'>4</b><b>5</b></a>
        <a s=' x '><b><c/></b><b><c t=''> 6 </c><c>7</c></b></a>
        <p:a xmlns:p='urn:trunnion:machine:1'><p:b t='z' s='x'/><p:b><p:c>8</p:c></p:b></p:a>
        <a s='&#120;'/><a s/>
    </machine>";

    /// Calls for each element with its chain.
    fn each(mut visit: impl FnMut(&Reader<'_>, &[Located<'_>])) {
        let house = Dialect::house();
        let tree = syntax::parse(TEXT);
        let kind = &house.documents[0];
        let reader = Reader::new(&tree, &house, kind);
        let mut count = 0;
        walk(&reader, |chain| {
            count += 1;
            visit(&reader, chain);
        });
        assert_eq!(count, 19);
    }

    #[test]
    fn the_first_value_below_is_the_first_of_all() {
        let mut found = 0;
        let paths = [
            "b/text()", "b", "b/@t", "b/c", "b/c/@t", "a/b/c", "a/b/@s", "a/@s",
        ];
        let paths = paths.map(|path| Path::parse(path).unwrap());
        each(|reader, chain| {
            for path in &paths {
                assert!(goes_down_by_name(path));
                let first = reader.value(chain, path);
                let all = reader.elements(chain, path);
                let all = all
                    .iter()
                    .filter_map(|chain| reader.leaf(chain.last()?, path.leaf()));
                let of = |found: Found<'_>| (found.text.into_owned(), found.range);
                found += usize::from(first.is_some());
                assert_eq!(first.map(of), all.map(of).next(), "{path}");
            }
        });
        assert_eq!(found, 11);
        for other in ["/machine/a", "a[@s]/b", "a/../b", "//b", "*/b"] {
            assert!(!goes_down_by_name(&Path::parse(other).unwrap()), "{other}");
        }
    }

    #[test]
    fn predicates_say_the_same_of_attributes_that_are_cut_up() {
        let (mut led, mut quickly) = (0, 0);
        let paths = [
            "machine/a[@s='x']",
            "machine/a[./@s='x']",
            "machine/a[@s]",
            "machine/a[b]",
            "machine/a[@s='x']/b",
            "machine/a[@s='x']/b[@t='y']",
            "//b[@t]",
            "//b[@t][@s='x']",
            "//c[@t='']",
            "//a[b/@t='z']",
            "//*[@s='x']",
        ];
        let paths = paths.map(|path| Path::parse(path).unwrap());
        each(|reader, chain| {
            let element = chain.last().expect("an element");
            let own = Attributes::of(element.element, reader.dialect.element(element.context));
            for path in &paths {
                let is_there = reader.leads_to(path, 0, chain, None);
                let quick = reader.leads_to(path, 0, chain, Some(&own));
                assert_eq!(quick, is_there, "{path}");
                led += usize::from(is_there);
                let last = path.steps().last().expect("a step");
                let said = |predicate| said_by_attribute(&own, predicate).is_some();
                quickly += usize::from(last.predicates.iter().all(said));
            }
        });
        assert!(led > 20 && quickly > led, "{led} {quickly}");
    }
}
