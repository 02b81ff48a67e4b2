//! Following a dialect's paths through a document.

use crate::attributes::{Assigned, Attributes};
use crate::model::NodeRef;
use crate::names;
use dialect::{
    AttributeDecl, Context, Dialect, DocumentKind, ElementDecl, ItemType, Leaf, Path, Predicate,
    Property, Step, StepKind, ValueType,
};
use std::borrow::Cow;
use syntax::{Element, Item, TextRange, Tree};

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

    pub(crate) fn default_is_ours(&self) -> bool {
        self.default_is_ours
    }
}

/// From the root element down to an element, that one included. Empty: the
/// document itself.
pub type Chain<'t> = Vec<Located<'t>>;

/// A document, the dialect that fits it, and the namespace it is written in.
#[derive(Debug, Clone, Copy)]
pub struct Reader<'t> {
    pub dialect: &'t Dialect,
    pub kind: &'t DocumentKind,
    root: Option<Located<'t>>,
}

/// A value that a path leads to: of an attribute, or the text of an element.
#[derive(Debug, Clone)]
pub struct Found<'t> {
    /// References resolved; surrounding white space removed.
    pub text: Cow<'t, str>,
    pub range: TextRange,
    /// The element that carries the attribute or the text.
    pub at: Located<'t>,
    /// What the grammar says of the value, if it declares it.
    pub declared: Option<&'t AttributeDecl>,
}

/// What a value is taken for that the grammar does not declare.
static FREE_TEXT: ValueType = ValueType::single(ItemType::Text);

/// One item of a value: the value itself, or a member of a list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ListItem<'f> {
    pub text: &'f str,
    pub range: TextRange,
}

