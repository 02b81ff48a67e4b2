//! Namespaces in XML: which name a prefix stands for.

use std::borrow::Cow;
use std::collections::HashMap;
use std::sync::Arc;

use crate::Element;

/// The namespace of the prefix `xml`, bound everywhere.
pub const XML: &str = "http://www.w3.org/XML/1998/namespace";
/// The namespace of the prefix `xmlns`, bound everywhere.
pub(crate) const XMLNS: &str = "http://www.w3.org/2000/xmlns/";

/// The declarations in force at a place. Cheap to clone; entering an element without declarations allocates nothing.
#[derive(Clone, Debug, Default)]
pub struct Scope<'t> {
    innermost: Option<Arc<Declarations<'t>>>,
}

#[derive(Debug)]
struct Declarations<'t> {
    /// Prefix (None: the default namespace) and name.
    own: Vec<(Option<&'t str>, Cow<'t, str>)>,
    outer: Option<Arc<Declarations<'t>>>,
}

impl<'t> Scope<'t> {
    /// The scope outside the root element.
    pub fn root() -> Self {
        Self::default()
    }

    /// The scope inside `element`, and of its own name and attributes.
    pub fn enter(&self, element: &Element<'t>) -> Self {
        let mut own = Vec::new();
        for attribute in element.attributes() {
            if let Some(prefix) = attribute.declared_prefix() {
                own.push((prefix, attribute.value()));
            }
        }
        if own.is_empty() {
            return self.clone();
        }
        let outer = self.innermost.clone();
        Self {
            innermost: Some(Arc::new(Declarations { own, outer })),
        }
    }

    /// The namespace that a prefix stands for here; None as prefix asks for the default namespace, which elements
    /// without a prefix are in (attributes without a prefix are in none). None: not declared, or no namespace.
    pub fn resolve(&self, prefix: Option<&str>) -> Option<Cow<'_, str>> {
        match prefix {
            Some("xml") => return Some(XML.into()),
            Some("xmlns") => return Some(XMLNS.into()),
            _ => {}
        }
        let mut level = self.innermost.as_deref();
        while let Some(declarations) = level {
            if let Some((_, name)) = declarations
                .own
                .iter()
                .rev()
                .find(|(own, _)| *own == prefix)
            {
                return (!name.is_empty()).then_some(Cow::Borrowed(name));
            }
            level = declarations.outer.as_deref();
        }
        None
    }
}

/// What one element declares. Of several declarations of one prefix, the first.
#[derive(Clone, Debug, Default)]
pub(crate) struct Declared {
    default: Option<Box<str>>,
    prefixes: HashMap<Box<str>, Box<str>>,
}

impl Declared {
    pub(crate) fn by(element: &Element<'_>) -> Self {
        let mut declared = Self::default();
        for attribute in element.attributes() {
            let name = || attribute.value().into();
            match attribute.declared_prefix() {
                Some(Some(prefix)) => {
                    let entry = declared.prefixes.entry(prefix.into());
                    entry.or_insert_with(name);
                }
                Some(None) => _ = declared.default.get_or_insert_with(name),
                None => {}
            }
        }
        declared
    }

    /// The name that a prefix stands for; without one, the default.
    pub(crate) fn get(&self, prefix: Option<&str>) -> Option<&str> {
        match prefix {
            Some(prefix) => self.prefixes.get(prefix).map(AsRef::as_ref),
            None => self.default.as_deref(),
        }
    }
}

/// The prefix that an attribute of this name declares: `xmlns` the default (`Some(None)`), `xmlns:p` the prefix `p`.
pub(crate) fn declared_prefix(attribute: &str) -> Option<Option<&str>> {
    match attribute.strip_prefix("xmlns")? {
        "" => Some(None),
        rest => rest
            .strip_prefix(':')
            .filter(|prefix| !prefix.is_empty())
            .map(Some),
    }
}
