//! Following a dialect's paths through a scene document.

use std::borrow::Cow;
use std::rc::Rc;

use dialect::{Leaf, Path, Predicate, Step, StepKind};
use syntax::{Element, TextRange};

/// An element and what it stands in; without an element, the document itself. Cheap to clone.
#[derive(Clone)]
pub(super) struct Place<'t> {
    element: Option<Element<'t>>,
    parent: Option<Rc<Place<'t>>>,
    /// The document's root, and whose namespace counts.
    root: Element<'t>,
}

/// The text of an attribute or an element, without the white space around it.
pub(super) struct Found<'t> {
    pub(super) text: Cow<'t, str>,
    pub(super) range: TextRange,
}

impl<'t> Place<'t> {
    pub(super) fn root(root: Element<'t>) -> Self {
        let document = Self {
            element: None,
            parent: None,
            root,
        };
        document.child(root)
    }

    pub(super) fn element(&self) -> Option<Element<'t>> {
        self.element
    }

    fn child(&self, element: Element<'t>) -> Self {
        Self {
            element: Some(element),
            parent: Some(Rc::new(self.clone())),
            root: self.root,
        }
    }

    fn document(&self) -> Self {
        Self {
            element: None,
            parent: None,
            root: self.root,
        }
    }

    /// The child elements that are written as the root is: with the same prefix, or without one. Others are of
    /// another language.
    pub(super) fn children(&self) -> Vec<Self> {
        let parent = Rc::new(self.clone());
        let place = |element| Self {
            element: Some(element),
            parent: Some(Rc::clone(&parent)),
            root: self.root,
        };
        match self.element {
            None => vec![place(self.root)],
            Some(element) => element
                .children()
                .filter(|child| child.prefix() == self.root.prefix())
                .map(place)
                .collect(),
        }
    }

    /// The elements that a path's steps lead to.
    pub(super) fn follow(&self, path: &Path) -> Vec<Self> {
        let mut found = vec![if path.is_absolute() {
            self.document()
        } else {
            self.clone()
        }];
        for step in path.steps() {
            found = found.iter().flat_map(|place| place.step(step)).collect();
        }
        found
    }

    fn step(&self, step: &Step) -> Vec<Self> {
        let mut found = match &step.kind {
            StepKind::Itself => vec![self.clone()],
            StepKind::Parent => self
                .parent
                .iter()
                .map(|parent| Place::clone(parent))
                .collect(),
            StepKind::Child(name) => named(self.children(), name.as_deref()),
            StepKind::Descendant(name) => named(self.descendants(), name.as_deref()),
        };
        for predicate in &step.predicates {
            let mut position = 0;
            found.retain(|place| {
                position += 1;
                place.holds(predicate, position)
            });
        }
        found
    }

    /// All elements below, in document order.
    fn descendants(&self) -> Vec<Self> {
        let mut found = Vec::new();
        let mut open = self.children();
        open.reverse();
        while let Some(next) = open.pop() {
            open.extend(next.children().into_iter().rev());
            found.push(next);
        }
        found
    }

    fn holds(&self, predicate: &Predicate, position: u32) -> bool {
        match predicate {
            Predicate::Position(wanted) => position == *wanted,
            Predicate::Holds { path, value } => self.follow(path).iter().any(|place| match value {
                None => *path.leaf() == Leaf::Element || place.leaf(path.leaf()).is_some(),
                Some(value) => place
                    .leaf(path.leaf())
                    .is_some_and(|found| found.text == value.as_str()),
            }),
        }
    }

    /// The first value that a path leads to.
    pub(super) fn value(&self, path: &Path) -> Option<Found<'t>> {
        self.follow(path)
            .iter()
            .find_map(|place| place.leaf(path.leaf()))
    }

    fn leaf(&self, leaf: &Leaf) -> Option<Found<'t>> {
        let element = self.element?;
        let (text, range) = match leaf {
            Leaf::Attribute(name) => {
                let attribute = element.attribute(name)?;
                (attribute.value(), attribute.value_range()?)
            }
            Leaf::Text | Leaf::Element => (element.text(), element.text_range()?),
        };
        let text = match text {
            Cow::Borrowed(text) => Cow::Borrowed(text.trim()),
            Cow::Owned(text) => Cow::Owned(text.trim().to_owned()),
        };
        Some(Found { text, range })
    }
}

fn named<'t>(mut places: Vec<Place<'t>>, name: Option<&str>) -> Vec<Place<'t>> {
    if let Some(name) = name {
        places.retain(|place| {
            place
                .element
                .is_some_and(|element| element.local_name() == name)
        });
    }
    places
}
