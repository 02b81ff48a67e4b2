//! The open documents, with one writer: every change goes through here, in the order it arrived.
//!
//! Readers take a [`Snapshot`]; it never changes, whatever happens to the documents afterwards.

use std::collections::HashMap;
use std::fmt;
use std::ops;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use syntax::{Encoding, LineIndex, PositionError, TextEdit, TextRange, Tree};
use tower_lsp::jsonrpc::{Error, ErrorCode, Result};
use tower_lsp::lsp_types::{Range, TextDocumentContentChangeEvent, Url};

use super::convert::{self, Places};

#[derive(Clone, Debug)]
pub(crate) struct Document {
    /// As the client wrote it: it knows the document by no other.
    pub(crate) uri: Url,
    pub(crate) version: i32,
    pub(crate) text: String,
    pub(crate) lines: LineIndex,
    pub(crate) tree: Tree,
    /// False after a change that could not be applied: the text is no longer the client's.
    in_step: bool,
}

/// A change that does not fit the text it is meant for.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum ChangeError {
    NotOpen,
    NoSuchLine(PositionError),
    EndBeforeStart,
    /// An earlier change could not be applied.
    OutOfStep,
}

impl fmt::Display for ChangeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotOpen => f.write_str("the document is not open"),
            Self::NoSuchLine(error) => error.fmt(f),
            Self::EndBeforeStart => f.write_str("the range ends before it starts"),
            Self::OutOfStep => f.write_str("an earlier change did not fit"),
        }
    }
}

/// All open documents at one moment. Cheap to clone.
#[derive(Clone, Debug, Default)]
pub(crate) struct Snapshot {
    open: Arc<HashMap<PathBuf, Arc<Document>>>,
}

impl Snapshot {
    /// # Errors
    /// The document is not open, or its text is not the client's any more.
    pub(crate) fn document(&self, uri: &Url) -> Result<Arc<Document>> {
        match self.get(&convert::path(uri)) {
            Some(document) if document.in_step => Ok(document.clone()),
            Some(_) => Err(failed(format!(
                "{uri} is out of step with the editor: close it and open it again."
            ))),
            None => Err(failed(format!("{uri} is not open."))),
        }
    }

    /// The open documents' URIs.
    pub(crate) fn uris(&self) -> impl Iterator<Item = &Url> {
        self.open.values().map(|document| &document.uri)
    }

    pub(crate) fn get(&self, path: &Path) -> Option<&Arc<Document>> {
        self.open.get(path)
    }
}

impl Document {
    pub(crate) fn is_in_step(&self) -> bool {
        self.in_step
    }

    pub(crate) fn places(&self, encoding: Encoding) -> Places<'_> {
        Places {
            text: &self.text,
            lines: &self.lines,
            encoding,
        }
    }
}

fn failed(message: String) -> Error {
    // LSP 3.17, "RequestFailed": a request that is right but cannot be answered.
    Error {
        code: ErrorCode::ServerError(-32803),
        message: message.into(),
        data: None,
    }
}

#[derive(Debug, Default)]
pub(crate) struct Documents {
    now: Snapshot,
}

impl Documents {
    pub(crate) fn snapshot(&self) -> Snapshot {
        self.now.clone()
    }

    pub(crate) fn open(&mut self, uri: Url, version: i32, text: String) {
        let (lines, tree) = (LineIndex::new(&text), syntax::parse(&text));
        let path = convert::path(&uri);
        let document = Document {
            uri,
            version,
            text,
            lines,
            tree,
            in_step: true,
        };
        Arc::make_mut(&mut self.now.open).insert(path, Arc::new(document));
    }

    /// Applies `changes` one after the other; each is placed in the text that the one before left behind.
    ///
    /// # Errors
    /// A change does not fit. Then the document is out of step until its whole text comes again.
    pub(crate) fn change(
        &mut self,
        uri: &Url,
        version: i32,
        changes: Vec<TextDocumentContentChangeEvent>,
        encoding: Encoding,
    ) -> std::result::Result<(), ChangeError> {
        let open = Arc::make_mut(&mut self.now.open);
        let document = open
            .get_mut(&convert::path(uri))
            .ok_or(ChangeError::NotOpen)?;
        let document = Arc::make_mut(document);
        document.version = version;
        // Stays so if what follows fails in any way.
        let mut in_step = std::mem::replace(&mut document.in_step, false);
        for change in changes {
            match change.range {
                None => {
                    document.replace(change.text);
                    in_step = true;
                }
                Some(range) if in_step => document.edit(range, change.text, encoding)?,
                Some(_) => return Err(ChangeError::OutOfStep),
            }
        }
        document.in_step = in_step;
        Ok(())
    }

