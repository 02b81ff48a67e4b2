//! The loop between the wire and the handlers.
//!
//! The code of a handler before its first await runs right here, one message after the other in the order they
//! arrive; that is where documents change and where requests take their snapshot. What is left of a handler runs as
//! a task, so reading goes on whatever the handlers do. Unreadable input is answered with an error, never with
//! silence or an end (`tower_lsp::Server` of 0.20 stops reading after the first frame it cannot decode).

use std::future::poll_fn;
use std::io;
use std::pin::Pin;
use std::task::Poll;
use std::time::Duration;

use futures::{SinkExt, StreamExt};
use serde::Serialize;
use serde_json::Value;
use tokio::io::{AsyncRead, AsyncWrite, AsyncWriteExt, BufReader, BufWriter};
use tokio::sync::mpsc::{UnboundedReceiver, UnboundedSender, unbounded_channel};
use tower::Service;
use tower_lsp::jsonrpc::{Error, ErrorCode, Id, Request, Response};
use tower_lsp::{ClientSocket, ExitedError};

use super::frames::{self, Frame, FrameReader};
use super::lifecycle::Lifecycle;

/// Serves one client until it says `exit`, closes the connection or dies. Returns the exit code.
pub(crate) async fn run<S>(
    input: impl AsyncRead + Unpin,
    output: impl AsyncWrite + Send + Unpin + 'static,
    mut service: Lifecycle<S>,
    socket: ClientSocket,
) -> u8
where
    S: Service<Request, Response = Option<Response>, Error = ExitedError>,
    S::Future: Send + Unpin + 'static,
{
    let (outgoing, queue) = unbounded_channel();
    let outgoing = Outgoing(outgoing);
    let mut writer = tokio::spawn(write_all(output, queue));
    let (mut requests, mut responses) = socket.split();
    let to_client = outgoing.clone();
    tokio::spawn(async move {
        while let Some(request) = requests.next().await {
            to_client.send(&without_null(request));
        }
    });

    let mut frames = FrameReader::new(BufReader::new(input));
    let mut client_gone: Pin<Box<dyn Future<Output = ()> + Send>> =
        Box::pin(std::future::pending());
    let mut client_process = None;
    let code = loop {
        let frame = tokio::select! {
            frame = frames.next() => frame,
            () = &mut client_gone => break 1,
            _ = &mut writer => break 1,
        };
        let message = match frame {
            Ok(Some(Frame::Body(body))) => parse(&body),
            Ok(Some(Frame::Garbage(reason))) => {
                Err(unreadable(Id::Null, ErrorCode::ParseError, reason))
            }
            Ok(None) | Err(_) => break service.exit_code_at_end_of_input(),
        };
        match message {
            Ok(Message::Request(request)) => answer(&mut service, request, &outgoing).await,
            Ok(Message::Response(response)) => {
                // Fails only after the end, when nobody waits for a response any more.
                let _ = responses.send(response).await;
            }
            Err(error) => outgoing.send(&error),
        }
        if let Some(code) = service.exit_code() {
            break code;
        }
        if client_process != service.client_process() {
            client_process = service.client_process();
            if let Some(process) = client_process {
                client_gone = Box::pin(process.gone());
            }
        }
    };
    outgoing.finish();
    // What was answered before the end still goes out, unless the client no longer reads.
    if !writer.is_finished() {
        let _ = tokio::time::timeout(Duration::from_secs(1), writer).await;
    }
    code
}

async fn answer<S>(service: &mut Lifecycle<S>, request: Request, outgoing: &Outgoing)
where
    S: Service<Request, Response = Option<Response>, Error = ExitedError>,
    S::Future: Send + Unpin + 'static,
{
    let mut answer = service.call(request);
    match poll_fn(|context| Poll::Ready(Pin::new(&mut answer).poll(context))).await {
        Poll::Ready(answered) => outgoing.answer(answered),
        Poll::Pending => {
            let outgoing = outgoing.clone();
            tokio::spawn(async move { outgoing.answer(answer.await) });
        }
    }
}

/// A message without parameters has none, not `null` (JSON-RPC 2.0, 4.2).
fn without_null(message: Request) -> Request {
    if message.params() != Some(&Value::Null) {
        return message;
    }
    let (method, id, _) = message.into_parts();
    let message = Request::build(method);
    match id {
        Some(id) => message.id(id).finish(),
        None => message.finish(),
    }
}

/// Where everything that goes to the client queues up. Never full: a client that does not read must not stop its own
/// changes from being read.
#[derive(Clone, Debug)]
struct Outgoing(UnboundedSender<Option<Vec<u8>>>);

impl Outgoing {
    fn answer(&self, answered: Result<Option<Response>, ExitedError>) {
        if let Ok(Some(response)) = answered {
            self.send(&response);
        }
    }

    fn send(&self, message: &impl Serialize) {
        // All that is sent was a JSON value before, so this cannot fail. Nor does a closed queue matter: the end.
        if let Ok(body) = serde_json::to_vec(message) {
            let _ = self.0.send(Some(body));
        }
    }

    fn finish(&self) {
        let _ = self.0.send(None);
    }
}

async fn write_all(
    output: impl AsyncWrite + Unpin,
    mut queue: UnboundedReceiver<Option<Vec<u8>>>,
) -> io::Result<()> {
    let mut output = BufWriter::new(output);
    while let Some(Some(body)) = queue.recv().await {
        frames::write(&mut output, &body).await?;
        if queue.is_empty() {
            output.flush().await?;
        }
    }
    output.flush().await
}

#[derive(Debug)]
enum Message {
    Request(Request),
    Response(Response),
}

/// Reads a body; the error is what to answer.
fn parse(body: &[u8]) -> Result<Message, Response> {
    let value: Value = serde_json::from_slice(body).map_err(|error| {
        unreadable(
            Id::Null,
            ErrorCode::ParseError,
            format!("this is no JSON: {error}"),
        )
    })?;
    let id = value.get("id").cloned().map_or(Id::Null, |id| {
        serde_json::from_value(id).unwrap_or_default()
    });
    if value.get("method").is_some() {
        return serde_json::from_value(value)
            .map(Message::Request)
            .map_err(|error| unreadable(id, ErrorCode::InvalidRequest, error.to_string()));
    }
    let result = match (value.get("result"), value.get("error")) {
        (_, Some(error)) if error.is_object() => Err(Error {
            code: error
                .get("code")
                .and_then(Value::as_i64)
                .unwrap_or_default()
                .into(),
            message: error
                .get("message")
                .and_then(Value::as_str)
                .unwrap_or_default()
                .to_owned()
                .into(),
            data: error.get("data").cloned(),
        }),
        (Some(result), _) => Ok(result.clone()),
        (None, _) => {
            let reason = "this is neither a request, nor a notification, nor a response".to_owned();
            return Err(unreadable(id, ErrorCode::InvalidRequest, reason));
        }
    };
    Ok(Message::Response(Response::from_parts(id, result)))
}

fn unreadable(id: Id, code: ErrorCode, reason: String) -> Response {
    Response::from_error(
        id,
        Error {
            code,
            message: reason.into(),
            data: None,
        },
    )
}
