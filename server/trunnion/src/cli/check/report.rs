//! What a check of files found out, ready to be written in any format.

use std::cell::RefCell;
use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use ide::checks::Accepted;
use ide::{Finding, Severity};
use syntax::{Encoding, LineIndex, Position, TextRange};

use project::Files;

use super::baseline::Gone;

/// The outcome for everything that was asked for.
#[derive(Debug, Default)]
pub(crate) struct Report {
    /// Sorted by path; the findings of each by place.
    pub(crate) files: Vec<Checked>,
    /// Settings and dialect files with mistakes.
    pub(crate) setup: Vec<Checked>,
    /// Why something could not be checked at all, as sentences.
    pub(crate) failures: Vec<String>,
    /// What the baseline knows is set apart.
    pub(crate) has_baseline: bool,
    /// What the baseline knows and is not there any more.
    pub(crate) gone: Vec<Gone>,
}

/// One file that was looked at.
#[derive(Debug)]
pub(crate) struct Checked {
    /// As it is shown: the way it was asked for.
    pub(crate) path: PathBuf,
    pub(crate) source: Arc<Source>,
    /// A dialect fits; without one there are form checks only.
    pub(crate) has_dialect: bool,
    pub(crate) findings: Vec<Finding>,
    /// Those that the baseline knows: not reported.
    pub(crate) known: Vec<Finding>,
    /// Those that comments accept: not reported.
    pub(crate) accepted: Vec<Accepted>,
}

impl Checked {
    /// Nothing found, so nothing to show of the text.
    pub(crate) fn clean(path: &Path) -> Self {
        Self {
            path: path.to_path_buf(),
            source: Arc::new(Source::new("")),
            has_dialect: true,
            findings: Vec::new(),
            known: Vec::new(),
            accepted: Vec::new(),
        }
    }
}

/// A text and its lines.
#[derive(Debug)]
pub(crate) struct Source {
    pub(crate) text: Arc<String>,
    pub(crate) lines: LineIndex,
}

impl Source {
    pub(crate) fn new(text: impl Into<String>) -> Self {
        let text = text.into();
        Self {
            lines: LineIndex::new(&text),
            text: Arc::new(text),
        }
    }

    /// Start and end of `range`, zero-based, columns in UTF-16 units. A byte order mark is no part of the first line.
    pub(crate) fn positions(&self, range: TextRange) -> (Position, Position) {
        let position = |offset| {
            let mut position = self.lines.position(&*self.text, offset, Encoding::Utf16);
            if position.line == 0 && self.text.starts_with('\u{feff}') {
                position.column = position.column.saturating_sub(1);
            }
            position
        };
        (position(range.start()), position(range.end()))
    }
}

impl Report {
    pub(crate) fn findings(&self) -> impl Iterator<Item = (&Checked, &Finding)> {
        self.all()
            .flat_map(|file| file.findings.iter().map(move |finding| (file, finding)))
    }

    /// What the baseline knows.
    pub(crate) fn known(&self) -> impl Iterator<Item = (&Checked, &Finding)> {
        self.all()
            .flat_map(|file| file.known.iter().map(move |finding| (file, finding)))
    }

    /// What comments accept.
    pub(crate) fn accepted(&self) -> impl Iterator<Item = (&Checked, &Accepted)> {
        self.all()
            .flat_map(|file| file.accepted.iter().map(move |accepted| (file, accepted)))
    }

    /// The settings first: they decide what is said of all others.
    fn all(&self) -> impl Iterator<Item = &Checked> {
        self.setup.iter().chain(&self.files)
    }

    pub(crate) fn count(&self, severity: Severity) -> usize {
        self.findings()
            .filter(|(_, finding)| finding.severity == severity)
            .count()
    }

    /// 0: nothing at error level. 1: something is. 2: something could not be run, the settings included.
    pub(crate) fn exit_code(&self) -> u8 {
        if !self.failures.is_empty() || !self.setup.is_empty() {
            2
        } else {
            u8::from(self.count(Severity::Error) > 0)
        }
    }
}

/// Larger files are not read to be shown. Bytes.
const LARGEST_SOURCE: u64 = 1 << 30;

/// The texts that findings point into: those that were checked, and others read when first asked for.
#[derive(Debug)]
pub(crate) struct Sources {
    files: Files,
    known: RefCell<HashMap<PathBuf, Option<Arc<Source>>>>,
}

impl Sources {
    pub(crate) fn of(report: &Report) -> Self {
        // Of what is without findings the text has not been kept.
        let kept = report.all().filter(|file| !file.source.text.is_empty());
        let known = kept.map(|file| (file.path.clone(), Some(Arc::clone(&file.source))));
        Self {
            files: Files::default(),
            known: RefCell::new(known.collect()),
        }
    }

    /// None: the file cannot be read (any more).
    pub(crate) fn get(&self, path: &Path) -> Option<Arc<Source>> {
        let mut known = self.known.borrow_mut();
        let read = || {
            // Devices and pipes can be read without an end.
            let about = self.files.about(path).ok()?;
            if !about.is_file {
                return None;
            }
            // What is no text, or too much of it, is pointed at as a whole.
            let bytes = match about.size <= LARGEST_SOURCE {
                true => self.files.read(path, LARGEST_SOURCE).ok()?,
                false => Vec::new(),
            };
            let text = syntax::decode::bytes(&bytes).unwrap_or_default();
            Some(Arc::new(Source::new(text)))
        };
        known.entry(path.to_path_buf()).or_insert_with(read).clone()
    }
}
