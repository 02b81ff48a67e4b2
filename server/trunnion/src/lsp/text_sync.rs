//! The notifications that keep a document the same here as in the editor: opened, changed, closed.
//!
//! `tower_lsp` drops what it cannot read without a word, and with it a change that the editor has made. So they are read
//! here, and [`Server::lose`] is told of what cannot be. (Each keystroke is read once this way, too.)

use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use tower_lsp::jsonrpc::Request;
use tower_lsp::lsp_types::Url;

use super::server::Server;

/// No client sends it: it stands for a body that could not be read.
const LOST: &str = "trunnion/unreadable";

/// Carries out what a notification says of a document. Gives back any other message.
pub(crate) fn carry_out(server: &Server, message: Request) -> Option<Request> {
    if message.id().is_some() {
        return Some(message);
    }
    match message.method() {
        "textDocument/didChange" => read(message, server, Server::change),
        "textDocument/didOpen" => read(message, server, Server::open),
        "textDocument/didClose" => read(message, server, Server::close),
        LOST => read(message, server, Server::lose),
        _ => return Some(message),
    }
    None
}

fn read<P: DeserializeOwned>(message: Request, server: &Server, carry_out: fn(&Server, P)) {
    let (method, _, params) = message.into_parts();
    let params = params.unwrap_or(Value::Null);
    let uri = params.pointer("/textDocument/uri").and_then(Value::as_str);
    let uri = uri.map(str::to_owned);
    match serde_json::from_value(params) {
        Ok(params) => carry_out(server, params),
        Err(error) => server.lose(Unreadable {
            method: method.into_owned(),
            uri: uri.and_then(|uri| Url::parse(&uri).ok()),
            reason: error.to_string(),
        }),
    }
}

/// A notification that could not be read.
#[derive(Debug, Serialize, Deserialize)]
pub(crate) struct Unreadable {
    method: String,
    /// The document it was about, if that at least could be read.
    pub(crate) uri: Option<Url>,
    reason: String,
}

impl Unreadable {
    /// A body that is no JSON (or holds half of a surrogate pair, which Rust's texts cannot) but speaks of documents.
    pub(crate) fn in_body(body: &[u8]) -> Option<Self> {
        const METHODS: &[u8] = b"textDocument/did";
        let speaks = body.windows(METHODS.len()).any(|part| part == METHODS);
        speaks.then(|| Self {
            method: "textDocument/did…".to_owned(),
            uri: None,
            reason: "its body is no JSON".to_owned(),
        })
    }

    /// What goes to the server instead.
    pub(crate) fn into_request(self) -> Option<Request> {
        let params = serde_json::to_value(self).ok()?;
        Some(Request::build(LOST).params(params).finish())
    }

    pub(crate) fn message(&self) -> String {
        let Self { method, reason, .. } = self;
        match &self.uri {
            Some(uri) => format!("A {method} for {uri} cannot be read: {reason}."),
            None => {
                format!("A {method} cannot be read, and not even for which document: {reason}.")
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;
    use tower_lsp::LspService;

    use super::super::diagnostics::PushQueue;
    use super::super::log::Log;
    use super::super::outgoing::Outgoing;
    use super::*;

    const URI: &str = "file:///a.xml";

    /// Whether a document that is open is out of step after a notification.
    fn is_lost(method: &'static str, params: Value) -> bool {
        let documents = std::sync::Arc::default();
        let (service, _socket) = LspService::new(|client| {
            let output = std::io::pipe().unwrap().1;
            let outgoing = Outgoing::new(output, tokio::sync::mpsc::unbounded_channel().0);
            let log = Log::unread();
            let pushes = PushQueue::new(
                std::sync::Arc::clone(&documents),
                outgoing.clone(),
                log.clone(),
            );
            Server::new(client, documents.clone(), pushes.into(), outgoing, log)
        });
        let tell = |method, params| {
            carry_out(
                service.inner(),
                Request::build(method).params(params).finish(),
            )
        };
        let opened = json!({"uri": URI, "version": 1, "languageId": "xml", "text": "<a/>"});
        assert_eq!(
            tell("textDocument/didOpen", json!({"textDocument": opened})),
            None
        );
        tell(method, params);
        let snapshot = documents.lock().unwrap().snapshot();
        snapshot.is_out_of_step(&Url::parse(URI).unwrap())
    }

    #[test]
    fn what_can_be_read_is_carried_out() {
        let document = json!({"uri": URI, "version": 1, "languageId": "xml", "text": "<b/>"});
        let range =
            json!({"start": {"line": 0, "character": 0}, "end": {"line": 0, "character": 1}});
        let changes = json!([{"text": "\u{e9}"}, {"range": range, "rangeLength": 1, "text": ""}]);
        let changed = json!({"textDocument": document, "contentChanges": changes});
        assert!(!is_lost("textDocument/didChange", changed));
        for method in ["textDocument/didOpen", "textDocument/didClose"] {
            assert!(
                !is_lost(method, json!({"textDocument": document})),
                "{method}"
            );
        }
    }

    #[test]
    fn what_cannot_is_lost() {
        let document = json!({"uri": URI, "version": 2});
        let before =
            json!({"start": {"line": -1, "character": 0}, "end": {"line": 0, "character": 0}});
        for changes in [
            json!([{"range": before, "text": ""}]),
            json!([{}]),
            json!(null),
        ] {
            let params = json!({"textDocument": document, "contentChanges": changes});
            assert!(is_lost("textDocument/didChange", params), "{changes}");
        }
        // Any document may be the one that it was about.
        assert!(is_lost(
            "textDocument/didChange",
            json!({"textDocument": 1})
        ));
        assert!(is_lost(
            LOST,
            json!({"method": "textDocument/did…", "uri": null, "reason": ""})
        ));
    }

    #[test]
    fn other_messages_are_given_back() {
        assert!(!is_lost("textDocument/hover", json!(7)));
        assert!(!is_lost("textDocument/didSave", json!(7)));
    }
}
