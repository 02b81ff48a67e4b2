//! The live preview of an open document: the page shows it as the editor has it, saved or not.
//!
//! A port is opened when the client sends the command, not before; `crate::preview` has the page.

use std::collections::HashMap;
use std::path::PathBuf;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use ide::Finding;
use ide::checks;
use project::View;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use tower_lsp::jsonrpc::Result;
use tower_lsp::lsp_types::{Command, MessageType, ShowDocumentParams, Url};

use super::client::ClientSupport;
use super::documents::{Documents, failed};
use super::{command, uris};
use crate::preview::{self, Host, Subject};

/// The command's name on the wire.
pub(crate) const COMMAND: &str = "trunnion.preview";

/// What the command is about.
#[derive(Debug, Serialize, Deserialize)]
struct Asked {
    uri: Url,
    /// The name of the one to be played.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    animation: Option<String>,
}

/// The command that shows a document and has an animation played.
pub(crate) fn play(uri: &Url, animation: &str) -> Command {
    let asked = Asked {
        uri: uri.clone(),
        animation: Some(animation.to_owned()),
    };
    command::with(COMMAND, "play".to_owned(), &asked)
}

/// The pages of this session.
#[derive(Debug, Default)]
pub(crate) struct Previews {
    host: OnceLock<Host>,
    /// A document keeps its page.
    addresses: Mutex<HashMap<Url, String>>,
}

impl Previews {
    /// A document may have changed, or a file beside it.
    pub(crate) fn changed(&self) {
        if let Some(host) = self.host.get() {
            host.changed();
        }
    }

    /// The address of a document's page, which is served from now on.
    ///
    /// # Errors
    /// These are no arguments of the command, the document is not open, or the page cannot be served.
    pub(crate) fn open(
        &self,
        arguments: &[Value],
        documents: &Arc<Mutex<Documents>>,
    ) -> Result<Url> {
        let Asked { uri, animation } = command::argument(COMMAND, arguments)?;
        if !preview::is_built() {
            return Err(failed(format!("No preview: {}", preview::NOT_BUILT)));
        }
        let shown = Shown {
            uri,
            documents: documents.clone(),
        };
        // Only what is open can be shown.
        shown.snapshot().document(&shown.uri)?;
        let mut address = self
            .address(shown)
            .map_err(|error| failed(format!("The preview cannot be served: {error}.")))?;
        if let Some(animation) = animation {
            let play = url::form_urlencoded::Serializer::new(String::new())
                .append_pair("play", &animation)
                .finish();
            address.set_fragment(Some(&play));
        }
        Ok(address)
    }

    fn address(&self, shown: Shown) -> std::io::Result<Url> {
        // Held until the end, so that two commands at once do not open two ports.
        let mut addresses = self
            .addresses
            .lock()
            .unwrap_or_else(PoisonError::into_inner);
        let host = match self.host.get() {
            Some(host) => host,
            None => {
                let started = Host::start()?;
                self.host.get_or_init(|| started)
            }
        };
        let address = match addresses.get(&shown.uri) {
            Some(known) => known.clone(),
            None => {
                let uri = shown.uri.clone();
                let address = host.show(Arc::new(shown))?;
                addresses.insert(uri, address.clone());
                address
            }
        };
        Url::parse(&address).map_err(std::io::Error::other)
    }
}

/// Opens the page with what the client can do: if it opens no addresses, the person can.
pub(crate) async fn show(address: Url, client: ClientSupport, wire: tower_lsp::Client) {
    if client.window.show_document {
        let params = ShowDocumentParams {
            uri: address.clone(),
            external: Some(true),
            take_focus: Some(true),
            selection: None,
        };
        if wire.show_document(params).await == Ok(true) {
            return;
        }
    }
    let text = format!("The preview is at {address}");
    wire.show_message(MessageType::INFO, text).await;
}

/// An open document as the editor has it.
#[derive(Debug)]
struct Shown {
    uri: Url,
    documents: Arc<Mutex<Documents>>,
}

impl Shown {
    fn snapshot(&self) -> super::documents::Snapshot {
        let documents = self.documents.lock();
        documents.unwrap_or_else(PoisonError::into_inner).snapshot()
    }
}

impl Subject for Shown {
    fn file(&self) -> PathBuf {
        uris::path(&self.uri)
    }

    fn view(&self) -> std::result::Result<Arc<View>, String> {
        let document = self.snapshot().document(&self.uri);
        let view = document.and_then(|document| document.view());
        view.map_err(|error| error.message.into_owned())
    }

    fn findings(&self, view: &View) -> Vec<Finding> {
        let mut findings = checks::settings_at(view);
        match self.snapshot().document(&self.uri) {
            Ok(document) => findings.extend(document.findings(view)),
            Err(_) => findings.extend(checks::run(view)),
        }
        findings
    }
}
