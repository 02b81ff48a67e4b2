use tower_lsp::jsonrpc::{Error, Result};
use tower_lsp::lsp_types::{InlayHint, InlayHintLabel, Range};

use super::Question;

pub(crate) fn inlay(question: &Question, within: Range) -> Result<Option<Vec<InlayHint>>> {
    let places = question.places();
    let within = places
        .text_range(within)
        .map_err(|error| Error::invalid_params(error.to_string()))?;
    let hints = ide::inlay::hints(&question.view, within).into_iter();
    let hints = hints.map(|hint| InlayHint {
        position: places.position(hint.at),
        label: InlayHintLabel::String(hint.label),
        kind: None,
        text_edits: None,
        tooltip: None,
        padding_left: Some(true),
        padding_right: None,
        data: None,
    });
    Ok(Some(hints.collect()))
}
