//! The life of the server around its handlers: what is answered before `initialize` and after `shutdown`, panics,
//! `exit`, and a client that died without a word.

use std::any::Any;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::pin::Pin;
use std::task::{Context, Poll};

use serde_json::Value;
use tower::Service;
use tower_lsp::ExitedError;
use tower_lsp::jsonrpc::{Error, ErrorCode, Id, Request, Response};

use super::client;
use super::large::Reply;
use super::log::Log;
use super::process::Process;

const SERVER_NOT_INITIALIZED: ErrorCode = ErrorCode::ServerError(-32002);

/// A guard around the service that dispatches to the handlers. Every request that goes in gets exactly one response.
#[derive(Debug)]
pub(crate) struct Lifecycle<S> {
    inner: S,
    phase: Phase,
    exit_code: Option<u8>,
    client_process: Option<Process>,
    log: Log,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Phase {
    New,
    Running,
    ShutDown,
}

impl<S> Lifecycle<S> {
    pub(crate) fn new(inner: S, log: Log) -> Self {
        Self {
            inner,
            phase: Phase::New,
            exit_code: None,
            client_process: None,
            log,
        }
    }

    /// Whether documents can be opened.
    pub(crate) fn is_running(&self) -> bool {
        self.phase == Phase::Running
    }

    /// Set once `exit` has come: 0 after a `shutdown`, else 1, as the protocol wants it.
    pub(crate) fn exit_code(&self) -> Option<u8> {
        self.exit_code
    }

    /// The code for an end without `exit`.
    pub(crate) fn exit_code_at_end_of_input(&self) -> u8 {
        u8::from(self.phase != Phase::ShutDown)
    }

    /// The client's process, once `initialize` has told it and if it can be watched.
    pub(crate) fn client_process(&self) -> Option<Process> {
        self.client_process
    }
}

impl<S> Service<Request> for Lifecycle<S>
where
    S: Service<Request, Response = Option<Reply>, Error = ExitedError>,
    S::Future: Send + Unpin,
{
    type Response = Option<Reply>;
    type Error = ExitedError;
    type Future = Answer<S::Future>;

    fn poll_ready(&mut self, context: &mut Context<'_>) -> Poll<Result<(), ExitedError>> {
        self.inner.poll_ready(context)
    }

    fn call(&mut self, request: Request) -> Self::Future {
        let id = request.id().cloned();
        let method = request.method().to_owned();
        let request = match (method.as_str(), self.phase) {
            ("exit", phase) => {
                self.exit_code = Some(u8::from(phase != Phase::ShutDown));
                return Answer::refused(id, Error::invalid_request());
            }
            ("initialize", Phase::New | Phase::Running) => {
                self.phase = Phase::Running;
                // Now, while the client certainly lives.
                self.client_process = request
                    .params()
                    .and_then(|params| params.get("processId"))
                    .and_then(Value::as_u64)
                    .and_then(|id| Process::see(id.try_into().ok()?));
                with_params(request, |params| params.map(client::as_typed))
            }
            (_, Phase::New) => return Answer::refused(id, not_initialized()),
            (_, Phase::ShutDown) => return Answer::refused(id, Error::invalid_request()),
            ("shutdown", Phase::Running) => {
                self.phase = Phase::ShutDown;
                // It takes none, but clients send `null` or `{}`.
                with_params(request, |_| None)
            }
            (_, Phase::Running) => request,
        };
        match catch_unwind(AssertUnwindSafe(|| self.inner.call(request))) {
            Ok(work) => Answer {
                id,
                method,
                work: Work::Running(work),
                log: Some(self.log.clone()),
            },
            Err(panic) => {
                self.log.error(panic_message(&method, panic.as_ref()));
                Answer::refused(id, Error::internal_error())
            }
        }
    }
}

fn with_params(request: Request, change: impl FnOnce(Option<Value>) -> Option<Value>) -> Request {
    let (method, id, params) = request.into_parts();
    let mut request = Request::build(method);
    if let Some(params) = change(params) {
        request = request.params(params);
    }
    if let Some(id) = id {
        request = request.id(id);
    }
    request.finish()
}

fn not_initialized() -> Error {
    Error {
        code: SERVER_NOT_INITIALIZED,
        message: "The server waits for an initialize request first.".into(),
        data: None,
    }
}

/// A handler at work, or an answer that needs no handler.
#[derive(Debug)]
pub(crate) struct Answer<F> {
    id: Option<Id>,
    method: String,
    work: Work<F>,
    log: Option<Log>,
}

#[derive(Debug)]
enum Work<F> {
    Running(F),
    Refused(Option<Error>),
}

impl<F> Answer<F> {
    /// A request gets `error`; a notification is dropped.
    fn refused(id: Option<Id>, error: Error) -> Self {
        Self {
            id,
            method: String::new(),
            work: Work::Refused(Some(error)),
            log: None,
        }
    }

    /// Tells the log of a panic; gives back what the client is told.
    fn panicked(&self, panic: &(dyn Any + Send)) -> Error {
        if let Some(log) = &self.log {
            log.error(panic_message(&self.method, panic));
        }
        let method = &self.method;
        Error {
            code: ErrorCode::InternalError,
            message: format!("{method} failed inside Trunnion; the server goes on.").into(),
            data: None,
        }
    }
}

impl<F> Future for Answer<F>
where
    F: Future<Output = Result<Option<Reply>, ExitedError>> + Unpin,
{
    type Output = Result<Option<Reply>, ExitedError>;

    fn poll(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<Self::Output> {
        let this = &mut *self;
        let polled = match &mut this.work {
            Work::Running(work) => catch_unwind(AssertUnwindSafe(|| Pin::new(work).poll(context)))
                .map_err(|panic| this.panicked(panic.as_ref())),
            Work::Refused(error) => Err(error.take().unwrap_or_else(Error::internal_error)),
        };
        let error = match polled {
            Ok(Poll::Pending) => return Poll::Pending,
            Ok(Poll::Ready(Ok(Some(response)))) => return Poll::Ready(Ok(Some(response))),
            // No answer to a request: the service knows no such method (it drops unknown `$/…` requests).
            Ok(Poll::Ready(Ok(None))) => Error::method_not_found(),
            Ok(Poll::Ready(Err(ExitedError { .. }))) => Error::invalid_request(),
            Err(error) => error,
        };
        this.work = Work::Refused(None);
        let refused = this.id.take();
        Poll::Ready(Ok(refused.map(|id| Response::from_error(id, error).into())))
    }
}

pub(crate) fn panic_message(what: &str, panic: &(dyn Any + Send)) -> String {
    let reason = panic
        .downcast_ref::<String>()
        .map(String::as_str)
        .or_else(|| panic.downcast_ref::<&str>().copied())
        .unwrap_or("no reason given");
    format!("{what} failed inside Trunnion, which is a fault of Trunnion: {reason}")
}

#[cfg(test)]
mod tests;
