//! The loop between the wire and the handlers.
//!
//! The code of a handler before its first await runs right here, one message after the other in the order they
//! arrive; that is where documents change and where requests take their snapshot. What is left of a handler runs as
//! a task, so reading goes on whatever the handlers do. Unreadable input is answered with an error, never with
//! silence or an end (`tower_lsp::Server` of 0.20 stops reading after the first frame it cannot decode).
//!
//! Two threads take turns at reading. The one that has read a message handles it, lets the other one read, and goes on
//! with what the message has caused, up to the answer on the wire. So no keystroke waits until the system has woken
//! another thread for it (which takes as long as a small analysis), and still nothing that takes long stops reading:
//! one of the two is always there to read, and what comes while the other is at work goes to the runtime's threads.
//!
//! What is over in no time, as most keystrokes are ([`super::pace`]), is done before the next message is read. To let
//! the other one read takes a sixth as long again: its core has to fetch what this one has in its caches. Whoever works
//! so must not wait for the client, which may want to be read before it reads.

use std::io::Read;
use std::ops::ControlFlow;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::pin::Pin;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};
use std::task::{Context, Poll, Waker};
use std::thread;
use std::time::Duration;

use dialect::Dialect;
use futures::{FutureExt, Sink, SinkExt, StreamExt};
use serde::Deserialize;
use serde_json::Value;
use tokio::runtime::Handle;
use tokio::sync::mpsc::{UnboundedReceiver, UnboundedSender};
use tokio::task::JoinHandle;
use tower::Service;
use tower_lsp::jsonrpc::{Error, ErrorCode, Id, Request, Response};
use tower_lsp::{ClientSocket, ExitedError};

use super::body::Opening;
use super::chunks::Chunks;
use super::diagnostics::PushQueue;
use super::frames::{Frame, FrameReader};
use super::large::Reply;
use super::lifecycle::{Answer, Lifecycle};
use super::outgoing::Outgoing;
use super::task::{self, Left};
use super::text_sync::Unreadable;

/// In bytes. See [`Reader::take_turns`].
const LARGE: usize = 4 << 20;

