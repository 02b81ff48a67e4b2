//! What may stand where: elements, their children and their attributes.

use std::collections::HashMap;

use crate::context::{Context, Contexts};
use crate::path::Leaf;
use crate::value_type::ValueType;

/// All element declarations and the automaton that finds them.
#[derive(Clone, Debug, PartialEq, Default)]
pub(crate) struct Grammar {
    pub(crate) elements: Vec<ElementDecl>,
    pub(crate) contexts: Contexts,
}

impl Grammar {
    pub(crate) fn new(elements: Vec<ElementDecl>) -> Self {
        let keys = elements.iter().map(|element| element.key.as_str());
        let contexts = Contexts::new(keys);
        Self { elements, contexts }
    }

    pub(crate) fn element(&self, context: Context) -> Option<&ElementDecl> {
        let declaration = self.contexts.declaration(context)?;
        self.elements.get(declaration)
    }

    /// Every context that documents with these root elements can reach through declared
    /// children, with the contexts it can be entered from.
    pub(crate) fn reachable<'r>(
        &self,
        roots: impl IntoIterator<Item = &'r str>,
    ) -> HashMap<Context, Vec<Context>> {
        let mut parents = HashMap::new();
        for root in roots {
            let context = self.contexts.child(Context::DOCUMENT, root);
            parents.entry(context).or_insert_with(Vec::new);
            self.reach(context, &mut parents);
        }
        parents
    }

    /// Adds what can be reached from one more context, which is itself in `parents`.
    pub(crate) fn reach(&self, from: Context, parents: &mut HashMap<Context, Vec<Context>>) {
        let mut waiting = vec![from];
        while let Some(context) = waiting.pop() {
            let Some(element) = self.element(context) else {
                continue;
            };
            for rule in &element.children {
                let child = self.contexts.child(context, &rule.name);
                match parents.get_mut(&child) {
                    Some(known) if known.contains(&context) => {}
                    Some(known) => known.push(context),
                    None => {
                        parents.insert(child, vec![context]);
                        waiting.push(child);
                    }
                }
            }
        }
    }
}

/// What an element may hold.
#[derive(Clone, Debug, PartialEq)]
pub struct ElementDecl {
    /// The name or path suffix it is declared under: `wheel`, `wheels/wheel`, `/machine`.
    pub key: String,
    /// The element's local name: the last step of the key.
    pub name: String,
    /// What it is for; may be empty.
    pub doc: String,
    /// The elements it may hold, in the order of the file.
    pub children: Vec<ChildRule>,
    /// Whether the children must stand in the order of `children`.
    pub order: Order,
    /// Its attributes, in the order of the file.
    pub attributes: Vec<AttributeDecl>,
    /// Its text, if it may hold any; the declaration's name is `text()`.
    pub text: Option<AttributeDecl>,
    /// Whether unknown children and attributes are welcome.
    pub open: bool,
    /// Whether what the checks find against this declaration is a fault (a hint if not).
    pub strict: bool,
    /// Where the declaration comes from, if it was learnt from files.
    pub learnt: Option<Learnt>,
}

impl ElementDecl {
    /// The declaration of an attribute, by its name in the document.
    pub fn attribute(&self, name: &str) -> Option<&AttributeDecl> {
        self.attributes.iter().find(|known| known.name == name)
    }

    /// The rule for children of this name.
    pub fn child(&self, name: &str) -> Option<&ChildRule> {
        self.children.iter().find(|rule| rule.name == name)
    }

    /// The declaration of the attribute or text that a path's leaf names.
    pub fn value_at(&self, leaf: &Leaf) -> Option<&AttributeDecl> {
        match leaf {
            Leaf::Attribute(name) => self.attribute(name),
            Leaf::Text => self.text.as_ref(),
            Leaf::Element => None,
        }
    }
}

/// How often a child may stand in its parent.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChildRule {
    /// Local name.
    pub name: String,
    /// Least number of times.
    pub min: u32,
    /// Greatest number of times; `None` is any.
    pub max: Option<u32>,
}

/// Whether the order of children counts.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Default)]
pub enum Order {
    /// Any order.
    #[default]
    Any,
    /// The order in which the declaration lists them.
    Listed,
}

/// What an attribute, or an element's text, may say.
#[derive(Clone, Debug, PartialEq)]
pub struct AttributeDecl {
    /// The attribute's name as documents write it; `text()` for an element's text.
    pub name: String,
    /// What it is for; may be empty.
    pub doc: String,
    /// Whether it must be there.
    pub required: bool,
    /// What may stand in it.
    pub value: ValueType,
    /// What most authors write; what new constructs are given.
    pub usual: Option<String>,
    /// What the game takes where it is absent.
    pub default: Option<String>,
    /// Whether what the checks find against this declaration is a fault (a hint if not).
    pub strict: bool,
    /// Where the declaration comes from, if it was learnt from files.
    pub learnt: Option<Learnt>,
}

/// The record of a declaration that was learnt from a library of files.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Learnt {
    /// How often it was seen.
    pub seen: u32,
    /// In how many places it could have been; 0 if that is not told.
    pub of: u32,
    /// In how many files it was seen; 0 if that is not told.
    pub files: u32,
    /// Least and greatest number seen.
    pub range: Option<(f64, f64)>,
    /// Frequent values with how often each was seen, in the order of the file.
    pub values: Vec<(String, u32)>,
    /// Some of the places where it was seen.
    pub places: Vec<String>,
    /// Some of the places that do not fit.
    pub exceptions: Vec<String>,
}
