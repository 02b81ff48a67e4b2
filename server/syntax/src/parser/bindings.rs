//! Namespace checks while parsing: which prefixes are declared here, and are they used as Namespaces in XML wants it.

use std::borrow::Cow;
use std::collections::HashMap;

use rowan::TextRange;

use super::Parser;
use super::duplicates::{FEW, Marks, duplicate};
use crate::chars::{self, shown};
use crate::element::split_name;
use crate::error::{FormCode, FormError};
use crate::namespaces::{XML, XMLNS, declared_prefix};
use crate::reference;
use crate::tag::{Closing, Pair, Tag, range};
use crate::{Attribute, Element};

/// The prefixes in force.
#[derive(Debug, Default)]
pub(crate) struct Bindings<'s> {
    stack: Vec<Binding<'s>>,
    /// The innermost binding of each prefix, as an index into the stack.
    innermost: HashMap<Cow<'s, str>, usize>,
    /// The elements around what is parsed, outermost first, and what is known of their prefixes.
    outer: Vec<Element<'s>>,
    outer_known: HashMap<&'s str, Option<Cow<'s, str>>>,
}

#[derive(Debug)]
struct Binding<'s> {
    prefix: Cow<'s, str>,
    name: Cow<'s, str>,
    shadowed: Option<usize>,
}

impl<'s> Bindings<'s> {
    /// Inside these elements.
    pub(crate) fn inside(outer: Vec<Element<'s>>) -> Self {
        Self {
            outer,
            ..Self::default()
        }
    }

    pub(crate) fn len(&self) -> usize {
        self.stack.len()
    }

    pub(crate) fn declare(&mut self, prefix: impl Into<Cow<'s, str>>, name: Cow<'s, str>) {
        let prefix = prefix.into();
        let shadowed = self.innermost.insert(prefix.clone(), self.stack.len());
        self.stack.push(Binding {
            prefix,
            name,
            shadowed,
        });
    }

    /// Forgets the newest declarations, down to so many.
    #[inline]
    pub(crate) fn leave(&mut self, len: usize) {
        if self.stack.len() > len {
            self.forget(len);
        }
    }

    fn forget(&mut self, len: usize) {
        while self.stack.len() > len {
            if let Some(binding) = self.stack.pop() {
                match binding.shadowed {
                    Some(index) => self.innermost.insert(binding.prefix, index),
                    None => self.innermost.remove(&binding.prefix),
                };
            }
        }
    }

    /// The namespace of a prefix; None if it is not declared.
    fn resolve(&mut self, prefix: &'s str) -> Option<&str> {
        if prefix == "xml" {
            return Some(XML);
        }
        // Few are in force, as a rule: they are sooner looked through than a table is asked.
        let mut newest = self.stack.iter().rev().take(FEW);
        let index = match newest.position(|binding| binding.prefix == prefix) {
            Some(back) => Some(self.stack.len() - 1 - back),
            None if self.stack.len() <= FEW => None,
            None => self.innermost.get(prefix).copied(),
        };
        if let Some(index) = index {
            return Some(&self.stack[index].name);
        }
        let outer = &self.outer;
        self.outer_known
            .entry(prefix)
            .or_insert_with(|| {
                let declares =
                    |attribute: &Attribute<'_>| attribute.declared_prefix() == Some(Some(prefix));
                let declaration =
                    |element: &Element<'s>| element.attributes().filter(declares).last();
                let declared = outer
                    .iter()
                    .rev()
                    .find_map(declaration)
                    .map(|attribute| attribute.value());
                // An element that uses the prefix has an error already.
                let used = || outer.iter().any(|element| uses_prefix(element, prefix));
                declared.or_else(|| used().then(|| unknown(prefix).into()))
            })
            .as_deref()
    }
}

/// What stands in for the namespace of a prefix that is not declared: no namespace has this name.
fn unknown(prefix: &str) -> String {
    format!("\0{prefix}")
}

/// Whether a prefix stands in the name of an element or its attributes, and has been looked at there: not so in an
/// attribute without a value.
fn uses_prefix(element: &Element<'_>, prefix: &str) -> bool {
    let uses = |name: &str| split_name(name).0 == Some(prefix) && chars::is_qualified_name(name);
    let in_attributes = || {
        let mut attributes = element.attributes();
        attributes.any(|attribute| uses(attribute.name()) && attribute.value_range().is_some())
    };
    (uses(element.name()) || in_attributes()) && element.is_start_tag_closed()
}

