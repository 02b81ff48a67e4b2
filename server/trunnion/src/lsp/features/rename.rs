use tower_lsp::jsonrpc::Result;
use tower_lsp::lsp_types::{Position, PrepareRenameResponse, WorkspaceEdit};

use super::Question;
use crate::lsp::convert::{self, FileEdits};
use crate::lsp::documents::{failed, places};

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
    let offset = question.offset(at)?;
    let others = question.sharing(offset);
    // Half a rename would break what still has the old name.
    if let Some(unread) = others.left_out() {
        return Err(failed(format!(
            "All files of this mod share the name, and not all of them can be read, so it is renamed in none.\n{unread}"
        )));
    }
    let renamed = ide::rename::rename(&question.view, &others.views, offset, new_name);
    let snapshot = question.open.snapshot();
    let files = renamed
        .map_err(failed)?
        .into_iter()
        .filter_map(|(view, edits)| {
            let document = &view.document;
            Some(FileEdits {
                uri: snapshot.uri(&document.path)?,
                version: document.version,
                edits: places(document, question.client.encoding).edits(&edits),
            })
        });
    let files = files.collect();
    Ok(Some(convert::workspace_edit(files, &question.client)))
}
