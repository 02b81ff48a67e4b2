//! "used 3 times": a lens that leads to where a name is used.

use project::View;
use serde::{Deserialize, Serialize};
use syntax::TextSize;
use tower_lsp::jsonrpc::{Error, Result};
use tower_lsp::lsp_types::{Command, Url};

use super::convert::Places;
use super::precedents::Shown;
use super::uris;

/// The command's name on the wire.
pub(crate) const COMMAND: &str = "trunnion.uses";

/// So many places are offered: each is a button or a line of a message.
const MOST: usize = 20;

/// What the command is about.
#[derive(Debug, Serialize, Deserialize)]
struct Asked {
    uri: Url,
    offset: u32,
}

/// The command of the lens above the name at an offset.
pub(crate) fn command(uri: &Url, offset: TextSize, count: usize) -> Option<Command> {
    let title = match count {
        0 => "not used".to_owned(),
        1 => "used once".to_owned(),
        several => format!("used {several} times"),
    };
    let asked = Asked {
        uri: uri.clone(),
        offset: offset.into(),
    };
    Some(Command {
        title,
        command: COMMAND.to_owned(),
        arguments: Some(vec![serde_json::to_value(asked).ok()?]),
    })
}

/// # Errors
/// These are no arguments of the command.
pub(crate) fn document_of(arguments: &[serde_json::Value]) -> Result<(Url, TextSize)> {
    let [argument] = arguments else {
        return Err(Error::invalid_params(format!(
            "{COMMAND} takes one argument"
        )));
    };
    let asked: Asked = serde_json::from_value(argument.clone())
        .map_err(|error| Error::invalid_params(format!("{COMMAND}: {error}")))?;
    Ok((asked.uri, TextSize::new(asked.offset)))
}

/// Where the name is used.
pub(crate) fn find(uri: &Url, view: &View, places: Places<'_>, offset: TextSize) -> Shown {
    let offset = offset.min(TextSize::of(view.text()));
    let is_there = view.text().is_char_boundary(offset.into());
    let found = match is_there {
        true => ide::references::references(view, offset, false),
        false => Vec::new(),
    };
    let file = uris::path(uri);
    let name = file
        .file_name()
        .map(|name| name.display().to_string())
        .unwrap_or_default();
    let text = view.text();
    let shown = found.iter().take(MOST).map(|range| {
        let line = places.position(range.start()).line;
        let around = places.lines.line_content_range(text, line);
        let around = around.map_or("", |around| text[around].trim());
        let short: String = around.chars().take(60).collect();
        (format!("{name}:{}: {short}", line + 1), file.clone(), line)
    });
    let message = match found.len() {
        0 => "This name is not used.".to_owned(),
        1 => "This name is used once.".to_owned(),
        several @ ..=MOST => format!("This name is used {several} times."),
        several => format!("This name is used {several} times; these are the first {MOST}."),
    };
    Shown::new(message, shown.collect())
}
