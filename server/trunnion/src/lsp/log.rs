//! Messages for the client's log, and for the user.

use tower_lsp::lsp_types::notification::{LogMessage, ShowMessage};
use tower_lsp::lsp_types::{LogMessageParams, MessageType, ShowMessageParams};

use super::outgoing::Outgoing;

/// Sends `window/logMessage` without waiting for the wire.
#[derive(Clone, Debug)]
pub(crate) struct Log {
    outgoing: Outgoing,
}

impl Log {
    pub(crate) fn new(outgoing: Outgoing) -> Self {
        Self { outgoing }
    }

    pub(crate) fn error(&self, message: String) {
        self.send(MessageType::ERROR, message);
    }

    pub(crate) fn warning(&self, message: String) {
        self.send(MessageType::WARNING, message);
    }

    /// Something that the user has to do something about.
    pub(crate) fn show_error(&self, message: String) {
        let typ = MessageType::ERROR;
        self.outgoing
            .notify::<ShowMessage>(&ShowMessageParams { typ, message });
    }

    fn send(&self, typ: MessageType, message: String) {
        self.outgoing
            .notify::<LogMessage>(&LogMessageParams { typ, message });
    }
}

#[cfg(test)]
impl Log {
    /// A log that nobody reads.
    pub(crate) fn unread() -> Self {
        Self::new(Outgoing::new(std::io::sink(), std::sync::mpsc::channel().0))
    }
}
