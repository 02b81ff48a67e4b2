use tower_lsp::jsonrpc::Result;
use tower_lsp::lsp_types::{LinkedEditingRanges, Position};

use super::Question;

pub(crate) fn linked_editing(
    question: &Question,
    at: Position,
) -> Result<Option<LinkedEditingRanges>> {
    let found = ide::linked_editing::linked_editing(&question.view, question.offset(at)?);
    let places = question.few_places();
    Ok(found.map(|names| LinkedEditingRanges {
        ranges: names.map(|name| places.range(name)).to_vec(),
        word_pattern: None,
    }))
}
