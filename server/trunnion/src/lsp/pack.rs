//! Packing the mod of a document, when the editor asks for it.

use std::fs;
use std::path::{Path, PathBuf};

use archive::Stopped;
use serde::Deserialize;
use serde_json::{Value, json};
use tower_lsp::jsonrpc::{Error, Result};
use tower_lsp::lsp_types::Url;

use super::documents::{Snapshot, failed};
use super::{command, uris};
use crate::cli::check::{human::counted, json as findings, run as checks};
use crate::packing::{self, Planned};

/// The command's name on the wire.
pub(crate) const COMMAND: &str = "trunnion.pack";

/// What the command is about.
#[derive(Debug, Deserialize)]
#[serde(rename_all = "camelCase", deny_unknown_fields)]
struct Asked {
    /// A document of the mod.
    uri: Url,
    /// The archive; if it is not said, it lies beside the mod's folder and has its name.
    archive: Option<PathBuf>,
    /// Pack even if the check finds errors.
    #[serde(default)]
    despite_errors: bool,
}

/// What was done: an answer for programs, and a sentence for people.
#[derive(Debug)]
pub(crate) struct Done {
    pub(crate) answer: Value,
    pub(crate) message: String,
}

/// Packs the mod around a document. Reads and writes the disk.
///
/// # Errors
/// Nothing was packed: these are no arguments of the command, documents are not saved, the check finds errors (which
/// are in the error's data), or the archive cannot be made.
pub(crate) fn pack(arguments: &[Value], snapshot: &Snapshot) -> Result<Done> {
    let asked: Asked = command::argument(COMMAND, arguments)?;
    let folder = snapshot.mod_around(&uris::path(&asked.uri));
    let shown = folder.display();
    let unsaved = unsaved(snapshot, &folder);
    if !unsaved.is_empty() {
        return Err(failed(format!(
            "Nothing was packed, because these files are not saved: {}.",
            listed(&unsaved)
        )));
    }
    let target = asked.archive.or_else(|| packing::usual_archive(&folder));
    let target = target.ok_or_else(|| {
        failed(format!(
            "{shown} is no folder whose name an archive can have."
        ))
    })?;
    if !target.is_absolute() {
        let message = format!("{COMMAND}: the archive's path must begin at the root");
        return Err(Error::invalid_params(message));
    }
    let refused = |stopped: Stopped| {
        let reasons: Vec<String> = stopped.into();
        failed(format!("Nothing was packed. {}", reasons.join(" ")))
    };
    let settings = snapshot.settings();
    let Planned {
        plan,
        unread,
        outside,
    } = packing::plan(&folder, &target, settings).map_err(refused)?;
    let report = checks::run(std::slice::from_ref(&folder), None, settings);
    let found = findings::value(&report);
    let has_errors = report.exit_code() != 0;
    if (has_errors || !outside.is_empty()) && !asked.despite_errors {
        let mut reasons = report.failures;
        if has_errors {
            reasons.push("The check found errors.".to_owned());
        }
        reasons.extend(outside.iter().map(|sentence| format!("{sentence}.")));
        return Err(Error {
            data: Some(json!({ "findings": found })),
            ..failed(format!("Nothing was packed. {}", reasons.join(" ")))
        });
    }
    let packed = plan.pack(&[]).map_err(refused)?;
    let left_out: Vec<String> = plan.left_out().iter().map(ToString::to_string).collect();
    let target_shown = target.display();
    let message = match packed.is_as_before {
        true => format!("{target_shown} is up to date."),
        false => {
            let files = counted(packed.files, "file", "files");
            format!("Packed {files} into {target_shown}.")
        }
    };
    Ok(Done {
        message: match unread {
            Some(unread) => format!("{message} Not all documents were looked at. {unread}"),
            None => message,
        },
        answer: json!({
            "archive": target,
            "files": packed.files,
            "isAsBefore": packed.is_as_before,
            "backup": packed.backup,
            "leftOut": left_out,
            "outside": outside,
            "findings": found,
        }),
    })
}

/// The documents below a folder that the editor has otherwise than the disk.
fn unsaved(snapshot: &Snapshot, folder: &Path) -> Vec<PathBuf> {
    let paths = snapshot.uris().map(uris::path);
    let below = paths.filter(|path| path.starts_with(folder));
    let mut unsaved: Vec<PathBuf> = below
        .filter(|path| {
            let saved = fs::read(path).ok();
            let saved = saved.and_then(|bytes| syntax::decode::bytes(&bytes).ok());
            !saved.is_some_and(|saved| snapshot.has_text(path, &saved))
        })
        .collect();
    unsaved.sort();
    unsaved
}

fn listed(files: &[PathBuf]) -> String {
    let files: Vec<String> = files
        .iter()
        .map(|file| file.display().to_string())
        .collect();
    files.join(", ")
}
