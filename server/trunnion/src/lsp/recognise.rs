//! Which kind of document a file is that is not open here: for editors that show it as some XML or other, and ask before
//! they take it for a definition.

use serde::Deserialize;
use serde_json::Value;
use tower_lsp::jsonrpc::Result;
use tower_lsp::lsp_types::Url;

use super::documents::Snapshot;
use super::{command, uris};

/// The command's name on the wire.
pub(crate) const COMMAND: &str = "trunnion.recognise";

/// What the command is about.
#[derive(Debug, Deserialize)]
pub(crate) struct Asked {
    uri: Url,
    /// Of the text, with the root's start tag.
    beginning: String,
}

impl Asked {
    /// # Errors
    /// These are no arguments of the command.
    pub(crate) fn of(arguments: &[Value]) -> Result<Self> {
        command::argument(COMMAND, arguments)
    }

    /// What the dialect that fits the file calls its kind; null if none fits. Reads settings and dialects.
    pub(crate) fn kind(self, snapshot: &Snapshot) -> Value {
        let kind = snapshot.kind_of(uris::path(&self.uri), self.beginning);
        kind.map_or(Value::Null, Value::from)
    }
}
