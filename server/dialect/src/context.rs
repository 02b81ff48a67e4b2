use foldhash::HashMap;
use std::collections::VecDeque;

/// Where in a document an element stands, as far as the declarations care.
///
/// Contexts are states of an automaton over element names (Aho and Corasick, 1975): each
/// stands for the longest end of the path from the root that some declaration begins with.
/// So finding the declaration of a child takes one look-up, however deep the child is.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Context(u32);

impl Context {
    /// Inside an element that no declaration mentions.
    pub const ELSEWHERE: Context = Context(0);
    /// Outside the root element: the root is its child.
    pub const DOCUMENT: Context = Context(1);
}

#[derive(Clone, Debug, PartialEq, Default)]
pub(crate) struct Contexts {
    names: HashMap<String, u32>,
    /// Where a name leads from `Context::ELSEWHERE`, and from any context that knows no better.
    first: HashMap<u32, u32>,
    /// By context: where it knows better.
    moves: Vec<HashMap<u32, u32>>,
    /// By context: the longest declaration that fits.
    declarations: Vec<Option<usize>>,
    /// Kinds of documents that some key is about, each with the context around its root.
    documents: Vec<(String, u32)>,
}

/// Stands for the document in front of an anchored key; no element has this name.
const DOCUMENT_NAME: &str = "/";

/// The kind of document that a key is about, if it is about one only, and the rest of the key.
pub(crate) fn split_key(key: &str) -> (Option<&str>, &str) {
    match key.rsplit_once(":/") {
        Some((document, _)) => (Some(document), &key[document.len() + 1..]),
        None => (None, key),
    }
}

