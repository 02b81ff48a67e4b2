//! The outline of a document and the search through all open ones. The kinds are among those that every client knows
//! (LSP 3.17, `SymbolKind`: "File" to "Array").

mod nested;

use ide::symbols::{Symbol, SymbolKind as Kind, symbols};
use ide::workspace_symbols::NamedPlace;
use project::View;
use tower_lsp::jsonrpc::Result;
use tower_lsp::lsp_types::{Location, SymbolInformation, SymbolKind, Url};

use super::Question;
use crate::lsp::chunks::Chunks;
use crate::lsp::convert::Places;

/// In the form that the client can take; as the text that goes out.
pub(crate) fn outline(question: &Question) -> Result<Chunks> {
    let found = symbols(&question.view);
    if question.client.symbol_tree {
        Ok(nested::text(&found, question.places()))
    } else {
        Ok(Chunks::json(&flat(question, found)))
    }
}

fn flat(question: &Question, symbols: Vec<Symbol>) -> Vec<SymbolInformation> {
    let places = question.places();
    let mut found = Vec::new();
    let mut open: Vec<(Symbol, Option<String>)> = symbols
        .into_iter()
        .rev()
        .map(|symbol| (symbol, None))
        .collect();
    while let Some((symbol, container)) = open.pop() {
        let location = Location::new(question.open.uri.clone(), places.range(symbol.range));
        let inside = symbol.children.into_iter().rev();
        open.extend(inside.map(|child| (child, Some(symbol.name.clone()))));
        found.push(information(symbol.name, symbol.kind, location, container));
    }
    found
}

/// The things in one document, which need not be open.
pub(crate) fn workspace_symbols(
    view: &View,
    uri: &Url,
    places: Places<'_>,
    query: &str,
) -> Vec<SymbolInformation> {
    let found: Vec<NamedPlace> = ide::workspace_symbols::workspace_symbols(view, query);
    let found = found.into_iter().map(|place| {
        let location = Location::new(uri.clone(), places.range(place.range));
        let container = Some(place.container).filter(|container| !container.is_empty());
        information(place.name, place.kind, location, container)
    });
    found.collect()
}

fn information(
    name: String,
    of: Kind,
    location: Location,
    container: Option<String>,
) -> SymbolInformation {
    #[allow(deprecated, reason = "the field has to be there")]
    SymbolInformation {
        name,
        kind: kind(of),
        tags: None,
        deprecated: None,
        location,
        container_name: container,
    }
}

fn kind(kind: Kind) -> SymbolKind {
    match kind {
        Kind::Document => SymbolKind::MODULE,
        Kind::Section => SymbolKind::NAMESPACE,
        Kind::Alias => SymbolKind::VARIABLE,
        Kind::Wheel => SymbolKind::CLASS,
        Kind::Sound => SymbolKind::STRING,
        Kind::Animation => SymbolKind::FUNCTION,
        Kind::Channel => SymbolKind::PROPERTY,
        Kind::Control => SymbolKind::INTERFACE,
        Kind::Named => SymbolKind::CONSTANT,
        Kind::Element => SymbolKind::FIELD,
    }
}
