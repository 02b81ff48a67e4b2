//! "How others do this": an action and a lens that lead to places in a library.
//!
//! The client sends their command back; then the user chooses among the examples, and the chosen one is opened,
//! as far as the client can do both.

use std::path::{Path, PathBuf};

use ide::precedents::{Example, Precedents, machines_at, precedents};
use project::View;
use syntax::TextSize;
use tower_lsp::jsonrpc::Result;
use tower_lsp::lsp_types::{CodeAction, Command, Url};

use super::choice::{Choice, Place};
use super::command;
use super::documents::{Open, failed};

/// The command's name on the wire.
pub(crate) const COMMAND: &str = "trunnion.precedents";

/// So many examples are offered.
const MOST: usize = 5;

/// The action for the element at an offset, if the library has such elements.
pub(crate) fn action(document: &Open, view: &View, offset: TextSize) -> Option<CodeAction> {
    let (element, machines) = machines_at(view, offset)?;
    let machines = match machines {
        1 => "one machine has it".to_owned(),
        several => format!("{several} machines have it"),
    };
    let title = format!("How others do this: <{element}> ({machines})");
    Some(CodeAction {
        title: title.clone(),
        command: Some(command::at(COMMAND, title, &document.uri, offset)),
        ..CodeAction::default()
    })
}

/// The command of the lens above the element at an offset.
pub(crate) fn lens(uri: &Url, offset: TextSize, machines: u32) -> Command {
    let machines = match machines {
        1 => "one machine".to_owned(),
        several => format!("{several} machines"),
    };
    let title = format!("How others do this ({machines})");
    command::at(COMMAND, title, uri, offset)
}

/// Finds the examples. Reads the disk for those in archives.
///
/// # Errors
/// The document has changed, and what stands there now has no precedents.
pub(crate) fn find(view: &View, offset: TextSize) -> Result<Choice> {
    let offset = offset.min(TextSize::of(view.text()));
    let found = view.text().is_char_boundary(offset.into());
    let found = found.then(|| precedents(view, offset, MOST)).flatten();
    let Some(found) = found else {
        return Err(failed(
            "The library has nothing like this element.".to_owned(),
        ));
    };
    let places = found.examples.iter().map(|example| {
        let file = project::readable(&example.source, &view.settings.config);
        let place = Place {
            file,
            line: example.line,
        };
        (label(example), place)
    });
    Ok(Choice {
        places: places.collect(),
        message: message(&found),
    })
}

fn message(found: &Precedents) -> String {
    let Precedents {
        element, machines, ..
    } = found;
    match machines {
        1 => format!("One machine of the library has <{element}>."),
        _ => format!("{machines} machines of the library have <{element}>."),
    }
}

/// `carriers/bram-6.xml:31 (12 machines)`: file and folder, which tell most files apart.
fn label(example: &Example) -> String {
    let inner = example.source.member.as_deref().map(Path::new);
    let file = inner.unwrap_or(&example.source.file);
    let mut steps = file.iter().rev().take(2).collect::<Vec<_>>();
    steps.reverse();
    let short = steps.into_iter().collect::<PathBuf>();
    let around = inner.and_then(|_| example.source.file.file_name());
    let around = around.map_or_else(String::new, |name| format!("{}!/", name.display()));
    let alike = match example.alike {
        1 => String::new(),
        several => format!(" ({several} alike)"),
    };
    format!("{around}{}:{}{alike}", short.display(), example.line + 1)
}
