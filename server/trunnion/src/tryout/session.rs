//! A language server of its own for each page: messages over a web socket on the one side, the protocol's frames over
//! pipes on the other.

use std::io::{self, PipeReader, PipeWriter, Write, pipe};
use std::thread;

use futures::{SinkExt, StreamExt};
use hyper::upgrade::Upgraded;
use hyper_util::rt::TokioIo;
use tokio::sync::mpsc;
use tokio_tungstenite::WebSocketStream;
use tokio_tungstenite::tungstenite::Message;

use crate::lsp::{self, Frame, FrameReader, framed};

/// Messages that wait for the other side.
const WAITING: usize = 256;

/// Lets a page talk to a server until one of them ends.
pub(super) async fn run(socket: WebSocketStream<TokioIo<Upgraded>>) {
    let Ok((to_server, mut from_server)) = start() else {
        return;
    };
    let (mut answers, mut questions) = socket.split();
    let ask = async {
        while let Some(Ok(message)) = questions.next().await {
            let sent = match message {
                Message::Text(text) => to_server.send(text.as_bytes().to_vec()).await,
                Message::Close(_) => break,
                _ => Ok(()),
            };
            if sent.is_err() {
                break;
            }
        }
    };
    let answer = async {
        while let Some(text) = from_server.recv().await {
            if answers.send(Message::text(text)).await.is_err() {
                break;
            }
        }
    };
    // Whichever side ends first takes the other with it: its channel closes, and so does the pipe behind that.
    futures::future::select(Box::pin(ask), Box::pin(answer)).await;
}

type Channels = (mpsc::Sender<Vec<u8>>, mpsc::Receiver<String>);

/// Starts a server and the threads that wait for its pipes.
fn start() -> io::Result<Channels> {
    let (input, into_server) = pipe()?;
    let (out_of_server, output) = pipe()?;
    let (to_server, waiting) = mpsc::channel(WAITING);
    let (told, from_server) = mpsc::channel(WAITING);
    let named = |name: &str| thread::Builder::new().name(name.to_owned());
    named("try: server").spawn(move || lsp::serve(input, output))?;
    named("try: in").spawn(move || write_to(into_server, waiting))?;
    named("try: out").spawn(move || read_from(out_of_server, &told))?;
    Ok((to_server, from_server))
}

fn write_to(mut server: PipeWriter, mut waiting: mpsc::Receiver<Vec<u8>>) {
    while let Some(body) = waiting.blocking_recv() {
        if server.write_all(&framed(&body)).is_err() {
            return;
        }
    }
}

fn read_from(server: PipeReader, told: &mpsc::Sender<String>) {
    let mut frames = FrameReader::new(server);
    while let Ok(Some(frame)) = frames.next(&|_| ()) {
        let Frame::Body(body) = frame else { continue };
        let Ok(text) = String::from_utf8(body.into_whole()) else {
            continue;
        };
        if told.blocking_send(text).is_err() {
            return;
        }
    }
}
