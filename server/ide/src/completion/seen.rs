//! What the document itself shows, for elements that no grammar knows.

use project::View;
use std::collections::HashSet;
use syntax::{Children, Element};

/// Names of the children that elements of a name have somewhere, the first one first.
pub(super) fn children<'v>(
    view: &'v View,
    parent: &str,
    apart: Option<Element<'_>>,
) -> Vec<&'v str> {
    let mut names = Names::default();
    each(view, |element| {
        if element.name() == parent {
            let children = element
                .children()
                .filter(|child| apart.is_none_or(|apart| apart.range() != child.range()));
            children.for_each(|child| names.add(child.name()));
        }
    });
    names.list
}

/// Names of the attributes that elements of the same name have somewhere.
pub(super) fn attributes<'v>(view: &'v View, of: Element<'_>) -> Vec<&'v str> {
    let mut names = Names::default();
    each(view, |element| {
        if element.name() == of.name() && element.range() != of.range() {
            element
                .attributes()
                .for_each(|attribute| names.add(attribute.name()));
        }
    });
    names.list
}

/// Values that the attribute has in elements of the same name.
pub(super) fn values<'v>(view: &'v View, of: Element<'_>, attribute: &str) -> Vec<&'v str> {
    let mut names = Names::default();
    each(view, |element| {
        if element.name() == of.name()
            && element.range() != of.range()
            && let Some(found) = element.attribute(attribute)
        {
            names.add(found.raw_value());
        }
    });
    names.list
}

#[derive(Default)]
struct Names<'v> {
    known: HashSet<&'v str>,
    list: Vec<&'v str>,
}

impl<'v> Names<'v> {
    fn add(&mut self, name: &'v str) {
        if !name.is_empty() && self.known.insert(name) {
            self.list.push(name);
        }
    }
}

/// Every element, in document order, without recursion.
fn each<'v>(view: &'v View, mut visit: impl FnMut(Element<'v>)) {
    let Some(root) = view.tree().root() else {
        return;
    };
    visit(root);
    let mut open: Vec<Children<'v>> = vec![root.children()];
    while let Some(children) = open.last_mut() {
        match children.next() {
            Some(element) => {
                visit(element);
                open.push(element.children());
            }
            None => {
                open.pop();
            }
        }
    }
}
