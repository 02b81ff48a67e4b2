//! The notification that opens a document, as nearly all clients write it, without its text.
//!
//! The general way scans such a text twice and holds it three times for a moment: in the message, while its escapes are
//! resolved, and as a value.

use std::borrow::Cow;

use memchr::memmem;
use serde::Deserialize;
use serde_json::{Map, Value};
use tower_lsp::jsonrpc::Request;

const METHOD: &str = "textDocument/didOpen";

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Message<'a> {
    jsonrpc: &'a str,
    method: &'a str,
    #[serde(borrow)]
    params: Params<'a>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, rename_all = "camelCase")]
struct Params<'a> {
    #[serde(borrow)]
    text_document: Item<'a>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, rename_all = "camelCase")]
struct Item<'a> {
    uri: Cow<'a, str>,
    language_id: Cow<'a, str>,
    version: i32,
    /// Empty: it is taken out before.
    #[serde(rename = "text")]
    _text: &'a str,
}

/// Where the text begins, behind its quote, in what has come of a body so far. None: in what has come there is none, or it
/// is not for this way.
pub(super) fn start_of_text(body: &[u8]) -> Option<usize> {
    // Quotes within strings are escaped. So what follows here is the value of a member, or nothing that can be read.
    let name = br#""text":"#;
    let after = memmem::find(body, name)? + name.len();
    let (before, value) = body.split_at(after);
    let another = memmem::find(before, br#""method""#).is_some()
        && memmem::find(before, METHOD.as_bytes()).is_none();
    let value = value.trim_ascii_start().strip_prefix(b"\"")?;
    (!another).then(|| body.len() - value.len())
}

/// The document that a body opens of which all is there up to its text, if nothing but the text is missing.
pub(super) fn uri(before: &[u8]) -> Option<String> {
    let whole = [before, br#""}}}"#].concat();
    let message = Message::read(&whole)?;
    Some(message.params.text_document.uri.into_owned())
}

impl<'a> Message<'a> {
    /// What a body says whose text was taken out. None: it is to be read the general way.
    pub(super) fn read(body: &'a [u8]) -> Option<Self> {
        // With another member of that name, what is left cannot be read.
        let message: Self = serde_json::from_slice(body).ok()?;
        (message.jsonrpc == "2.0" && message.method == METHOD).then_some(message)
    }

    pub(super) fn with_text(self, text: String) -> Request {
        let item = self.params.text_document;
        let item = Map::from_iter([
            ("uri".to_owned(), Value::from(item.uri)),
            ("languageId".to_owned(), Value::from(item.language_id)),
            ("version".to_owned(), Value::from(item.version)),
            ("text".to_owned(), Value::String(text)),
        ]);
        let params = Map::from_iter([("textDocument".to_owned(), Value::Object(item))]);
        Request::build(METHOD)
            .params(Value::Object(params))
            .finish()
    }
}
