//! Walks paths over the declarations, to see whether they can lead anywhere.

use std::collections::{BTreeSet, HashMap};

use crate::context::Context;
use crate::documents::DocumentKind;
use crate::grammar::{ElementDecl, Grammar};
use crate::nearest::nearest;
use crate::path::{Leaf, Path, Predicate, Step, StepKind};

/// The declarations as documents can reach them.
pub(super) struct Site<'g> {
    grammar: &'g Grammar,
    /// The names of the documents' roots, with their contexts.
    roots: Vec<(String, Context)>,
    /// Reachable contexts with those they can be entered from.
    parents: HashMap<Context, BTreeSet<Context>>,
}

/// Contexts in a fixed order.
pub(super) type Contexts = BTreeSet<Context>;

/// A declared attribute or text: the element's number and the leaf.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct ValuePlace {
    pub(super) element: usize,
    pub(super) leaf: Leaf,
}

impl<'g> Site<'g> {
    pub(super) fn new<'k>(
        grammar: &'g Grammar,
        documents: impl IntoIterator<Item = &'k DocumentKind>,
    ) -> Self {
        let roots = documents.into_iter();
        let roots = roots.map(|kind| (kind.root.clone(), grammar.root(kind)));
        let roots: Vec<(String, Context)> = roots.collect();
        let parents = grammar.reachable(roots.iter().map(|(_, context)| *context));
        Self {
            grammar,
            roots,
            parents,
        }
    }

    /// Outside the root element.
    pub(super) fn document() -> Contexts {
        Contexts::from([Context::DOCUMENT])
    }

    /// The contexts a path's steps lead to. Never empty.
    ///
    /// # Errors
    /// Which step leads nowhere, and what may have been meant.
    pub(super) fn walk(&mut self, from: &Contexts, path: &Path) -> Result<Contexts, String> {
        let mut contexts = match path.is_absolute() {
            true => Self::document(),
            false => from.clone(),
        };
        for step in path.steps() {
            contexts = self.step(&contexts, step)?;
        }
        Ok(contexts)
    }

    /// The declarations of the values a path leads to. Empty only where an element is open.
    ///
    /// # Errors
    /// As [`Site::walk`]; or that no element there has such a value.
    pub(super) fn values(
        &mut self,
        from: &Contexts,
        path: &Path,
    ) -> Result<Vec<ValuePlace>, String> {
        let contexts = self.walk(from, path)?;
        let mut places = Vec::new();
        let mut open = false;
        for context in &contexts {
            let Some(element) = self.grammar.contexts.declaration(*context) else {
                open = true;
                continue;
            };
            let declared = &self.grammar.elements[element];
            let place = ValuePlace {
                element,
                leaf: path.leaf().clone(),
            };
            match declared.value_at(path.leaf()) {
                Some(_) if places.contains(&place) => {}
                Some(_) => places.push(place),
                None => open |= declared.open && *path.leaf() != Leaf::Text,
            }
        }
        if !places.is_empty() || open {
            return Ok(places);
        }
        let holders = self.labels(&contexts);
        Err(match path.leaf() {
            Leaf::Attribute(name) => {
                let elements = contexts.iter().filter_map(|at| self.grammar.element(*at));
                let names = elements.flat_map(|element| &element.attributes);
                match nearest(name, names.map(|attribute| attribute.name.as_str())) {
                    Some(meant) => {
                        format!("{holders} has no attribute `{name}`; did you mean `@{meant}`?")
                    }
                    None => format!("{holders} has no attribute `{name}`; declare it there"),
                }
            }
            _ => format!("{holders} has no text; declare it there: `text = {{ type = \"…\" }}`"),
        })
    }

    fn step(&mut self, from: &Contexts, step: &Step) -> Result<Contexts, String> {
        let mut found = match &step.kind {
            StepKind::Itself => from.clone(),
            StepKind::Parent => self.parents(from)?,
            StepKind::Child(name) => self.children(from, name.as_deref())?,
            StepKind::Descendant(name) => self.descendants(from, name.as_deref())?,
        };
        for predicate in &step.predicates {
            let Predicate::Holds { path, value } = predicate else {
                continue;
            };
            if let (Some(attribute), Some(value)) = (path.own_attribute(), value) {
                found.retain(|at| self.grammar.contexts.may_have(*at, attribute, value));
            }
            match path.leaf() {
                Leaf::Element => self.walk(&found, path).map(|_| ())?,
                _ => self.values(&found, path).map(|_| ())?,
            }
        }
        Ok(found)
    }

    fn parents(&self, from: &Contexts) -> Result<Contexts, String> {
        let parents: Contexts = from
            .iter()
            .filter_map(|context| self.parents.get(context))
            .flatten()
            .copied()
            .collect();
        if !parents.is_empty() {
            return Ok(parents);
        }
        let mut elements = self.grammar.elements.iter();
        let mut roots = self.roots.iter();
        let outermost =
            from.contains(&Context::DOCUMENT) || roots.any(|(_, root)| from.contains(root));
        match elements.any(|element| element.open) && !outermost {
            // Inside an open element the parent may be anything.
            true => Ok(Contexts::from([Context::ELSEWHERE])),
            false => Err(format!("{} has no parent for `..`", self.labels(from))),
        }
    }

    fn children(&mut self, from: &Contexts, name: Option<&str>) -> Result<Contexts, String> {
        let mut found = Contexts::new();
        for context in from {
            if *context == Context::DOCUMENT {
                let roots = self.roots.iter();
                let roots = roots.filter(|(root, _)| name.is_none_or(|name| name == root));
                found.extend(roots.map(|(_, context)| *context));
                continue;
            }
            let open = match self.grammar.element(*context) {
                Some(element) => element.open,
                None => true,
            };
            match name {
                Some(name) if self.child_names(*context).contains(&name) => {
                    found.extend(self.grammar.contexts.children(*context, name));
                }
                Some(name) if open => {
                    let child = self.grammar.contexts.child(*context, name);
                    self.enter(*context, child);
                    found.insert(child);
                }
                Some(_) => {}
                None => {
                    let names = self.child_names(*context);
                    let children = |name: &&str| self.grammar.contexts.children(*context, name);
                    found.extend(names.iter().flat_map(children));
                }
            }
        }
        if !found.is_empty() {
            return Ok(found);
        }
        let holders = self.labels(from);
        let Some(name) = name else {
            return Err(format!("{holders} holds no elements"));
        };
        let known: Vec<&str> = from
            .iter()
            .flat_map(|context| self.child_names(*context))
            .collect();
        let at_root = from.contains(&Context::DOCUMENT);
        Err(match (nearest(name, known.iter().copied()), at_root) {
            (Some(meant), true) => {
                format!("no document has the root `{name}`; did you mean `{meant}`?")
            }
            (None, true) => format!(
                "no document has the root `{name}`; the path starts at the root element ({})",
                known.join(", ")
            ),
            (Some(meant), false) => {
                format!("{holders} holds no `{name}`; did you mean `{meant}`?")
            }
            (None, false) => {
                format!("{holders} holds no `{name}`; add it to the `children` there")
            }
        })
    }

    /// Notes that an open element can hold an element that it does not list.
    fn enter(&mut self, parent: Context, child: Context) {
        self.parents.entry(child).or_default().insert(parent);
        self.grammar.reach(child, &mut self.parents);
    }

    fn descendants(&self, from: &Contexts, name: Option<&str>) -> Result<Contexts, String> {
        let mut below = Contexts::new();
        let mut waiting: Vec<Context> = from.iter().copied().collect();
        let mut found = Contexts::new();
        while let Some(context) = waiting.pop() {
            for (child_name, child) in self.entered(context) {
                if name.is_none_or(|name| name == child_name) {
                    found.insert(child);
                }
                if below.insert(child) {
                    waiting.push(child);
                }
            }
        }
        if !found.is_empty() {
            return Ok(found);
        }
        let open = |context: &Context| self.grammar.element(*context).is_some_and(|el| el.open);
        if let Some(name) = name
            && below.iter().chain(from).any(open)
        {
            return Ok(Contexts::from([self
                .grammar
                .contexts
                .child(Context::ELSEWHERE, name)]));
        }
        let holders = self.labels(from);
        let Some(name) = name else {
            return Err(format!("{holders} holds no elements"));
        };
        let known = below
            .iter()
            .filter_map(|context| self.grammar.element(*context));
        Err(
            match nearest(name, known.map(|element| element.name.as_str())) {
                Some(meant) => {
                    format!("no `{name}` stands below {holders}; did you mean `{meant}`?")
                }
                None => format!(
                    "no `{name}` stands below {holders}; declare it, and list it as a child"
                ),
            },
        )
    }

    /// The children of a context, each with the context that it leads to.
    fn entered(&self, context: Context) -> Vec<(&str, Context)> {
        if context == Context::DOCUMENT {
            let roots = self.roots.iter();
            return roots.map(|(name, root)| (name.as_str(), *root)).collect();
        }
        let names = self.child_names(context).into_iter();
        let children = |name| self.grammar.contexts.children(context, name);
        names
            .flat_map(|name| children(name).map(move |child| (name, child)))
            .collect()
    }

    fn child_names(&self, context: Context) -> Vec<&str> {
        if context == Context::DOCUMENT {
            return self.roots.iter().map(|(name, _)| name.as_str()).collect();
        }
        let element = self.grammar.element(context);
        let rules = element.into_iter().flat_map(|element| &element.children);
        rules.map(|rule| rule.name.as_str()).collect()
    }

    /// "`animation`", "`lever` or `switch`"
    fn labels(&self, contexts: &Contexts) -> String {
        let keys: BTreeSet<&str> = contexts
            .iter()
            .map(|context| match self.grammar.element(*context) {
                Some(element) => element.key.as_str(),
                None if *context == Context::DOCUMENT => "the document",
                None => "an undeclared element",
            })
            .collect();
        crate::values::or_list(keys.into_iter())
    }

    pub(super) fn element(&self, place: &ValuePlace) -> &ElementDecl {
        &self.grammar.elements[place.element]
    }
}
