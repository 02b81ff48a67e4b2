//! The outline of a document and the search through all open ones. The kinds are among those that every client knows
//! (LSP 3.17, `SymbolKind`: "File" to "Array").

mod nested;

use std::io::{self, BufWriter, Write};
use std::iter;

use ide::symbols::{self, Symbol, SymbolKind as Kind};
use ide::workspace_symbols::NamedPlace;
use project::View;
use serde::{Serialize, Serializer};
use syntax::{Nearby, Source, TextSize};
use tower_lsp::jsonrpc::Result;
use tower_lsp::lsp_types::{Location, SymbolInformation, SymbolKind, Url};

use super::Question;
use crate::lsp::chunks::{CHUNK, Chunks, Late};
use crate::lsp::convert::Places;

/// In bytes. An outline is twice as long as its document: that of a larger one is made while it goes out.
const LARGE: TextSize = TextSize::new(2 << 20);

/// In the form that the client can take; as the text that goes out.
pub(crate) fn outline(question: &Question) -> Result<Chunks> {
    if question.client.symbol_tree {
        if question.view.document.text_len() > LARGE {
            let question = question.clone();
            let late = Late::new(move |output| {
                let few = question.few_places();
                let text = &Nearby::new(few.text);
                let output = BufWriter::with_capacity(CHUNK, output);
                write_outline(&question, Places { text, ..few }, output)
            });
            return Ok(late.into());
        }
        let length = usize::from(question.view.document.text_len());
        let mut text = Chunks::with_room(3 * length);
        // It takes everything.
        let _ = write_outline(question, question.places(), &mut text);
        Ok(text)
    } else {
        let symbols = symbols::symbols(&question.view);
        Ok(Chunks::json(&Flat { question, symbols }))
    }
}

fn write_outline(question: &Question, places: Places<'_>, output: impl Write) -> io::Result<()> {
    let mut writer = nested::Writer::new(places, output);
    symbols::each(&question.view, |depth, symbol| writer.add(depth, &symbol));
    writer.end()
}

/// A list of `SymbolInformation` (LSP 3.17). Each is made when it is written: there may be tens of thousands.
struct Flat<'q> {
    question: &'q Question,
    symbols: Vec<Symbol>,
}

impl Serialize for Flat<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> std::result::Result<S::Ok, S::Error> {
        let places = self.question.places();
        let mut open: Vec<(&Symbol, Option<&Symbol>)> = Vec::new();
        open.extend(self.symbols.iter().rev().map(|symbol| (symbol, None)));
        serializer.collect_seq(iter::from_fn(|| {
            let (symbol, around) = open.pop()?;
            let inside = symbol.children.iter().rev();
            open.extend(inside.map(|child| (child, Some(symbol))));
            let uri = self.question.open.uri.clone();
            let location = Location::new(uri, places.range(symbol.range));
            let container = around.map(|around| around.name.clone());
            let name = symbol.name.clone();
            Some(information(name, symbol.kind, location, container))
        }))
    }
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