impl<'s> Parser<'s> {
    /// Notes the declarations of a start tag and checks its prefixes.
    pub(crate) fn check_namespaces(&mut self, tag: &Tag, start: usize) {
        if self.doctype.is_none() && !tag.declares && !tag.has_colon {
            return;
        }
        let text = self.text;
        let element = &text[start + 1..tag.name_end];
        if let Some(doctype) = self.doctype.clone() {
            for (prefix, name) in doctype.namespaces.get(element).into_iter().flatten() {
                self.bindings.declare(prefix.clone(), name.clone().into());
            }
        }
        if tag.declares {
            for pair in &tag.pairs {
                if let Some(prefix) = declared_prefix(pair.name(text)) {
                    self.declaration(prefix, pair);
                }
            }
        }
        if !tag.has_colon || tag.closing == Some(Closing::Unclosed) {
            return;
        }
        self.check_name(element, range(start, tag.name_end), false);
        for pair in &tag.pairs {
            self.check_name(pair.name(text), range(pair.start, pair.name_end), true);
        }
        self.check_expanded_names(tag);
    }

    fn declaration(&mut self, prefix: Option<&'s str>, pair: &Pair) {
        let value = reference::normalized(&self.text[pair.value_start..pair.value_end]);
        let fault = match prefix {
            Some("xml") if value != XML => Some(format!(
                "The prefix `xml` always stands for `{XML}`. Remove this declaration"
            )),
            Some("xmlns") => {
                Some("The prefix `xmlns` may not be declared. Remove this declaration".into())
            }
            Some("xml") => None,
            _ if value == XML => Some(format!(
                "`{XML}` is the namespace of the prefix `xml` alone. Use another name"
            )),
            _ if value == XMLNS => Some(format!("`{XMLNS}` may not be declared. Use another name")),
            Some(_) if value.is_empty() => {
                Some("A prefix cannot stand for nothing. Give the name of a namespace".into())
            }
            _ => None,
        };
        if let Some(fault) = fault {
            self.error(FormError::new(
                FormCode::BadNamespace,
                range(pair.start, pair.end),
                fault,
            ));
        }
        if let Some(prefix) = prefix {
            self.bindings.declare(prefix, value);
        }
    }

    fn check_name(&mut self, name: &'s str, place: TextRange, attribute: bool) {
        if chars::colon(name).is_none() {
            return;
        }
        let what = if attribute { "attribute" } else { "element" };
        if !chars::is_qualified_name(name) {
            // A name that is none at all has its own error.
            if chars::is_name(name) {
                let message = format!(
                    "`{}` is not a name for an {what}: one colon is allowed, with a name on each side of it",
                    shown(name)
                );
                self.error(FormError::new(FormCode::BadNamespace, place, message));
            }
            return;
        }
        let (Some(prefix), _) = split_name(name) else {
            return;
        };
        if prefix == "xmlns" {
            if !attribute {
                let message = "The prefix `xmlns` is not for elements. Choose another one";
                self.error(FormError::new(FormCode::BadNamespace, place, message));
            }
        } else if self.bindings.resolve(prefix).is_none() {
            let message = format!(
                "The prefix `{0}` is not declared. Remove it, or add `xmlns:{0}=\"…\"` to this element or one around it",
                shown(prefix)
            );
            self.error(FormError::new(FormCode::UnboundPrefix, place, message));
            // Once is enough, for this element and all that is in it.
            self.bindings.declare(prefix, unknown(prefix).into());
        }
    }

    /// Two attributes with different prefixes may yet have the same name: the prefixes can stand for one namespace.
    fn check_expanded_names(&mut self, tag: &Tag) {
        let text = self.text;
        let local_name = |pair: &Pair| match split_name(pair.name(text)) {
            (Some(prefix), local) if prefix != "xmlns" => Some(local),
            _ => None,
        };
        let mut marks = Marks::default();
        if tag
            .pairs
            .iter()
            .filter_map(local_name)
            .all(|local| marks.are_new(local.as_bytes()))
        {
            return;
        }
        let mut seen: Vec<(String, &str, &Pair)> = Vec::new();
        let mut many: HashMap<(String, &str), &Pair> = HashMap::new();
        for pair in &tag.pairs {
            let (Some(prefix), local) = split_name(pair.name(text)) else {
                continue;
            };
            if prefix == "xmlns" {
                continue;
            }
            let Some(namespace) = self.bindings.resolve(prefix).map(str::to_owned) else {
                continue;
            };
            let first = if tag.pairs.len() <= FEW {
                let same = seen
                    .iter()
                    .find(|(name, other, _)| *name == namespace && *other == local);
                let first = same.map(|(_, _, first)| *first);
                seen.push((namespace, local, pair));
                first
            } else {
                let first = *many.entry((namespace, local)).or_insert(pair);
                (first.start != pair.start).then_some(first)
            };
            // The same prefix as well: that was found before.
            if let Some(first) = first.filter(|first| first.name(text) != pair.name(text)) {
                duplicate(self, tag, first, pair);
            }
        }
    }
}
