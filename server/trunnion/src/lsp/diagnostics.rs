//! What is wrong with the documents, told by one channel: the client asks (pull), or, if it cannot, it is told (push).
//!
//! Pushing is coalesced, not delayed: one worker takes a changed document, analyses its newest version at once, and
//! tells the result only if that version is still the newest. A change meanwhile stops the analysis.

use std::collections::VecDeque;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::path::Path;
use std::sync::{Mutex, PoisonError};

use ide::{checks, codes};
use syntax::TextRange;
use tokio::sync::Notify;
use tower_lsp::Client;
use tower_lsp::jsonrpc::Result;
use tower_lsp::lsp_types::{
    Diagnostic, DocumentDiagnosticReport, DocumentDiagnosticReportResult,
    FullDocumentDiagnosticReport, RelatedFullDocumentDiagnosticReport,
    RelatedUnchangedDocumentDiagnosticReport, UnchangedDocumentDiagnosticReport, Url,
};

use super::client::ClientSupport;
use super::convert;
use super::documents::{Documents, Open};
use super::task::Tasks;

/// No person reads more, and editors choke on them.
const MOST_DIAGNOSTICS: usize = 10_000;

fn of(document: &Open, client: &ClientSupport) -> Result<Vec<Diagnostic>> {
    let view = document.view()?;
    let places = document.places(client.encoding);
    let locate = |path: &Path, range| document.snapshot().locate(path, range, client.encoding);
    let mut findings = checks::settings_at(&view);
    findings.extend(checks::run(&view));
    if findings.len() > MOST_DIAGNOSTICS {
        let message = format!(
            "{} more findings are not shown.",
            findings.len() - MOST_DIAGNOSTICS
        );
        findings.truncate(MOST_DIAGNOSTICS);
        findings.push(codes::TOO_MANY_ERRORS.at(TextRange::default(), message));
    }
    Ok(findings
        .iter()
        .map(|finding| convert::diagnostic(finding, places, &document.uri, client, locate))
        .collect())
}

/// The answer to a pull. The result's id is a fingerprint of the result itself, so whatever it depends on, an equal
/// result is found equal.
pub(crate) async fn pull(
    document: Open,
    client: ClientSupport,
    previous: Option<String>,
    tasks: &Tasks,
) -> Result<DocumentDiagnosticReportResult> {
    let report = tasks.run("the check of the document", move |_| {
        let items = of(&document, &client)?;
        let id = fingerprint(&items);
        if previous.as_ref() == Some(&id) {
            let unchanged = UnchangedDocumentDiagnosticReport { result_id: id };
            let unchanged = RelatedUnchangedDocumentDiagnosticReport {
                related_documents: None,
                unchanged_document_diagnostic_report: unchanged,
            };
            return Ok(DocumentDiagnosticReport::Unchanged(unchanged));
        }
        let full = FullDocumentDiagnosticReport {
            result_id: Some(id),
            items,
        };
        Ok(DocumentDiagnosticReport::Full(
            RelatedFullDocumentDiagnosticReport {
                related_documents: None,
                full_document_diagnostic_report: full,
            },
        ))
    });
    Ok(DocumentDiagnosticReportResult::Report(report.await??))
}

fn fingerprint(items: &[Diagnostic]) -> String {
    let mut hasher = DefaultHasher::new();
    // Diagnostics are plain data, so writing them cannot fail.
    serde_json::to_vec(items)
        .unwrap_or_default()
        .hash(&mut hasher);
    format!("{:016x}", hasher.finish())
}

/// Documents whose diagnostics the client does not have yet.
#[derive(Debug, Default)]
pub(crate) struct PushQueue {
    waiting: Mutex<VecDeque<Url>>,
    arrival: Notify,
}

impl PushQueue {
    pub(crate) fn add(&self, uri: &Url) {
        let mut waiting = self.waiting.lock().unwrap_or_else(PoisonError::into_inner);
        if !waiting.contains(uri) {
            waiting.push_back(uri.clone());
        }
        drop(waiting);
        self.arrival.notify_one();
    }

    async fn next(&self) -> Url {
        loop {
            let first = self
                .waiting
                .lock()
                .unwrap_or_else(PoisonError::into_inner)
                .pop_front();
            if let Some(uri) = first {
                return uri;
            }
            self.arrival.notified().await;
        }
    }

    /// Returns when `uri` is waiting again.
    async fn superseded(&self, uri: &Url) {
        while !self
            .waiting
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .contains(uri)
        {
            self.arrival.notified().await;
        }
    }

    /// Tells the client about the documents of the queue, for ever.
    pub(crate) async fn work(
        &self,
        documents: &Mutex<Documents>,
        tasks: &Tasks,
        wire: &Client,
        client: &ClientSupport,
    ) {
        loop {
            let uri = self.next().await;
            let snapshot = documents
                .lock()
                .unwrap_or_else(PoisonError::into_inner)
                .snapshot();
            // A document that was closed, or whose places would be wrong, has no diagnostics.
            let Ok(document) = snapshot.document(&uri) else {
                wire.publish_diagnostics(uri, Vec::new(), None).await;
                continue;
            };
            drop(snapshot);
            let version = document.version().filter(|_| client.diagnostics.version);
            let client = client.clone();
            let analysis = tasks.run("the check of the document", move |_| of(&document, &client));
            let items = tokio::select! {
                biased;
                () = self.superseded(&uri) => continue,
                items = analysis => items,
            };
            // A check that failed has been logged; what the client shows then stays.
            if let Ok(Ok(items)) = items {
                wire.publish_diagnostics(uri, items, version).await;
            }
        }
    }
}
