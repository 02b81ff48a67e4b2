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
    /// Element names, and sorts of elements as keys write them: `item[@sort='tag']`.
    names: HashMap<String, u32>,
    /// By element name, the sorts that keys tell apart.
    sorts: HashMap<String, Sorts>,
    /// Where a name leads from `Context::ELSEWHERE`, and from any context that knows no better.
    first: HashMap<u32, u32>,
    /// By context: where it knows better.
    moves: Vec<HashMap<u32, u32>>,
    /// By context: the longest declaration that fits.
    declarations: Vec<Option<usize>>,
    /// By context: the sort of its elements, if a key tells it.
    sort_of: HashMap<u32, (String, String)>,
    /// The first declaration whose key has too many ways to be found in all of them.
    beyond: Option<usize>,
    /// Kinds of documents that some key is about, each with the context around its root.
    documents: Vec<(String, u32)>,
}

/// The sorts of elements of one name, by an attribute and its value.
#[derive(Clone, Debug, PartialEq, Default)]
struct Sorts {
    /// As keys write them, in their order.
    written: Vec<String>,
    /// The same by their numbers among the names.
    names: Vec<u32>,
    /// By attribute and value, the number among the names.
    by_attribute: Vec<(String, HashMap<String, u32>)>,
}

impl Sorts {
    fn add(&mut self, written: &str, attribute: &str, value: &str, name: u32) {
        let mut known = self.by_attribute.iter();
        let at = known
            .position(|(known, _)| known == attribute)
            .unwrap_or_else(|| {
                let new = (attribute.to_owned(), HashMap::default());
                self.by_attribute.push(new);
                self.by_attribute.len() - 1
            });
        let (_, by_value) = &mut self.by_attribute[at];
        if by_value.insert(value.to_owned(), name).is_none() {
            self.written.push(written.to_owned());
            self.names.push(name);
        }
    }

    /// The number of the sort that elements are of whose attributes have these values.
    fn of<V: AsRef<str>>(&self, value_of: impl Fn(&str) -> Option<V>) -> Option<u32> {
        let mut attributes = self.by_attribute.iter();
        attributes
            .find_map(|(attribute, by_value)| by_value.get(value_of(attribute)?.as_ref()).copied())
    }
}

/// Stands for the document in front of an anchored key; no element has this name.
const DOCUMENT_NAME: &str = "/";

/// The kind of document that a key is about, if it is about one only, and the rest of the key.
pub(crate) fn split_key(key: &str) -> (Option<&str>, &str) {
    match key.split_once(":/") {
        Some((document, _)) if !document.contains('[') => {
            (Some(document), &key[document.len() + 1..])
        }
        _ => (None, key),
    }
}

/// Ways of all keys together in which their names stand for sorts.
pub(crate) const MOST_WAYS: usize = 100_000;

/// A key, taken apart.
struct Key<'k> {
    document: Option<&'k str>,
    is_anchored: bool,
    steps: Vec<KeyStep<'k>>,
}

impl<'k> Key<'k> {
    fn parse(key: &'k str) -> Self {
        let (document, path) = split_key(key);
        Self {
            document,
            is_anchored: path.starts_with('/'),
            steps: key_steps(path).map(KeyStep::parse).collect(),
        }
    }
}

/// The local name of the elements that a key of a dialect declares.
pub fn name_of_key(key: &str) -> &str {
    let (_, path) = split_key(key);
    let last = key_steps(path).last().unwrap_or(path);
    KeyStep::parse(last).name
}

/// The steps of a key's path as they are written.
pub(crate) fn key_steps(path: &str) -> impl Iterator<Item = &str> {
    let mut inside = false;
    path.strip_prefix('/').unwrap_or(path).split(move |c| {
        match c {
            '[' => inside = true,
            ']' => inside = false,
            _ => {}
        }
        c == '/' && !inside
    })
}

/// One step of a key: `item`, or `item[@sort='tag']` for those of a certain sort.
pub(crate) struct KeyStep<'k> {
    written: &'k str,
    pub(crate) name: &'k str,
    /// An attribute and its value.
    pub(crate) sort: Option<(&'k str, &'k str)>,
}

impl<'k> KeyStep<'k> {
    pub(crate) fn parse(written: &'k str) -> Self {
        let sort = written.split_once("[@").and_then(|(name, rest)| {
            let (attribute, value) = rest.strip_suffix("']")?.split_once("='")?;
            Some((name, (attribute, value)))
        });
        Self {
            written,
            name: sort.map_or(written, |(name, _)| name),
            sort: sort.map(|(_, sort)| sort),
        }
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
        let keys: Vec<Key<'_>> = keys.into_iter().map(Key::parse).collect();
        for step in keys.iter().flat_map(|key| &key.steps) {
            contexts.add_sort(step);
        }
        for (declaration, key) in keys.iter().enumerate() {
            let state = contexts.start(key, &mut trie);
            let steps = key.steps.iter().map(|step| step.written);
            let state = steps.fold(state, |state, step| contexts.enter(state, step, &mut trie));
            contexts.declarations[state].get_or_insert(declaration);
        }
        // A name without a sort stands for every sort, where no key of the same length tells more.
        let sorts = contexts.sorts.clone();
        let mut ways_left = MOST_WAYS;
        for (declaration, key) in keys.iter().enumerate() {
            let Some(ways) = contexts.ways(key, &sorts, ways_left, &mut trie) else {
                contexts.beyond.get_or_insert(declaration);
                continue;
            };
            ways_left -= ways.len();
            for state in ways {
                contexts.declarations[state].get_or_insert(declaration);
            }
        }
        contexts.complete(trie);
        contexts
    }

