//! The handlers: one short method per message.
//!
//! Whatever touches the documents happens before the first await of a method; see [`super::transport`].

mod commands;

use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError};

use futures::future::{BoxFuture, FutureExt};
use serde_json::Value;
use tower_lsp::jsonrpc::{Error, Result};
use tower_lsp::lsp_types::*;
use tower_lsp::{Client, LanguageServer};

use super::actions;
use super::chunks::Chunks;
use super::client::{self, ClientSupport};
use super::diagnostics::{self, PushQueue};
use super::documents::{self, Documents, Open, Snapshot};
use super::features::{self, Question};
use super::file_moves::{self, Files};
use super::library;
use super::log::Log;
use super::outgoing::Outgoing;
use super::preview::Previews;
use super::task::Tasks;
use super::text_sync::Unreadable;
use super::uris;
use project::WorkspaceError;

/// What the log says where [`client::is_trusting`] does not hold.
const DISTRUST: &str = "This workspace is not trusted: in trunnion.toml, game-folder, library and cache-folder do not \
                        count, nor do dialects outside of its folder.";

#[derive(Debug)]
pub(crate) struct Server {
    wire: Client,
    outgoing: Outgoing,
    log: Log,
    tasks: Tasks,
    /// Set by `initialize`.
    client: OnceLock<ClientSupport>,
    documents: Arc<Mutex<Documents>>,
    /// Whoever changes a document adds it here before letting go of the documents, so that no version is analysed
    /// twice.
    pushes: Arc<PushQueue>,
    previews: Arc<Previews>,
}

impl Server {
    pub(crate) fn new(
        wire: Client,
        documents: Arc<Mutex<Documents>>,
        pushes: Arc<PushQueue>,
        outgoing: Outgoing,
        log: Log,
    ) -> Self {
        Self {
            wire,
            outgoing,
            tasks: Tasks::new(log.clone()),
            log,
            client: OnceLock::new(),
            documents,
            pushes,
            previews: Arc::default(),
        }
    }

    fn client(&self) -> Result<&ClientSupport> {
        self.client.get().ok_or_else(Error::invalid_request)
    }

