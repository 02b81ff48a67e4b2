//! Answers that may be as large as the document, and lists that are asked for after each keystroke. They go out as the
//! text that their types are written as. The service would build a tree of JSON values first, which takes a hundred
//! times the memory of the answer's text, and more time than most answers.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};
use std::task::{Context, Poll};

use futures::future::{AbortHandle, Abortable, BoxFuture, FutureExt, ready};
use serde::{Deserialize, Serialize, de::DeserializeOwned};
use serde_json::Value;
use tower::Service;
use tower_lsp::jsonrpc::{Error, Id, Request, Response, Result};
use tower_lsp::lsp_types::{
    CodeLensParams, CompletionParams, DocumentColorParams, DocumentDiagnosticParams,
    DocumentHighlightParams, DocumentLinkParams, DocumentSymbolParams, FoldingRangeParams,
    InlayHintParams, ReferenceParams, RenameParams, SelectionRangeParams,
    SemanticTokensDeltaParams, SemanticTokensParams, SemanticTokensRangeParams,
    TextDocumentIdentifier, WorkspaceSymbolParams,
};
use tower_lsp::{ExitedError, LspService};

use super::chunks::Chunks;
use super::features::{self, Question, tokens};
use super::server::Server;
use super::text_sync;

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

/// The service, but for requests whose answers may be large, and for what keeps documents in step.
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
        let server = self.service.inner();
        let Some(request) = text_sync::carry_out(server, request) else {
            return ready(Ok(None)).boxed();
        };
        if request.method() == "$/cancelRequest" {
            self.running.cancel(request.params());
        }
        let large = request.id().cloned().zip(large(server, &request));
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

    fn until_cancelled(&self, id: Id, answer: Answer) -> Answer {
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

type Answer = BoxFuture<'static, Result<Chunks>>;

/// Begins a request whose answer may be large. None: the service answers it.
fn large(server: &Server, request: &Request) -> Option<Answer> {
    let asked = Asked {
        server,
        params: request.params(),
    };
    let method = request.method();
    of_the_server(asked, method)
        .or_else(|| about_places(asked, method))
        .or_else(|| about_all(asked, method))
}

/// The requests that the server writes the answers to itself.
fn of_the_server(asked: Asked<'_>, method: &str) -> Option<Answer> {
    Some(match method {
        "textDocument/diagnostic" => asked.of(|server, params: DocumentDiagnosticParams| {
            server.check(&params.text_document.uri, params.previous_result_id)
        }),
        "workspace/symbol" => {
            asked.of(|server, params: WorkspaceSymbolParams| server.find_symbols(params.query))
        }
        "textDocument/documentSymbol" => asked.of(|server, params: DocumentSymbolParams| {
            server.ask_for_text(&params.text_document.uri, "the outline", features::outline)
        }),
        "textDocument/completion" => asked.of(|server, params: CompletionParams| {
            let trigger = params.context.and_then(|context| context.trigger_character);
            let place = params.text_document_position;
            server.ask_for_text(
                &place.text_document.uri,
                "the completion",
                move |question| features::completion(question, place.position, trigger.as_deref()),
            )
        }),
        _ => return None,
    })
}

/// The requests about places in a document.
fn about_places(asked: Asked<'_>, method: &str) -> Option<Answer> {
    Some(match method {
        "textDocument/references" => {
            asked.about("the references", |question, params: ReferenceParams| {
                let with_definition = params.context.include_declaration;
                let at = params.text_document_position.position;
                features::references(question, at, with_definition)
            })
        }
        "textDocument/documentHighlight" => asked.about(
            "the highlight",
            |question, params: DocumentHighlightParams| {
                features::highlight(question, params.text_document_position_params.position)
            },
        ),
        "textDocument/rename" => asked.about("the rename", |question, params: RenameParams| {
            let at = params.text_document_position.position;
            features::rename(question, at, &params.new_name)
        }),
        "textDocument/selectionRange" => {
            asked.about("the selection", |question, params: SelectionRangeParams| {
                features::selection(question, &params.positions)
            })
        }
        "textDocument/inlayHint" => asked
            .about("the hints", |question, params: InlayHintParams| {
                features::inlay(question, params.range)
            }),
        "textDocument/semanticTokens/range" => asked.about(
            "the colours",
            |question, params: SemanticTokensRangeParams| tokens::within(question, params.range),
        ),
        _ => return None,
    })
}

/// The requests about all of a document.
fn about_all(asked: Asked<'_>, method: &str) -> Option<Answer> {
    Some(match method {
        "textDocument/documentLink" => asked
            .about("the links", |question, _: DocumentLinkParams| {
                features::links(question)
            }),
        "textDocument/codeLens" => asked.about("the lenses", |question, _: CodeLensParams| {
            features::lens(question)
        }),
        "textDocument/documentColor" => asked
            .about("the colours", |question, _: DocumentColorParams| {
                features::colours(question)
            }),
        "textDocument/foldingRange" => asked
            .about("the folding", |question, _: FoldingRangeParams| {
                features::folding(question)
            }),
        "textDocument/semanticTokens/full" => asked
            .about("the colours", |question, _: SemanticTokensParams| {
                tokens::all(question)
            }),
        "textDocument/semanticTokens/full/delta" => asked.about(
            "the colours",
            |question, params: SemanticTokensDeltaParams| {
                tokens::changes(question, &params.previous_result_id)
            },
        ),
        _ => return None,
    })
}

/// A request that is answered here.
#[derive(Clone, Copy)]
struct Asked<'r> {
    server: &'r Server,
    params: Option<&'r Value>,
}

impl Asked<'_> {
    fn of<P: DeserializeOwned>(self, begin: impl FnOnce(&Server, P) -> Answer) -> Answer {
        match P::deserialize(self.params.unwrap_or(&Value::Null)) {
            Ok(params) => begin(self.server, params),
            Err(error) => {
                let error = Error::invalid_params(error.to_string());
                async { Err(error) }.boxed()
            }
        }
    }

    /// About a document: all such requests name it in the same place.
    fn about<P: DeserializeOwned + Send + 'static, A: Serialize>(
        self,
        what: &'static str,
        answer: impl FnOnce(&Question, P) -> Result<A> + Send + 'static,
    ) -> Answer {
        self.of(|_, params: P| {
            self.of(|server, named: Named| {
                server.ask_for_text(&named.text_document.uri, what, move |question| {
                    Ok(Chunks::json(&answer(question, params)?))
                })
            })
        })
    }
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
struct Named {
    text_document: TextDocumentIdentifier,
}
