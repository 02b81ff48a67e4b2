//! What changed, for people and for scripts.

use compare::{Change, Gives, Patch};
use project::View;
use serde_json::{Value, json};
use syntax::{Encoding, TextRange};

use super::folders::Status;
use super::{Compared, Content};

/// So many changes of a file are shown.
const MOST: usize = 1_000;

pub(super) fn human(files: &[Compared], written: Option<&str>, single: bool) -> String {
    let mut text = String::new();
    for file in files {
        let content = file.content.as_ref();
        match file.status {
            Status::Same => continue,
            Status::Added => text.push_str(&format!("{}: a new file\n", file.name)),
            Status::Removed => text.push_str(&format!("{}: the file is gone\n", file.name)),
            Status::Changed => match content {
                Ok(content) => text.push_str(&changes(&file.name, content)),
                Err(reason) if reason.is_empty() => {
                    text.push_str(&format!("{}: other content\n", file.name));
                }
                Err(reason) => text.push_str(&format!("{}: other content. {reason}\n", file.name)),
            },
        }
        if let Ok(Content {
            patch: Some(patch), ..
        }) = content
        {
            text.push_str(&format!("  {}\n", outcome(patch)));
        }
    }
    let differ = files
        .iter()
        .filter(|file| file.status != Status::Same)
        .count();
    match (differ, single) {
        (0, _) => text.push_str("Nothing differs.\n"),
        (_, true) => {}
        (1, false) => text.push_str("1 file differs.\n"),
        (several, false) => text.push_str(&format!("{several} files differ.\n")),
    }
    if let Some(written) = written {
        text.push_str(&format!("{written}\n"));
    }
    text
}

fn changes(name: &str, content: &Content) -> String {
    let mut text = format!("{name}:\n");
    for change in content.changes.iter().take(MOST) {
        let place = match (
            line(&content.new, change.new),
            line(&content.old, change.old),
        ) {
            (Some(line), _) => format!("line {line}"),
            (None, Some(line)) => format!("line {line} of the old file"),
            (None, None) => String::new(),
        };
        text.push_str(&format!("  {place}: {}\n", change.message));
    }
    if content.changes.len() > MOST {
        text.push_str(&format!("  and {} more\n", content.changes.len() - MOST));
    }
    text
}

fn line(view: &Option<View>, range: Option<TextRange>) -> Option<u32> {
    let view = view.as_ref()?;
    let at = view
        .document
        .lines
        .position(view.text(), range?.start(), Encoding::Utf32);
    Some(at.line + 1)
}

fn outcome(patch: &Result<Patch, String>) -> String {
    match patch {
        Ok(patch) => {
            let count = match patch.operations {
                1 => "1 operation".to_owned(),
                several => format!("{several} operations"),
            };
            match patch.gives {
                Gives::Bytes => {
                    format!("The patch has {count} and gives the new file byte for byte.")
                }
                Gives::Tree { line } => format!(
                    "The patch has {count} and gives an equal tree: the same elements, attributes, texts and comments, but not \
                     the same bytes from line {line} on, where a tag, or what stands outside the root element, is written in a way that no patch can say."
                ),
            }
        }
        Err(reason) => format!("No patch can say this change: {reason}."),
    }
}

pub(super) fn json(files: &[Compared]) -> String {
    let files = files.iter().map(|file| {
        let content = file.content.as_ref().ok();
        let changes = content.map(|content| {
            let changes = content.changes.iter();
            let changes = changes.map(|change| told(change, content));
            changes.collect::<Vec<Value>>()
        });
        let patch = content.and_then(|content| content.patch.as_ref()).map(|patch| match patch {
            Ok(patch) => json!({
                "operations": patch.operations,
                "gives": match patch.gives { Gives::Bytes => "bytes", Gives::Tree { .. } => "tree" },
                "text": patch.text,
            }),
            Err(reason) => json!({ "impossible": reason }),
        });
        json!({
            "file": file.name,
            "status": match file.status {
                Status::Added => "added",
                Status::Removed => "removed",
                Status::Changed => "changed",
                Status::Same => "same",
            },
            "changes": changes,
            "patch": patch,
        })
    });
    let all = json!({ "files": files.collect::<Vec<Value>>() });
    format!("{all:#}\n")
}

fn told(change: &Change, content: &Content) -> Value {
    json!({
        "sort": change.sort.as_str(),
        "message": change.message,
        "oldLine": line(&content.old, change.old),
        "newLine": line(&content.new, change.new),
    })
}
