//! Answers that may be as large as the document. They go out as the text that their types are written as. The service
//! would build a tree of JSON values first, which takes a hundred times the memory of the answer's text.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};
use std::task::{Context, Poll};

use futures::future::{AbortHandle, Abortable, BoxFuture, FutureExt};
use serde::{Deserialize, de::DeserializeOwned};
use serde_json::Value;
use tower::Service;
use tower_lsp::jsonrpc::{Error, Id, Request, Response, Result};
use tower_lsp::lsp_types::{
    DocumentDiagnosticParams, DocumentSymbolParams, FoldingRangeParams, SemanticTokensDeltaParams,
    SemanticTokensParams, SemanticTokensRangeParams,
};
use tower_lsp::{ExitedError, LspService};

use super::chunks::Chunks;
use super::features::{self, tokens};
use super::server::Server;

/// A response on its way out.
#[derive(Debug)]
pub(crate) enum Reply {
    Usual(Response),
    /// With the result as the text that goes out.
    Large {
        id: Id,
        result: Chunks,
    },
}

impl Reply {
    /// The message.
    pub(crate) fn into_text(self) -> Chunks {
        match self {
            Self::Usual(response) => Chunks::json(&response),
            Self::Large { id, result } => {
                let mut text = Chunks::from(r#"{"jsonrpc":"2.0","id":"#.to_owned());
                text.push_json(&id);
                text.push_str(r#","result":"#);
                text.append(result);
                text.push_str("}");
                text
            }
        }
    }
}

impl From<Response> for Reply {
    fn from(response: Response) -> Self {
        Self::Usual(response)
    }
}

/// The service, but for requests whose answers may be large.
#[derive(Debug)]
pub(crate) struct WithLargeAnswers {
    service: LspService<Server>,
    running: Running,
}

/// The requests that are being answered here, to be stopped if the client cancels them.
#[derive(Clone, Debug, Default)]
struct Running(Arc<Mutex<HashMap<Id, AbortHandle>>>);

impl WithLargeAnswers {
    pub(crate) fn new(service: LspService<Server>) -> Self {
        Self {
            service,
            running: Running::default(),
        }
    }
}

impl Service<Request> for WithLargeAnswers {
    type Response = Option<Reply>;
    type Error = ExitedError;
    type Future = BoxFuture<'static, std::result::Result<Option<Reply>, ExitedError>>;

    fn poll_ready(
        &mut self,
        context: &mut Context<'_>,
    ) -> Poll<std::result::Result<(), ExitedError>> {
        self.service.poll_ready(context)
    }

    fn call(&mut self, request: Request) -> Self::Future {
        if request.method() == "$/cancelRequest" {
            self.running.cancel(request.params());
        }
        let large = request
            .id()
            .cloned()
            .zip(large(self.service.inner(), &request));
        match large {
            Some((id, answer)) => {
                let answer = self.running.until_cancelled(id.clone(), answer);
                async move {
                    Ok(Some(match answer.await {
                        Ok(result) => Reply::Large { id, result },
                        Err(error) => Response::from_error(id, error).into(),
                    }))
                }
                .boxed()
            }
            None => {
                let answer = self.service.call(request);
                async move { Ok(answer.await?.map(Reply::from)) }.boxed()
            }
        }
    }
}

impl Running {
    fn cancel(&self, params: Option<&Value>) {
        let id = params.and_then(|params| Id::deserialize(params.get("id")?).ok());
        let running = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(handle) = id.and_then(|id| running.get(&id).cloned()) {
            handle.abort();
        }
    }

    fn until_cancelled(
        &self,
        id: Id,
        answer: BoxFuture<'static, Result<Chunks>>,
    ) -> BoxFuture<'static, Result<Chunks>> {
        let (handle, registration) = AbortHandle::new_pair();
        let mut running = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        running.insert(id.clone(), handle);
        let answer = Abortable::new(answer, registration);
        let running = self.clone();
        async move {
            let answered = answer.await;
            let mut running = running.0.lock().unwrap_or_else(PoisonError::into_inner);
            running.remove(&id);
            answered.unwrap_or_else(|_| Err(Error::request_cancelled()))
        }
        .boxed()
    }
}

/// Begins a request whose answer may be large.
fn large(server: &Server, request: &Request) -> Option<BoxFuture<'static, Result<Chunks>>> {
    let params = request.params();
    let answer = match request.method() {
        "textDocument/diagnostic" => read(params).map(|params: DocumentDiagnosticParams| {
            server.check(&params.text_document.uri, params.previous_result_id)
        }),
        "textDocument/documentSymbol" => read(params).map(|params: DocumentSymbolParams| {
            server.ask_for_text(&params.text_document.uri, "the outline", features::outline)
        }),
        "textDocument/foldingRange" => read(params).map(|params: FoldingRangeParams| {
            server.ask_for_text(&params.text_document.uri, "the folding", |question| {
                Ok(Chunks::json(&features::folding(question)?))
            })
        }),
        "textDocument/semanticTokens/full" => read(params).map(|params: SemanticTokensParams| {
            server.ask_for_text(&params.text_document.uri, COLOURS, |question| {
                Ok(Chunks::json(&tokens::all(question)?))
            })
        }),
        "textDocument/semanticTokens/full/delta" => {
            read(params).map(|params: SemanticTokensDeltaParams| {
                let previous = params.previous_result_id;
                server.ask_for_text(&params.text_document.uri, COLOURS, move |question| {
                    Ok(Chunks::json(&tokens::changes(question, &previous)?))
                })
            })
        }
        "textDocument/semanticTokens/range" => {
            read(params).map(|params: SemanticTokensRangeParams| {
                server.ask_for_text(&params.text_document.uri, COLOURS, move |question| {
                    Ok(Chunks::json(&tokens::within(question, params.range)?))
                })
            })
        }
        _ => return None,
    };
    Some(answer.unwrap_or_else(|error| async { Err(error) }.boxed()))
}

const COLOURS: &str = "the colours";

fn read<P: DeserializeOwned>(params: Option<&Value>) -> Result<P> {
    P::deserialize(params.unwrap_or(&Value::Null))
        .map_err(|error| Error::invalid_params(error.to_string()))
}
