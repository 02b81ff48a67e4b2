//! What changed in an open machine since the original, when the editor asks for it.

use std::path::{Path, PathBuf};

use compare::{Change, Version};
use project::{Files, View, content_of};
use serde::Deserialize;
use serde_json::{Value, json};
use syntax::{Encoding, LineIndex};
use tower_lsp::jsonrpc::Result;
use tower_lsp::lsp_types::Url;

use super::documents::{Snapshot, failed};
use super::pack::Done;
use super::{command, uris};

/// The command's name on the wire.
pub(crate) const COMMAND: &str = "trunnion.changes";

/// So many changes are told to a person at once; the answer has all.
const MOST_SHOWN: usize = 20;

/// What the command is about.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Asked {
    /// The document, as the editor has it.
    uri: Url,
    /// A file to compare with; if it is not said, the same file in the archive beside the mod's folder.
    original: Option<PathBuf>,
}

/// Compares a document with its original. Reads the disk.
///
/// # Errors
/// These are no arguments of the command, the document is not open, there is no original, or one of both cannot be
/// compared.
pub(crate) fn since_original(arguments: &[Value], snapshot: &Snapshot) -> Result<Done> {
    let asked: Asked = command::argument(COMMAND, arguments)?;
    let view = snapshot.document(&asked.uri)?.view()?;
    let path = match asked.original {
        Some(path) => path,
        None => in_archive(&uris::path(&asked.uri), &view)?,
    };
    let shown = path.display();
    let limit = view.settings.config.limits.document.bytes();
    let bytes = Files::default()
        .read(&path, limit)
        .map_err(|error| failed(format!("The original, {shown}, cannot be read: {error}.")))?;
    let old = syntax::decode::bytes(&bytes)
        .map_err(|error| failed(format!("The original, {shown}, cannot be read: {error}")))?;
    // An editor keeps the byte order mark of a file to itself.
    let old = match old.strip_prefix('\u{feff}') {
        Some(rest) if !view.text().starts_with('\u{feff}') => rest.to_owned(),
        _ => old,
    };
    let tree = syntax::parse(&old);
    if !tree.errors().is_empty() {
        return Err(failed(format!(
            "The original, {shown}, is not well-formed and cannot be compared."
        )));
    }
    if !view.tree().errors().is_empty() {
        return Err(failed(
            "This document is not well-formed; it can be compared once it is.".to_owned(),
        ));
    }
    let meaning = view.meaning.as_ref();
    let meaning = meaning.map(|meaning| (&*meaning.dialect, &*meaning.kind));
    let before = Version {
        tree: &tree,
        text: &old,
        meaning,
    };
    let now = Version {
        tree: view.tree(),
        text: view.text(),
        meaning,
    };
    let changes = compare::changes(&before, &now);
    let old_lines = LineIndex::new(&old);
    let told = changes.iter().map(|change| {
        let old_line = line(&old, &old_lines, change.old);
        let new_line = line(view.text(), &view.document.lines, change.new);
        json!({"sort": change.sort.as_str(), "message": change.message, "oldLine": old_line, "newLine": new_line})
    });
    let told: Vec<Value> = told.collect();
    Ok(Done {
        message: message(&path, &changes, view.text() == old),
        answer: json!({"original": path, "changes": told}),
    })
}

/// The same file in the archive beside the mod's folder.
fn in_archive(document: &Path, view: &View) -> Result<PathBuf> {
    let folder = &view.folder;
    let archive = folder.shadowing_archive.as_ref().ok_or_else(|| {
        failed(format!(
            "There is no original to compare with: no archive of the mod lies beside {}.",
            folder.root.display()
        ))
    })?;
    let inside = document
        .strip_prefix(&folder.root)
        .map_err(|_| failed("This document lies in no mod.".to_owned()))?;
    Ok(content_of(archive).join(inside))
}

/// From 1.
fn line(text: &str, lines: &LineIndex, range: Option<syntax::TextRange>) -> Option<u32> {
    Some(lines.position(text, range?.start(), Encoding::Utf8).line + 1)
}

fn message(original: &Path, changes: &[Change], is_same: bool) -> String {
    let shown = original.display();
    if is_same {
        return format!("Nothing has changed since {shown}.");
    }
    if changes.is_empty() {
        return format!("Since {shown}, only the way it is written has changed.");
    }
    let lines = changes.iter().take(MOST_SHOWN);
    let mut text = format!("Changed since {shown}:");
    for change in lines {
        text.push_str(&format!("\n{}", change.message));
    }
    if changes.len() > MOST_SHOWN {
        text.push_str(&format!("\nand {} more", changes.len() - MOST_SHOWN));
    }
    text
}
