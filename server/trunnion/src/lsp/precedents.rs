//! "How others do this": an action and a lens that lead to places in a library.
//!
//! The client sends their command back; then the user chooses among the examples, and the chosen one is opened,
//! as far as the client can do both.

use std::path::{Path, PathBuf};

use ide::precedents::{Example, Precedents, machines_at, precedents};
use project::View;
use serde::{Deserialize, Serialize};
use syntax::TextSize;
use tower_lsp::jsonrpc::{Error, Result};
use tower_lsp::lsp_types::{
    CodeAction, Command, MessageActionItem, MessageType, Position, Range, ShowDocumentParams, Url,
};

use super::client::ClientSupport;
use super::documents::Open;
use super::uris;

/// The command's name on the wire.
pub(crate) const COMMAND: &str = "trunnion.precedents";

/// So many examples are offered.
const MOST: usize = 5;

/// What the command is about.
#[derive(Debug, Serialize, Deserialize)]
struct Asked {
    uri: Url,
    offset: u32,
}

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
        command: Some(command(title, &document.uri, offset)?),
        ..CodeAction::default()
    })
}

/// The command of the lens above the element at an offset.
pub(crate) fn lens(uri: &Url, offset: TextSize, machines: u32) -> Option<Command> {
    let machines = match machines {
        1 => "one machine".to_owned(),
        several => format!("{several} machines"),
    };
    command(format!("How others do this ({machines})"), uri, offset)
}

fn command(title: String, uri: &Url, offset: TextSize) -> Option<Command> {
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

/// What there is to show.
#[derive(Debug)]
pub(crate) struct Shown {
    message: String,
    /// What each is called, and where it is.
    places: Vec<(String, Place)>,
}

impl Shown {
    /// `places`: what each is called, the file and the line.
    pub(crate) fn new(message: String, places: Vec<(String, PathBuf, u32)>) -> Self {
        let places = places.into_iter().map(|(label, file, line)| {
            let file = Some(file);
            (label, Place { file, line })
        });
        Self {
            message,
            places: places.collect(),
        }
    }
}

#[derive(Debug)]
struct Place {
    /// None: it is in an archive that could not be unpacked.
    file: Option<PathBuf>,
    line: u32,
}

/// Finds the examples. Reads the disk for those in archives.
///
/// # Errors
/// The document has changed, and what stands there now has no precedents.
pub(crate) fn find(view: &View, offset: TextSize) -> Result<Shown> {
    let offset = offset.min(TextSize::of(view.text()));
    let found = view.text().is_char_boundary(offset.into());
    let found = found.then(|| precedents(view, offset, MOST)).flatten();
    let Some(found) = found else {
        return Err(super::documents::failed(
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
    Ok(Shown {
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

/// Lets the user choose, and opens what was chosen: with what the client can take.
pub(crate) async fn show(shown: Shown, client: ClientSupport, wire: tower_lsp::Client) {
    let Shown { message, places } = shown;
    let chosen = match (&places[..], client.window.show_document, client.window.asks) {
        ([_], true, _) => Some(0),
        ([_, ..], true, true) => {
            let action = |(title, _): &(String, Place)| MessageActionItem {
                title: title.clone(),
                properties: Default::default(),
            };
            let actions = places.iter().map(action).collect();
            let answer = wire.show_message_request(MessageType::INFO, message, Some(actions));
            let Ok(Some(answer)) = answer.await else {
                return;
            };
            places.iter().position(|(title, _)| *title == answer.title)
        }
        _ => {
            let list: Vec<String> = places
                .iter()
                .map(|(label, place)| in_full(label, place))
                .collect();
            let text = format!("{message}\n{}", list.join("\n"));
            return wire.show_message(MessageType::INFO, text).await;
        }
    };
    let Some((label, place)) = chosen.and_then(|at| places.get(at)) else {
        return;
    };
    let uri = place.file.as_deref().and_then(uris::uri);
    let Some(uri) = uri else {
        let text = format!("{label} cannot be unpacked.");
        return wire.show_message(MessageType::WARNING, text).await;
    };
    let at = Position::new(place.line, 0);
    let params = ShowDocumentParams {
        uri,
        external: Some(false),
        take_focus: Some(true),
        selection: Some(Range::new(at, at)),
    };
    // A client that could not do it says so itself.
    let _ = wire.show_document(params).await;
}

fn in_full(label: &str, place: &Place) -> String {
    match &place.file {
        Some(file) => format!("{}:{}", file.display(), place.line + 1),
        None => label.to_owned(),
    }
}
