//! The files below a folder on the disk.

use crate::files::{Entries, Entry};
use std::{path::Path, sync::Arc};

/// The files below a folder, relative to it, with `/` between the steps, in order: at most `most` of them, up to
/// `depth` folders deep. Links are not followed, hidden files and folders are left out. `list`: the entries of a
/// folder, which may be known to whoever asks.
pub(crate) fn below(
    root: &Path,
    depth: usize,
    most: usize,
    list: impl Fn(&Path) -> Arc<Entries>,
) -> Vec<String> {
    let mut files = Vec::new();
    let name = root.file_name().and_then(|name| name.to_str());
    if name.is_some_and(is_hidden) {
        return files;
    }
    // What is still to be looked at, the next one last, each with how deep it is.
    let mut waiting = vec![(0, String::new(), Entry::Folder)];
    while files.len() < most
        && let Some((deep, path, entry)) = waiting.pop()
    {
        match entry {
            Entry::File => files.push(path),
            Entry::Folder if deep < depth => {
                let entries = list(&root.join(&path));
                let seen = entries.iter().rev().filter(|(name, _)| !is_hidden(name));
                waiting.extend(seen.map(|(name, entry)| match path.as_str() {
                    "" => (deep + 1, name.clone(), *entry),
                    path => (deep + 1, format!("{path}/{name}"), *entry),
                }));
            }
            Entry::Folder | Entry::Other => {}
        }
    }
    files
}

pub(crate) fn is_hidden(name: &str) -> bool {
    name.len() > 1 && name.starts_with('.')
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Folders end with `/`; the others are files, but those with `@` at the end.
    fn entries(names: &[&str]) -> Arc<Entries> {
        let entry = |name: &&str| match name.strip_suffix('/') {
            Some(name) => (name.to_owned(), Entry::Folder),
            None if name.ends_with('@') => (name.to_string(), Entry::Other),
            None => (name.to_string(), Entry::File),
        };
        Arc::new(names.iter().map(entry).collect())
    }

    fn quay(folder: &Path) -> Arc<Entries> {
        entries(match folder.strip_prefix("/quay").unwrap().to_str() {
            Some("") => &["b", "a/", "a.b", ".git/", "link@", "a-c/"],
            Some("a") => &["z", "y/", ".hidden"],
            Some("a/y") => &["deep"],
            Some("a-c") => &["x"],
            other => panic!("{other:?}"),
        })
    }

    #[test]
    fn folders_are_entered_where_they_stand_in_the_order_of_names() {
        let all = |depth, most| below(Path::new("/quay"), depth, most, quay);
        assert_eq!(all(9, 9), ["a/y/deep", "a/z", "a-c/x", "a.b", "b"]);
        assert_eq!(all(2, 9), ["a/z", "a-c/x", "a.b", "b"]);
        assert_eq!(all(1, 9), ["a.b", "b"]);
        assert_eq!(all(9, 2), ["a/y/deep", "a/z"]);
        assert_eq!(all(0, 9), Vec::<String>::new());
    }

    #[test]
    fn no_folder_is_read_once_there_is_enough() {
        let read = std::cell::Cell::new(0);
        let list = |folder: &Path| {
            read.set(read.get() + 1);
            quay(folder)
        };
        assert_eq!(below(Path::new("/quay"), 9, 1, list), ["a/y/deep"]);
        assert_eq!(read.get(), 3);
    }
}
