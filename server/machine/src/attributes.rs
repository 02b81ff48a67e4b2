//! The attributes of one element, cut up once for all who ask for them.

use crate::model::NodeRef;
use dialect::{AttributeDecl, ElementDecl};
use std::borrow::Cow;
use std::cell::OnceCell;
use syntax::{Attribute, Element, TextRange};

/// An attribute in its parts.
#[derive(Debug, Clone)]
pub struct Assigned<'t> {
    pub attribute: Attribute<'t>,
    /// As written, prefix included.
    pub name: &'t str,
    /// The value with references resolved, and its range; None if there is none, not even a quote.
    pub value: Option<(Cow<'t, str>, TextRange)>,
    /// Which of the declared attributes of the element it is, by position.
    pub slot: Option<usize>,
    pub declared: Option<&'t AttributeDecl>,
    /// The node that the value asks for, once somebody has read it as such.
    pub(crate) node: OnceCell<NodeRef>,
}

/// The attributes of an element, in the order of the text. Filled again for each element, so that not each allocates.
#[derive(Debug, Default)]
pub struct Attributes<'t> {
    assigned: Vec<Assigned<'t>>,
    /// By declared attribute: the position of the first that is written of it.
    slots: Vec<Option<usize>>,
}

impl<'t> Attributes<'t> {
    /// Those of an element.
    pub fn of(element: Element<'t>, declared: Option<&'t ElementDecl>) -> Self {
        let mut attributes = Self::default();
        attributes.fill(element, declared);
        attributes
    }

    /// Forgets what was there, and takes those of this element.
    pub fn fill(&mut self, element: Element<'t>, declared: Option<&'t ElementDecl>) {
        let declared = declared.map_or(&[][..], |declared| &declared.attributes);
        self.assigned.clear();
        self.slots.clear();
        self.slots.resize(declared.len(), None);
        let mut next = 0;
        for attribute in element.attributes() {
            let name = attribute.name();
            let slot = slot(declared, name, next);
            if let Some(slot) = slot {
                next = slot + 1;
                self.slots[slot].get_or_insert(self.assigned.len());
            }
            self.assigned.push(Assigned {
                attribute,
                name,
                value: attribute.value_and_range(),
                slot,
                declared: slot.map(|slot| &declared[slot]),
                node: OnceCell::new(),
            });
        }
    }

    pub fn iter(&self) -> std::slice::Iter<'_, Assigned<'t>> {
        self.assigned.iter()
    }

    /// Whether the declared attribute at this position is written.
    pub fn has(&self, slot: usize) -> bool {
        self.in_slot(slot).is_some()
    }

    /// The first that is the declared attribute at this position.
    pub(crate) fn in_slot(&self, slot: usize) -> Option<&Assigned<'t>> {
        self.assigned.get((*self.slots.get(slot)?)?)
    }

    /// The first with this name.
    pub(crate) fn named(&self, name: &str) -> Option<&Assigned<'t>> {
        self.assigned.iter().find(|one| one.name == name)
    }
}

impl<'a, 't> IntoIterator for &'a Attributes<'t> {
    type Item = &'a Assigned<'t>;
    type IntoIter = std::slice::Iter<'a, Assigned<'t>>;

    fn into_iter(self) -> Self::IntoIter {
        self.iter()
    }
}

/// The position of the declared attribute with this name. `next`: where it is looked for first, since most people keep
/// the order of the declarations.
fn slot(declared: &[AttributeDecl], name: &str, next: usize) -> Option<usize> {
    let is_it = |one: &AttributeDecl| one.name == name;
    let (before, from) = declared.split_at_checked(next)?;
    let behind = from.iter().position(is_it).map(|found| next + found);
    behind.or_else(|| before.iter().position(is_it))
}
