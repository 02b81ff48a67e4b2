//! Finding things by name in all documents that are known.

use crate::symbols::{Symbol, SymbolKind, symbols};
use project::View;
use std::path::{Path, PathBuf};
use syntax::TextRange;

/// A thing that has a name, in some document.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NamedPlace {
    pub name: String,
    pub kind: SymbolKind,
    /// The name of what it is in; may be empty.
    pub container: String,
    pub path: PathBuf,
    /// The whole element.
    pub range: TextRange,
}

/// The things of a document whose names hold the letters of `query` in their
/// order, whatever their case; all for an empty query.
pub fn workspace_symbols(view: &View, query: &str) -> Vec<NamedPlace> {
    let query: Vec<char> = query
        .chars()
        .flat_map(char::to_lowercase)
        .filter(|c| !c.is_whitespace())
        .collect();
    let path: &Path = &view.document.path;
    let mut found = Vec::new();
    let mut open: Vec<(Symbol, String)> = symbols(view)
        .into_iter()
        .map(|root| (root, String::new()))
        .collect();
    while let Some((symbol, container)) = open.pop() {
        let inside = symbol.children.into_iter().rev();
        open.extend(inside.map(|child| (child, symbol.name.clone())));
        let has_name = !matches!(
            symbol.kind,
            SymbolKind::Section | SymbolKind::Element | SymbolKind::Channel
        );
        if has_name && fits(&symbol.name, &query) {
            found.push(NamedPlace {
                name: symbol.name,
                kind: symbol.kind,
                container,
                path: path.to_path_buf(),
                range: symbol.range,
            });
        }
    }
    found
}

fn fits(name: &str, query: &[char]) -> bool {
    let mut letters = name.chars().flat_map(char::to_lowercase);
    query
        .iter()
        .all(|wanted| letters.any(|letter| letter == *wanted))
}

#[cfg(test)]
mod tests;
