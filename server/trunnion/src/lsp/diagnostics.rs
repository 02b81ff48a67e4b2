//! What is wrong with the documents, told by one channel: the client asks (pull), or, if it cannot, it is told (push).
//!
//! Pushing is coalesced, not delayed: one thread at a time takes a changed document, analyses its newest version at
//! once, and tells the result only if that version is still the newest. While it is at a document that takes long, such as
//! the manifest of a large mod, another thread sees to what is typed elsewhere.

use std::collections::VecDeque;
use std::hash::{DefaultHasher, Hasher};
use std::io::{self, Write};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use ide::{Finding, checks, codes};
use serde::{Serialize, Serializer};
use syntax::{LineIndex, TextRange};
use tower_lsp::jsonrpc::Result;
use tower_lsp::lsp_types::notification::{Notification, PublishDiagnostics};
use tower_lsp::lsp_types::{Diagnostic, Url};

use super::chunks::Chunks;
use super::client::ClientSupport;
use super::convert::{self, Places};
use super::documents::{Documents, Open};
use super::lifecycle::panic_message;
use super::log::Log;
use super::outgoing::{self, Outgoing};
use super::task::Tasks;

pub(crate) const OUT_OF_STEP: &str =
    "The editor's text and Trunnion's are not the same any more. Close the file and open it again.";

/// The places of so many findings are looked for one by one. Of more, some point at others far away, so it is not enough to
/// have the text around the last one at hand.
const FEW: usize = 50;

/// Stands at the start, the only place that every text has.
fn out_of_step(uri: &Url, client: &ClientSupport) -> Diagnostic {
    let finding = codes::OUT_OF_STEP.at(TextRange::default(), OUT_OF_STEP);
    let places = Places {
        text: &String::new(),
        lines: &LineIndex::new(""),
        encoding: client.encoding,
        is_on_disk: false,
    };
    convert::diagnostic(&finding, places, uri, client, |_, _| None)
}

/// What is wrong with a document, as it goes out. Each finding is converted when it is written: there may be ten thousand.
struct Diagnostics<'d> {
    document: &'d Open,
    client: &'d ClientSupport,
    findings: Vec<Finding>,
}

impl<'d> Diagnostics<'d> {
    fn of(document: &'d Open, client: &'d ClientSupport) -> Result<Self> {
        let findings = match document.too_large() {
            Some(reason) => vec![codes::TOO_LARGE.at(TextRange::default(), reason)],
            None => {
                let view = document.view()?;
                let mut findings = checks::settings_at(&view);
                findings.extend(document.findings(&view));
                findings
            }
        };
        Ok(Self {
            document,
            client,
            findings,
        })
    }
}

impl Serialize for Diagnostics<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> std::result::Result<S::Ok, S::Error> {
        let Self {
            document, client, ..
        } = self;
        let places = match self.findings.len() > FEW {
            true => document.places(client.encoding),
            false => document.few_places(client.encoding),
        };
        let locate = |path: &Path, range| document.snapshot().locate(path, range, client.encoding);
        let findings = self.findings.iter();
        serializer.collect_seq(
            findings
                .map(|finding| convert::diagnostic(finding, places, &document.uri, client, locate)),
        )
    }
}

/// `PublishDiagnosticsParams` (LSP 3.17).
#[derive(Serialize)]
struct Published<'d, D> {
    uri: &'d Url,
    diagnostics: D,
    #[serde(skip_serializing_if = "Option::is_none")]
    version: Option<i32>,
}

fn published(uri: &Url, diagnostics: impl Serialize, version: Option<i32>) -> Chunks {
    let params = Published {
        uri,
        diagnostics,
        version,
    };
    outgoing::notification(PublishDiagnostics::METHOD, &params)
}

