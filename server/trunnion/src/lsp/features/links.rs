use tower_lsp::jsonrpc::Result;
use tower_lsp::lsp_types::DocumentLink;

use super::Question;
use crate::lsp::uris;

pub(crate) fn links(question: &Question) -> Result<Option<Vec<DocumentLink>>> {
    let places = question.places();
    let found = ide::links::links(&question.view).into_iter();
    let links = found.filter_map(|link| {
        Some(DocumentLink {
            range: places.range(link.range),
            target: Some(uris::uri(&link.target)?),
            tooltip: None,
            data: None,
        })
    });
    Ok(Some(links.collect()))
}
