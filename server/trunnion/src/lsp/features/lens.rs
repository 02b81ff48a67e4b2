use ide::lens::{LensKind, lenses};
use tower_lsp::jsonrpc::Result;
use tower_lsp::lsp_types::CodeLens;

use super::Question;
use crate::lsp::{precedents, preview, uses};

/// Above each name how often it is used, *play*, which opens the preview, and *How others do this*, which leads into the
/// library: for clients that send commands back.
pub(crate) fn lens(question: &Question) -> Result<Option<Vec<CodeLens>>> {
    if !question.client.lenses {
        return Ok(None);
    }
    let (places, uri) = (question.places(), &question.open.uri);
    let command = |lens: &ide::lens::Lens| match &lens.kind {
        LensKind::Uses(count) => uses::command(uri, lens.range.start(), *count),
        LensKind::Precedents(machines) => precedents::lens(uri, lens.range.start(), *machines),
        LensKind::Play(animation) => preview::play(uri, animation),
    };
    let shown = lenses(&question.view).into_iter().map(|lens| CodeLens {
        range: places.range(lens.range),
        command: Some(command(&lens)),
        data: None,
    });
    Ok(Some(shown.collect()))
}