impl<'t> Reader<'t> {
    pub fn new(tree: &'t Tree, dialect: &'t Dialect, kind: &'t DocumentKind) -> Self {
        let mut reader = Self {
            dialect,
            kind,
            root: None,
        };
        reader.root = tree.root().map(|element| {
            let default_is_ours = element.prefix().is_none() || {
                let declared = element.attribute("xmlns");
                reader.is_inner(declared.map_or("".into(), |one| one.value()).as_ref())
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
        let default_is_ours = match element.attribute("xmlns") {
            Some(attribute) => self.is_ours(&attribute.value()),
            None => parent.default_is_ours,
        };
        let (prefix, name) = element.split_name();
        let ours = match prefix {
            None => default_is_ours,
            Some(prefix) => self.prefix_is_ours(chain, element, prefix),
        };
        ours.then(|| Located {
            element,
            context: self.dialect.element_context(parent.context, &element),
            name,
            default_is_ours,
        })
    }

    /// The namespace of the root element as the document writes it.
    fn namespace(&self) -> Option<Cow<'t, str>> {
        let root = self.root?.element;
        let attribute = match root.prefix() {
            None => root.attribute("xmlns"),
            Some(prefix) => root.attribute(&format!("xmlns:{prefix}")),
        };
        attribute.map(|attribute| attribute.value())
    }

    fn prefix_is_ours(&self, chain: &[Located<'t>], element: Element<'t>, prefix: &str) -> bool {
        let declaration = format!("xmlns:{prefix}");
        let bound = std::iter::once(element)
            .chain(chain.iter().rev().map(|located| located.element))
            .find_map(|element| element.attribute(&declaration));
        match bound {
            Some(attribute) => self.is_ours(&attribute.value()),
            None => false,
        }
    }

    /// Whether elements of a namespace belong to the document.
    fn is_ours(&self, namespace: &str) -> bool {
        Some(namespace) == self.namespace().as_deref() || self.is_inner(namespace)
    }

    fn is_inner(&self, namespace: &str) -> bool {
        let mut inner = self.kind.inner_namespaces.iter();
        inner.any(|inner| inner == namespace)
    }

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
            && chain.last().is_none_or(|at| at.name != name)
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
                    .is_some_and(|at| name.as_ref().is_none_or(|name| at.name == name))
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
            .filter(|child| name.is_none_or(|name| child.name == name))
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
                .is_some_and(|last| name.is_none_or(|name| last.name == name));
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
            let located = children.filter_map(|child| self.locate(from, parent, child));
            return located
                .filter_map(|child| self.leaf(&child, path.leaf()))
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

    fn leaf(&self, at: &Located<'t>, leaf: &Leaf) -> Option<Found<'t>> {
        match leaf {
            Leaf::Attribute(name) => self.attribute_value(at, name),
            Leaf::Text | Leaf::Element => self.text_value(at),
        }
    }

    /// The value of an attribute.
    pub fn attribute_value(&self, at: &Located<'t>, name: &str) -> Option<Found<'t>> {
        let declared = self
            .dialect
            .element(at.context)
            .and_then(|element| element.attribute(name));
        let attribute = at.element.attribute(name)?;
        let (text, range) = attribute.value_and_range()?;
        let (text, range) = trimmed(text, range);
        Some(Found {
            text,
            range,
            at: *at,
            declared,
        })
    }

    /// The text of an element that has any.
    pub fn text_value(&self, at: &Located<'t>) -> Option<Found<'t>> {
        let range = at.element.text_range()?;
        let declared = self
            .dialect
            .element(at.context)
            .and_then(|element| element.text.as_ref());
        let whole = at.element.text();
        let text = match whole {
            Cow::Borrowed(text) => Cow::Borrowed(text.trim()),
            Cow::Owned(text) => Cow::Owned(text.trim().to_string()),
        };
        Some(Found {
            text,
            range,
            at: *at,
            declared,
        })
    }
}

/// An element with all that is around it and in its tag, for who reads what it says.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Here<'h, 't> {
    pub(crate) reader: &'h Reader<'t>,
    /// Down to the element, that one included.
    pub(crate) chain: &'h Chain<'t>,
    pub(crate) at: Located<'t>,
    pub(crate) declared: Option<&'t ElementDecl>,
    attributes: &'h Attributes<'t>,
}

impl<'t> Reader<'t> {
    /// The element at the end of a chain; None if the chain is empty. `attributes` is where those of the element go.
    pub(crate) fn here<'h>(
        &'h self,
        chain: &'h Chain<'t>,
        attributes: &'h mut Attributes<'t>,
    ) -> Option<Here<'h, 't>> {
        let at = *chain.last()?;
        let declared = self.dialect.element(at.context);
        attributes.fill(at.element, declared);
        Some(Here {
            reader: self,
            chain,
            at,
            declared,
            attributes,
        })
    }
}

impl<'t> Here<'_, 't> {
    /// See [`Reader::value`].
    pub(crate) fn value(&self, path: &Path) -> Option<Found<'t>> {
        match path.leaf() {
            Leaf::Attribute(name) if stays(path) => self.found(self.attributes.named(name)?),
            _ => self.reader.value(self.chain, path),
        }
    }

    /// See [`Reader::values`].
    pub(crate) fn values(&self, path: &Path) -> Vec<Found<'t>> {
        self.reader.values(self.chain, path)
    }

    /// The value of the declared attribute at this position.
    pub(crate) fn declared_value(&self, slot: usize) -> Option<Found<'t>> {
        self.found(self.attributes.in_slot(slot)?)
    }

    /// The node that the value at a path asks for.
    pub(crate) fn node(&self, path: &Path) -> Option<NodeRef> {
        match path.leaf() {
            Leaf::Attribute(name) if stays(path) => self.node_of(self.attributes.named(name)?),
            _ => {
                let found = self.reader.value(self.chain, path)?;
                (!found.text.is_empty()).then(|| names::node_ref(self.reader, &found))
            }
        }
    }

    /// The node that the value of the declared attribute at this position asks for.
    pub(crate) fn declared_node(&self, slot: usize) -> Option<NodeRef> {
        self.node_of(self.attributes.in_slot(slot)?)
    }

    fn node_of(&self, assigned: &Assigned<'t>) -> Option<NodeRef> {
        if let Some(node) = assigned.node.get() {
            return Some(node.clone());
        }
        let found = self
            .found(assigned)
            .filter(|found| !found.text.is_empty())?;
        let read = || names::node_ref(self.reader, &found);
        Some(assigned.node.get_or_init(read).clone())
    }

    fn found(&self, assigned: &Assigned<'t>) -> Option<Found<'t>> {
        let (text, range) = assigned.value.clone()?;
        let (text, range) = trimmed(text, range);
        Some(Found {
            text,
            range,
            at: self.at,
            declared: assigned.declared,
        })
    }
}

impl<'t> Found<'t> {
    /// What the value is by its declaration; free text without one.
    pub fn value_type(&self) -> &'t ValueType {
        self.declared.map_or(&FREE_TEXT, |declared| &declared.value)
    }

