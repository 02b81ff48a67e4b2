//! The reading of a library, as the client sees it: progress while it lasts, and fresh answers once it is there.

use std::path::Path;
use std::sync::{Arc, Mutex, PoisonError, Weak};
use std::time::{Duration, Instant};

use project::{News, Progress};
use tokio::runtime::Handle;
use tower_lsp::Client;
use tower_lsp::lsp_types::request::WorkDoneProgressCreate;
use tower_lsp::lsp_types::{
    NumberOrString, ProgressParams, ProgressParamsValue, ProgressToken, WorkDoneProgress,
    WorkDoneProgressBegin, WorkDoneProgressCreateParams, WorkDoneProgressEnd,
    WorkDoneProgressReport, notification,
};

use super::client::ClientSupport;
use super::documents::Documents;
use super::log::Log;
use super::outgoing::Outgoing;

/// Reports follow each other no faster.
const BETWEEN_REPORTS: Duration = Duration::from_millis(200);

/// Listens to the libraries of `documents` from now on. To be called within the runtime.
pub(crate) fn watch(
    documents: &Arc<Mutex<Documents>>,
    client: &ClientSupport,
    wire: Client,
    outgoing: Outgoing,
    log: Log,
) {
    let reader = Reader {
        documents: Arc::downgrade(documents),
        shows_progress: client.work_done_progress,
        asks_again: client.lenses && client.refresh.code_lenses,
        wire,
        outgoing,
        log,
        runtime: Handle::current(),
        shown: Arc::default(),
    };
    let documents = documents.lock().unwrap_or_else(PoisonError::into_inner);
    let libraries = documents.libraries();
    libraries.observe(Box::new(move |news| reader.hear(news)));
}

struct Reader {
    /// They hold what holds this.
    documents: Weak<Mutex<Documents>>,
    shows_progress: bool,
    /// The client asks for lenses again when told so. Hovers and completions are asked for anew anyway.
    asks_again: bool,
    wire: Client,
    outgoing: Outgoing,
    log: Log,
    runtime: Handle,
    shown: Arc<Mutex<Shown>>,
}

/// What the client sees of it. Several libraries may be read one after the other, each with a token of its own.
#[derive(Debug, Default)]
struct Shown {
    count: u32,
    state: State,
}

#[derive(Debug, Default)]
enum State {
    #[default]
    Nothing,
    /// The client was asked whether it takes progress with the newest token.
    Asked,
    /// It does, and was last told at this time.
    Begun(Instant),
}

impl Reader {
    /// Called from the thread that reads; never waits for the client.
    fn hear(&self, news: News<'_>) {
        match news {
            News::Reading(_, Progress::Looking | Progress::Read { of: 0, .. }) => {}
            News::Reading(library, Progress::Read { done, of }) => self.report(library, done, of),
            News::Failed(library) => {
                self.end();
                let library = library.display();
                self.log.error(format!(
                    "Reading the library {library} failed inside Trunnion; the server goes on without it."
                ));
            }
            News::Ready(library, index) => {
                self.end();
                if let Some(reason) = &index.not_kept {
                    self.log.warning(format!(
                        "What is known of the library {} is not kept for the next time: {reason}",
                        library.display()
                    ));
                }
                if let Some(documents) = self.documents.upgrade() {
                    let mut documents = documents.lock().unwrap_or_else(PoisonError::into_inner);
                    documents.library_is_there();
                }
                if self.asks_again {
                    let wire = self.wire.clone();
                    // A client that cannot do it says so itself.
                    self.runtime
                        .spawn(async move { wire.code_lens_refresh().await });
                }
            }
        }
    }

    fn report(&self, library: &Path, done: usize, of: usize) {
        if !self.shows_progress {
            return;
        }
        let mut shown = lock(&self.shown);
        let text = format!("{done} of {of} files");
        let percentage = u32::try_from(done * 100 / of.max(1)).ok();
        match shown.state {
            State::Nothing => {
                shown.count += 1;
                shown.state = State::Asked;
                let (token, title) = (token(shown.count), format!("Reading {}", library.display()));
                let (wire, outgoing) = (self.wire.clone(), self.outgoing.clone());
                let (state, own) = (self.shown.clone(), shown.count);
                self.runtime.spawn(async move {
                    let params = WorkDoneProgressCreateParams {
                        token: token.clone(),
                    };
                    let asked = wire.send_request::<WorkDoneProgressCreate>(params).await;
                    let mut shown = lock(&state);
                    let is_wanted = shown.count == own && matches!(shown.state, State::Asked);
                    if asked.is_ok() && is_wanted {
                        shown.state = State::Begun(Instant::now());
                        let begin = WorkDoneProgress::Begin(WorkDoneProgressBegin {
                            title,
                            cancellable: Some(false),
                            message: Some(text),
                            percentage,
                        });
                        send(&outgoing, token, begin);
                    }
                });
            }
            State::Begun(then) if then.elapsed() >= BETWEEN_REPORTS => {
                shown.state = State::Begun(Instant::now());
                let report = WorkDoneProgress::Report(WorkDoneProgressReport {
                    cancellable: Some(false),
                    message: Some(text),
                    percentage,
                });
                send(&self.outgoing, token(shown.count), report);
            }
            State::Asked | State::Begun(_) => {}
        }
    }

    fn end(&self) {
        let mut shown = lock(&self.shown);
        if let State::Begun(_) = std::mem::take(&mut shown.state) {
            let end = WorkDoneProgress::End(WorkDoneProgressEnd { message: None });
            send(&self.outgoing, token(shown.count), end);
        }
    }
}

fn token(count: u32) -> ProgressToken {
    NumberOrString::String(format!("library-{count}"))
}

fn send(outgoing: &Outgoing, token: ProgressToken, progress: WorkDoneProgress) {
    let value = ProgressParamsValue::WorkDone(progress);
    outgoing.notify::<notification::Progress>(&ProgressParams { token, value });
}

fn lock<T>(mutex: &Mutex<T>) -> std::sync::MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
