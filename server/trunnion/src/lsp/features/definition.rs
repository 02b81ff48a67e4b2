use ide::Location;
use ide::definition::Definition;
use tower_lsp::jsonrpc::Result;
use tower_lsp::lsp_types::{GotoDefinitionResponse, Position};

use super::Question;
use crate::lsp::convert::{self, Target};

pub(crate) fn definition(
    question: &Question,
    at: Position,
) -> Result<Option<GotoDefinitionResponse>> {
    let offset = question.offset(at)?;
    let found = ide::definition::definition(&question.view, offset).or_else(|| {
        let others = question.sharing(offset);
        let found = ide::definition::in_mod(&question.view, &others.views, offset);
        if let Some(unread) = others.left_out().filter(|_| found.is_none()) {
            question.log.show_warning_once(format!(
                "No file of this mod gives this name, but not all of them were looked at.\n{unread}"
            ));
        }
        found
    });
    Ok(found.and_then(|found| response(question, found, question.client.definition_links)))
}

/// The node in the scene, straight through an alias.
pub(crate) fn implementation(
    question: &Question,
    at: Position,
) -> Result<Option<GotoDefinitionResponse>> {
    let found = ide::definition::node(&question.view, question.offset(at)?);
    Ok(found.and_then(|found| response(question, found, question.client.implementation_links)))
}

fn response(question: &Question, found: Definition, links: bool) -> Option<GotoDefinitionResponse> {
    let targets: Vec<Target> = found
        .targets
        .iter()
        .filter_map(|target| located(question, target))
        .collect();
    let origin = question.few_places().range(found.origin);
    (!targets.is_empty()).then(|| convert::definition(origin, targets, links))
}

/// None if the file has no URI.
fn located(question: &Question, target: &Location) -> Option<Target> {
    let Some(path) = &target.path else {
        let places = question.few_places();
        return Some(Target {
            uri: question.open.uri.clone(),
            range: places.range(target.range),
            name: places.range(target.name),
        });
    };
    let snapshot = question.open.snapshot();
    let whole = snapshot.locate(path, target.range, question.client.encoding)?;
    let name = match target.name == target.range {
        true => whole.range,
        false => {
            snapshot
                .locate(path, target.name, question.client.encoding)?
                .range
        }
    };
    Some(Target {
        uri: whole.uri,
        range: whole.range,
        name,
    })
}
