//! Messages for the client's log.

use tower_lsp::Client;
use tower_lsp::lsp_types::MessageType;

/// Sends `window/logMessage` without waiting for the wire.
#[derive(Clone, Debug)]
pub(crate) struct Log {
    client: Client,
}

impl Log {
    pub(crate) fn new(client: Client) -> Self {
        Self { client }
    }

    pub(crate) fn error(&self, message: String) {
        self.send(MessageType::ERROR, message);
    }

    pub(crate) fn warning(&self, message: String) {
        self.send(MessageType::WARNING, message);
    }

    fn send(&self, kind: MessageType, message: String) {
        let client = self.client.clone();
        tokio::spawn(async move { client.log_message(kind, message).await });
    }
}
