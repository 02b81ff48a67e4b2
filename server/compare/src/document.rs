//! A document as a flat list of nodes in the sense of XPath, with what is needed to find each again in another version.

use std::borrow::Cow;
use std::hash::{DefaultHasher, Hasher};

use dialect::{Context, Dialect, DocumentKind};
use syntax::escape::plain_lines;
use syntax::namespaces::Scope;
use syntax::{Element, Item, TextRange, TextSize, Tree};

/// A node's place in [`Document::nodes`].
pub(crate) type Id = usize;

/// The document itself, which holds what stands at the top.
pub(crate) const TOP: Id = 0;

#[derive(Debug)]
pub(crate) struct Document<'t> {
    pub(crate) text: &'t str,
    /// Parents stand before their children.
    pub(crate) nodes: Vec<Node<'t>>,
}

#[derive(Debug)]
pub(crate) struct Node<'t> {
    pub(crate) parent: Id,
    pub(crate) kind: Kind<'t>,
    pub(crate) range: TextRange,
    pub(crate) children: Vec<Id>,
    /// Of everything in it as it is written, but for how lines break.
    pub(crate) written: u64,
    /// Of what it says: without white space between elements, comments and the order of attributes.
    pub(crate) meaning: u64,
}

#[derive(Debug, Clone)]
pub(crate) enum Kind<'t> {
    Document,
    Element(Tag<'t>),
    /// Character data, CDATA sections and references in a row.
    Text {
        is_blank: bool,
    },
    Comment,
    Instruction {
        target: &'t str,
    },
    /// Declaration, DOCTYPE, byte order mark: no path leads to it.
    Fixed,
}

#[derive(Debug, Clone)]
pub(crate) struct Tag<'t> {
    pub(crate) element: Element<'t>,
    /// "" is none.
    pub(crate) namespace: Cow<'t, str>,
    /// Where the dialect sees it; None: no dialect, or it is in another namespace.
    pub(crate) context: Option<Context>,
}

impl Tag<'_> {
    pub(crate) fn is_named_as(&self, other: &Tag<'_>) -> bool {
        self.element.local_name() == other.element.local_name() && self.namespace == other.namespace
    }
}

/// The dialect of a document, and which of its kinds the document is.
pub(crate) type Meaning<'d> = Option<(&'d Dialect, &'d DocumentKind)>;

impl<'t> Document<'t> {
    pub(crate) fn new(tree: &'t Tree, text: &'t str, meaning: Meaning<'_>) -> Self {
        let mut document = Self {
            text,
            nodes: vec![Node {
                parent: TOP,
                kind: Kind::Document,
                range: TextRange::up_to(TextSize::of(text)),
                children: Vec::new(),
                written: 0,
                meaning: 0,
            }],
        };
        let mut open = vec![(TOP, tree.top_level(), Scope::root())];
        while let Some((parent, items, scope)) = open.last_mut() {
            let (parent, outer) = (*parent, scope.clone());
            let Some(item) = items.next() else {
                open.pop();
                continue;
            };
            match item {
                Item::Element(element) => {
                    let scope = outer.enter(&element);
                    let namespace = scope.resolve(element.prefix()).unwrap_or_default();
                    let namespace = Cow::Owned(namespace.into_owned());
                    let context = document.context(parent, element, &namespace, meaning);
                    let tag = Tag {
                        element,
                        namespace,
                        context,
                    };
                    let id = document.add(parent, Kind::Element(tag), item.range());
                    open.push((id, element.items(), scope));
                }
                Item::Text(_) | Item::CData(_) | Item::Reference(_) => {
                    document.add_text(parent, item);
                }
                Item::Comment(token) => {
                    document.add(parent, Kind::Comment, token.range());
                }
                Item::ProcessingInstruction(token) => {
                    let inner = token.text().trim_start_matches("<?");
                    let end = inner.find([' ', '\t', '\r', '\n', '?']);
                    let target = &inner[..end.unwrap_or(inner.len())];
                    document.add(parent, Kind::Instruction { target }, token.range());
                }
                other => {
                    document.add(parent, Kind::Fixed, other.range());
                }
            }
        }
        document.digest();
        document
    }

    fn context(
        &self,
        parent: Id,
        element: Element<'t>,
        namespace: &str,
        meaning: Meaning<'_>,
    ) -> Option<Context> {
        let (dialect, kind) = meaning?;
        match &self.nodes[parent].kind {
            Kind::Document => Some(dialect.root_context(kind)),
            Kind::Element(outer) if outer.namespace == namespace => {
                Some(dialect.element_context(outer.context?, &element))
            }
            _ => None,
        }
    }

    fn add(&mut self, parent: Id, kind: Kind<'t>, range: TextRange) -> Id {
        let id = self.nodes.len();
        self.nodes.push(Node {
            parent,
            kind,
            range,
            children: Vec::new(),
            written: 0,
            meaning: 0,
        });
        self.nodes[parent].children.push(id);
        id
    }

