use tower_lsp::jsonrpc::Result;
use tower_lsp::lsp_types::{Position, Range, TextEdit};

use super::Question;

/// `typed`: what was typed just before the position.
pub(crate) fn closing(
    question: &Question,
    at: Position,
    typed: &str,
) -> Result<Option<Vec<TextEdit>>> {
    let offset = question.offset(at)?;
    let mut typed = typed.chars();
    let insert = match (typed.next(), typed.next()) {
        (Some(typed), None) => ide::closing::closing(&question.view, offset, typed),
        _ => None,
    };
    Ok(insert.map(|insert| vec![TextEdit::new(Range::new(at, at), insert)]))
}
