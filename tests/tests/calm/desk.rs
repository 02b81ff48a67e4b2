//! A document of the corpus on somebody's desk, to be edited.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use ide::Severity;
use ide::checks::Checker;
use project::{ContentChange, View, Workspace};
use syntax::{Encoding, TextRange, TextSize};

pub(crate) struct Desk {
    workspace: Workspace,
    path: PathBuf,
    version: i32,
    checker: Checker,
    /// The text as it is in the corpus.
    pub(crate) original: String,
}

/// One error that a person sees.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Seen {
    pub(crate) code: &'static str,
    pub(crate) range: TextRange,
    pub(crate) message: String,
}

impl Desk {
    /// Opens a file.
    pub(crate) fn at(path: &Path) -> Self {
        let bytes = std::fs::read(path).expect("the corpus has the file");
        let original = syntax::decode::bytes(&bytes).expect("the corpus is sound");
        let mut workspace = Workspace::default();
        workspace.open(path.to_path_buf(), Some(1), original.clone());
        let mut desk = Self {
            workspace,
            path: path.to_path_buf(),
            version: 1,
            checker: Checker::default(),
            original,
        };
        assert_eq!(desk.errors(), [], "{}", path.display());
        desk
    }

    pub(crate) fn name(&self) -> &str {
        self.path
            .file_name()
            .and_then(|name| name.to_str())
            .unwrap_or_default()
    }

    pub(crate) fn view(&self) -> Arc<View> {
        self.workspace
            .snapshot()
            .view(&self.path)
            .expect("it is open")
    }

    /// Replaces a part of the text, as an editor reports it.
    pub(crate) fn replace(&mut self, range: std::ops::Range<usize>, text: &str) {
        let document = self
            .workspace
            .snapshot()
            .document(&self.path)
            .expect("it is open");
        let position = |offset| {
            let offset = TextSize::try_from(offset).expect("a small file");
            document.lines.position(&*document, offset, Encoding::Utf8)
        };
        let change = ContentChange::Part {
            start: position(range.start),
            end: position(range.end),
            text: text.to_owned(),
        };
        drop(document);
        self.change(change);
    }

    /// Puts a whole text there.
    pub(crate) fn write(&mut self, text: &str) {
        self.change(ContentChange::Whole(text.to_owned()));
    }

    fn change(&mut self, change: ContentChange) {
        self.version += 1;
        self.workspace
            .change(&self.path, Some(self.version), vec![change], Encoding::Utf8)
            .expect("the change fits");
    }

    /// What is wrong with the text as it is, by place.
    pub(crate) fn errors(&mut self) -> Vec<Seen> {
        let view = self.view();
        let findings = self.checker.run(&view).into_iter();
        let errors = findings.filter(|finding| finding.severity == Severity::Error);
        errors
            .map(|finding| Seen {
                code: finding.code,
                range: finding.range,
                message: finding.message,
            })
            .collect()
    }
}
