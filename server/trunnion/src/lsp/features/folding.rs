use ide::folding::{FoldKind, folds};
use tower_lsp::jsonrpc::Result;
use tower_lsp::lsp_types::{FoldingRange, FoldingRangeKind};

use super::Question;

pub(crate) fn folding(question: &Question) -> Result<Option<Vec<FoldingRange>>> {
    let places = question.places();
    let whole_lines = question.client.folding_whole_lines;
    let ranges = folds(&question.view).into_iter().map(|fold| {
        let range = places.range(fold.range);
        FoldingRange {
            start_line: range.start.line,
            start_character: (!whole_lines).then_some(range.start.character),
            end_line: range.end.line,
            end_character: (!whole_lines).then_some(range.end.character),
            kind: match fold.kind {
                FoldKind::Content => None,
                FoldKind::Comment => Some(FoldingRangeKind::Comment),
                FoldKind::Prolog => Some(FoldingRangeKind::Region),
            },
            collapsed_text: None,
        }
    });
    Ok(Some(ranges.collect()))
}
