//! The attributes of one element, cut up once for all who ask for them.

use crate::document::Located;
use crate::found::{Found, trimmed, trimmed_value};
use crate::model::NodeRef;
use dialect::{AttributeDecl, ElementDecl, Property};
use std::borrow::Cow;
use std::cell::{Cell, RefCell};
use syntax::{Attribute, Element, TextRange};

/// An attribute in its parts.
#[derive(Debug, Clone)]
pub struct Assigned<'t> {
    pub attribute: Attribute<'t>,
    /// The value with references resolved, where that is not what is written.
    resolved: Option<Box<str>>,
    pub declared: Option<&'t AttributeDecl>,
    /// What was seen of the value when it was read.
    seen: Cell<Seen>,
}

/// What is known of a value from reading it, so that it need not be read again to be checked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Seen {
    Nothing,
    /// It is as declared.
    Fits,
    /// It is as declared where this property is moved.
    FitsMoving(Property),
}

impl<'t> Assigned<'t> {
    fn new(attribute: Attribute<'t>) -> Self {
        Self {
            attribute,
            resolved: match attribute.value() {
                Cow::Borrowed(_) => None,
                Cow::Owned(resolved) => Some(resolved.into()),
            },
            declared: None,
            seen: Cell::new(Seen::Nothing),
        }
    }

    /// As written, prefix included.
    pub fn name(&self) -> &'t str {
        self.attribute.name()
    }

    /// The value with references resolved, and its range; None if there is none, not even a quote.
    pub fn value_and_range(&self) -> Option<(&str, TextRange)> {
        let value = self.resolved.as_deref();
        Some((
            value.unwrap_or(self.attribute.raw_value()),
            self.attribute.value_range()?,
        ))
    }

    /// Notes that the value is as declared.
    pub(crate) fn note_fit(&self) {
        self.seen.set(Seen::Fits);
    }

    /// Notes that the value is as declared where this property is moved.
    pub(crate) fn note_fit_moving(&self, property: Property) {
        if self.seen.get() == Seen::Nothing {
            self.seen.set(Seen::FitsMoving(property));
        }
    }

    /// Whether the value was seen to be as declared, where this is moved.
    pub(crate) fn is_known_to_fit(&self, moved: Option<Property>) -> bool {
        match self.seen.get() {
            Seen::Nothing => false,
            Seen::Fits => true,
            Seen::FitsMoving(property) => Some(property) == moved,
        }
    }

    /// The value without the white space around it, and its range, if there is one.
    pub(crate) fn text_and_range(&self) -> Option<(&str, TextRange)> {
        let (text, range) = self.value_and_range()?;
        Some(trimmed(text, range))
    }

    pub(crate) fn text(&self) -> Option<&str> {
        Some(self.text_and_range()?.0)
    }

    /// The value, if there is one. `at`: the element that carries it.
    pub(crate) fn found(&self, at: Located<'t>) -> Option<Found<'t>> {
        let text = match &self.resolved {
            Some(resolved) => Cow::Owned(resolved.to_string()),
            None => Cow::Borrowed(self.attribute.raw_value()),
        };
        let (text, range) = trimmed_value(text, self.attribute.value_range()?);
        Some(Found {
            text,
            range,
            at,
            declared: self.declared,
        })
    }
}

