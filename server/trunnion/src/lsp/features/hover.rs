use tower_lsp::jsonrpc::Result;
use tower_lsp::lsp_types::{Hover, HoverContents, Position};

use super::{Question, prose};

pub(crate) fn hover(question: &Question, at: Position) -> Result<Option<Hover>> {
    let found = ide::hover::hover(&question.view, question.offset(at)?);
    Ok(found.map(|hover| Hover {
        contents: HoverContents::Markup(prose(&hover.text, question.client.hover_markdown)),
        range: Some(question.few_places().range(hover.range)),
    }))
}
