//! A corpus put in order: its documents by group, its values by slot.

use crate::contexts::{ContextId, Contexts};
use crate::corpus::Corpus;
use crate::own;
use crate::shapes::{self, Marks};
use crate::symbols::Symbol;
use foldhash::{HashMap, HashMapExt as _};

/// What is looked through to learn something.
#[derive(Debug)]
pub struct Survey<'c> {
    pub corpus: &'c Corpus,
    /// In the order in which their first documents come.
    pub groups: Vec<Group>,
}

/// Documents of one kind.
#[derive(Debug)]
pub struct Group {
    /// Namespace of the root element; empty if there is none.
    pub namespace: Symbol,
    /// Local name of the root element.
    pub root: Symbol,
    /// Other namespaces whose elements belong to its documents.
    pub inner: Vec<Symbol>,
    /// What tells its documents from others with the same root.
    pub marks: Marks,
    /// Indices into [`Corpus::documents`].
    pub documents: Vec<u32>,
    pub contexts: Contexts,
    /// Per document of `documents`, the context of each of its elements.
    pub elements: Vec<Vec<ContextId>>,
    /// How many elements stand in each context.
    pub count: Vec<u32>,
    /// The places for values, grouped by context in the order of contexts; within one, the
    /// element's text comes first, then its attributes in the order in which they were met.
    pub slots: Vec<Slot>,
    /// Per document of `documents`, whether something may be learnt from it: it is well-formed,
    /// or none of the group is.
    pub trusted: Vec<bool>,
}

/// A place for a value: an attribute, or the text, of the elements in one context.
#[derive(Debug)]
pub struct Slot {
    pub context: ContextId,
    /// The attribute's name with its prefix; `None` is the element's text.
    pub attribute: Option<Symbol>,
    /// Every value that stands there, in document order. Texts that are empty are left out.
    pub seen: Vec<Seen>,
}

/// One value in its place.
#[derive(Copy, Clone, Debug)]
pub struct Seen {
    /// Index into [`Group::documents`].
    pub document: u32,
    /// Index into [`crate::Document::elements`].
    pub element: u32,
    pub value: Symbol,
    /// Line, from 0.
    pub line: u32,
}

impl<'c> Survey<'c> {
    /// Puts documents of one kind together.
    pub fn of(corpus: &'c Corpus) -> Self {
        let mut groups: Vec<Group> = Vec::new();
        let mut known: HashMap<(Symbol, Symbol), usize> = HashMap::new();
        for (at, document) in corpus.documents.iter().enumerate() {
            let Some(root) = document.elements.first() else {
                continue;
            };
            let group = *known.entry((root.namespace, root.name)).or_insert_with(|| {
                groups.push(Group::new(root.namespace, root.name));
                groups.len() - 1
            });
            groups[group].documents.push(at as u32);
        }
        let mut groups: Vec<Group> = groups
            .into_iter()
            .flat_map(|group| group.divided(corpus))
            .collect();
        groups.sort_by_key(|group| group.documents.first().copied());
        for group in &mut groups {
            group.fill(corpus);
        }
        Self { corpus, groups }
    }
}

impl Group {
    fn new(namespace: Symbol, root: Symbol) -> Self {
        Self {
            namespace,
            root,
            inner: Vec::new(),
            marks: Marks::default(),
            documents: Vec::new(),
            contexts: Contexts::default(),
            elements: Vec::new(),
            count: Vec::new(),
            slots: Vec::new(),
            trusted: Vec::new(),
        }
    }

    /// The kinds that there are among its documents.
    fn divided(self, corpus: &Corpus) -> Vec<Group> {
        let inner = own::inner_namespaces(corpus, &self.documents);
        let parts = shapes::divided(corpus, self.documents, &inner).into_iter();
        let group = |part: shapes::Part| Group {
            inner: inner.clone(),
            marks: part.marks,
            documents: part.documents,
            ..Group::new(self.namespace, self.root)
        };
        parts.map(group).collect()
    }

