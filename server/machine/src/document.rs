//! Which elements of a document its dialect is about, and what the grammar makes of them.

use crate::attributes::Attributes;
use crate::found::is_text;
use crate::here::Here;
use dialect::{Context, Dialect, DocumentKind};
use syntax::{Element, Tree};

/// An element with what the dialect's grammar makes of it.
#[derive(Debug, Clone, Copy)]
pub struct Located<'t> {
    pub element: Element<'t>,
    pub context: Context,
    /// The element's name without its prefix: asked for by every step of every path.
    name: &'t str,
    /// Names without a prefix mean the document's own namespace here.
    default_is_ours: bool,
}

impl<'t> Located<'t> {
    pub(crate) fn new(element: Element<'t>, context: Context, default_is_ours: bool) -> Self {
        Self {
            element,
            context,
            name: element.local_name(),
            default_is_ours,
        }
    }

    /// The element's name without its prefix.
    pub fn name(&self) -> &'t str {
        self.name
    }

    /// Whether what stands in it without a prefix is the document's own, unless that says otherwise.
    pub fn default_is_ours(&self) -> bool {
        self.default_is_ours
    }
}

/// From the root element down to an element, that one included. Empty: the
/// document itself.
pub type Chain<'t> = Vec<Located<'t>>;

/// A document, the dialect that fits it, and the namespace it is written in.
#[derive(Debug, Clone, Copy)]
pub struct Reader<'t> {
    tree: &'t Tree,
    pub dialect: &'t Dialect,
    pub kind: &'t DocumentKind,
    root: Option<Located<'t>>,
}

impl<'t> Reader<'t> {
    /// `kind`: the kind of document, one of the dialect, that fits the tree.
    pub fn new(tree: &'t Tree, dialect: &'t Dialect, kind: &'t DocumentKind) -> Self {
        let mut reader = Self {
            tree,
            dialect,
            kind,
            root: None,
        };
        reader.root = tree.root().map(|element| {
            let default_is_ours = element.prefix().is_none() || {
                reader.is_inner(tree.declared_at_root(None).unwrap_or_default())
            };
            Located::new(element, dialect.root_context(kind), default_is_ours)
        });
        reader
    }

