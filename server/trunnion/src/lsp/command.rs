//! What the commands that a client may send have in common: each takes one argument, an object.

use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use syntax::TextSize;
use tower_lsp::jsonrpc::{Error, Result};
use tower_lsp::lsp_types::{Command, Url};

/// What the commands of actions and lenses are about: a place in a document.
#[derive(Debug, Serialize, Deserialize)]
struct At {
    uri: Url,
    offset: u32,
}

/// The command `name`, as an action or a lens has it.
pub(crate) fn with(name: &str, title: String, argument: &impl Serialize) -> Command {
    Command {
        title,
        command: name.to_owned(),
        arguments: Some(vec![json!(argument)]),
    }
}

/// The command `name` for a place in a document.
pub(crate) fn at(name: &str, title: String, uri: &Url, offset: TextSize) -> Command {
    let at = At {
        uri: uri.clone(),
        offset: offset.into(),
    };
    with(name, title, &at)
}

/// The place that a command made by [`at`] is about.
///
/// # Errors
/// These are no arguments of the command `name`.
pub(crate) fn place(name: &str, arguments: &[Value]) -> Result<(Url, TextSize)> {
    let at: At = argument(name, arguments)?;
    Ok((at.uri, TextSize::new(at.offset)))
}

/// The argument of the command `name`.
///
/// # Errors
/// These are no arguments of the command.
pub(crate) fn argument<T: DeserializeOwned>(name: &str, arguments: &[Value]) -> Result<T> {
    let [argument] = arguments else {
        let message = format!("{name} takes one argument");
        return Err(Error::invalid_params(message));
    };
    serde_json::from_value(argument.clone())
        .map_err(|error| Error::invalid_params(format!("{name}: {error}")))
}