    fn add_text(&mut self, parent: Id, item: Item<'t>) {
        let is_plain = matches!(item, Item::Text(_));
        let own_blank = is_plain && is_blank(self.slice(item.range()));
        if let Some(last) = self.nodes[parent].children.last().copied() {
            let node = &mut self.nodes[last];
            if let Kind::Text { is_blank } = &mut node.kind {
                *is_blank &= own_blank;
                node.range = node.range.cover(item.range());
                return;
            }
        }
        let kind = Kind::Text {
            is_blank: own_blank,
        };
        self.add(parent, kind, item.range());
    }

    /// Children stand behind their parents, so all of them are done when a parent's turn comes. With a faster hasher, a
    /// digest of digests may be that of an element whose parent and child changed places.
    fn digest(&mut self) {
        for id in (0..self.nodes.len()).rev() {
            let mut written = DefaultHasher::new();
            let mut meaning = DefaultHasher::new();
            let node = &self.nodes[id];
            match &node.kind {
                Kind::Element(tag) => {
                    let start = self.slice(tag.element.start_tag_range());
                    written.write(plain_lines(start).as_bytes());
                    meaning.write(tag.namespace.as_bytes());
                    meaning.write(tag.element.local_name().as_bytes());
                    let mut attributes: Vec<_> = tag
                        .element
                        .attributes()
                        .map(|one| (one.name(), one.value()))
                        .collect();
                    attributes.sort_unstable();
                    for (name, value) in attributes {
                        meaning.write(name.as_bytes());
                        meaning.write_u8(1);
                        meaning.write(value.as_bytes());
                        meaning.write_u8(2);
                    }
                }
                Kind::Document => {}
                _ => {
                    let own = plain_lines(self.slice(node.range));
                    written.write(own.as_bytes());
                    meaning.write(own.as_bytes());
                }
            }
            for child in &node.children {
                let child = &self.nodes[*child];
                written.write_u64(child.written);
                match child.kind {
                    Kind::Element(_) | Kind::Text { is_blank: false } => {
                        meaning.write_u64(child.meaning);
                    }
                    _ => {}
                }
            }
            if let Kind::Element(tag) = &node.kind
                && let Some(end) = tag.element.end_tag()
            {
                written.write(plain_lines(self.slice(end.range())).as_bytes());
            }
            let (written, meaning) = (written.finish(), meaning.finish());
            self.nodes[id].written = written;
            self.nodes[id].meaning = meaning;
        }
    }

    pub(crate) fn slice(&self, range: TextRange) -> &'t str {
        &self.text[std::ops::Range::<usize>::from(range)]
    }

    /// Where a person looks for a node: of an element the start tag.
    pub(crate) fn place(&self, id: Id) -> TextRange {
        match self.element(id) {
            Some(element) => element.start_tag_range(),
            None => self.nodes[id].range,
        }
    }

    pub(crate) fn written(&self, id: Id) -> &'t str {
        self.slice(self.nodes[id].range)
    }

    pub(crate) fn tag(&self, id: Id) -> Option<&Tag<'t>> {
        match &self.nodes[id].kind {
            Kind::Element(tag) => Some(tag),
            _ => None,
        }
    }

    pub(crate) fn element(&self, id: Id) -> Option<Element<'t>> {
        self.tag(id).map(|tag| tag.element)
    }

    pub(crate) fn is_text(&self, id: Id) -> bool {
        matches!(self.nodes[id].kind, Kind::Text { .. })
    }

    /// The elements, comments and instructions in a node.
    pub(crate) fn markup(&self, id: Id) -> impl Iterator<Item = Id> {
        let children = self.nodes[id].children.iter().copied();
        children.filter(|child| !self.is_text(*child))
    }

    /// The elements in a node.
    pub(crate) fn elements(&self, id: Id) -> impl Iterator<Item = Id> {
        self.markup(id).filter(|child| self.tag(*child).is_some())
    }

    /// From the root element to the node.
    pub(crate) fn way(&self, id: Id) -> Vec<Id> {
        let mut way = vec![];
        let mut at = id;
        while at != TOP {
            way.push(at);
            at = self.nodes[at].parent;
        }
        way.reverse();
        way
    }

    /// The text in an element that holds nothing else.
    pub(crate) fn only_text(&self, id: Id) -> Option<Cow<'t, str>> {
        let only = self.nodes[id].children.iter().all(|one| self.is_text(*one));
        let element = self.element(id)?;
        only.then(|| element.text())
    }
}

pub(crate) fn is_blank(text: &str) -> bool {
    text.bytes()
        .all(|byte| matches!(byte, b' ' | b'\t' | b'\r' | b'\n'))
}