impl Contexts {
    /// The n-th key declares the n-th element. A key starts with `/` if it is anchored at
    /// the document's root, and has the kind of document before that if it is about documents of that kind only.
    pub(crate) fn new<'k>(keys: impl IntoIterator<Item = &'k str>) -> Self {
        let mut contexts = Self::default();
        let mut trie = vec![HashMap::default(), HashMap::default()];
        contexts.declarations = vec![None; 2];
        let document = contexts.name(DOCUMENT_NAME);
        trie[0].insert(document, 1);
        for (declaration, key) in keys.into_iter().enumerate() {
            let (document, key) = split_key(key);
            let anchor = match document {
                None => 1,
                Some(document) => contexts.anchor(document, &mut trie),
            };
            let (mut state, steps) = match key.strip_prefix('/') {
                Some(steps) => (anchor, steps),
                None => (0, key),
            };
            for step in steps.split('/') {
                let name = contexts.name(step);
                state = match trie[state].get(&name) {
                    Some(known) => *known as usize,
                    None => {
                        trie.push(HashMap::default());
                        contexts.declarations.push(None);
                        let new = trie.len() - 1;
                        trie[state].insert(name, new as u32);
                        new
                    }
                };
            }
            contexts.declarations[state].get_or_insert(declaration);
        }
        contexts.complete(trie);
        contexts
    }

    /// The state around the root of documents of one kind.
    fn anchor(&mut self, document: &str, trie: &mut Vec<HashMap<u32, u32>>) -> usize {
        if let Some((_, known)) = self.documents.iter().find(|(name, _)| name == document) {
            return *known as usize;
        }
        trie.push(HashMap::default());
        self.declarations.push(None);
        let new = trie.len() - 1;
        self.documents.push((document.to_owned(), new as u32));
        new
    }

    /// Adds to each state the moves and the declaration of the next shorter path end.
    fn complete(&mut self, trie: Vec<HashMap<u32, u32>>) {
        self.first = trie[0].clone();
        self.moves = vec![HashMap::default(); trie.len()];
        // Each state with the state of the next shorter end; breadth first, so that the
        // shorter one is complete.
        let mut waiting: VecDeque<(usize, usize)> = VecDeque::new();
        waiting.extend(self.first.values().map(|state| (*state as usize, 0)));
        while let Some((state, shorter)) = waiting.pop_front() {
            if self.declarations[state].is_none() {
                self.declarations[state] = self.declarations[shorter];
            }
            let mut moves = self.moves[shorter].clone();
            for (name, child) in &trie[state] {
                let shorter_child = self.step(shorter, *name);
                waiting.push_back((*child as usize, shorter_child));
                moves.insert(*name, *child);
            }
            self.moves[state] = moves;
            if state == Context::DOCUMENT.0 as usize {
                // What is about documents of one kind goes before what is about all of them.
                let documents = self.documents.iter();
                waiting.extend(documents.map(|(_, anchor)| (*anchor as usize, state)));
            }
        }
    }

    fn name(&mut self, name: &str) -> u32 {
        let next = self.names.len() as u32;
        *self.names.entry(name.to_owned()).or_insert(next)
    }

    fn step(&self, state: usize, name: u32) -> usize {
        let known = self.moves.get(state).and_then(|moves| moves.get(&name));
        let next = known.or_else(|| self.first.get(&name));
        next.map_or(0, |next| *next as usize)
    }

    pub(crate) fn child(&self, parent: Context, name: &str) -> Context {
        match self.names.get(name) {
            Some(name) => Context(self.step(parent.0 as usize, *name) as u32),
            None => Context::ELSEWHERE,
        }
    }

    /// The context around the root of documents of this kind.
    pub(crate) fn document(&self, kind: &str) -> Context {
        let mut known = self.documents.iter();
        known
            .find(|(name, _)| name == kind)
            .map_or(Context::DOCUMENT, |(_, anchor)| Context(*anchor))
    }

    pub(crate) fn declaration(&self, context: Context) -> Option<usize> {
        self.declarations.get(context.0 as usize).copied().flatten()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The key found for a path, walked from the document down.
    fn found<'k>(keys: &[&'k str], path: &str) -> Option<&'k str> {
        let contexts = Contexts::new(keys.iter().copied());
        let context = path.split('/').fold(Context::DOCUMENT, |context, name| {
            contexts.child(context, name)
        });
        contexts.declaration(context).map(|at| keys[at])
    }

    #[test]
    fn the_longest_end_wins() {
        let keys = ["wheel", "wheels/wheel", "b/c", "a/b/c", "c"];
        assert_eq!(found(&keys, "machine/wheels/wheel"), Some("wheels/wheel"));
        assert_eq!(found(&keys, "machine/wheel"), Some("wheel"));
        assert_eq!(found(&keys, "a/b/c"), Some("a/b/c"));
        assert_eq!(found(&keys, "x/b/c"), Some("b/c"));
        assert_eq!(found(&keys, "a/x/c"), Some("c"));
        assert_eq!(found(&keys, "a/b"), None);
    }

    #[test]
    fn an_unfinished_longer_end_falls_back() {
        // In `a/a/b` the first `a` must not hide that the second begins `a/b`.
        let keys = ["a/a/a", "a/b"];
        assert_eq!(found(&keys, "a/a/b"), Some("a/b"));
        assert_eq!(found(&keys, "a/a/a/a"), Some("a/a/a"));
        assert_eq!(found(&keys, "a/a"), None);
    }

    #[test]
    fn anchored_keys_fit_at_the_root_only() {
        let keys = ["/part", "part/part"];
        assert_eq!(found(&keys, "part"), Some("/part"));
        assert_eq!(found(&keys, "part/part"), Some("part/part"));
        assert_eq!(found(&keys, "part/part/part"), Some("part/part"));
        assert_eq!(found(&keys, "x/part"), None);
    }

    #[test]
    fn unknown_elements_do_not_hide_what_they_hold() {
        let keys = ["wheel", "wheels/wheel"];
        assert_eq!(found(&keys, "wheels/odd/wheel"), Some("wheel"));
        assert_eq!(found(&keys, "odd"), None);
    }

    #[test]
    fn agrees_with_comparing_every_end() {
        let keys = ["a", "b/a", "a/b/a", "/b", "/a/a", "b/b/a/b", "b"];
        let names = ["a", "b", "c"];
        for length in 1..=6_u32 {
            for number in 0..names.len().pow(length) {
                let steps: Vec<&str> = (0..length)
                    .map(|digit| names[number / names.len().pow(digit) % names.len()])
                    .collect();
                let path = format!("/{}", steps.join("/"));
                let longest = keys
                    .iter()
                    .filter(|key| match key.starts_with('/') {
                        true => path == **key,
                        false => path.ends_with(&format!("/{key}")),
                    })
                    .max_by_key(|key| (key.matches('/').count(), key.starts_with('/')));
                assert_eq!(found(&keys, &path[1..]), longest.copied(), "{path}");
            }
        }
    }

    #[test]
    fn keys_may_be_about_one_kind_of_document() {
        let keys = [
            "prices:/data",
            "/data",
            "item",
            "data/item",
            "prices:/data/item",
            "part",
        ];
        let contexts = Contexts::new(keys);
        let found = |document: &str, path: &str| {
            let document = contexts.document(document);
            let context = path
                .split('/')
                .fold(document, |context, name| contexts.child(context, name));
            contexts.declaration(context).map(|at| keys[at])
        };
        assert_eq!(found("prices", "data"), Some("prices:/data"));
        assert_eq!(found("machines", "data"), Some("/data"));
        assert_eq!(found("prices", "data/item"), Some("prices:/data/item"));
        assert_eq!(found("machines", "data/item"), Some("data/item"));
        assert_eq!(found("prices", "data/item/part"), Some("part"));
        assert_eq!(found("prices", "data/box/item"), Some("item"));
        assert_eq!(found("prices", "data/data/item"), Some("data/item"));
    }
}