    /// The root element.
    pub fn root(&self) -> Option<Located<'t>> {
        self.root
    }

    /// The child elements in the document's own namespaces; foreign ones are
    /// nobody's business here.
    pub fn children(&self, chain: &[Located<'t>]) -> Vec<Located<'t>> {
        let Some(parent) = chain.last() else {
            return self.root.into_iter().collect();
        };
        parent
            .element
            .children()
            .filter_map(|element| self.locate(chain, parent, element))
            .collect()
    }

    /// The chain that leads down a path of elements, the root first. None if the
    /// path does not start at the root, or comes to a foreign element.
    pub fn chain(&self, path: &[Element<'t>]) -> Option<Chain<'t>> {
        let (root, below) = path.split_first()?;
        let mut chain = vec![self.root.filter(|known| known.element == *root)?];
        for element in below {
            let located = self.locate(&chain, chain.last()?, *element)?;
            chain.push(located);
        }
        Some(chain)
    }

    /// A child of the last of `chain`; None if it is in a foreign namespace.
    pub fn locate(
        &self,
        chain: &[Located<'t>],
        parent: &Located<'t>,
        element: Element<'t>,
    ) -> Option<Located<'t>> {
        self.locate_child(chain, parent, Child::new(element))
    }

    /// The same for a child whose name is known.
    pub(crate) fn locate_child(
        &self,
        chain: &[Located<'t>],
        parent: &Located<'t>,
        child: Child<'t>,
    ) -> Option<Located<'t>> {
        let value = |name: &str| Some(child.element.attribute(name)?.value());
        self.locate_by(chain, parent, child, value)
    }

    /// The same for the root or another element at the top of the document, and by attributes that are cut up.
    pub(crate) fn locate_cut(
        &self,
        chain: &[Located<'t>],
        child: Child<'t>,
        attributes: &Attributes<'t>,
    ) -> Option<Located<'t>> {
        let Some(parent) = chain.last() else {
            return self.root.filter(|root| root.element == child.element);
        };
        let value = |name: &str| {
            let attribute = attributes.named(name)?;
            Some(attribute.value_and_range().map_or("", |(value, _)| value))
        };
        self.locate_by(chain, parent, child, value)
    }

    /// `value`: of the element's attribute with this name as written.
    fn locate_by<V: AsRef<str>>(
        &self,
        chain: &[Located<'t>],
        parent: &Located<'t>,
        child: Child<'t>,
        value: impl Fn(&str) -> Option<V>,
    ) -> Option<Located<'t>> {
        let Child {
            element,
            prefix,
            name,
        } = child;
        let default_is_ours = match value("xmlns") {
            Some(namespace) => self.is_ours(namespace.as_ref()),
            None => parent.default_is_ours,
        };
        let ours = match prefix {
            None => default_is_ours,
            Some(prefix) => self.prefix_is_ours(chain, element, prefix),
        };
        ours.then(|| Located {
            element,
            context: self.dialect.child_context_by(parent.context, name, value),
            name,
            default_is_ours,
        })
    }

    /// The prefix with which a child of the last of `chain` would be the document's own: it has none, and without one no
    /// namespace is meant here.
    pub fn forgotten_prefix(&self, chain: &[Located<'t>], element: Element<'t>) -> Option<&'t str> {
        let parent = chain.last()?;
        let prefix = parent.element.prefix()?;
        if parent.default_is_ours || element.name() != element.local_name() {
            return None;
        }
        let around = chain.iter().rev().map(|located| located.element);
        let mut around = std::iter::once(element).chain(around);
        let default = around.find_map(|element| element.attribute("xmlns"));
        let is_none_meant = default.is_none_or(|default| default.value().is_empty());
        (is_none_meant && self.prefix_is_ours(chain, element, prefix)).then_some(prefix)
    }

    /// `chain`: at least the root.
    fn prefix_is_ours(&self, chain: &[Located<'t>], element: Element<'t>, prefix: &str) -> bool {
        let declaration = format!("xmlns:{prefix}");
        let below_root = chain.iter().skip(1).rev().map(|located| located.element);
        let bound = std::iter::once(element)
            .chain(below_root)
            .find_map(|element| element.attribute(&declaration));
        match bound {
            Some(attribute) => self.is_ours(&attribute.value()),
            None => {
                let bound = self.tree.declared_at_root(Some(prefix));
                bound.is_some_and(|namespace| self.is_ours(namespace))
            }
        }
    }

    /// Whether elements of a namespace, that of the root element or another one, belong to the document.
    fn is_ours(&self, namespace: &str) -> bool {
        let own = self.root.map(|root| root.element.prefix());
        let own = own.and_then(|prefix| self.tree.declared_at_root(prefix));
        Some(namespace) == own || self.is_inner(namespace)
    }

    fn is_inner(&self, namespace: &str) -> bool {
        let mut inner = self.kind.inner_namespaces.iter();
        inner.any(|inner| inner == namespace)
    }
}

/// Every element of the document that the grammar is about, with the chain
/// that leads to it, in document order and without recursion.
pub fn walk<'t>(reader: &Reader<'t>, mut visit: impl FnMut(&Chain<'t>)) {
    let root = reader.root().map(|root| root.element);
    let attributes = &mut Attributes::default();
    walk_from(reader, Vec::new(), root, attributes, |here| {
        visit(here.chain)
    });
}

/// The same for some elements with all that is in them; `chain` leads to their parent. `attributes` is where those of
/// the elements go.
pub(crate) fn walk_from<'t>(
    reader: &Reader<'t>,
    mut chain: Chain<'t>,
    elements: impl IntoIterator<Item = Element<'t>>,
    attributes: &mut Attributes<'t>,
    mut visit: impl FnMut(Here<'_, 't>),
) {
    let top = chain.len();
    let elements = elements.into_iter();
    let mut open: Vec<_> = elements.map(|element| (top, Child::new(element))).collect();
    open.reverse();
    while let Some((depth, child)) = open.pop() {
        chain.truncate(depth);
        attributes.cut(child.element);
        let Some(located) = reader.locate_cut(&chain, child, attributes) else {
            continue;
        };
        chain.push(located);
        let own = open.len();
        let mut has_text = false;
        if child.element.has_content() {
            for item in child.element.items() {
                has_text = has_text || is_text(&item);
                let element = item.into_element();
                open.extend(element.map(|element| (depth + 1, Child::new(element))));
            }
            open[own..].reverse();
        }
        let content = Content {
            reversed: &open[own..],
            has_text,
        };
        visit(reader.here_among(&chain, located, attributes, Some(content)));
    }
}

/// An element that is not located yet.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Child<'t> {
    pub(crate) element: Element<'t>,
    prefix: Option<&'t str>,
    /// Without the prefix.
    pub(crate) name: &'t str,
}

impl<'t> Child<'t> {
    pub(crate) fn new(element: Element<'t>) -> Self {
        let (prefix, name) = element.split_name();
        Self {
            element,
            prefix,
            name,
        }
    }
}

/// What stands in an element, looked at once for all who ask.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Content<'h, 't> {
    /// The elements, from the last to the first, each with its depth.
    reversed: &'h [(usize, Child<'t>)],
    /// Whether there is anything but white space, comments and elements.
    pub(crate) has_text: bool,
}

impl<'h, 't> Content<'h, 't> {
    /// The elements in their order.
    pub(crate) fn children(self) -> impl Iterator<Item = Child<'t>> + use<'h, 't> {
        self.reversed.iter().rev().map(|(_, child)| *child)
    }

    /// Whether some of them have no prefix.
    pub(crate) fn some_without_prefix(self) -> bool {
        self.children().any(|child| child.prefix.is_none())
    }
}
