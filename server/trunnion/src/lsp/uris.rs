//! The names of documents: URIs on the wire, paths inside.
//!
//! Editors write one and the same file in several ways: with `%3A` for the colon behind a drive's letter or without, the
//! letter large or small, letters escaped that need not be. All of these are one document, so all give one path.

use std::path::{Path, PathBuf};

use percent_encoding::percent_decode_str;
use tower_lsp::lsp_types::Url;

/// How a system writes paths.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum System {
    Unix,
    Windows,
}

const HERE: System = if cfg!(windows) {
    System::Windows
} else {
    System::Unix
};

/// Where the document of `uri` is on disk. A document that is not on disk gets the path of its URI's text, which
/// [`uri`] turns back.
pub(crate) fn path(uri: &Url) -> PathBuf {
    path_on(HERE, uri).unwrap_or_else(|| PathBuf::from(uri.as_str()))
}

/// The URI of a path; None for a relative path that [`path`] did not make.
pub(crate) fn uri(path: &Path) -> Option<Url> {
    uri_on(HERE, path).or_else(|| Url::parse(path.to_str()?).ok())
}

fn path_on(system: System, uri: &Url) -> Option<PathBuf> {
    if uri.scheme() != "file" {
        return None;
    }
    match system {
        System::Unix => uri.to_file_path().ok(),
        System::Windows => windows_path(uri).map(PathBuf::from),
    }
}

fn uri_on(system: System, path: &Path) -> Option<Url> {
    match system {
        System::Unix => Url::from_file_path(path).ok(),
        System::Windows => windows_uri(path.to_str()?),
    }
}

/// `C:\mods\a.xml`, or `\\computer\share\a.xml` where the URI names a computer.
fn windows_path(uri: &Url) -> Option<String> {
    let steps: Vec<String> = uri
        .path_segments()?
        .map(|step| Some(percent_decode_str(step).decode_utf8().ok()?.into_owned()))
        .collect::<Option<_>>()?;
    // A step that is several steps once it is decoded means something else than it says.
    if steps.iter().any(|step| step.contains(['\\', '/', '\0'])) {
        return None;
    }
    if let Some(computer) = uri.host_str().filter(|host| *host != "localhost") {
        return Some(format!(r"\\{computer}\{}", steps.join(r"\")));
    }
    let (drive, below) = steps.split_first()?;
    let letter = drive_letter(drive)?;
    Some(format!(r"{letter}:\{}", below.join(r"\")))
}

/// The letter of `c:`, always large.
fn drive_letter(step: &str) -> Option<char> {
    let letter = step.strip_suffix([':', '|'])?;
    let mut letters = letter.chars();
    match (letters.next(), letters.next()) {
        (Some(letter), None) if letter.is_ascii_alphabetic() => Some(letter.to_ascii_uppercase()),
        _ => None,
    }
}

fn windows_uri(path: &str) -> Option<Url> {
    // What the system makes of a path when it is asked for its true name.
    let path = match path.strip_prefix(r"\\?\UNC\") {
        Some(path) => format!(r"\\{path}"),
        None => path.strip_prefix(r"\\?\").unwrap_or(path).to_owned(),
    };
    let mut steps = path.split(['\\', '/']);
    let mut uri = Url::parse("file:///").ok()?;
    let first = match path.starts_with(r"\\") {
        true => {
            let computer = steps.by_ref().nth(2)?;
            uri.set_host(Some(computer)).ok()?;
            None
        }
        false => Some(format!("{}:", drive_letter(steps.next()?)?)),
    };
    uri.path_segments_mut()
        .ok()?
        .clear()
        .extend(first.iter().map(String::as_str).chain(steps));
    Some(uri)
}

#[cfg(test)]
mod tests;