    /// Whether something may be learnt from a document, an index into `documents`.
    pub fn trusts(&self, document: u32) -> bool {
        self.trusted
            .get(document as usize)
            .copied()
            .unwrap_or(false)
    }

    fn fill(&mut self, corpus: &Corpus) {
        let is_whole = |at: &u32| !corpus.documents[*at as usize].broken;
        let some_are_whole = self.documents.iter().any(is_whole);
        let trusted = self
            .documents
            .iter()
            .map(|at| is_whole(at) || !some_are_whole);
        self.trusted = trusted.collect();
        let mut slots: Vec<Slot> = Vec::new();
        let mut known: HashMap<(ContextId, Option<Symbol>), usize> = HashMap::new();
        for (at, document) in self.documents.iter().enumerate() {
            let document = &corpus.documents[*document as usize];
            let contexts = self.contexts.of(document);
            self.count.resize(self.contexts.len(), 0);
            for (index, element) in document.elements.iter().enumerate() {
                let context = contexts[index];
                self.count[context.index()] += 1;
                let text =
                    (element.text != Symbol::EMPTY).then_some((None, element.text, element.line));
                let attributes = document.attributes_of(element).iter();
                let attributes = attributes.map(|a| (Some(a.name), a.value, a.line));
                for (attribute, value, line) in text.into_iter().chain(attributes) {
                    let slot = *known.entry((context, attribute)).or_insert_with(|| {
                        slots.push(Slot {
                            context,
                            attribute,
                            seen: Vec::new(),
                        });
                        slots.len() - 1
                    });
                    slots[slot].seen.push(Seen {
                        document: at as u32,
                        element: index as u32,
                        value,
                        line,
                    });
                }
            }
            self.elements.push(contexts);
        }
        // Stable: attributes of one context stay in the order in which they were met.
        slots.sort_by_key(|slot| (slot.context, slot.attribute.is_some()));
        self.slots = slots;
    }

    /// The slots of one context.
    pub(crate) fn slots_of(&self, context: ContextId) -> &[Slot] {
        &self.slots[self.slot_range(context)]
    }

    /// The same as places in `slots`.
    pub(crate) fn slot_range(&self, context: ContextId) -> std::ops::Range<usize> {
        let from = self.slots.partition_point(|slot| slot.context < context);
        let to = self.slots.partition_point(|slot| slot.context <= context);
        from..to
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::corpus::Source;

    #[test]
    fn values_stand_in_their_slots() {
        let mut corpus = Corpus::default();
        for (name, text) in [
            ("one.xml", "<raft><log n='a'/>\n<log n='b'>wet</log></raft>"),
            ("two.xml", "<pier/>"),
            ("three.xml", "<raft><log n='c' of='b'/></raft>"),
        ] {
            let (file, member) = (name.into(), None);
            assert!(corpus.add(Source { file, member }, text));
        }
        let survey = Survey::of(&corpus);
        assert_eq!(survey.groups.len(), 2);
        let rafts = &survey.groups[0];
        assert_eq!(rafts.documents, [0, 2]);
        assert_eq!(rafts.count, [2, 3]);
        let shown: Vec<_> = rafts
            .slots
            .iter()
            .map(|slot| {
                let path = rafts.contexts.path(slot.context, &corpus);
                let attribute = slot.attribute.map_or("#text", |name| corpus.text(name));
                let seen = slot.seen.iter();
                let seen = seen.map(|s| (s.document, corpus.text(s.value), s.line));
                (format!("{path}@{attribute}"), seen.collect::<Vec<_>>())
            })
            .collect();
        assert_eq!(
            shown,
            [
                ("raft/log@#text".into(), vec![(0, "wet", 1)]),
                (
                    "raft/log@n".into(),
                    vec![(0, "a", 0), (0, "b", 1), (1, "c", 0)]
                ),
                ("raft/log@of".into(), vec![(1, "b", 0)]),
            ]
        );
    }
}
