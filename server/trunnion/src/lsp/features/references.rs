use ide::highlight::HighlightKind;
use tower_lsp::jsonrpc::Result;
use tower_lsp::lsp_types::{DocumentHighlight, DocumentHighlightKind, Location, Position};

use super::Question;

pub(crate) fn references(
    question: &Question,
    at: Position,
    with_definition: bool,
) -> Result<Option<Vec<Location>>> {
    let found = ide::references::references(&question.view, question.offset(at)?, with_definition);
    let places = question.places();
    let locations = found
        .into_iter()
        .map(|range| Location::new(question.open.uri.clone(), places.range(range)));
    Ok(Some(locations.collect()))
}

pub(crate) fn highlight(
    question: &Question,
    at: Position,
) -> Result<Option<Vec<DocumentHighlight>>> {
    let found = ide::highlight::highlight(&question.view, question.offset(at)?);
    let places = question.places();
    let lights = found.into_iter().map(|light| DocumentHighlight {
        range: places.range(light.range),
        kind: Some(match light.kind {
            HighlightKind::Text => DocumentHighlightKind::TEXT,
            HighlightKind::Read => DocumentHighlightKind::READ,
            HighlightKind::Write => DocumentHighlightKind::WRITE,
        }),
    });
    Ok(Some(lights.collect()))
}
