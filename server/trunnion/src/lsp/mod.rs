//! The language server's protocol: the only room that knows it.
//!
//! One message's way: [`frames`] cuts it out of the input, [`transport`] reads it ([`body`], if it opens a large
//! document) and hands it to [`lifecycle`], which hands it to [`server`] (what keeps documents the same as the editor's by
//! way of [`text_sync`], and what has long answers by way of [`large`]), where every method has a few lines. State
//! changes there at once, in [`documents`]; what needs time takes a snapshot first and then computes in [`task`];
//! [`features`] has the answers, [`outgoing`] sends them. [`convert`] turns what the other rooms say into protocol types
//! that fit what [`client`] read from `initialize`.

mod actions;
mod body;
mod changes;
mod choice;
mod chunks;
mod client;
mod command;
mod convert;
mod diagnostics;
mod documents;
mod features;
mod file_moves;
mod frames;
mod json_text;
mod large;
mod library;
mod lifecycle;
mod log;
mod opened;
mod outgoing;
mod pace;
mod pack;
mod precedents;
mod preview;
mod process;
mod recognise;
mod server;
mod task;
mod text_sync;
mod transport;
mod uris;
mod uses;

use std::io::{self, Read};
use std::process::ExitCode;
use std::sync::{Arc, Mutex};

use tokio::runtime;
use tokio::sync::mpsc;
use tower_lsp::LspService;
use tower_lsp::lsp_types::Url;

use body::Opening;
use diagnostics::PushQueue;
use documents::Documents;
use large::WithLargeAnswers;
use lifecycle::Lifecycle;
use log::Log;
use outgoing::{Outgoing, Output};
use server::Server;

pub(crate) use frames::{Frame, FrameReader, framed};

/// Serves one client until the end of its session.
///
/// # Errors
/// The system has no room for another server.
pub fn serve(
    input: impl Read + Send + 'static,
    output: impl Output + 'static,
) -> io::Result<ExitCode> {
    // Handlers that wait take turns on this thread; what they wait for is computed on others.
    let runtime = runtime::Builder::new_current_thread()
        .enable_time()
        .build()?;
    let code = runtime.block_on(session(input, output));
    // A thread may still sit in a read of the input or in a long computation; nobody waits for it.
    runtime.shutdown_background();
    Ok(code.into())
}

async fn session(input: impl Read + Send + 'static, output: impl Output + 'static) -> u8 {
    let (ended, end) = mpsc::unbounded_channel();
    let outgoing = Outgoing::new(output, ended.clone());
    let log = Log::new(outgoing.clone());
    let documents: Arc<Mutex<Documents>> = Arc::default();
    let pushes = PushQueue::new(documents.clone(), outgoing.clone(), log.clone());
    let pushes = Arc::new(pushes);
    let to_open = documents.clone();
    let expect = move |opening: Opening<'_>| {
        if let (Ok(uri), Ok(mut documents)) = (Url::parse(&opening.uri), to_open.lock()) {
            documents.expect(&uri, opening.text);
        }
    };
    let (service, socket) = LspService::build(|client| {
        Server::new(
            client,
            documents,
            pushes.clone(),
            outgoing.clone(),
            log.clone(),
        )
    })
    .finish();
    let service = Lifecycle::new(WithLargeAnswers::new(service), log);
    transport::run(
        input,
        &outgoing,
        service,
        socket,
        &pushes,
        Box::new(expect),
        (ended, end),
    )
    .await
}
