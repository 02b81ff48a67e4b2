//! How the machines of a library did the thing at hand: what they usually write there, and
//! where to see it done.
//!
//! A place in a document is found again in the library by its context: the kind of document
//! and the names of the elements around it.

mod examples;
mod usual;

pub use examples::{Example, Like};
pub use usual::{Habit, Usual};

use crate::contexts::{ContextId, Contexts};
use crate::corpus::{Corpus, Document, Source};
use crate::symbols::Symbol;
use foldhash::{HashMap, HashMapExt as _, HashSet, HashSetExt as _};
use std::hash::{DefaultHasher, Hash, Hasher};
use std::path::Path;
use std::sync::OnceLock;
use usual::Names;

/// A library, ready to be asked.
#[derive(Debug)]
pub struct Precedents {
    corpus: Corpus,
    kinds: Vec<Kind>,
    /// Indices into [`Corpus::documents`], in the order of their files.
    by_file: Vec<u32>,
}

/// Documents with the same root element.
#[derive(Debug)]
struct Kind {
    namespace: Symbol,
    root: Symbol,
    contexts: Contexts,
    /// By context, its elements in document order.
    places: Vec<Vec<Place>>,
    /// By context, what its elements have, once somebody asked.
    names: Vec<OnceLock<Names>>,
    /// By document, the contexts that it has, sorted; empty for those of other kinds.
    traits: HashMap<u32, Box<[ContextId]>>,
}

/// An element of the library.
#[derive(Copy, Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Place {
    /// Index into [`Corpus::documents`].
    document: u32,
    /// Index into [`Document::elements`].
    element: u32,
}

impl Precedents {
    /// Documents that say the same, as a mod's folder and its archive do, count once.
    pub fn of(corpus: Corpus) -> Self {
        let mut kinds: Vec<Kind> = Vec::new();
        let mut known: HashMap<(Symbol, Symbol), usize> = HashMap::new();
        let mut seen: HashSet<u64> = HashSet::new();
        let sound = corpus.documents.iter().filter(|document| !document.broken);
        let sound = sound.filter_map(|document| document.elements.first());
        let sound: HashSet<_> = sound.map(|root| (root.namespace, root.name)).collect();
        for (at, document) in corpus.documents.iter().enumerate() {
            let Some(root) = document.elements.first() else {
                continue;
            };
            // What is not well-formed shows nothing, as in learning, unless all of its kind are so.
            if document.broken && sound.contains(&(root.namespace, root.name)) {
                continue;
            }
            if !seen.insert(fingerprint(document)) {
                continue;
            }
            let kind = *known.entry((root.namespace, root.name)).or_insert_with(|| {
                kinds.push(Kind::new(root.namespace, root.name));
                kinds.len() - 1
            });
            kinds[kind].add(at as u32, document);
        }
        let mut by_file: Vec<u32> = (0..corpus.documents.len() as u32).collect();
        by_file.sort_by_key(|at| &corpus.documents[*at as usize].source.file);
        Self {
            corpus,
            kinds,
            by_file,
        }
    }

    /// The elements that stand where an element stands whose name, and those of the elements
    /// around it, are `path`, the root's first. None: no document of the library has any.
    ///
    /// `except`: the file that asks, which is no precedent for itself.
    pub fn spot<'p>(
        &'p self,
        namespace: &str,
        path: &[&str],
        except: Option<&Path>,
    ) -> Option<Spot<'p>> {
        let symbols = &self.corpus.symbols;
        let namespace = symbols.find(namespace)?;
        let root = symbols.find(path.first()?)?;
        let kind = self
            .kinds
            .iter()
            .find(|kind| (kind.namespace, kind.root) == (namespace, root))?;
        let mut context = None;
        for name in path {
            context = Some(kind.contexts.find(context, symbols.find(name)?)?);
        }
        Some(Spot {
            precedents: self,
            kind,
            context: context?,
            except: except.map_or_else(Vec::new, |file| self.of_file(file)),
        })
    }

    /// The documents of one file, as indices.
    fn of_file(&self, file: &Path) -> Vec<u32> {
        let source = |at: &u32| self.document(*at).source.file.as_path();
        let from = self.by_file.partition_point(|at| source(at) < file);
        let same = self.by_file[from..]
            .iter()
            .take_while(|at| source(at) == file);
        same.copied().collect()
    }

    fn document(&self, at: u32) -> &Document {
        &self.corpus.documents[at as usize]
    }
}

