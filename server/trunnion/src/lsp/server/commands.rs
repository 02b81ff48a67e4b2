//! The commands that a client may send, one after the other.

use serde_json::Value;
use tower_lsp::jsonrpc::{Error, Result};
use tower_lsp::lsp_types::{ExecuteCommandParams, MessageType};

use super::super::choice::{self, Choice};
use super::super::{changes, command, pack, precedents, preview, recognise, uses};
use super::{Server, Snapshot};

/// What is told at `initialize`.
pub(super) const NAMES: [&str; 6] = [
    changes::COMMAND,
    pack::COMMAND,
    precedents::COMMAND,
    preview::COMMAND,
    recognise::COMMAND,
    uses::COMMAND,
];

impl Server {
    /// # Errors
    /// There is no such command, its arguments are none, or it cannot be done.
    pub(super) async fn carry_out(&self, params: ExecuteCommandParams) -> Result<Option<Value>> {
        let arguments = params.arguments;
        match params.command.as_str() {
            changes::COMMAND => {
                self.disk_changed([]);
                let since = changes::since_original;
                let done = self.show_outcome("the comparison", arguments, since);
                done.await.map(Some)
            }
            pack::COMMAND => {
                let done = self.show_outcome("packing", arguments, pack::pack).await;
                // The archive lies beside the folder, where no editor watches.
                self.disk_changed([]);
                done.map(Some)
            }
            precedents::COMMAND => {
                let (uri, offset) = command::place(precedents::COMMAND, &arguments)?;
                let found = self.ask(&uri, "the search for precedents", move |question| {
                    precedents::find(&question.view, offset)
                });
                self.offer(found.await?)
            }
            preview::COMMAND => self.open_preview(arguments).await.map(Some),
            recognise::COMMAND => {
                let (asked, snapshot) = (recognise::Asked::of(&arguments)?, self.snapshot());
                let kind = self
                    .tasks
                    .run("the look at a file", move |_| asked.kind(&snapshot));
                kind.await.map(Some)
            }
            uses::COMMAND => {
                let (uri, offset) = command::place(uses::COMMAND, &arguments)?;
                let found = self.ask(&uri, "the search for uses", move |question| {
                    let (uri, places) = (&question.open.uri, question.places());
                    Ok(uses::find(uri, &question.view, places, offset))
                });
                self.offer(found.await?)
            }
            other => Err(Error::invalid_params(format!(
                "there is no command {other}"
            ))),
        }
    }

    /// Lets the user choose among places.
    fn offer(&self, places: Choice) -> Result<Option<Value>> {
        let client = self.client()?.clone();
        // In a task of its own: a handler must not wait for the client.
        tokio::spawn(choice::offer(places, client, self.wire.clone()));
        Ok(None)
    }

    /// The page's address, which the client is asked to open.
    async fn open_preview(&self, arguments: Vec<Value>) -> Result<Value> {
        let client = self.client()?.clone();
        let (previews, documents) = (self.previews.clone(), self.documents.clone());
        let opened = self.tasks.run("the preview", move |_| {
            previews.open(&arguments, &documents)
        });
        let address = opened.await??;
        let answer = Value::from(address.as_str());
        // In a task of its own: a handler must not wait for the client.
        tokio::spawn(preview::show(address, client, self.wire.clone()));
        Ok(answer)
    }

    /// Carries out a command whose outcome is shown besides being the answer.
    async fn show_outcome(
        &self,
        what: &'static str,
        arguments: Vec<Value>,
        command: fn(&[Value], &Snapshot) -> Result<pack::Done>,
    ) -> Result<Value> {
        let snapshot = self.snapshot();
        let outcome = self
            .tasks
            .run(what, move |_| command(&arguments, &snapshot));
        let done = outcome.await??;
        let wire = self.wire.clone();
        // In a task of its own: a handler must not wait for the client.
        tokio::spawn(async move { wire.show_message(MessageType::INFO, done.message).await });
        Ok(done.answer)
    }
}
