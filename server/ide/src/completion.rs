//! What could be written at a place, the most useful first.
//!
//! Proposals are cheap; what is known about each is told on demand by [`about`].

mod attributes;
mod element_template;
mod elements;
mod end_tags;
mod entities;
mod files;
mod habits;
mod inputs;
mod names;
mod nodes;
mod seen;
mod values;

use crate::{
    hover::{facts, node_facts},
    nodes::Nodes,
    owners::named_element,
    prose::Prose,
    template::Template,
};
use dialect::Kind;
use project::View;
use syntax::{Place, Source, TextRange, TextSize};

/// Proposals for one place.
#[derive(Debug, Clone, PartialEq)]
pub struct Completion {
    /// What each proposal replaces. Holds the caret; what lies before the caret
    /// is what a person typed so far.
    pub replace: TextRange,
    pub items: Vec<CompletionItem>,
    /// There are more proposals than are shown: ask again after the next letter.
    pub is_incomplete: bool,
}

/// One proposal.
#[derive(Debug, Clone, PartialEq)]
pub struct CompletionItem {
    pub label: String,
    pub kind: CompletionKind,
    /// A few words beside the label.
    pub detail: String,
    pub about: About,
    /// What typed text is compared with, if it is not the label.
    pub filter: Option<String>,
    pub insert: Template,
}

/// What a proposal is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CompletionKind {
    Element,
    EndTag,
    Attribute,
    /// A value out of a fixed list.
    Word,
    /// A number or the like.
    Value,
    /// A name that the document gives.
    Name,
    /// An index path.
    Node,
    File,
    Input,
    Reference,
}

/// What is known about a proposal, or where to find it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum About {
    Text(Prose),
    /// The thing in the document with this name.
    Name {
        kind: String,
        name: String,
    },
    /// The node at these zero-based positions.
    Node(Vec<u32>),
}

impl CompletionItem {
    fn new(kind: CompletionKind, label: impl Into<String>, insert: impl Into<Template>) -> Self {
        Self {
            label: label.into(),
            kind,
            detail: String::new(),
            about: About::Text(Prose::new()),
            filter: None,
            insert: insert.into(),
        }
    }

    fn detail(mut self, detail: impl Into<String>) -> Self {
        self.detail = detail.into();
        self
    }

    fn about(mut self, about: About) -> Self {
        self.about = about;
        self
    }

    fn doc(self, doc: &str) -> Self {
        self.about(About::Text(Prose::new().doc(doc)))
    }

    fn filter(mut self, filter: impl Into<String>) -> Self {
        self.filter = Some(filter.into());
        self
    }
}

impl Completion {
    fn new(replace: TextRange, items: Vec<CompletionItem>) -> Self {
        Self {
            replace,
            items,
            is_incomplete: false,
        }
    }
}

/// What could be written at an offset; None where nothing can be said.
pub fn complete(view: &View, offset: TextSize) -> Option<Completion> {
    if let Some(completion) = entities::complete(view, offset) {
        return Some(completion);
    }
    let completion = match view.tree().place_at(offset) {
        Place::Outside { range } => elements::roots(view, range, offset),
        Place::ElementName { path, range } => elements::in_tag(view, &path, range),
        Place::EndTagName { path, range } => end_tags::complete(view, &path, range),
        Place::AttributeName {
            path,
            attribute,
            range,
        } => attributes::complete(view, &path, attribute, range, offset),
        Place::AttributeValue { .. } => values::complete(view, offset),
        Place::Content { path, range } => {
            let value = values::complete(view, offset);
            value
                .filter(|value| !value.items.is_empty())
                .or_else(|| elements::in_content(view, &path, range, offset))
        }
        Place::Comment | Place::CData | Place::ProcessingInstruction | Place::Doctype => None,
    };
    completion.filter(|completion| !completion.items.is_empty())
}

/// What is known about a proposal.
pub fn about(view: &View, about: &About) -> Prose {
    match about {
        About::Text(prose) => prose.clone(),
        About::Name { kind, name } => {
            let meaning = view.meaning.as_ref();
            let given =
                meaning.and_then(|meaning| meaning.outline.definition(&[Kind::new(kind)], name));
            given.map_or_else(Prose::new, |given| facts(view, named_element(view, &given)))
        }
        About::Node(path) => {
            let nodes = Nodes::of(view);
            let found = nodes
                .as_ref()
                .and_then(|nodes| Some((nodes, nodes.scene.walk(path).ok()?)));
            found.map_or_else(Prose::new, |(nodes, id)| node_facts(view, nodes, id, None))
        }
    }
}

/// The part of a name that stands directly before an offset, within a range.
fn word_before(view: &View, within: TextRange, offset: TextSize) -> TextRange {
    let start = within.start().min(offset);
    let before = view.document.slice(TextRange::new(start, offset));
    let is_name = |c: char| c.is_alphanumeric() || matches!(c, '_' | '-' | '.' | ':');
    let word = before.len() - before.trim_end_matches(is_name).len();
    TextRange::new(
        offset - TextSize::try_from(word).unwrap_or_default(),
        offset,
    )
}

#[cfg(test)]
mod tests;
