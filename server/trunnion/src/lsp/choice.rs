//! Places among which the user chooses; the chosen one is opened.

use std::path::PathBuf;

use tower_lsp::lsp_types::{MessageActionItem, MessageType, Position, Range, ShowDocumentParams};

use super::client::ClientSupport;
use super::uris;

/// What there is to choose.
#[derive(Debug)]
pub(crate) struct Choice {
    /// A sentence that says what the places are.
    pub(crate) message: String,
    /// What each is called, and where it is.
    pub(crate) places: Vec<(String, Place)>,
}

#[derive(Debug)]
pub(crate) struct Place {
    /// None: it is in an archive that could not be unpacked.
    pub(crate) file: Option<PathBuf>,
    /// Counted from 0.
    pub(crate) line: u32,
}

/// Lets the user choose, and opens what was chosen: with what the client can take.
pub(crate) async fn offer(choice: Choice, client: ClientSupport, wire: tower_lsp::Client) {
    let Choice { message, places } = choice;
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
