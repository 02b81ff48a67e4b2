//! In which surroundings elements stand. What is learnt of an element is learnt per context.
//!
//! A context is the path of names from the root. Where a name comes again below itself, the
//! path is cut back to where it came first, so that structures that nest without end have
//! finitely many contexts: `a/b/a/b` is the context `a/b`.

use crate::corpus::{Corpus, Document};
use crate::symbols::Symbol;
use foldhash::HashMap;

/// One context of a [`Contexts`] table.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct ContextId(u32);

impl ContextId {
    /// Its place in the table, from 0: parents come before children.
    pub fn index(self) -> usize {
        self.0 as usize
    }
}

/// All contexts of one kind of document.
#[derive(Clone, Debug, Default)]
pub struct Contexts {
    /// Per context its name and its parent, which is `None` for the root.
    known: Vec<(Symbol, Option<ContextId>)>,
    children: HashMap<(Option<ContextId>, Symbol), ContextId>,
}

impl Contexts {
    /// The contexts of a document's elements, in the order of [`Document::elements`]; new
    /// ones are added.
    pub fn of(&mut self, document: &Document) -> Vec<ContextId> {
        let mut contexts: Vec<ContextId> = Vec::with_capacity(document.elements.len());
        for element in &document.elements {
            let parent = element.parent.map(|parent| contexts[parent as usize]);
            contexts.push(self.child(parent, element.name));
        }
        contexts
    }

    fn child(&mut self, parent: Option<ContextId>, name: Symbol) -> ContextId {
        if let Some(known) = self.children.get(&(parent, name)) {
            return *known;
        }
        let before = self.chain(parent).find(|at| self.name(*at) == name);
        let context = before.unwrap_or_else(|| {
            self.known.push((name, parent));
            ContextId(self.known.len() as u32 - 1)
        });
        self.children.insert((parent, name), context);
        context
    }

    /// The context of an element of this name below another; None if the corpus has none.
    pub fn find(&self, parent: Option<ContextId>, name: Symbol) -> Option<ContextId> {
        let known = self.children.get(&(parent, name)).copied();
        // A name that comes again below itself leads back, met like that or not.
        known.or_else(|| self.chain(parent).find(|at| self.name(*at) == name))
    }

    /// A context and those around it, innermost first.
    pub fn chain(&self, from: Option<ContextId>) -> impl Iterator<Item = ContextId> {
        std::iter::successors(from, |at| self.parent(*at))
    }

    /// The local name of the elements in a context.
    pub fn name(&self, context: ContextId) -> Symbol {
        self.known[context.index()].0
    }

    /// The context around a context.
    pub fn parent(&self, context: ContextId) -> Option<ContextId> {
        self.known[context.index()].1
    }

    /// The context's path from the root: `machine/wheels/wheel`.
    pub fn path(&self, context: ContextId, corpus: &Corpus) -> String {
        let mut names: Vec<&str> = self
            .chain(Some(context))
            .map(|at| corpus.text(self.name(at)))
            .collect();
        names.reverse();
        names.join("/")
    }

    /// The same with the names that documents write, where elements of one name are told apart.
    pub(crate) fn plain_path(&self, context: ContextId, corpus: &Corpus) -> String {
        let names = self.chain(Some(context));
        let names = names.map(|at| corpus.text(corpus.plain(self.name(at))));
        let mut names: Vec<&str> = names.collect();
        names.reverse();
        names.join("/")
    }

    /// Which context leads to which, with the names as they stand in documents. `None` leads to the root's.
    pub fn steps(&self) -> impl Iterator<Item = (Option<ContextId>, ContextId)> {
        self.children
            .iter()
            .map(|((parent, _), child)| (*parent, *child))
    }

    /// All contexts, parents before children.
    pub fn all(&self) -> impl Iterator<Item = ContextId> + use<> {
        (0..self.known.len() as u32).map(ContextId)
    }

    /// How many contexts there are.
    pub fn len(&self) -> usize {
        self.known.len()
    }

    pub fn is_empty(&self) -> bool {
        self.known.is_empty()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::corpus::Source;

    #[test]
    fn a_name_below_itself_leads_back() {
        let mut corpus = Corpus::default();
        let source = Source {
            file: "heap.xml".into(),
            member: None,
        };
        assert!(corpus.add(source, "<a><b><a><b/><c x='1'/></a></b><c/></a>"));
        let mut contexts = Contexts::default();
        let of = contexts.of(&corpus.documents[0]);
        let paths: Vec<String> = of
            .into_iter()
            .map(|context| contexts.path(context, &corpus))
            .collect();
        assert_eq!(paths, ["a", "a/b", "a", "a/b", "a/c", "a/c"]);
    }
}
