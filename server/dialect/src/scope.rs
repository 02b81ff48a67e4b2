//! Within what a name means one thing.

use crate::kinds::Kind;
use crate::model::Dialect;

/// Within what a name of a kind belongs to one thing only, and where it is looked for.
#[derive(Copy, Clone, Debug, Default, PartialEq, Eq, Hash)]
pub enum NameScope {
    /// The document.
    #[default]
    Document,
    /// The mod: other documents may give the names that a document refers to.
    Folder,
    /// The element around the thing: other elements of the document may hold things of the
    /// same name.
    Parent,
}

impl NameScope {
    /// The words for them in dialect files.
    pub const WORDS: [(&'static str, Self); 3] = [
        ("document", Self::Document),
        ("folder", Self::Folder),
        ("parent", Self::Parent),
    ];

    /// The word for it in dialect files.
    pub fn as_str(self) -> &'static str {
        let known = Self::WORDS.iter().find(|(_, scope)| *scope == self);
        known.map_or("", |(word, _)| word)
    }
}

impl Dialect {
    /// Within what names of a kind belong to one thing only.
    pub fn name_scope(&self, kind: &Kind) -> NameScope {
        let known = self.scopes.iter().find(|(known, _)| known == kind);
        known.map(|(_, scope)| *scope).unwrap_or_default()
    }
}
