use tower_lsp::jsonrpc::Result;
use tower_lsp::lsp_types::{Position, SelectionRange};

use super::Question;

/// The answer nests; clients that read it level by level refuse very deep ones.
const MOST: usize = 60;

pub(crate) fn selection(
    question: &Question,
    at: &[Position],
) -> Result<Option<Vec<SelectionRange>>> {
    let nested = at.iter().map(|position| {
        let mut ranges = ide::selection::selections(&question.view, question.offset(*position)?);
        if ranges.len() > MOST {
            // The innermost steps and the whole text.
            ranges.drain(MOST - 1..ranges.len() - 1);
        }
        let outwards = ranges.iter().rev();
        let innermost = outwards.fold(None, |parent, range| {
            Some(SelectionRange {
                range: question.places().range(*range),
                parent: parent.map(Box::new),
            })
        });
        Ok(innermost.unwrap_or_else(|| SelectionRange {
            range: tower_lsp::lsp_types::Range::new(*position, *position),
            parent: None,
        }))
    });
    nested.collect::<Result<_>>().map(Some)
}
