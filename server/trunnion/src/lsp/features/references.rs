use ide::SharedName;
use ide::highlight::HighlightKind;
use tower_lsp::jsonrpc::Result;
use tower_lsp::lsp_types::{DocumentHighlight, DocumentHighlightKind, Location, Position};

use super::Question;
use crate::lsp::documents::places;

pub(crate) fn references(
    question: &Question,
    at: Position,
    with_definition: bool,
) -> Result<Option<Vec<Location>>> {
    let offset = question.offset(at)?;
    let found = ide::references::references(&question.view, offset, with_definition);
    let own = question.places();
    let locations = found
        .into_iter()
        .map(|range| Location::new(question.open.uri.clone(), own.range(range)));
    let mut locations: Vec<Location> = locations.collect();
    let shared = SharedName::at(&question.view, offset);
    let others = question.sharing(offset);
    if let Some(unread) = others.left_out() {
        question.log.show_warning(format!(
            "All files of this mod share the name, and it was not looked for in all of them.\n{unread}"
        ));
    }
    for other in others.views {
        let Some(uri) = question.open.snapshot().uri(&other.document.path) else {
            continue;
        };
        let places = places(&other.document, question.client.encoding);
        let found = shared
            .iter()
            .flat_map(|shared| shared.references(&other, with_definition));
        locations.extend(found.map(|range| Location::new(uri.clone(), places.range(range))));
    }
    Ok(Some(locations))
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