    fn documents(&self) -> MutexGuard<'_, Documents> {
        self.documents
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
    }

    fn snapshot(&self) -> Snapshot {
        self.documents().snapshot()
    }

    /// Files that any document may depend on changed.
    fn disk_changed<'u>(&self, files: impl IntoIterator<Item = &'u Url>) {
        let files: Vec<_> = files.into_iter().map(uris::path).collect();
        let mut documents = self.documents();
        documents.disk_changed();
        documents.libraries().changed(&files);
        let snapshot = documents.snapshot();
        self.pushes.add(snapshot.uris());
        drop(documents);
        self.previews.changed();
        let Some(client) = self.client.get().cloned() else {
            return;
        };
        let wire = self.wire.clone();
        tokio::spawn(async move {
            // A client that cannot do one of these says so itself; the others are asked for all the same.
            if client.diagnostics.pull && client.refresh.diagnostics {
                let _ = wire.workspace_diagnostic_refresh().await;
            }
            if client.inlay_hints && client.refresh.inlay_hints {
                let _ = wire.inlay_hint_refresh().await;
            }
            if client.tokens.is_some() && client.refresh.semantic_tokens {
                let _ = wire.semantic_tokens_refresh().await;
            }
            if client.lenses && client.refresh.code_lenses {
                let _ = wire.code_lens_refresh().await;
            }
        });
    }

    /// A document that a question is about, and who asks.
    fn asked(&self, uri: &Url) -> Result<(ClientSupport, Open)> {
        Ok((self.client()?.clone(), self.snapshot().document(uri)?))
    }

    /// The same as [`Self::ask`], with the answer as the text that goes out. Begins at once, before it is awaited.
    pub(crate) fn ask_for_text(
        &self,
        uri: &Url,
        what: &'static str,
        answer: impl FnOnce(&Question) -> Result<Chunks> + Send + 'static,
    ) -> BoxFuture<'static, Result<Chunks>> {
        let asked = self.asked(uri);
        let (tasks, log) = (self.tasks.clone(), self.log.clone());
        async move {
            let (client, open) = asked?;
            let text = tasks.run_at_once(what, false, move || {
                answer(&Question::new(open, client, log)?)
            });
            text.await?
        }
        .boxed()
    }

    /// The answer to a pull of diagnostics, as the text that goes out.
    pub(crate) fn check(
        &self,
        uri: &Url,
        previous: Option<String>,
    ) -> BoxFuture<'static, Result<Chunks>> {
        let asked = self.asked(uri);
        let tasks = self.tasks.clone();
        async move {
            let (client, open) = asked?;
            diagnostics::pull(open, client, previous, &tasks).await
        }
        .boxed()
    }

    /// Everything in all documents that has a name like that, as the text that goes out.
    pub(crate) fn find_symbols(&self, query: String) -> BoxFuture<'static, Result<Chunks>> {
        let asked = self.client().cloned();
        let (snapshot, tasks) = (self.snapshot(), self.tasks.clone());
        let log = self.log.clone();
        async move {
            let encoding = asked?.encoding;
            let found = tasks.run("the search for symbols", move |cancelled| {
                let known = snapshot.known_views();
                if let Some(unread) = known.left_out() {
                    let what = "Not all documents are searched.";
                    log.show_warning_once(format!("{what}\n{unread}"));
                }
                let views = known.views.iter().take_while(|_| !cancelled.is_raised());
                let found = views.filter_map(|view| {
                    let (document, uri) = (&view.document, snapshot.uri(&view.document.path)?);
                    let places = documents::places(document, encoding);
                    Some(features::workspace_symbols(view, &uri, places, &query))
                });
                Chunks::json(&found.flatten().collect::<Vec<_>>())
            });
            found.await
        }
        .boxed()
    }

    /// Answers a question about a document, away from the wire.
    async fn ask<T: Send + 'static>(
        &self,
        uri: &Url,
        what: &'static str,
        answer: impl FnOnce(&Question) -> Result<T> + Send + 'static,
    ) -> Result<T> {
        let (client, open) = self.asked(uri)?;
        let log = self.log.clone();
        self.tasks
            .run_at_once(what, false, move || {
                answer(&Question::new(open, client, log)?)
            })
            .await?
    }

    fn show_out_of_step(&self, uri: &Url) {
        let name = uri.path_segments().and_then(|mut steps| steps.next_back());
        self.log.show_error(format!(
            "{}: {}",
            name.unwrap_or(uri.as_str()),
            diagnostics::OUT_OF_STEP
        ));
    }

    pub(crate) fn open(&self, params: DidOpenTextDocumentParams) {
        let document = params.text_document;
        let uri = document.uri.clone();
        let mut documents = self.documents();
        documents.open(document.uri, document.version, document.text);
        self.pushes.add([&uri]);
        self.previews.changed();
    }

    pub(crate) fn change(&self, params: DidChangeTextDocumentParams) {
        let VersionedTextDocumentIdentifier { uri, version } = params.text_document;
        let Ok(client) = self.client() else { return };
        let mut documents = self.documents();
        match documents.change(&uri, version, params.content_changes, client.encoding) {
            // The first change that did not fit has been told.
            Ok(()) | Err(WorkspaceError::OutOfStep) => {}
            Err(error) => {
                self.log.error(format!(
                    "A change of {uri} (version {version}) cannot be applied: {error}. \
                     Close the file and open it again."
                ));
                if documents.snapshot().is_out_of_step(&uri) {
                    self.show_out_of_step(&uri);
                }
            }
        }
        self.pushes.add_first(&uri);
        self.previews.changed();
    }

    pub(crate) fn close(&self, params: DidCloseTextDocumentParams) {
        let mut documents = self.documents();
        documents.close(&params.text_document.uri);
        self.pushes.add([&params.text_document.uri]);
        self.previews.changed();
    }

    /// What a notification about documents said is lost: it could not be read.
    pub(crate) fn lose(&self, lost: Unreadable) {
        self.log.error(lost.message());
        let mut documents = self.documents();
        let uris = documents.lose(lost.uri.as_ref());
        for uri in &uris {
            self.show_out_of_step(uri);
        }
        self.pushes.add(&uris);
    }
}