    pub(crate) fn close(&mut self, uri: &Url) {
        Arc::make_mut(&mut self.now.open).remove(&convert::path(uri));
    }
}

impl Document {
    fn replace(&mut self, text: String) {
        self.lines = LineIndex::new(&text);
        self.tree = syntax::parse(&text);
        self.text = text;
    }

    fn edit(
        &mut self,
        range: Range,
        insert: String,
        encoding: Encoding,
    ) -> std::result::Result<(), ChangeError> {
        let places = self.places(encoding);
        let start = places
            .offset(range.start)
            .map_err(ChangeError::NoSuchLine)?;
        let end = places.offset(range.end).map_err(ChangeError::NoSuchLine)?;
        if end < start {
            return Err(ChangeError::EndBeforeStart);
        }
        let edit = TextEdit::replace(TextRange::new(start, end), insert);
        self.text
            .replace_range(ops::Range::<usize>::from(edit.range), &edit.insert);
        self.lines = self.lines.edited(&self.text, edit.change());
        self.tree = self.tree.edited(&self.text, edit.change());
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use serde_json::{Value, json};

    use super::*;

    fn uri() -> Url {
        Url::parse("file:///quay/a.xml").unwrap()
    }

    fn opened(text: &str) -> Documents {
        let mut documents = Documents::default();
        documents.open(uri(), 1, text.to_owned());
        documents
    }

    fn change(documents: &mut Documents, changes: Value) -> std::result::Result<(), ChangeError> {
        documents.change(
            &uri(),
            2,
            serde_json::from_value(changes).unwrap(),
            Encoding::Utf16,
        )
    }

    fn edit(from: [u32; 2], to: [u32; 2], text: &str) -> Value {
        json!({
            "range": {
                "start": {"line": from[0], "character": from[1]},
                "end": {"line": to[0], "character": to[1]},
            },
            "text": text,
        })
    }

    fn text(documents: &Documents) -> Result<String> {
        documents
            .snapshot()
            .document(&uri())
            .map(|document| document.text.clone())
    }

    #[test]
    fn each_change_is_placed_in_the_text_the_one_before_left() {
        let mut documents = opened("<a>\n</a>");
        let changes = json!([
            edit([0, 3], [0, 3], "\n  😀"),
            edit([1, 2], [1, 4], "ö"),
            edit([1, 3], [2, 0], "")
        ]);
        change(&mut documents, changes).unwrap();
        assert_eq!(text(&documents).unwrap(), "<a>\n  ö</a>");
        let document = documents.snapshot().document(&uri()).unwrap();
        assert_eq!(
            (document.version, &document.lines),
            (2, &LineIndex::new(&document.text))
        );
    }

    #[test]
    fn a_snapshot_does_not_change() {
        let mut documents = opened("before");
        let snapshot = documents.snapshot();
        change(&mut documents, json!([{"text": "after"}])).unwrap();
        documents.close(&uri());
        assert_eq!(snapshot.document(&uri()).unwrap().text, "before");
        assert!(text(&documents).is_err());
    }

    #[test]
    fn a_change_that_does_not_fit_puts_the_document_out_of_step() {
        for impossible in [edit([9, 0], [9, 0], "x"), edit([1, 0], [0, 0], "")] {
            let mut documents = opened("one\ntwo");
            change(&mut documents, json!([impossible])).unwrap_err();
            assert!(
                text(&documents)
                    .unwrap_err()
                    .message
                    .contains("out of step")
            );
            let later = change(&mut documents, json!([edit([0, 0], [0, 0], "x")]));
            assert_eq!(later, Err(ChangeError::OutOfStep));
        }
    }

    #[test]
    fn the_whole_text_brings_a_document_back_in_step() {
        let mut documents = opened("one");
        change(&mut documents, json!([edit([9, 0], [9, 0], "x")])).unwrap_err();
        change(
            &mut documents,
            json!([{"text": "new"}, edit([0, 0], [0, 1], "N")]),
        )
        .unwrap();
        assert_eq!(text(&documents).unwrap(), "New");
    }

    #[test]
    fn a_change_of_a_document_that_is_not_open() {
        let mut documents = Documents::default();
        assert_eq!(
            change(&mut documents, json!([{"text": "x"}])),
            Err(ChangeError::NotOpen)
        );
    }
}
