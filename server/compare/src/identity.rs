//! What tells an element from its neighbours: by the dialect its name, then what it refers to; by XML its `xml:id`.

use std::borrow::Cow;

use dialect::{Dialect, ElementDecl, ItemType, ValueType};

use crate::document::{Document, Id, Meaning};

/// How well an attribute tells elements apart that change meanwhile. The less, the better.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Rank {
    /// An ID of XML's, or a name in the dialect.
    Name,
    /// What it leads to: another thing, a node, a file, an input.
    Reference,
    /// One of a few words.
    Word,
    /// No dialect says what it is.
    Unknown,
    /// What people turn and translate.
    Quantity,
}

const XML_ID: &str = "xml:id";

#[derive(Debug, Clone, Copy)]
pub(crate) struct Identities<'d> {
    dialect: Option<&'d Dialect>,
}

impl<'d> Identities<'d> {
    pub(crate) fn new(meaning: Meaning<'d>) -> Self {
        Self {
            dialect: meaning.map(|(dialect, _)| dialect),
        }
    }

    fn declaration(&self, document: &Document<'_>, id: Id) -> Option<&'d ElementDecl> {
        self.dialect?.element(document.tag(id)?.context?)
    }

    /// The attributes of an element with what each is good for.
    pub(crate) fn attributes<'t>(
        &self,
        document: &Document<'t>,
        id: Id,
    ) -> Vec<(&'t str, Cow<'t, str>, Rank)> {
        let Some(element) = document.element(id) else {
            return Vec::new();
        };
        let declaration = self.declaration(document, id);
        element
            .attributes()
            .filter(|one| one.declared_prefix().is_none())
            .map(|one| {
                let declared = declaration.and_then(|known| known.attribute(one.name()));
                let rank = match declared {
                    _ if one.name() == XML_ID => Rank::Name,
                    Some(declared) => rank(&declared.value),
                    None => Rank::Unknown,
                };
                (one.name(), one.value(), rank)
            })
            .collect()
    }

    /// The child whose text is the element's name in the dialect, and that name.
    pub(crate) fn child_name<'t>(
        &self,
        document: &Document<'t>,
        id: Id,
    ) -> Option<(Id, Cow<'t, str>)> {
        self.declaration(document, id)?;
        let named = document
            .elements(id)
            .find(|child| self.text_names(document, *child, false))?;
        Some((named, document.only_text(named)?))
    }

    /// Whether the text of an element is a name in the dialect: its own, if there may be `several` such elements in the one
    /// around it, else the name of that one.
    fn text_names(&self, document: &Document<'_>, id: Id, several: bool) -> bool {
        let declared = self.declaration(document, id);
        let text = declared.and_then(|known| known.text.as_ref());
        text.is_some_and(|text| matches!(text.value.item, ItemType::NameOf(_))) && {
            let around = self.declaration(document, document.nodes[id].parent);
            let name = document.element(id).map(|element| element.local_name());
            let rule = around.zip(name).and_then(|(known, name)| known.child(name));
            rule.is_some_and(|rule| rule.max != Some(1)) == several
        }
    }

    /// What names the element: written with where it stands.
    pub(crate) fn name<'t>(&self, document: &Document<'t>, id: Id) -> Option<Cow<'t, str>> {
        let attributes = self.attributes(document, id).into_iter();
        let own = attributes
            .filter(|(.., rank)| *rank == Rank::Name)
            .map(|(_, value, _)| value)
            .next();
        let text = || {
            let text = self.text_names(document, id, true);
            text.then(|| document.only_text(id)).flatten()
        };
        own.or_else(text)
            .or_else(|| self.child_name(document, id).map(|(_, name)| name))
    }

    /// All that it refers to, in its attributes or as text of its children, in the order of their names.
    pub(crate) fn references<'t>(
        &self,
        document: &Document<'t>,
        id: Id,
    ) -> Vec<(&'t str, Cow<'t, str>)> {
        let attributes = self.attributes(document, id).into_iter();
        let children = document.elements(id).filter_map(|child| {
            let text = self.declaration(document, child)?.text.as_ref()?;
            let name = document.element(child)?.local_name();
            Some((name, document.only_text(child)?, rank(&text.value)))
        });
        let mut found: Vec<_> = attributes
            .chain(children)
            .filter(|(.., rank)| matches!(rank, Rank::Reference | Rank::Word))
            .map(|(name, value, _)| (name, value))
            .collect();
        found.sort_unstable();
        found
    }
}

fn rank(value: &ValueType) -> Rank {
    match &value.item {
        _ if value.list.is_some() => Rank::Quantity,
        ItemType::NameOf(_) => Rank::Name,
        ItemType::Reference(_)
        | ItemType::PositionOf { .. }
        | ItemType::Node { .. }
        | ItemType::IndexPath
        | ItemType::File { .. }
        | ItemType::Input(_) => Rank::Reference,
        ItemType::Word(_) => Rank::Word,
        _ => Rank::Quantity,
    }
}
