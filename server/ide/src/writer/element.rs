//! Elements that do not exist yet.

use super::set::{Down, Unwritable, down};
use dialect::{Context, Dialect, Leaf, Path, Predicate, Step, StepKind};
use std::borrow::Cow;

/// An element to be written.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct NewElement {
    /// Without prefix.
    pub(crate) name: String,
    pub(crate) context: Context,
    pub(crate) attributes: Vec<NewAttribute>,
    pub(crate) content: Vec<NewItem>,
    /// The names of attributes and children in the order in which others write them; empty
    /// where that is not known.
    pub(crate) habit: Vec<String>,
}

/// An attribute to be written.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct NewAttribute {
    pub(crate) name: String,
    /// As the reader shall see it.
    pub(crate) value: String,
    /// Set if the attribute comes from elsewhere in the document and keeps
    /// its text: what stands between the quotes, and the quote.
    pub(crate) written: Option<(String, char)>,
    /// The value is a guess, or a place to fill in.
    pub(crate) is_guess: bool,
}

/// What an element to be written contains.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum NewItem {
    Element(NewElement),
    Text {
        value: String,
        is_guess: bool,
    },
    /// An element from elsewhere in the document, moved as it is, with the
    /// blanks that stood before it on its line (none if it did not begin a
    /// line).
    Source {
        /// The element's local name.
        name: String,
        indent: Option<String>,
        text: String,
    },
}

impl NewAttribute {
    pub(crate) fn new(name: &str, value: impl Into<String>) -> Self {
        Self {
            name: name.to_owned(),
            value: value.into(),
            written: None,
            is_guess: false,
        }
    }
}

impl NewElement {
    pub(crate) fn new(name: &str, context: Context) -> Self {
        Self {
            name: name.to_owned(),
            context,
            attributes: Vec::new(),
            content: Vec::new(),
            habit: Vec::new(),
        }
    }

    /// A new child of a new element, for which conditions are to hold.
    pub(crate) fn child_of(
        parent: &Self,
        name: &str,
        conditions: &[Predicate],
        dialect: &Dialect,
    ) -> Self {
        let context = dialect.context_where(parent.context, name, conditions);
        Self::new(name, context)
    }

    pub(crate) fn attribute(&self, name: &str) -> Option<&NewAttribute> {
        self.attributes.iter().find(|known| known.name == name)
    }

    /// Writes an attribute, or over it.
    pub(crate) fn set_attribute(&mut self, attribute: NewAttribute) {
        match self
            .attributes
            .iter_mut()
            .find(|known| known.name == attribute.name)
        {
            Some(known) => *known = attribute,
            None => self.attributes.push(attribute),
        }
    }

    pub(crate) fn text(&self) -> Option<&str> {
        self.content.iter().find_map(|item| match item {
            NewItem::Text { value, .. } => Some(value.as_str()),
            _ => None,
        })
    }

    pub(crate) fn set_text(&mut self, value: impl Into<String>, is_guess: bool) {
        self.content
            .retain(|item| !matches!(item, NewItem::Text { .. }));
        self.content.push(NewItem::Text {
            value: value.into(),
            is_guess,
        });
    }

    pub(crate) fn children(&self) -> impl Iterator<Item = &NewElement> {
        self.content.iter().filter_map(|item| match item {
            NewItem::Element(child) => Some(child),
            _ => None,
        })
    }

    /// Whether something in it was moved here from elsewhere.
    pub(crate) fn holds_moved(&self) -> bool {
        let mut inside = vec![self];
        while let Some(element) = inside.pop() {
            let mut content = element.content.iter();
            if content.any(|item| matches!(item, NewItem::Source { .. })) {
                return true;
            }
            inside.extend(element.children());
        }
        false
    }

    /// The element that steps down lead to, made as far as it is missing.
    pub(crate) fn descend(
        &mut self,
        dialect: &Dialect,
        steps: &[Step],
    ) -> Result<&mut NewElement, Unwritable> {
        let mut here = self;
        for step in steps {
            let vague = || Unwritable::Vague(here.name.clone());
            let names = match down(dialect, here.context, step).ok_or_else(vague)? {
                Down::Stay => Vec::new(),
                Down::Up => return Err(Unwritable::Outside),
                Down::Through(names) => names,
            };
            let last = names.len().saturating_sub(1);
            for (depth, name) in names.iter().enumerate() {
                let predicates = if depth == last {
                    step.predicates.as_slice()
                } else {
                    &[]
                };
                let at = here.child(dialect, name, predicates, false)?;
                here = match here.content.get_mut(at) {
                    Some(NewItem::Element(child)) => child,
                    _ => return Err(Unwritable::Vague(name.clone())),
                };
            }
        }
        Ok(here)
    }

    /// The value that a downward path leads to.
    pub(crate) fn get(&self, path: &Path) -> Option<Cow<'_, str>> {
        let mut found = vec![self];
        for step in path.steps() {
            let next: Vec<&NewElement> = match &step.kind {
                StepKind::Itself => continue,
                StepKind::Child(name) => found
                    .iter()
                    .flat_map(|element| element.children())
                    .filter(|child| name.as_ref().is_none_or(|name| child.name == *name))
                    .collect(),
                StepKind::Descendant(_) | StepKind::Parent => return None,
            };
            found = next
                .into_iter()
                .enumerate()
                .filter(|(at, child)| {
                    step.predicates
                        .iter()
                        .all(|predicate| child.fits(predicate, *at))
                })
                .map(|(_, child)| child)
                .collect();
        }
        found.into_iter().find_map(|element| match path.leaf() {
            Leaf::Attribute(name) => element
                .attribute(name)
                .map(|attribute| Cow::Borrowed(attribute.value.as_str())),
            Leaf::Text | Leaf::Element => element.text().map(Cow::Borrowed),
        })
    }

    /// Whether a condition holds or may still come to hold.
    pub(crate) fn fits(&self, predicate: &Predicate, at: usize) -> bool {
        match predicate {
            Predicate::Position(wanted) => usize::try_from(*wanted) == Ok(at + 1),
            Predicate::Holds { value: None, .. } => true,
            Predicate::Holds {
                path,
                value: Some(value),
            } => self.get(path).is_none_or(|found| found == value.as_str()),
        }
    }
}