    fn add_sort(&mut self, step: &KeyStep<'_>) {
        let Some((attribute, value)) = step.sort else {
            return;
        };
        let name = self.name(step.written);
        let sorts = self.sorts.entry(step.name.to_owned()).or_default();
        sorts.add(step.written, attribute, value, name);
    }

    /// The states that a key leads to if names without a sort stand for all sorts; `None` if there are more than `most`.
    fn ways(
        &mut self,
        key: &Key<'_>,
        sorts: &HashMap<String, Sorts>,
        most: usize,
        trie: &mut Vec<HashMap<u32, u32>>,
    ) -> Option<Vec<usize>> {
        let sorts_of = |step: &KeyStep<'_>| -> &[String] {
            let sorts = sorts.get(step.name).filter(|_| step.sort.is_none());
            sorts.map_or(&[], |sorts| &sorts.written)
        };
        let counts = key.steps.iter().map(|step| sorts_of(step).len() + 1);
        let count = counts.fold(1, usize::saturating_mul);
        match count {
            // It is known already.
            1 => return Some(Vec::new()),
            _ if count > most => return None,
            _ => {}
        }
        let mut states = vec![self.start(key, trie)];
        for step in &key.steps {
            let names =
                || std::iter::once(step.written).chain(sorts_of(step).iter().map(String::as_str));
            let mut next = Vec::with_capacity(states.len());
            for state in states {
                next.extend(names().map(|name| self.enter(state, name, trie)));
            }
            states = next;
        }
        Some(states)
    }

    /// Where the way of a key begins.
    fn start(&mut self, key: &Key<'_>, trie: &mut Vec<HashMap<u32, u32>>) -> usize {
        match (key.is_anchored, key.document) {
            (false, _) => 0,
            (true, None) => 1,
            (true, Some(document)) => self.anchor(document, trie),
        }
    }

    /// The state that a step of a key leads to; a new one if no other key went this way.
    fn enter(&mut self, state: usize, step: &str, trie: &mut Vec<HashMap<u32, u32>>) -> usize {
        let name = self.name(step);
        if let Some(known) = trie[state].get(&name) {
            return *known as usize;
        }
        trie.push(HashMap::default());
        self.declarations.push(None);
        let new = trie.len() - 1;
        trie[state].insert(name, new as u32);
        if let Some((attribute, value)) = KeyStep::parse(step).sort {
            let sort = (attribute.to_owned(), value.to_owned());
            self.sort_of.insert(new as u32, sort);
        }
        new
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

    /// The context of a child of which no more is known than its name.
    pub(crate) fn child(&self, parent: Context, name: &str) -> Context {
        match self.names.get(name) {
            Some(name) => Context(self.step(parent.0 as usize, *name) as u32),
            None => Context::ELSEWHERE,
        }
    }

    /// The context of a child whose attributes have these values.
    pub(crate) fn sorted_child<V: AsRef<str>>(
        &self,
        parent: Context,
        name: &str,
        value_of: impl Fn(&str) -> Option<V>,
    ) -> Context {
        let sorts = self.sorts.get(name);
        match sorts.and_then(|sorts| sorts.of(value_of)) {
            Some(sort) => Context(self.step(parent.0 as usize, sort) as u32),
            None => self.child(parent, name),
        }
    }

    /// The first declaration that is not found wherever its key fits, since names without a sort stand for too many.
    pub(crate) fn beyond(&self) -> Option<usize> {
        self.beyond
    }

    /// The contexts of children of this name: first of those of no sort that is told, then of each sort.
    pub(crate) fn children<'s>(
        &'s self,
        parent: Context,
        name: &str,
    ) -> impl Iterator<Item = Context> + use<'s> {
        let sorts = self.sorts.get(name).map_or(&[][..], |sorts| &sorts.names);
        let sorts = sorts.iter();
        let sorts = sorts.map(move |sort| Context(self.step(parent.0 as usize, *sort) as u32));
        std::iter::once(self.child(parent, name)).chain(sorts)
    }

    /// Whether elements in this context may have this value in an attribute, as far as their sort tells.
    pub(crate) fn may_have(&self, context: Context, attribute: &str, value: &str) -> bool {
        let sort = self.sort_of.get(&context.0);
        sort.is_none_or(|(known, own)| known != attribute || own == value)
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
    fn an_attribute_may_tell_sorts_of_elements_apart() {
        let keys = [
            "item",
            "item[@sort='tag']",
            "item[@sort='act']/item",
            "item[@sort='act']/item[@sort='a/b']",
            "crate/item",
            "item/label",
        ];
        let contexts = Contexts::new(keys);
        let found = |path: &[(&str, &str)]| {
            let steps = path.iter();
            let context = steps.fold(Context::DOCUMENT, |context, (name, sort)| {
                contexts.sorted_child(context, name, |attribute| {
                    (attribute == "sort").then_some(*sort)
                })
            });
            contexts.declaration(context).map(|at| keys[at])
        };
        assert_eq!(found(&[("item", "tag")]), Some("item[@sort='tag']"));
        assert_eq!(found(&[("item", "other")]), Some("item"));
        // A longer end goes before a sort.
        assert_eq!(found(&[("crate", ""), ("item", "tag")]), Some("crate/item"));
        let act = ("item", "act");
        assert_eq!(found(&[act]), Some("item"));
        assert_eq!(
            found(&[act, ("item", "tag")]),
            Some("item[@sort='act']/item")
        );
        let longest = Some("item[@sort='act']/item[@sort='a/b']");
        assert_eq!(found(&[act, ("item", "a/b")]), longest);
        // A name without a sort stands for all sorts.
        assert_eq!(found(&[act, ("label", "")]), Some("item/label"));
        assert_eq!(found(&[("item", ""), ("label", "")]), Some("item/label"));
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