/// Takes what will be opened. See [`FrameReader::next`].
pub(crate) type Expect = Box<dyn Fn(Opening<'_>) + Send>;

/// Serves one client until it says `exit`, closes the connection or dies. Returns the exit code. Handlers run in the
/// runtime that is entered. `pushes` is worked off as it fills. `end` gets the exit code from whoever sees the end
/// first.
pub(crate) async fn run<S>(
    input: impl Read + Send + 'static,
    outgoing: &Outgoing,
    service: Lifecycle<S>,
    socket: ClientSocket,
    pushes: &Arc<PushQueue>,
    expect: Expect,
    (ended, mut end): (UnboundedSender<u8>, UnboundedReceiver<u8>),
) -> u8
where
    S: Service<Request, Response = Option<Reply>, Error = ExitedError> + Send + 'static,
    S::Future: Send + Unpin + 'static,
{
    let (mut requests, responses) = socket.split();
    let to_client = outgoing.clone();
    tokio::spawn(async move {
        while let Some(request) = requests.next().await {
            to_client.send(&without_null(request));
        }
    });
    let over = Arc::new(AtomicBool::new(false));
    let wire = Arc::new(Mutex::new(Wire {
        frames: FrameReader::new(input),
        was_large: false,
        service,
        expect,
        responses,
        outgoing: outgoing.clone(),
        ended,
        over: over.clone(),
        watch: None,
    }));
    let at_work = Arc::new(AtomicBool::new(false));
    // While one greets the client, the other one reads what the first document is opened with. (Another thread would
    // leave behind what it has used.)
    let house: fn() = || drop(Dialect::house());
    for begin in [|| (), house] {
        let reader = Reader {
            pushes: pushes.clone(),
            outgoing: outgoing.clone(),
            at_work: at_work.clone(),
        };
        reader.start(wire.clone(), begin);
    }
    let code = end.recv().await.unwrap_or(1);
    over.store(true, Ordering::SeqCst);
    // What was answered before the end still goes out, unless the client no longer reads.
    outgoing.finish(Duration::from_secs(1));
    code
}

/// One of the threads that take turns.
struct Reader {
    pushes: Arc<PushQueue>,
    outgoing: Outgoing,
    /// The other one, or this one, does not read because it works.
    at_work: Arc<AtomicBool>,
}

impl Reader {
    fn start<I, S, R>(self, wire: Arc<Mutex<Wire<I, S, R>>>, begin: fn())
    where
        I: Read + Send + 'static,
        S: Service<Request, Response = Option<Reply>, Error = ExitedError> + Send + 'static,
        S::Future: Send + Unpin + 'static,
        R: Sink<Response> + Send + Unpin + 'static,
    {
        let runtime = Handle::current();
        thread::spawn(move || {
            let _entered = runtime.enter();
            begin();
            if self.take_turns(&wire).is_continue() {
                self.start(wire, || ());
            }
        });
    }

    /// Takes turns to the end, or until it has handled a large message; then another thread is to take its place. The
    /// allocator keeps for each thread what that one has used, and one that ends leaves it to the others: with threads
    /// that stayed, a server that opened a document again and again held all that it takes to read it for each of them.
    fn take_turns<I, S, R>(&self, wire: &Mutex<Wire<I, S, R>>) -> ControlFlow<()>
    where
        I: Read,
        S: Service<Request, Response = Option<Reply>, Error = ExitedError>,
        S::Future: Send + Unpin + 'static,
        R: Sink<Response> + Unpin,
    {
        loop {
            let Turn { left, was_large } = self.read(wire)?;
            if let Some(left) = left {
                finish(left, &self.outgoing, Outgoing::send_text_now);
            }
            loop {
                self.pushes.work();
                self.at_work.store(false, Ordering::SeqCst);
                // What came before the last line was left to this thread.
                if !self.pushes.has_work() || self.at_work.swap(true, Ordering::SeqCst) {
                    break;
                }
            }
            if was_large {
                return ControlFlow::Continue(());
            }
        }
    }

    /// Takes one message after the other, until one has left work to do that this thread may do, or to the end.
    fn read<I, S, R>(&self, wire: &Mutex<Wire<I, S, R>>) -> ControlFlow<(), Turn<Answer<S::Future>>>
    where
        I: Read,
        S: Service<Request, Response = Option<Reply>, Error = ExitedError>,
        S::Future: Send + Unpin + 'static,
        R: Sink<Response> + Unpin,
    {
        // A thread that panicked with the wire in its hands has left a message half read.
        let Ok(mut wire) = wire.lock() else {
            return ControlFlow::Break(());
        };
        loop {
            if self.pushes.has_work() && !self.at_work.load(Ordering::SeqCst) {
                // What has come already may overtake it.
                if self.pushes.is_quick() {
                    if !wire.frames.has_whole() {
                        self.pushes.work_once();
                        continue;
                    }
                } else if !self.at_work.swap(true, Ordering::SeqCst) {
                    return ControlFlow::Continue(wire.turn(None));
                }
            }
            if self.pushes.is_held_up() {
                let pushes = self.pushes.clone();
                tokio::task::spawn_blocking(move || pushes.help());
            }
            let may_leave_work = !self.at_work.load(Ordering::SeqCst);
            let next = catch_unwind(AssertUnwindSafe(|| wire.next(may_leave_work)));
            match next.unwrap_or(Next::End(1)) {
                Next::Message => {}
                Next::Work(unfinished) if unfinished.left.is_quick => {
                    finish(unfinished, &self.outgoing, Outgoing::send_text_soon);
                }
                Next::Work(unfinished) => {
                    if !self.at_work.swap(true, Ordering::SeqCst) {
                        return ControlFlow::Continue(wire.turn(Some(unfinished)));
                    }
                    // The other one was faster.
                    let outgoing = self.outgoing.clone();
                    tokio::task::spawn_blocking(move || {
                        finish(unfinished, &outgoing, Outgoing::send_text_now);
                    });
                }
                Next::End(code) => {
                    wire.over.store(true, Ordering::SeqCst);
                    let _ = wire.ended.send(code);
                    return ControlFlow::Break(());
                }
            }
        }
    }
}

fn finish<F>(mut unfinished: Unfinished<F>, outgoing: &Outgoing, send: fn(&Outgoing, Chunks))
where
    F: Future<Output = Result<Option<Reply>, ExitedError>> + Send + Unpin + 'static,
{
    (unfinished.left.work)();
    let mut now = Context::from_waker(Waker::noop());
    match Pin::new(&mut unfinished.answer).poll(&mut now) {
        Poll::Ready(Ok(Some(response))) => send(outgoing, response.into_text()),
        Poll::Ready(_) => {}
        Poll::Pending => later(unfinished.answer, outgoing.clone()),
    }
}

/// What a thread has to do after it has read.
struct Turn<F> {
    left: Option<Unfinished<F>>,
    was_large: bool,
}

/// An answer for which some work has to be done first, by the thread that has this.
struct Unfinished<F> {
    answer: F,
    left: Left,
}

/// What reading on has come to.
enum Next<F> {
    Message,
    Work(Unfinished<F>),
    /// With the exit code.
    End(u8),
}

struct Wire<I, S, R> {
    frames: FrameReader<I>,
    /// Whether there was a large message in this turn.
    was_large: bool,
    service: Lifecycle<S>,
    /// Told what will be opened, as far as it has come.
    expect: Expect,
    /// Takes the client's answers to the server's requests.
    responses: R,
    outgoing: Outgoing,
    ended: UnboundedSender<u8>,
    /// The session has ended, for whatever reason: what still comes is for nobody.
    over: Arc<AtomicBool>,
    watch: Option<JoinHandle<()>>,
}

impl<I, S, R> Wire<I, S, R>
where
    I: Read,
    S: Service<Request, Response = Option<Reply>, Error = ExitedError>,
    S::Future: Send + Unpin + 'static,
    R: Sink<Response> + Unpin,
{
    fn turn<F>(&mut self, left: Option<Unfinished<F>>) -> Turn<F> {
        let was_large = std::mem::take(&mut self.was_large);
        Turn { left, was_large }
    }

    /// Takes a message.
    fn next(&mut self, may_leave_work: bool) -> Next<Answer<S::Future>> {
        let mut lost = None;
        let expect = |opening: Opening<'_>| {
            if self.service.is_running() {
                (self.expect)(opening);
            }
        };
        let message = match self.frames.next(&expect) {
            _ if self.over.load(Ordering::SeqCst) => {
                return Next::End(self.service.exit_code_at_end_of_input());
            }
            Ok(Some(Frame::Body(body))) => {
                self.was_large |= body.len() >= LARGE;
                match body.finish() {
                    Ok(request) => Ok(Message::Request(request)),
                    Err(body) => parse(&body).inspect_err(|_| {
                        lost = Unreadable::in_body(&body).and_then(Unreadable::into_request);
                    }),
                }
            }
            Ok(Some(Frame::Garbage(reason))) => {
                Err(unreadable(Id::Null, ErrorCode::ParseError, reason))
            }
            Ok(None) | Err(_) => return Next::End(self.service.exit_code_at_end_of_input()),
        };
        let mut unfinished = None;
        match message {
            Ok(Message::Request(request)) => unfinished = self.answer(request, may_leave_work),
            Ok(Message::Response(response)) => {
                // Never waits. Fails only after the end, when nobody waits for a response any more.
                let _ = self.responses.send(response).now_or_never();
            }
            Err(error) => self.outgoing.send(&error),
        }
        if let Some(lost) = lost {
            self.answer(lost, false);
        }
        match (self.service.exit_code(), unfinished) {
            (Some(code), _) => Next::End(code),
            (None, Some(unfinished)) => Next::Work(unfinished),
            (None, None) => Next::Message,
        }
    }

    /// Gives back what is left to this thread of it.
    fn answer(
        &mut self,
        request: Request,
        may_leave_work: bool,
    ) -> Option<Unfinished<Answer<S::Future>>> {
        let watched = self.service.client_process();
        let mut answer = self.service.call(request);
        if self.service.client_process() != watched {
            self.watch_client();
        }
        // Whatever waits is polled again, by this thread or as a task.
        let mut now = Context::from_waker(Waker::noop());
        let begin = || Pin::new(&mut answer).poll(&mut now);
        match task::leaving_work(may_leave_work, begin) {
            (Poll::Pending, Some(left)) => return Some(Unfinished { answer, left }),
            (Poll::Pending, None) => later(answer, self.outgoing.clone()),
            (Poll::Ready(answered), _) => send(&self.outgoing, answered),
        }
        None
    }

    fn watch_client(&mut self) {
        if let Some(before) = self.watch.take() {
            before.abort();
        }
        let ended = self.ended.clone();
        self.watch = self.service.client_process().map(|process| {
            tokio::spawn(async move {
                process.gone().await;
                let _ = ended.send(1);
            })
        });
    }
}

fn later<F>(answer: F, outgoing: Outgoing)
where
    F: Future<Output = Result<Option<Reply>, ExitedError>> + Send + 'static,
{
    tokio::spawn(async move { send(&outgoing, answer.await) });
}

fn send(outgoing: &Outgoing, answered: Result<Option<Reply>, ExitedError>) {
    if let Ok(Some(response)) = answered {
        outgoing.send_text(response.into_text());
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

#[derive(Debug)]
enum Message {
    Request(Request),
    Response(Response),
}

/// Reads a body; the error is what to answer.
fn parse(body: &[u8]) -> Result<Message, Response> {
    // Nearly all that comes, each keystroke above all. (A response can be read as a request without a method.)
    let request = serde_json::from_slice(body).ok();
    if let Some(request) = request.filter(|request: &Request| !request.method().is_empty()) {
        return Ok(Message::Request(request));
    }
    let value: Value = serde_json::from_slice(body).map_err(|error| {
        unreadable(
            Id::Null,
            ErrorCode::ParseError,
            format!("this is no JSON: {error}"),
        )
    })?;
    let id = value
        .get("id")
        .map_or(Id::Null, |id| Id::deserialize(id).unwrap_or_default());
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
