//! "used 3 times": a lens that leads to where a name is used.

use project::View;
use syntax::TextSize;
use tower_lsp::lsp_types::{Command, Url};

use super::choice::{Choice, Place};
use super::convert::Places;
use super::{command, uris};

/// The command's name on the wire.
pub(crate) const COMMAND: &str = "trunnion.uses";

/// So many places are offered: each is a button or a line of a message.
const MOST: usize = 20;

/// The command of the lens above the name at an offset.
pub(crate) fn command(uri: &Url, offset: TextSize, count: usize) -> Command {
    let title = match count {
        0 => "not used".to_owned(),
        1 => "used once".to_owned(),
        several => format!("used {several} times"),
    };
    command::at(COMMAND, title, uri, offset)
}

/// Where the name is used.
pub(crate) fn find(uri: &Url, view: &View, places: Places<'_>, offset: TextSize) -> Choice {
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
        let place = Place {
            file: Some(file.clone()),
            line,
        };
        (format!("{name}:{}: {short}", line + 1), place)
    });
    let message = match found.len() {
        0 => "This name is not used.".to_owned(),
        1 => "This name is used once.".to_owned(),
        several @ ..=MOST => format!("This name is used {several} times."),
        several => format!("This name is used {several} times; these are the first {MOST}."),
    };
    Choice {
        places: shown.collect(),
        message,
    }
}
