//! The language server's protocol: the only room that knows it.
//!
//! One message's way: [`frames`] cuts it out of the input, [`transport`] hands it to [`lifecycle`], which hands it to
//! [`server`], where every method has a few lines. State changes there at once, in [`documents`]; what needs time
//! takes a snapshot first and then computes in [`task`]; [`features`] has the answers. [`convert`] turns what the other rooms say into protocol types
//! that fit what [`client`] read from `initialize`.

mod actions;
mod client;
mod convert;
mod diagnostics;
mod documents;
mod features;
mod frames;
mod lifecycle;
mod log;
mod process;
mod server;
mod task;
mod transport;

use std::process::ExitCode;

use tokio::io::{AsyncRead, AsyncWrite};
use tower_lsp::LspService;

use lifecycle::Lifecycle;
use log::Log;
use server::Server;

/// Serves one client until the end of its session.
pub(crate) async fn serve(
    input: impl AsyncRead + Unpin,
    output: impl AsyncWrite + Send + Unpin + 'static,
) -> ExitCode {
    let mut log = None;
    let (service, socket) = LspService::new(|client| {
        let to_client = Log::new(client.clone());
        log = Some(to_client.clone());
        Server::new(client, to_client)
    });
    let Some(log) = log else {
        return ExitCode::FAILURE;
    };
    transport::run(input, output, Lifecycle::new(service, log), socket)
        .await
        .into()
}