/// The answer to a pull, as a `DocumentDiagnosticReport` (LSP 3.17) in text. The result's id is a fingerprint of the result
/// itself, so whatever it depends on, an equal result is found equal.
pub(crate) async fn pull(
    document: Open,
    client: ClientSupport,
    previous: Option<String>,
    tasks: &Tasks,
) -> Result<Chunks> {
    let is_quick = document.pace().is_quick();
    let report = tasks.run_at_once("the check of the document", is_quick, move || {
        let look = || Ok(Chunks::json(&Diagnostics::of(&document, &client)?));
        let items = document.pace().measure(look)?;
        let mut fingerprint = Fingerprint::default();
        // It takes everything.
        let _ = items.copy_to(&mut fingerprint);
        let id = format!("{:016x}", fingerprint.0.finish());
        if previous.is_some_and(|previous| previous == id) {
            return Ok(format!(r#"{{"kind":"unchanged","resultId":"{id}"}}"#).into());
        }
        let start = format!(r#"{{"kind":"full","resultId":"{id}","items":"#);
        let mut report = Chunks::from(start);
        report.append(items);
        report.push_str("}");
        Ok(report)
    });
    report.await?
}

#[derive(Default)]
struct Fingerprint(DefaultHasher);

impl Write for Fingerprint {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.write(bytes);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// Documents whose diagnostics the client does not have yet.
#[derive(Debug)]
pub(crate) struct PushQueue {
    state: Mutex<State>,
    documents: Arc<Mutex<Documents>>,
    outgoing: Outgoing,
    log: Log,
}

#[derive(Debug, Default)]
struct State {
    /// Set for a client that is told; one that asks has nothing waiting here.
    client: Option<Arc<ClientSupport>>,
    /// Those that somebody types in.
    typed: VecDeque<Url>,
    /// The others.
    waiting: VecDeque<Url>,
    /// Those that somebody looks at. Nobody else begins with a newer version: it might be told first.
    at_work: Vec<Url>,
    /// Some thread is at it, until nothing waits.
    working: bool,
    /// Another one is at what is typed.
    helping: bool,
}

/// Who works off the queue.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Worker {
    Usual,
    /// Only for what is typed, as long as there is the usual one.
    Helper,
}

impl State {
    fn add(&mut self, uri: &Url) {
        if !self.holds(uri) {
            self.waiting.push_back(uri.clone());
        }
    }

    fn add_first(&mut self, uri: &Url) {
        self.waiting.retain(|waiting| waiting != uri);
        self.typed.retain(|typed| typed != uri);
        self.typed.push_front(uri.clone());
    }

    fn holds(&self, uri: &Url) -> bool {
        self.typed.contains(uri) || self.waiting.contains(uri)
    }

    fn is_free(&self, uri: &Url) -> bool {
        !self.at_work.contains(uri)
    }

    /// The document that somebody types in and nobody looks at.
    fn next_typed(&self) -> Option<&Url> {
        self.typed.iter().find(|uri| self.is_free(uri))
    }

    /// Whether something is typed while who works is at another document.
    fn is_held_up(&self) -> bool {
        let is_alone = self.working && !self.helping && !self.at_work.is_empty();
        is_alone && self.next_typed().is_some()
    }

    /// What `worker` does next, who has `done` something. If there is nothing, it is no worker any more.
    fn next(&mut self, worker: &mut Worker, done: Option<&Url>) -> Option<Url> {
        self.at_work.retain(|uri| Some(uri) != done);
        let free = |list: &VecDeque<Url>| list.iter().position(|uri| self.is_free(uri));
        let (typed, waiting) = (free(&self.typed), free(&self.waiting));
        let next = match (typed, waiting) {
            (Some(at), _) => self.typed.remove(at),
            (None, Some(at)) if *worker == Worker::Usual || !self.working => {
                if *worker == Worker::Helper {
                    (self.helping, self.working) = (false, true);
                    *worker = Worker::Usual;
                }
                self.waiting.remove(at)
            }
            _ => None,
        };
        match &next {
            Some(uri) => self.at_work.push(uri.clone()),
            None => self.leave(*worker),
        }
        next
    }

    fn leave(&mut self, worker: Worker) {
        match worker {
            Worker::Usual => self.working = false,
            Worker::Helper => self.helping = false,
        }
    }
}

impl PushQueue {
    pub(crate) fn new(documents: Arc<Mutex<Documents>>, outgoing: Outgoing, log: Log) -> Self {
        Self {
            state: Mutex::default(),
            documents,
            outgoing,
            log,
        }
    }

    /// From now on `client` is told of every document that is added.
    pub(crate) fn start(&self, client: ClientSupport) {
        self.state().client = Some(Arc::new(client));
    }

    pub(crate) fn add<'u>(&self, uris: impl IntoIterator<Item = &'u Url>) {
        let mut state = self.state();
        if state.client.is_some() {
            uris.into_iter().for_each(|uri| state.add(uri));
        }
    }

    /// For what is typed: it does not wait until all has been looked at that a change of the disk may concern.
    pub(crate) fn add_first(&self, uri: &Url) {
        let mut state = self.state();
        if state.client.is_some() {
            state.add_first(uri);
        }
    }

    /// Whether there is something to do that nobody does.
    pub(crate) fn has_work(&self) -> bool {
        let state = self.state();
        let mut all = state.typed.iter().chain(&state.waiting);
        !state.working && all.any(|uri| state.is_free(uri))
    }

    /// Whether something is typed while who works off the queue is at another document: then [`Self::help`].
    pub(crate) fn is_held_up(&self) -> bool {
        self.state().is_held_up()
    }

    /// Whether the next one is a document that somebody types in, and the look at it will be over in no time.
    pub(crate) fn is_quick(&self) -> bool {
        let next = self.state().next_typed().cloned();
        next.is_some_and(|uri| lock(&self.documents).is_quick(&uri))
    }

    /// Tells the client about the documents of the queue until it is empty, unless another thread does.
    pub(crate) fn work(&self) {
        if !std::mem::replace(&mut self.state().working, true) {
            self.work_as(Worker::Usual);
        }
    }

    /// Tells the client about the first document of the queue, unless another thread works it off. Never waits for the
    /// client.
    pub(crate) fn work_once(&self) {
        if std::mem::replace(&mut self.state().working, true) {
            return;
        }
        let mut worker = Worker::Usual;
        if let Some((uri, client)) = self.next(&mut worker, None) {
            if let Some(text) = self.look(&uri, &client) {
                self.outgoing.send_text_soon(text);
            }
            let mut state = self.state();
            state.at_work.retain(|at_work| *at_work != uri);
            state.leave(worker);
        }
    }

    /// The same as [`Self::work`] for those only that somebody types in.
    pub(crate) fn help(&self) {
        if !std::mem::replace(&mut self.state().helping, true) {
            self.work_as(Worker::Helper);
        }
    }

    fn work_as(&self, mut worker: Worker) {
        let mut done = None;
        while let Some((uri, client)) = self.next(&mut worker, done.as_ref()) {
            if let Some(text) = self.look(&uri, &client) {
                self.outgoing.send_text_now(text);
            }
            done = Some(uri);
        }
    }

    /// What the client is to be told of a document.
    fn look(&self, uri: &Url, client: &ClientSupport) -> Option<Chunks> {
        let snapshot = lock(&self.documents).snapshot();
        let document = snapshot.document(uri);
        let checked = catch_unwind(AssertUnwindSafe(|| match &document {
            Ok(document) => document.pace().measure(|| {
                Diagnostics::of(document, client).map(|diagnostics| {
                    let version = document.version();
                    let version = version.filter(|_| client.diagnostics.version);
                    published(uri, diagnostics, version)
                })
            }),
            // One whose places would be wrong only says so; one that was closed has no diagnostics.
            Err(_) if snapshot.is_out_of_step(uri) => {
                Ok(published(uri, [out_of_step(uri, client)], None))
            }
            Err(_) => Ok(published(uri, [(); 0], None)),
        }));
        // Before the client hears of it and sends the next change: that edits the text in place if nobody holds it.
        drop((document, snapshot));
        match checked {
            // Overtaken: the next version is being waited for.
            Ok(Ok(_)) if self.state().holds(uri) => None,
            Ok(Ok(text)) => Some(text),
            // What the client shows then stays.
            Ok(Err(_)) => None,
            Err(panic) => {
                let what = "the check of the document";
                self.log.error(panic_message(what, panic.as_ref()));
                None
            }
        }
    }

    fn next(&self, worker: &mut Worker, done: Option<&Url>) -> Option<(Url, Arc<ClientSupport>)> {
        let mut state = self.state();
        // Nothing waits before there is one.
        let client = state.client.clone();
        let next = state.next(worker, done);
        next.zip(client)
    }

    fn state(&self) -> MutexGuard<'_, State> {
        lock(&self.state)
    }
}

fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_typed_comes_before_what_waits_already() {
        let outgoing = Outgoing::new(
            io::pipe().unwrap().1,
            tokio::sync::mpsc::unbounded_channel().0,
        );
        let queue = PushQueue::new(Arc::default(), outgoing, Log::unread());
        let uris = uris();
        let [a, b, c] = &uris;
        queue.add_first(a);
        assert!(!queue.has_work(), "nobody is to be told");
        queue.start(ClientSupport::default());
        queue.add(&uris);
        queue.add_first(c);
        let mut done = None;
        let order = std::iter::from_fn(|| {
            let (next, _) = queue.next(&mut Worker::Usual, done.as_ref())?;
            done = Some(next.clone());
            Some(next)
        });
        assert!(order.eq([c, a, b].map(Url::clone)));
    }

    fn uris() -> [Url; 3] {
        ["file:///a", "file:///b", "file:///c"].map(|uri| Url::parse(uri).unwrap())
    }

    /// A queue whose worker is at the first of some documents.
    fn at_first(uris: &[Url]) -> (State, Worker) {
        let (mut state, mut worker) = (State::default(), Worker::Usual);
        uris.iter().for_each(|uri| state.add(uri));
        state.working = true;
        assert_eq!(state.next(&mut worker, None).as_ref(), uris.first());
        (state, worker)
    }

    #[test]
    fn what_is_typed_does_not_wait_for_another_document() {
        let [a, b, c] = &uris();
        let (mut state, mut usual) = at_first(&uris()[..2]);
        assert!(!state.is_held_up(), "nothing is typed");
        state.add_first(a);
        assert!(
            !state.is_held_up(),
            "who is at it will see to its newest version"
        );
        state.add_first(c);
        assert!(state.is_held_up());
        let mut helper = Worker::Helper;
        state.helping = true;
        assert_eq!(state.next(&mut helper, None).as_ref(), Some(c));
        assert_eq!(
            state.next(&mut helper, Some(c)),
            None,
            "the rest is for the usual one"
        );
        assert!(!state.helping && state.working);
        assert_eq!(state.next(&mut usual, Some(a)).as_ref(), Some(a));
        assert_eq!(state.next(&mut usual, Some(a)).as_ref(), Some(b));
        assert_eq!(state.next(&mut usual, Some(b)), None);
        assert!(!state.working);
    }

    /// Of one document, two versions are never looked at at once, and none is forgotten.
    #[test]
    fn what_both_should_look_at_is_left_to_one() {
        let [a, _, c] = &uris();
        let (mut state, mut usual) = at_first(&uris()[..1]);
        let mut helper = Worker::Helper;
        state.helping = true;
        state.add_first(c);
        assert_eq!(state.next(&mut helper, None).as_ref(), Some(c));
        state.add(c);
        assert_eq!(
            state.next(&mut usual, Some(a)),
            None,
            "the other one is at it"
        );
        assert!(!state.working);
        assert_eq!(state.next(&mut helper, Some(c)).as_ref(), Some(c));
        assert_eq!(
            (helper, state.working, state.helping),
            (Worker::Usual, true, false)
        );
        assert_eq!(state.next(&mut helper, Some(c)), None);
        assert!(!state.working && state.at_work.is_empty());
    }
}
