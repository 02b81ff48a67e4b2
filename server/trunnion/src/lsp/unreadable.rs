//! Notifications that change documents but cannot be read.
//!
//! `tower_lsp` drops them without a word, and with them a change that the editor has made. So they are looked at before
//! they go there, and [`METHOD`] goes there in their place.

use serde::{Deserialize, Serialize};
use serde_json::Value;
use tower_lsp::jsonrpc::Request;
use tower_lsp::lsp_types::{Range, TextDocumentIdentifier, Url, VersionedTextDocumentIdentifier};

/// No client sends it.
pub(crate) const METHOD: &str = "trunnion/unreadable";

/// A notification whose parameters could not be read.
#[derive(Debug, Serialize, Deserialize)]
pub(crate) struct Unreadable {
    method: String,
    /// The document it was about, if that at least could be read.
    pub(crate) uri: Option<Url>,
    reason: String,
}

impl Unreadable {
    /// None for any other notification, and where all is well.
    pub(crate) fn of(method: &str, params: Option<&Value>) -> Option<Self> {
        let params = params.unwrap_or(&Value::Null);
        let read = match method {
            "textDocument/didOpen" => Opened::deserialize(params).map(drop),
            "textDocument/didChange" => Changed::deserialize(params).map(drop),
            "textDocument/didClose" => Closed::deserialize(params).map(drop),
            _ => return None,
        };
        let uri = || Url::deserialize(params.pointer("/textDocument/uri")?).ok();
        Some(Self {
            method: method.to_owned(),
            reason: read.err()?.to_string(),
            uri: uri(),
        })
    }

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
        Some(Request::build(METHOD).params(params).finish())
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

// The parameters as `lsp_types` has them, without a copy of the texts.

#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
#[expect(dead_code, reason = "only read to see whether they can be")]
struct Opened<'a> {
    #[serde(borrow)]
    text_document: Item<'a>,
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
#[expect(dead_code, reason = "only read to see whether they can be")]
struct Item<'a> {
    uri: Url,
    language_id: &'a str,
    version: i32,
    text: &'a str,
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
#[expect(dead_code, reason = "only read to see whether they can be")]
struct Changed<'a> {
    text_document: VersionedTextDocumentIdentifier,
    #[serde(borrow)]
    content_changes: Vec<Change<'a>>,
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
#[expect(dead_code, reason = "only read to see whether they can be")]
struct Change<'a> {
    range: Option<Range>,
    range_length: Option<u32>,
    text: &'a str,
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
#[expect(dead_code, reason = "only read to see whether they can be")]
struct Closed {
    text_document: TextDocumentIdentifier,
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    fn reason(method: &str, params: Value) -> Option<String> {
        Unreadable::of(method, Some(&params)).map(|lost| lost.message())
    }

    #[test]
    fn what_can_be_read_passes() {
        let document =
            json!({"uri": "file:///a.xml", "version": 1, "languageId": "xml", "text": "<a/>"});
        let range =
            json!({"start": {"line": 0, "character": 0}, "end": {"line": 0, "character": 1}});
        let changes = json!([{"text": "\u{e9}"}, {"range": range, "rangeLength": 1, "text": ""}]);
        for (method, params) in [
            ("textDocument/didOpen", json!({"textDocument": document})),
            (
                "textDocument/didChange",
                json!({"textDocument": document, "contentChanges": changes}),
            ),
            ("textDocument/didClose", json!({"textDocument": document})),
            ("textDocument/hover", json!(7)),
        ] {
            assert_eq!(reason(method, params), None, "{method}");
        }
    }

    #[test]
    fn what_cannot_is_told_with_its_document() {
        let document = json!({"uri": "file:///a.xml", "version": 1});
        for changes in [
            json!([{"range": {"start": {"line": -1, "character": 0}, "end": {"line": 0, "character": 0}}, "text": ""}]),
            json!([{}]),
            json!(null),
        ] {
            let params = json!({"textDocument": document, "contentChanges": changes});
            let message = reason("textDocument/didChange", params).unwrap();
            assert!(message.contains("for file:///a.xml"), "{message}");
        }
        let message = reason("textDocument/didChange", json!({"textDocument": 1})).unwrap();
        assert!(message.contains("not even for which document"), "{message}");
    }
}