/// The attributes of an element, in the order of the text. Filled again for each element, so that not each allocates.
#[derive(Debug, Default)]
pub struct Attributes<'t> {
    assigned: Vec<Assigned<'t>>,
    /// By declared attribute: the position of the first that is written of it.
    slots: Vec<Option<usize>>,
    /// No declared attribute is written before one that is declared before it, or twice.
    is_in_order: bool,
    /// The nodes that values ask for, as far as they were read and nobody has taken them.
    pub(crate) nodes: RefCell<Vec<NodeRef>>,
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
        self.cut(element);
        self.declare(declared);
    }

    /// The same where their declarations are not known yet: for that, it may take a look at them.
    pub(crate) fn cut(&mut self, element: Element<'t>) {
        self.assigned.clear();
        self.slots.clear();
        self.nodes.get_mut().clear();
        // Not asked for one after the other, but handed in: so each is written once.
        let attributes = element.attributes().map(Assigned::new);
        attributes.for_each(|assigned| self.assigned.push(assigned));
    }

    /// Finds the declaration of each. Once after they were cut.
    pub(crate) fn declare(&mut self, declared: Option<&'t ElementDecl>) {
        let declared = declared.map_or(&[][..], |declared| &declared.attributes);
        self.slots.resize(declared.len(), None);
        self.is_in_order = true;
        let mut next = 0;
        for (at, assigned) in self.assigned.iter_mut().enumerate() {
            let Some(slot) = slot(declared, assigned.name(), next) else {
                continue;
            };
            self.is_in_order &= slot >= next;
            next = slot + 1;
            self.slots[slot].get_or_insert(at);
            assigned.declared = Some(&declared[slot]);
        }
    }

    /// Calls for the first one of each declared attribute that is written, in the order of the declarations.
    pub(crate) fn each_declared<'a>(
        &'a self,
        mut each: impl FnMut(&'a Assigned<'t>, &'t AttributeDecl),
    ) {
        let mut call = |assigned: &'a Assigned<'t>| {
            if let Some(declared) = assigned.declared {
                each(assigned, declared);
            }
        };
        match self.is_in_order {
            // Most people keep to it, and mostly more is declared than written.
            true => self.assigned.iter().for_each(call),
            false => {
                let written = self.slots.iter().flatten();
                written.for_each(|at| call(&self.assigned[*at]));
            }
        }
    }

    /// In the order in which they are written, unknown ones included.
    pub fn iter(&self) -> std::slice::Iter<'_, Assigned<'t>> {
        self.assigned.iter()
    }

    /// Whether the declared attribute at this position is written.
    pub fn has(&self, slot: usize) -> bool {
        self.slots.get(slot).is_some_and(Option::is_some)
    }

    /// The first with this name.
    pub(crate) fn named(&self, name: &str) -> Option<&Assigned<'t>> {
        self.assigned.iter().find(|one| one.name() == name)
    }
}

impl<'a, 't> IntoIterator for &'a Attributes<'t> {
    type Item = &'a Assigned<'t>;
    type IntoIter = std::slice::Iter<'a, Assigned<'t>>;

    fn into_iter(self) -> Self::IntoIter {
        self.iter()
    }
}

/// Namespace declarations, and attributes with a prefix: those are other people's notes.
pub fn is_foreign(attribute: Attribute<'_>) -> bool {
    attribute.name() == "xmlns" || attribute.prefix().is_some()
}

/// The position of the declared attribute with this name. `next`: where it is looked for first, since most people keep
/// the order of the declarations.
fn slot(declared: &[AttributeDecl], name: &str, next: usize) -> Option<usize> {
    let is_it = |one: &AttributeDecl| one.name == name;
    let (before, from) = declared.split_at_checked(next)?;
    let behind = from.iter().position(is_it).map(|found| next + found);
    behind.or_else(|| before.iter().position(is_it))
}

#[cfg(test)]
mod tests {
    use super::Attributes;
    use dialect::{Context, Dialect};

    /// Every way to write up to four of five attributes, of which one is not declared.
    #[test]
    fn what_is_declared_comes_in_the_order_of_the_declarations_however_it_is_written() {
        let dialect = Dialect::house();
        let wheel = dialect.child_context(Context::ELSEWHERE, "wheel");
        let declared = dialect.element(wheel).expect("the house knows wheels");
        let names = ["id", "node", "radius", "brake", "odd"];
        for number in 0..6_usize.pow(4) {
            let written = (0..4).filter_map(|place| names.get(number / 6_usize.pow(place) % 6));
            let written = written.map(|name| format!(" {name}='{number}'"));
            let text = format!("<wheel{}/>", written.collect::<String>());
            let tree = syntax::parse(&text);
            let root = tree.root().expect("an element");
            let attributes = Attributes::of(root, Some(declared));
            let mut found = Vec::new();
            attributes.each_declared(|assigned, _| found.push(assigned.attribute));
            let all = declared.attributes.iter();
            let all = all.filter_map(|declared| root.attribute(&declared.name));
            assert_eq!(found, all.collect::<Vec<_>>(), "{text}");
        }
    }
}