#[tower_lsp::async_trait]
impl LanguageServer for Server {
    async fn initialize(&self, params: InitializeParams) -> Result<InitializeResult> {
        let client = self.client.get_or_init(|| ClientSupport::of(&params));
        if !client::is_trusting(&params) {
            self.documents().distrust();
            self.log.warning(DISTRUST.to_owned());
        }
        if !client.diagnostics.pull {
            self.pushes.start(client.clone());
        }
        let folders = params.workspace_folders.iter().flatten();
        let folders: Vec<&Url> = folders.map(|folder| &folder.uri).collect();
        let root = params.root_uri.iter().filter(|_| folders.is_empty());
        let come = root.chain(folders.iter().copied());
        self.documents().change_folders(come, []);
        let (wire, outgoing, log) = (self.wire.clone(), self.outgoing.clone(), self.log.clone());
        library::watch(&self.documents, client, wire, outgoing, log);
        Ok(InitializeResult {
            capabilities: capabilities(client),
            server_info: Some(ServerInfo {
                name: "trunnion".to_owned(),
                version: Some(env!("CARGO_PKG_VERSION").to_owned()),
            }),
        })
    }

    async fn initialized(&self, _: InitializedParams) {
        if self.client.get().is_some_and(|client| client.watched_files) {
            let (wire, log) = (self.wire.clone(), self.log.clone());
            // In a task of its own: a handler must not wait for the client.
            tokio::spawn(async move {
                if let Err(error) = wire.register_capability(vec![watched_files()]).await {
                    log.warning(format!(
                        "The editor does not watch files for Trunnion: {error}"
                    ));
                }
            });
        }
    }

    async fn shutdown(&self) -> Result<()> {
        Ok(())
    }

    async fn did_save(&self, params: DidSaveTextDocumentParams) {
        self.disk_changed([&params.text_document.uri]);
    }

    async fn did_change_watched_files(&self, params: DidChangeWatchedFilesParams) {
        let files = params.changes.iter().map(|change| &change.uri);
        // Whoever commits or fetches changes hundreds of files that no document depends on.
        let mut of_mods = files
            .filter(|uri| !archive::is_kept_apart(&uris::path(uri)))
            .peekable();
        if of_mods.peek().is_some() {
            self.disk_changed(of_mods);
        }
    }

    async fn did_change_workspace_folders(&self, params: DidChangeWorkspaceFoldersParams) {
        let WorkspaceFoldersChangeEvent { added, removed } = params.event;
        let [come, gone] = [&added, &removed].map(|some| some.iter().map(|folder| &folder.uri));
        self.documents().change_folders(come, gone);
    }

    async fn will_rename_files(&self, params: RenameFilesParams) -> Result<Option<WorkspaceEdit>> {
        let client = self.client()?.clone();
        let (snapshot, log) = (self.snapshot(), self.log.clone());
        let edits = self.tasks.run("the search for names of files", move |_| {
            file_moves::before_renaming(&params, &snapshot, &client, &log)
        });
        edits.await
    }

    async fn did_create_files(&self, params: CreateFilesParams) {
        self.disk_changed(&params.uris());
    }

    async fn did_rename_files(&self, params: RenameFilesParams) {
        self.disk_changed(&params.uris());
    }

    async fn did_delete_files(&self, params: DeleteFilesParams) {
        self.disk_changed(&params.uris());
    }

    async fn code_action(&self, params: CodeActionParams) -> Result<Option<CodeActionResponse>> {
        let client = self.client()?.clone();
        let document = self.snapshot().document(&params.text_document.uri)?;
        actions::at(document, params, client, &self.tasks).await
    }

    async fn code_action_resolve(&self, mut action: CodeAction) -> Result<CodeAction> {
        let client = self.client()?.clone();
        let chosen = actions::Chosen::of(&mut action)?;
        let document = self.snapshot().document(&chosen.uri)?;
        actions::resolve(document, action, chosen, client, &self.tasks).await
    }

    async fn execute_command(&self, params: ExecuteCommandParams) -> Result<Option<Value>> {
        self.carry_out(params).await
    }

    async fn completion_resolve(&self, item: CompletionItem) -> Result<CompletionItem> {
        let Some(uri) = features::document_of(&item)? else {
            return Ok(item);
        };
        self.ask(&uri, "the completion", move |question| {
            features::about(question, item)
        })
        .await
    }

    async fn hover(&self, params: HoverParams) -> Result<Option<Hover>> {
        let at = params.text_document_position_params;
        self.ask(&at.text_document.uri, "the hover", move |question| {
            features::hover(question, at.position)
        })
        .await
    }

    async fn signature_help(&self, params: SignatureHelpParams) -> Result<Option<SignatureHelp>> {
        let at = params.text_document_position_params;
        self.ask(&at.text_document.uri, "the attributes", move |question| {
            features::signature_help(question, at.position)
        })
        .await
    }

