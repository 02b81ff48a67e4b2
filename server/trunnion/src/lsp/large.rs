//! Answers that may be as large as the document. They go out as the text that their types are written as. The service
//! would build a tree of JSON values first, which takes a hundred times the memory of the answer's text.

use std::task::{Context, Poll};

use futures::future::{BoxFuture, FutureExt};
use serde::{Serialize, de::DeserializeOwned};
use serde_json::Value;
use serde_json::value::RawValue;
use tower::Service;
use tower_lsp::jsonrpc::{Error, Id, Request, Response, Result};
use tower_lsp::lsp_types::{
    DocumentSymbolParams, FoldingRangeParams, SemanticTokensDeltaParams, SemanticTokensParams,
    SemanticTokensRangeParams,
};
use tower_lsp::{ExitedError, LspService};

use super::features::{self, tokens};
use super::server::Server;

/// A response on its way out.
#[derive(Debug, Serialize)]
#[serde(untagged)]
pub(crate) enum Reply {
    Usual(Response),
    Large {
        jsonrpc: &'static str,
        id: Id,
        result: Box<RawValue>,
    },
}

impl From<Response> for Reply {
    fn from(response: Response) -> Self {
        Self::Usual(response)
    }
}

/// The service, but for requests whose answers may be large.
#[derive(Debug)]
pub(crate) struct WithLargeAnswers(pub(crate) LspService<Server>);

impl Service<Request> for WithLargeAnswers {
    type Response = Option<Reply>;
    type Error = ExitedError;
    type Future = BoxFuture<'static, std::result::Result<Option<Reply>, ExitedError>>;

    fn poll_ready(
        &mut self,
        context: &mut Context<'_>,
    ) -> Poll<std::result::Result<(), ExitedError>> {
        self.0.poll_ready(context)
    }

    fn call(&mut self, request: Request) -> Self::Future {
        let large = request.id().cloned().zip(large(self.0.inner(), &request));
        match large {
            Some((id, answer)) => async move {
                Ok(Some(match answer.await {
                    Ok(result) => Reply::Large {
                        jsonrpc: "2.0",
                        id,
                        result,
                    },
                    Err(error) => Response::from_error(id, error).into(),
                }))
            }
            .boxed(),
            None => {
                let answer = self.0.call(request);
                async move { Ok(answer.await?.map(Reply::from)) }.boxed()
            }
        }
    }
}

/// Begins a request whose answer may be large.
fn large(server: &Server, request: &Request) -> Option<BoxFuture<'static, Result<Box<RawValue>>>> {
    let params = request.params();
    let answer = match request.method() {
        "textDocument/documentSymbol" => read(params).map(|params: DocumentSymbolParams| {
            server.ask_for_text(&params.text_document.uri, "the outline", features::outline)
        }),
        "textDocument/foldingRange" => read(params).map(|params: FoldingRangeParams| {
            server.ask_for_text(&params.text_document.uri, "the folding", features::folding)
        }),
        "textDocument/semanticTokens/full" => read(params).map(|params: SemanticTokensParams| {
            server.ask_for_text(&params.text_document.uri, COLOURS, tokens::all)
        }),
        "textDocument/semanticTokens/full/delta" => {
            read(params).map(|params: SemanticTokensDeltaParams| {
                let previous = params.previous_result_id;
                server.ask_for_text(&params.text_document.uri, COLOURS, move |question| {
                    tokens::changes(question, &previous)
                })
            })
        }
        "textDocument/semanticTokens/range" => {
            read(params).map(|params: SemanticTokensRangeParams| {
                server.ask_for_text(&params.text_document.uri, COLOURS, move |question| {
                    tokens::within(question, params.range)
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