impl Kind {
    fn new(namespace: Symbol, root: Symbol) -> Self {
        Self {
            namespace,
            root,
            contexts: Contexts::default(),
            places: Vec::new(),
            names: Vec::new(),
            traits: HashMap::new(),
        }
    }

    fn add(&mut self, at: u32, document: &Document) {
        let mut contexts = self.contexts.of(document);
        self.places.resize(self.contexts.len(), Vec::new());
        self.names.resize_with(self.contexts.len(), OnceLock::new);
        for (element, context) in contexts.iter().enumerate() {
            self.places[context.index()].push(Place {
                document: at,
                element: element as u32,
            });
        }
        contexts.sort_unstable();
        contexts.dedup();
        self.traits.insert(at, contexts.into());
    }
}

fn fingerprint(document: &Document) -> u64 {
    let mut hasher = DefaultHasher::new();
    for element in &document.elements {
        (
            element.parent,
            element.namespace,
            element.name,
            element.text,
        )
            .hash(&mut hasher);
        element.attributes.start.hash(&mut hasher);
    }
    for attribute in &document.attributes {
        (attribute.name, attribute.value).hash(&mut hasher);
    }
    hasher.finish()
}

/// The elements of a library that stand in the same context.
#[derive(Clone, Debug)]
pub struct Spot<'p> {
    precedents: &'p Precedents,
    kind: &'p Kind,
    context: ContextId,
    /// Documents that do not count.
    except: Vec<u32>,
}

impl<'p> Spot<'p> {
    fn places(&self) -> impl Iterator<Item = Place> + use<'_, 'p> {
        let all = self.kind.places[self.context.index()].iter().copied();
        all.filter(|place| !self.except.contains(&place.document))
    }

    /// The children of such elements that have this name.
    pub fn child(&self, name: &str) -> Option<Self> {
        let name = self.precedents.corpus.symbols.find(name)?;
        let context = self.kind.contexts.find(Some(self.context), name)?;
        Some(Self {
            context,
            ..self.clone()
        })
    }

    /// The documents that have such an element, as XML again: the library's own text is not
    /// kept. At most `most` of them, spread over all.
    pub fn texts(&self, most: usize) -> Vec<(&'p Source, String)> {
        let mut documents: Vec<u32> = self.places().map(|place| place.document).collect();
        documents.dedup();
        let step = documents.len().div_ceil(most.max(1)).max(1);
        let chosen = documents.into_iter().step_by(step);
        chosen
            .map(|at| {
                let document = self.precedents.document(at);
                (&document.source, document.to_xml(&self.precedents.corpus))
            })
            .collect()
    }

    fn text(&self, symbol: Symbol) -> &'p str {
        self.precedents.corpus.text(symbol)
    }
}

impl Document {
    /// The index behind an element's last descendant.
    fn end_of(&self, element: u32) -> u32 {
        let below = self.elements.iter().skip(element as usize + 1);
        let inside = below.take_while(|one| one.parent.is_some_and(|parent| parent >= element));
        element + 1 + inside.count() as u32
    }

    /// The children of an element, as indices.
    fn children_of(&self, element: u32) -> impl Iterator<Item = u32> {
        let below = element + 1..self.end_of(element);
        below.filter(move |at| self.elements[*at as usize].parent == Some(element))
    }
}

#[cfg(test)]
mod tests;
