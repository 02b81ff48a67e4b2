//! Which files there are.

use std::collections::HashSet;
use std::ffi::OsStr;
use std::path::{Path, PathBuf};

use walkdir::WalkDir;

use super::{Source, Unread};

/// All files below the roots, each once, root by root, sorted; and what could not be looked into.
pub(super) fn files(roots: &[PathBuf], most: usize) -> (Vec<PathBuf>, Vec<Unread>) {
    let (mut files, mut unread) = (Vec::new(), Vec::new());
    let mut failed = |path: &Path, reason: String| {
        let source = Source {
            file: path.to_path_buf(),
            member: None,
        };
        unread.push(Unread { source, reason });
    };
    for root in roots {
        let entries = WalkDir::new(root)
            .sort_by_file_name()
            .into_iter()
            .filter_entry(|entry| entry.depth() == 0 || !is_hidden(entry.file_name()));
        for entry in entries {
            if files.len() >= most {
                failed(
                    root,
                    format!("It has more than {most} files. Name smaller folders."),
                );
                break;
            }
            match entry {
                Ok(entry) if entry.file_type().is_file() => files.push(entry.into_path()),
                Ok(_) => {}
                Err(error) => {
                    let path = error.path().unwrap_or(root).to_path_buf();
                    let reason = error
                        .io_error()
                        .map_or_else(|| "It leads to itself".to_owned(), ToString::to_string);
                    failed(&path, format!("{reason}."));
                }
            }
        }
    }
    if roots.len() > 1 {
        // Roots may lie within each other.
        let mut known = HashSet::new();
        files.retain(|file| known.insert(file.clone()));
    }
    (files, unread)
}

fn is_hidden(name: &OsStr) -> bool {
    name.as_encoded_bytes().starts_with(b".")
}
