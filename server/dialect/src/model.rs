use std::path::PathBuf;
use std::sync::Arc;

use syntax::Element;

use crate::context::Context;
use crate::documents::{DocumentKind, Fit, Marked};
use crate::grammar::{ElementDecl, Grammar};
use crate::house;
use crate::inputs::Inputs;
use crate::kinds::Kind;
use crate::notation::Notation;
use crate::path::Predicate;
use crate::problem::DialectProblem;
use crate::read;
use crate::roles::Roles;
use crate::scene_format::XmlSceneFormat;
use crate::scope::NameScope;
use crate::value_type::WordList;

/// What a game's files may contain and what it means.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Dialect {
    /// Short name, for settings and messages.
    pub name: String,
    /// Name for readers.
    pub title: String,
    /// What it is about; may be empty.
    pub doc: String,
    /// The file it was read from; `None` for the house dialect.
    pub origin: Option<PathBuf>,
    /// The kinds of documents it is about.
    pub documents: Vec<Arc<DocumentKind>>,
    /// Habits of writing.
    pub notation: Notation,
    /// The game's axes and buttons.
    pub inputs: Inputs,
    /// The word lists that have a name.
    pub word_lists: Vec<Arc<WordList>>,
    /// Within what names belong to one thing only, for kinds where it is not the document.
    pub scopes: Vec<(Kind, NameScope)>,
    /// Which constructs mean which concept.
    pub roles: Roles,
    /// The dialect's own format for scenes, if it has one besides glTF.
    pub scene_format: Option<XmlSceneFormat>,
    pub(crate) grammar: Grammar,
}

impl Dialect {
    /// Reads a dialect file. `origin` is kept for messages and for going there.
    ///
    /// # Errors
    /// Everything that is wrong with the file, in its order; never empty.
    pub fn read(toml: &str, origin: Option<PathBuf>) -> Result<Dialect, Vec<DialectProblem>> {
        read::read(toml, origin)
    }

    /// The built-in dialect.
    pub fn house() -> Arc<Dialect> {
        house::house()
    }

    /// The file of the built-in dialect, as an example to start another from.
    pub fn house_source() -> &'static str {
        house::HOUSE
    }

    /// The kind of document that fits best. `root` is the root element's namespace and
    /// local name.
    pub fn document_for(
        &self,
        root: Option<(Option<&str>, &str)>,
        file_name: &str,
    ) -> Option<&DocumentKind> {
        self.fit(root, None, file_name).map(|(kind, _)| &**kind)
    }

    /// The kind of document that fits best, and how well: to choose among dialects. `element` is the root itself, for
    /// kinds that are told apart by what it looks like.
    pub fn fit(
        &self,
        root: Option<(Option<&str>, &str)>,
        element: Option<Element<'_>>,
        file_name: &str,
    ) -> Option<(&Arc<DocumentKind>, (Fit, Marked))> {
        let mut best: Option<(&Arc<DocumentKind>, (Fit, Marked))> = None;
        for kind in &self.documents {
            let Some(fit) = kind.fit(root, file_name) else {
                continue;
            };
            let fit = (fit, kind.marks.fit(element));
            if best.is_none_or(|(_, least)| fit > least) {
                best = Some((kind, fit));
            }
        }
        best
    }

    /// Whether documents of a kind may name a scene, as those of machines do. True where that is not known, as in a dialect
    /// that knows of no scenes.
    pub fn may_be_machine(&self, kind: &DocumentKind) -> bool {
        let scene = self.scene_format.as_ref();
        if scene.is_some_and(|scene| scene.document.root == kind.root) {
            return false;
        }
        let named = self.roles.scenes.iter().map(|role| role.at.last_name());
        let Some(names) = named.collect::<Option<Vec<&str>>>() else {
            return true;
        };
        let reached = self.grammar.reachable([self.root_context(kind)]);
        let mut elements = reached.keys().filter_map(|one| self.grammar.element(*one));
        names.is_empty() || elements.any(|one| one.open || names.contains(&&*one.name))
    }

    /// The context of the root element of a kind of document.
    pub fn root_context(&self, document: &DocumentKind) -> Context {
        self.child_context(self.document_context(document), &document.root)
    }

    /// The context around the root element of a kind of document.
    pub fn document_context(&self, document: &DocumentKind) -> Context {
        self.grammar.contexts.document(&document.name)
    }

    /// The context of a child of which no more is known than its local name. Takes one look-up.
    pub fn child_context(&self, parent: Context, local_name: &str) -> Context {
        self.grammar.contexts.child(parent, local_name)
    }

    /// The context of a child element. Takes one look-up, and another for each attribute by which keys tell its sort.
    pub fn element_context(&self, parent: Context, element: &Element<'_>) -> Context {
        let value = |name: &str| element.attribute(name).map(|attribute| attribute.value());
        self.child_context_by(parent, element.local_name(), value)
    }

    /// The same by the element's local name and the values of its attributes.
    pub fn child_context_by<V: AsRef<str>>(
        &self,
        parent: Context,
        local_name: &str,
        value_of: impl Fn(&str) -> Option<V>,
    ) -> Context {
        let contexts = &self.grammar.contexts;
        contexts.sorted_child(parent, local_name, value_of)
    }

    /// The context of a child for which these conditions hold.
    pub fn context_where(
        &self,
        parent: Context,
        local_name: &str,
        conditions: &[Predicate],
    ) -> Context {
        let value = |name: &str| {
            let mut conditions = conditions.iter();
            conditions.find_map(|condition| match condition {
                Predicate::Holds { path, value } if path.own_attribute() == Some(name) => {
                    value.as_deref()
                }
                _ => None,
            })
        };
        let contexts = &self.grammar.contexts;
        contexts.sorted_child(parent, local_name, value)
    }

    /// What an element in this context may hold; `None` if nothing declares it.
    pub fn element(&self, context: Context) -> Option<&ElementDecl> {
        self.grammar.element(context)
    }

    /// All element declarations, in the order of the file.
    pub fn elements(&self) -> &[ElementDecl] {
        &self.grammar.elements
    }

    /// The kinds of names that stand for nodes.
    pub(crate) fn alias_kinds(&self) -> Vec<Kind> {
        let mut kinds: Vec<Kind> = Vec::new();
        for role in &self.roles.aliases {
            if !kinds.contains(&role.kind) {
                kinds.push(role.kind);
            }
        }
        kinds
    }
}
