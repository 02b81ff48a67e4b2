//! Documents of the corpus in front of a client: what the tests of editor features sit down at.

use std::fs;
use std::path::{Path, PathBuf};

use serde_json::{Value, json};

use crate::client::{Client, all_capabilities};

/// The straddle carrier of the demo, in the corpus.
pub const BRAM: &str = "ternholt/machines/bram-6.machine.xml";

/// An open document of the corpus and the client that has it.
#[derive(Debug)]
pub struct Desk {
    pub client: Client,
    pub uri: String,
    pub text: String,
    version: i64,
}

/// The folder of the corpus.
///
/// # Panics
/// It is not there.
pub fn corpus() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../corpus")
        .canonicalize()
        .unwrap()
}

impl Desk {
    /// The straddle carrier of the demo, for a client that can all.
    pub fn bram() -> Self {
        Self::with(BRAM, &all_capabilities())
    }

    /// A document of the corpus, for a client of these abilities.
    ///
    /// # Panics
    /// The corpus does not have the file.
    pub fn with(file: &str, capabilities: &Value) -> Self {
        let path = corpus().join(file);
        let text = fs::read_to_string(&path).unwrap();
        let uri = format!("file://{}", path.display());
        let mut client = Client::with(capabilities);
        client.open(&uri, 1, &text);
        Self {
            client,
            uri,
            text,
            version: 1,
        }
    }

    /// The position of `offset` bytes into the first place of `needle`, which must be ASCII up to there in its line.
    ///
    /// # Panics
    /// The document does not hold `needle`.
    pub fn at(&self, needle: &str, offset: usize) -> Value {
        let start = self
            .text
            .find(needle)
            .unwrap_or_else(|| panic!("{needle} is not there"));
        position(&self.text, start + offset)
    }

    /// A question about a place. `more`: what the request wants besides.
    ///
    /// # Panics
    /// The server answers with an error.
    pub fn ask(&mut self, method: &str, at: &Value, more: Value) -> Value {
        self.try_ask(method, at, more)
            .unwrap_or_else(|error| panic!("{method}: {error:?}"))
    }

    /// The same for questions that may be refused.
    ///
    /// # Errors
    /// The server's message.
    pub fn try_ask(&mut self, method: &str, at: &Value, more: Value) -> Result<Value, String> {
        let mut params = json!({"textDocument": {"uri": self.uri}, "position": at});
        for (name, value) in more.as_object().into_iter().flatten() {
            params[name] = value.clone();
        }
        self.client
            .request(method, params)
            .map_err(|error| error.message)
    }

    /// A question about the whole document.
    ///
    /// # Panics
    /// The server answers with an error.
    pub fn ask_all(&mut self, method: &str, more: Value) -> Value {
        let mut params = json!({"textDocument": {"uri": self.uri}});
        for (name, value) in more.as_object().into_iter().flatten() {
            params[name] = value.clone();
        }
        self.client
            .request(method, params)
            .unwrap_or_else(|error| panic!("{method}: {error:?}"))
    }

    /// Types text over the first place of `needle`.
    ///
    /// # Panics
    /// The document does not hold `needle`.
    pub fn type_over(&mut self, needle: &str, typed: &str) {
        let start = self.text.find(needle).unwrap();
        let (from, to) = (
            position(&self.text, start),
            position(&self.text, start + needle.len()),
        );
        self.version += 1;
        self.client.change(
            &self.uri,
            self.version,
            json!([{"range": {"start": from, "end": to}, "text": typed}]),
        );
        self.text.replace_range(start..start + needle.len(), typed);
    }

    /// The text in a range of the document.
    pub fn slice(&self, range: &Value) -> &str {
        &self.text[offset(&self.text, &range["start"])..offset(&self.text, &range["end"])]
    }

    /// Says goodbye.
    ///
    /// # Panics
    /// The server does not end well.
    pub fn finish(self) {
        assert_eq!(self.client.finish(), 0);
    }
}

/// The position of an offset in a text, columns in bytes.
pub fn position(text: &str, offset: usize) -> Value {
    let before = &text[..offset];
    let line_start = before.rfind('\n').map_or(0, |at| at + 1);
    json!({"line": before.matches('\n').count(), "character": offset - line_start})
}

/// The offset of a position.
///
/// # Panics
/// It is no position.
pub fn offset(text: &str, position: &Value) -> usize {
    let line = usize::try_from(position["line"].as_u64().unwrap()).unwrap();
    let start: usize = text.split_inclusive('\n').take(line).map(str::len).sum();
    start + usize::try_from(position["character"].as_u64().unwrap()).unwrap()
}

/// The text in a range of a file.
///
/// # Panics
/// The file is not there or has no such range.
pub fn in_file(uri: &Value, range: &Value) -> String {
    let path = uri.as_str().unwrap().strip_prefix("file://").unwrap();
    let text = fs::read_to_string(path).unwrap();
    text[offset(&text, &range["start"])..offset(&text, &range["end"])].to_owned()
}

/// Capabilities without one of them; `way` leads to it.
///
/// # Panics
/// There is no such capability.
pub fn without(way: &[&str]) -> Value {
    let mut capabilities = all_capabilities();
    let (last, before) = way.split_last().unwrap();
    let place = before
        .iter()
        .fold(&mut capabilities, |place, step| &mut place[*step]);
    place
        .as_object_mut()
        .unwrap()
        .remove(*last)
        .unwrap_or_else(|| panic!("{way:?} is not there"));
    capabilities
}

/// The items of an array; none for anything else.
pub fn list(value: &Value) -> &[Value] {
    value.as_array().map_or(&[], Vec::as_slice)
}

/// One text property of each item.
///
/// # Panics
/// An item lacks it.
pub fn names<'v>(items: &'v Value, property: &str) -> Vec<&'v str> {
    list(items)
        .iter()
        .map(|item| item[property].as_str().unwrap())
        .collect()
}
