//! Messages for the client's log, and for the user.

use std::sync::{Arc, Mutex, PoisonError};

use tower_lsp::lsp_types::notification::{LogMessage, ShowMessage};
use tower_lsp::lsp_types::{LogMessageParams, MessageType, ShowMessageParams};

use super::outgoing::Outgoing;

/// Sends `window/logMessage` without waiting for the wire.
#[derive(Clone, Debug)]
pub(crate) struct Log {
    outgoing: Outgoing,
    /// The last message that is not to be repeated.
    told: Arc<Mutex<String>>,
}

impl Log {
    pub(crate) fn new(outgoing: Outgoing) -> Self {
        Self {
            outgoing,
            told: Arc::default(),
        }
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

    /// Something that the user should know about an answer.
    pub(crate) fn show_warning(&self, message: String) {
        let typ = MessageType::WARNING;
        self.outgoing
            .notify::<ShowMessage>(&ShowMessageParams { typ, message });
    }

    /// The same about an answer that is asked for with each key.
    pub(crate) fn show_warning_once(&self, message: String) {
        let mut told = self.told.lock().unwrap_or_else(PoisonError::into_inner);
        if *told != message {
            told.clone_from(&message);
            drop(told);
            self.show_warning(message);
        }
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
        Self::new(Outgoing::new(
            std::io::pipe().unwrap().1,
            tokio::sync::mpsc::unbounded_channel().0,
        ))
    }
}
