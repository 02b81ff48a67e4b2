use tower_lsp::jsonrpc::Result;
use tower_lsp::lsp_types::{Position, PrepareRenameResponse, WorkspaceEdit};

use super::Question;
use crate::lsp::convert::{self, FileEdits};
use crate::lsp::documents::failed;

pub(crate) fn prepare_rename(
    question: &Question,
    at: Position,
) -> Result<Option<PrepareRenameResponse>> {
    let renaming = ide::rename::prepare(&question.view, question.offset(at)?).map_err(failed)?;
    Ok(Some(PrepareRenameResponse::RangeWithPlaceholder {
        range: question.places().range(renaming.range),
        placeholder: renaming.name,
    }))
}

pub(crate) fn rename(
    question: &Question,
    at: Position,
    new_name: &str,
) -> Result<Option<WorkspaceEdit>> {
    let edits =
        ide::rename::rename(&question.view, question.offset(at)?, new_name).map_err(failed)?;
    let file = FileEdits {
        uri: question.open.uri.clone(),
        version: question.open.version(),
        edits: question.places().edits(&edits),
    };
    Ok(Some(convert::workspace_edit(vec![file], &question.client)))
}