    async fn goto_definition(
        &self,
        params: GotoDefinitionParams,
    ) -> Result<Option<GotoDefinitionResponse>> {
        let at = params.text_document_position_params;
        self.ask(&at.text_document.uri, "the definition", move |question| {
            features::definition(question, at.position)
        })
        .await
    }

    async fn goto_implementation(
        &self,
        params: GotoDefinitionParams,
    ) -> Result<Option<GotoDefinitionResponse>> {
        let at = params.text_document_position_params;
        self.ask(&at.text_document.uri, "the node", move |question| {
            features::implementation(question, at.position)
        })
        .await
    }

    async fn prepare_rename(
        &self,
        at: TextDocumentPositionParams,
    ) -> Result<Option<PrepareRenameResponse>> {
        self.ask(&at.text_document.uri, "the rename", move |question| {
            features::prepare_rename(question, at.position)
        })
        .await
    }

    async fn linked_editing_range(
        &self,
        params: LinkedEditingRangeParams,
    ) -> Result<Option<LinkedEditingRanges>> {
        let at = params.text_document_position_params;
        self.ask(
            &at.text_document.uri,
            "the linked editing",
            move |question| features::linked_editing(question, at.position),
        )
        .await
    }

    async fn color_presentation(
        &self,
        params: ColorPresentationParams,
    ) -> Result<Vec<ColorPresentation>> {
        let (range, colour) = (params.range, params.color);
        self.ask(&params.text_document.uri, "the colour", move |question| {
            features::colour_presentation(question, range, colour)
        })
        .await
    }

    async fn on_type_formatting(
        &self,
        params: DocumentOnTypeFormattingParams,
    ) -> Result<Option<Vec<TextEdit>>> {
        let at = params.text_document_position;
        self.ask(&at.text_document.uri, "the closing tag", move |question| {
            features::closing(question, at.position, &params.ch)
        })
        .await
    }
}

fn capabilities(client: &ClientSupport) -> ServerCapabilities {
    let mut all = ServerCapabilities {
        position_encoding: Some(client.encoding_kind()),
        text_document_sync: Some(TextDocumentSyncCapability::Options(
            TextDocumentSyncOptions {
                open_close: Some(true),
                change: Some(TextDocumentSyncKind::INCREMENTAL),
                save: Some(TextDocumentSyncSaveOptions::SaveOptions(SaveOptions {
                    include_text: Some(false),
                })),
                ..TextDocumentSyncOptions::default()
            },
        )),
        code_action_provider: client.code_actions.literals.then(|| {
            CodeActionProviderCapability::Options(CodeActionOptions {
                code_action_kinds: Some(actions::KINDS.to_vec()),
                resolve_provider: client.code_actions.resolve_edit.then_some(true),
                ..CodeActionOptions::default()
            })
        }),
        execute_command_provider: Some(ExecuteCommandOptions {
            commands: commands::NAMES.map(str::to_owned).to_vec(),
            ..ExecuteCommandOptions::default()
        }),
        diagnostic_provider: client.diagnostics.pull.then(|| {
            DiagnosticServerCapabilities::Options(DiagnosticOptions {
                identifier: Some("trunnion".to_owned()),
                inter_file_dependencies: true,
                workspace_diagnostics: false,
                ..DiagnosticOptions::default()
            })
        }),
        workspace: workspace(client),
        ..ServerCapabilities::default()
    };
    features::capabilities::add(&mut all, client);
    all
}

/// What is told of folders and files, to a client that tells something of them.
fn workspace(client: &ClientSupport) -> Option<WorkspaceServerCapabilities> {
    let folders = client
        .workspace_folders
        .then_some(WorkspaceFoldersServerCapabilities {
            supported: Some(true),
            change_notifications: Some(OneOf::Left(true)),
        });
    let files = file_moves::options(client);
    (folders.is_some() || files.is_some()).then_some(WorkspaceServerCapabilities {
        workspace_folders: folders,
        file_operations: files,
    })
}

/// Any file of a mod may matter: a definition may name it, or it may be a scene or a dialect.
fn watched_files() -> Registration {
    Registration {
        id: "watched-files".to_owned(),
        method: "workspace/didChangeWatchedFiles".to_owned(),
        register_options: Some(serde_json::json!({"watchers": [{"globPattern": "**/*"}]})),
    }
}
