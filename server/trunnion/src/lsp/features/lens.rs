use ide::lens::{LensKind, lenses};
use tower_lsp::jsonrpc::Result;
use tower_lsp::lsp_types::{CodeLens, Command};

use super::Question;
use crate::lsp::uses;

/// The client's own command that shows an animation: takes {"uri", "animation"}.
const PREVIEW: &str = "trunnion.preview";

/// Above each name how often it is used, for clients that send commands back; *play* for those that have a preview.
pub(crate) fn lens(question: &Question) -> Result<Option<Vec<CodeLens>>> {
    let (places, client, uri) = (question.places(), &question.client, &question.open.uri);
    let command = |lens: &ide::lens::Lens| match &lens.kind {
        LensKind::Uses(count) if client.lenses.sends_commands => {
            uses::command(uri, lens.range.start(), *count)
        }
        LensKind::Play(animation) if client.lenses.previews => Some(Command {
            title: "play".to_owned(),
            command: PREVIEW.to_owned(),
            arguments: Some(vec![
                serde_json::json!({"uri": uri, "animation": animation}),
            ]),
        }),
        _ => None,
    };
    let shown = lenses(&question.view).into_iter().filter_map(|lens| {
        Some(CodeLens {
            range: places.range(lens.range),
            command: Some(command(&lens)?),
            data: None,
        })
    });
    Ok(Some(shown.collect()))
}
