//! Code actions: the fixes that findings bring along.

use ide::{Finding, Trust, checks};
use tower_lsp::jsonrpc::{Error, Result};
use tower_lsp::lsp_types::{
    CodeActionKind, CodeActionOrCommand, CodeActionParams, CodeActionResponse, Diagnostic,
    NumberOrString,
};

use super::client::ClientSupport;
use super::convert::{self, FileEdits};
use super::documents::Open;
use super::task::Tasks;

pub(crate) async fn at(
    document: Open,
    params: CodeActionParams,
    client: ClientSupport,
    tasks: &Tasks,
) -> Result<Option<CodeActionResponse>> {
    let range = document
        .places(client.encoding)
        .text_range(params.range)
        .map_err(|error| Error::invalid_params(error.to_string()))?;
    if !wants_quick_fixes(params.context.only.as_deref()) {
        return Ok(None);
    }
    let shown = params.context.diagnostics;
    let actions = tasks.run("the search for fixes", move |_| {
        let view = document.view()?;
        Ok(checks::run(&view)
            .iter()
            .filter(|finding| finding.range.intersect(range).is_some())
            .flat_map(|finding| fixes(finding, &document, &shown, &client))
            .collect())
    });
    Ok(Some(actions.await??))
}

fn wants_quick_fixes(only: Option<&[CodeActionKind]>) -> bool {
    // A kind stands for all kinds below it, and the empty kind for all there are.
    only.is_none_or(|kinds| {
        kinds.contains(&CodeActionKind::QUICKFIX) || kinds.contains(&CodeActionKind::EMPTY)
    })
}

fn fixes(
    finding: &Finding,
    document: &Open,
    shown: &[Diagnostic],
    client: &ClientSupport,
) -> Vec<CodeActionOrCommand> {
    let places = document.places(client.encoding);
    let range = places.range(finding.range);
    let code = NumberOrString::String(finding.code.to_owned());
    let solved: Vec<Diagnostic> = shown
        .iter()
        .filter(|it| it.range == range && it.code.as_ref() == Some(&code))
        .cloned()
        .collect();
    finding
        .fixes
        .iter()
        .filter_map(|fix| {
            let edits = FileEdits {
                uri: document.uri.clone(),
                version: document.version(),
                edits: places.edits(&fix.edits),
            };
            convert::code_action(
                fix.title.clone(),
                CodeActionKind::QUICKFIX,
                convert::workspace_edit(vec![edits], client),
                solved.clone(),
                fix.trust == Trust::Safe && finding.fixes.len() == 1,
                client,
            )
        })
        .collect()
}
