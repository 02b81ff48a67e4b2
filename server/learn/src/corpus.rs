//! The documents of a library as flat tables: who stands in whom, and what is written where.
//!
//! Everything that is learnt is learnt from these tables. They keep no tree and no text but
//! the names and values, each once.

use crate::sorts::Sorts;
use crate::symbols::{Symbol, Symbols};
use foldhash::HashMap;
use serde::{Deserialize, Serialize};
use std::ops::Range;
use std::path::PathBuf;
use syntax::namespaces;

/// All documents of a library.
#[derive(Clone, Debug, Default)]
pub struct Corpus {
    pub symbols: Symbols,
    pub documents: Vec<Document>,
    /// Elements of one name that are told apart by an attribute ([`Corpus::tell_sorts_apart`]).
    pub(crate) sorts: Vec<Sorts>,
    /// From the names that these sorts have got to the one that documents write.
    pub(crate) plain: HashMap<Symbol, Symbol>,
}

/// Where a document is found.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Source {
    /// The file, or the archive that holds it.
    pub file: PathBuf,
    /// The document's path within the archive, with `/` between the steps.
    pub member: Option<String>,
}

/// One document.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Document {
    pub source: Source,
    /// Whether it is not well-formed. What could be read of it is there all the same.
    pub broken: bool,
    /// Elements in document order: parents before children. The first is the root.
    pub elements: Vec<Element>,
    /// The attributes of all elements, in document order.
    pub attributes: Vec<Attribute>,
}

/// One element.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Element {
    /// Its parent, an index into [`Document::elements`]; `None` for the root.
    pub parent: Option<u32>,
    /// Namespace; empty if there is none.
    pub namespace: Symbol,
    /// Local name, with its sort once sorts are told apart.
    pub name: Symbol,
    /// Its attributes: indices into [`Document::attributes`].
    pub attributes: Range<u32>,
    /// Its own text, without that of its children, trimmed; empty if there is none.
    pub text: Symbol,
    /// Line of its start tag, from 0.
    pub line: u32,
}

/// One attribute. Declarations of namespaces are left out.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Attribute {
    /// Name as the document writes it, with its prefix.
    pub name: Symbol,
    /// Value with references resolved, as written otherwise.
    pub value: Symbol,
    /// Line of its name, from 0.
    pub line: u32,
}

impl Document {
    /// The attributes of an element.
    pub(crate) fn attributes_of(&self, element: &Element) -> &[Attribute] {
        &self.attributes[element.attributes.start as usize..element.attributes.end as usize]
    }
}

impl Corpus {
    /// Adds a document. Broken ones are taken as far as the parser understands them; one
    /// without any element is left out, and `false` returned.
    pub fn add(&mut self, source: Source, text: &str) -> bool {
        match read(source, text, &mut self.symbols) {
            Some(document) => {
                self.documents.push(document);
                true
            }
            None => false,
        }
    }

    /// Adds the documents of another corpus, which may have been read on another thread.
    pub fn take_in(&mut self, other: Corpus) {
        let now = self.symbols.take_in(&other.symbols);
        let now = |symbol: Symbol| now[symbol.index()];
        self.documents
            .extend(other.documents.into_iter().map(|mut document| {
                for element in &mut document.elements {
                    element.namespace = now(element.namespace);
                    element.name = now(element.name);
                    element.text = now(element.text);
                }
                for attribute in &mut document.attributes {
                    attribute.name = now(attribute.name);
                    attribute.value = now(attribute.value);
                }
                document
            }));
    }

    /// The text of a symbol.
    pub fn text(&self, symbol: Symbol) -> &str {
        self.symbols.text(symbol)
    }
}

fn read(source: Source, text: &str, symbols: &mut Symbols) -> Option<Document> {
    let mut tree = syntax::parse(text);
    let broken = !tree.errors().is_empty();
    // Entities of the document's own are no words of anybody.
    let expanded = tree.expanded();
    if let Some(expanded) = &expanded {
        tree = syntax::parse(expanded);
    }
    let text = expanded.as_deref().unwrap_or(text);
    let root = tree.root()?;
    let mut lines = Lines::new(text);
    let mut document = Document {
        source,
        broken,
        elements: Vec::new(),
        attributes: Vec::new(),
    };
    let scope = namespaces::Scope::root();
    let mut open = Vec::new();
    document.add(root, None, &scope, &mut open, &mut lines, symbols);
    while let Some((parent, scope, children)) = open.last_mut() {
        match children.next() {
            Some(child) => {
                let (parent, scope) = (*parent, scope.clone());
                document.add(child, Some(parent), &scope, &mut open, &mut lines, symbols);
            }
            None => {
                open.pop();
            }
        }
    }
    Some(document)
}

/// An element that is being read: its index, the declarations in force, the children to come.
type Open<'t> = (u32, namespaces::Scope<'t>, syntax::Children<'t>);

impl Document {
    fn add<'t>(
        &mut self,
        element: syntax::Element<'t>,
        parent: Option<u32>,
        scope: &namespaces::Scope<'t>,
        open: &mut Vec<Open<'t>>,
        lines: &mut Lines<'_>,
        symbols: &mut Symbols,
    ) {
        let scope = scope.enter(&element);
        let line = lines.line(element.range().start().into());
        let from = self.attributes.len() as u32;
        for attribute in element.attributes() {
            if attribute.declared_prefix().is_some() || attribute.value_range().is_none() {
                continue;
            }
            let line = lines.line(attribute.range().start().into());
            self.attributes.push(Attribute {
                name: symbols.add(attribute.name()),
                value: symbols.add(&attribute.value()),
                line,
            });
        }
        let at = self.elements.len() as u32;
        self.elements.push(Element {
            parent,
            namespace: symbols.add(&scope.resolve(element.prefix()).unwrap_or_default()),
            name: symbols.add(element.local_name()),
            attributes: from..self.attributes.len() as u32,
            text: symbols.add(element.text().trim()),
            line,
        });
        open.push((at, scope, element.children()));
    }
}

/// Line numbers of offsets that are asked for in rising order.
struct Lines<'t> {
    text: &'t str,
    at: usize,
    line: u32,
}

impl<'t> Lines<'t> {
    fn new(text: &'t str) -> Self {
        Self {
            text,
            at: 0,
            line: 0,
        }
    }

    fn line(&mut self, offset: usize) -> u32 {
        let passed = self.text.as_bytes().get(self.at..offset).unwrap_or(&[]);
        self.line += memchr::memchr_iter(b'\n', passed).count() as u32;
        self.at = self.at.max(offset);
        self.line
    }
}
