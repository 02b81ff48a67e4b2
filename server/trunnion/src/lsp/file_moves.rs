//! Files that the client creates, renames and deletes: what documents have to say then, and that the disk has changed.

use std::collections::BTreeSet;
use std::path::PathBuf;

use ide::file_moves::{Move, edits, settings_edits};
use project::Below;
use tower_lsp::lsp_types::{
    CreateFilesParams, DeleteFilesParams, FileOperationFilter, FileOperationPattern,
    FileOperationRegistrationOptions, RenameFilesParams, Url, WorkspaceEdit,
    WorkspaceFileOperationsServerCapabilities,
};

use super::client::{ClientSupport, FileOperations};
use super::convert::{self, FileEdits};
use super::documents::{Snapshot, places};
use super::log::Log;
use super::uris;

/// What is told at `initialize`; nothing to a client that tells nothing of files.
pub(super) fn options(client: &ClientSupport) -> Option<WorkspaceFileOperationsServerCapabilities> {
    let FileOperations {
        will_rename,
        did_create,
        did_rename,
        did_delete,
    } = client.file_operations;
    let wanted = |told: bool| told.then(all_files);
    let is_any = will_rename || did_create || did_rename || did_delete;
    is_any.then(|| WorkspaceFileOperationsServerCapabilities {
        will_rename: wanted(will_rename),
        did_create: wanted(did_create),
        did_rename: wanted(did_rename),
        did_delete: wanted(did_delete),
        ..WorkspaceFileOperationsServerCapabilities::default()
    })
}

/// Any file of a mod may be named in a definition.
fn all_files() -> FileOperationRegistrationOptions {
    let pattern = FileOperationPattern {
        glob: "**/*".to_owned(),
        matches: None,
        options: None,
    };
    FileOperationRegistrationOptions {
        filters: vec![FileOperationFilter {
            scheme: Some("file".to_owned()),
            pattern,
        }],
    }
}

/// What documents have to say once the files have their new names. The files get these whatever the answer is, so the
/// user is told which documents were not looked at.
pub(super) fn before_renaming(
    params: &RenameFilesParams,
    snapshot: &Snapshot,
    client: &ClientSupport,
    log: &Log,
) -> Option<WorkspaceEdit> {
    let moved = params.files.iter().filter_map(|file| {
        Some(Move {
            from: file_of(&file.old_uri)?,
            to: file_of(&file.new_uri)?,
        })
    });
    let moves: Vec<Move> = moved.collect();
    let froms: Vec<PathBuf> = moves.iter().map(|one| one.from.clone()).collect();
    let below = snapshot.views_around(&froms);
    if let Some(unread) = below.left_out() {
        log.show_error(format!(
            "These could not be read. If they name a file that gets another name now, write the new one there.\n{unread}"
        ));
    }
    let settings = settings_around(&froms, &below, snapshot);
    let files = below.views.into_iter().filter_map(|view| {
        let edits = edits(&view, &moves);
        let document = &view.document;
        (!edits.is_empty()).then_some(FileEdits {
            uri: snapshot.uri(&document.path)?,
            version: document.version,
            edits: places(document, client.encoding).edits(&edits),
        })
    });
    let mut files: Vec<FileEdits> = files.collect();
    files.extend(settings.iter().filter_map(|path| {
        let edited = |text: &str| settings_edits(path, text, &moves);
        let (version, edits) = snapshot.edits(path, client.encoding, edited)?;
        let uri = snapshot.uri(path)?;
        (!edits.is_empty()).then_some(FileEdits {
            uri,
            version,
            edits,
        })
    }));
    (!files.is_empty()).then(|| convert::workspace_edit(files, client))
}

/// The files of settings that may name one of these files as a dialect.
fn settings_around(files: &[PathBuf], below: &Below, snapshot: &Snapshot) -> BTreeSet<PathBuf> {
    let around = files.iter().filter_map(|file| {
        let settings = snapshot.settings().for_folder(file.parent()?);
        settings.config.path
    });
    let own = below.views.iter();
    let own = own.filter_map(|view| view.settings.config.path.clone());
    around.chain(own).collect()
}

fn file_of(uri: &str) -> Option<PathBuf> {
    let path = uris::path(&Url::parse(uri).ok()?);
    path.is_absolute().then_some(path)
}

/// The files that a notification is about.
pub(super) trait Files {
    fn uris(&self) -> Vec<Url>;
}

fn parsed<'u>(uris: impl Iterator<Item = &'u String>) -> Vec<Url> {
    uris.filter_map(|uri| Url::parse(uri).ok()).collect()
}

impl Files for CreateFilesParams {
    fn uris(&self) -> Vec<Url> {
        parsed(self.files.iter().map(|file| &file.uri))
    }
}

impl Files for DeleteFilesParams {
    fn uris(&self) -> Vec<Url> {
        parsed(self.files.iter().map(|file| &file.uri))
    }
}

impl Files for RenameFilesParams {
    fn uris(&self) -> Vec<Url> {
        let files = self.files.iter();
        parsed(files.flat_map(|file| [&file.old_uri, &file.new_uri]))
    }
}