    /// The members of a list, or the value as its own only item. `property`:
    /// what the channel around the value moves, where that is known.
    pub fn items(
        &self,
        dialect: &Dialect,
        property: Option<Property>,
    ) -> impl Iterator<Item = ListItem<'_>> {
        let value_type = self.value_type();
        let is_one = value_type.list.is_none() && value_type.around.is_nothing();
        let whole = is_one.then_some(ListItem {
            text: &self.text,
            range: self.range,
        });
        let parts = match is_one {
            true => Vec::new(),
            false => dialect.items(value_type, &self.text, property),
        };
        let parts = parts.into_iter().map(|part| ListItem {
            text: self.text[part.clone()].trim(),
            range: self.part(part),
        });
        whole
            .into_iter()
            .chain(parts)
            .filter(|item| !item.text.is_empty())
    }

    /// The range of a part of the text, in the document. A value with
    /// references in it cannot be cut up by offsets: its parts all have the
    /// range of the whole.
    pub fn part(&self, part: std::ops::Range<usize>) -> TextRange {
        let is_plain = usize::from(self.range.len()) == self.text.len();
        let inside = TextRange::new(size(part.start), size(part.end));
        if is_plain && inside.end() <= self.range.len() {
            inside + self.range.start()
        } else {
            self.range
        }
    }
}

/// The name that an element must have to be where the path leads.
fn last_name(path: &Path) -> Option<&str> {
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
fn stays(path: &Path) -> bool {
    !path.is_absolute()
        && path
            .steps()
            .iter()
            .all(|step| step.kind == StepKind::Itself && step.predicates.is_empty())
}

fn size(at: usize) -> syntax::TextSize {
    syntax::TextSize::new(u32::try_from(at).unwrap_or(u32::MAX))
}

fn extended<'t>(chain: &[Located<'t>], child: Located<'t>) -> Chain<'t> {
    let mut extended = Vec::with_capacity(chain.len() + 1);
    extended.extend_from_slice(chain);
    extended.push(child);
    extended
}

fn trimmed(text: Cow<'_, str>, range: TextRange) -> (Cow<'_, str>, TextRange) {
    let is_mark = |byte: Option<&u8>| byte.is_none_or(u8::is_ascii_graphic);
    let bytes = text.as_bytes();
    if is_mark(bytes.first()) && is_mark(bytes.last()) {
        // Most values; asked of all.
        return (text, range);
    }
    if usize::from(range.len()) != text.len() {
        return (Cow::Owned(text.trim().to_string()), range);
    }
    let start = text.len() - text.trim_start().len();
    let length = text.trim().len();
    let inner = TextRange::at(range.start() + size(start), size(length));
    let text = match text {
        Cow::Borrowed(text) => Cow::Borrowed(text.trim()),
        Cow::Owned(text) => Cow::Owned(text.trim().to_string()),
    };
    (text, inner)
}

/// Every element of the document that the grammar is about, with the chain
/// that leads to it, in document order and without recursion.
pub fn walk<'t>(reader: &Reader<'t>, mut visit: impl FnMut(&Chain<'t>)) {
    if let Some(root) = reader.root() {
        walk_from(reader, Vec::new(), vec![root], &mut visit);
    }
}

/// The same for some elements with all that is in them; `chain` leads to their parent.
pub fn walk_from<'t>(
    reader: &Reader<'t>,
    mut chain: Chain<'t>,
    elements: Vec<Located<'t>>,
    mut visit: impl FnMut(&Chain<'t>),
) {
    let top = chain.len();
    let elements = elements.into_iter().rev();
    let mut open: Vec<_> = elements.map(|element| (top, element)).collect();
    while let Some((depth, located)) = open.pop() {
        chain.truncate(depth);
        chain.push(located);
        visit(&chain);
        let own = open.len();
        for element in located.element.children() {
            let child = reader.locate(&chain, &located, element);
            open.extend(child.map(|child| (depth + 1, child)));
        }
        open[own..].reverse();
    }
}

/// Whether an element has anything but white space, comments and elements.
pub fn has_text(element: Element<'_>) -> bool {
    element.items().any(|item| match item {
        Item::Text(token) => !token.text().trim().is_empty(),
        Item::CData(_) | Item::Reference(_) => true,
        _ => false,
    })
}
