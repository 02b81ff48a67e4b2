//! What a check reports.

use machine::Ranges;
use std::path::PathBuf;
use syntax::{TextEdit, TextRange};

/// One thing that a check found.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// A word out of [`crate::codes`], the same for every dialect.
    pub code: &'static str,
    pub severity: Severity,
    pub range: TextRange,
    /// What is wrong, where it points, what to do.
    pub message: String,
    pub related: Vec<Related>,
    pub fixes: Vec<Fix>,
}

impl Finding {
    pub fn new(
        code: &'static str,
        severity: Severity,
        range: TextRange,
        message: impl Into<String>,
    ) -> Self {
        Self {
            code,
            severity,
            range,
            message: message.into(),
            related: Vec::new(),
            fixes: Vec::new(),
        }
    }

    /// Points at a second place of the same document.
    #[must_use]
    pub fn see(self, range: TextRange, message: impl Into<String>) -> Self {
        self.see_in(None, range, message)
    }

    /// Points at a place of another file.
    #[must_use]
    pub fn see_in(
        mut self,
        path: Option<PathBuf>,
        range: TextRange,
        message: impl Into<String>,
    ) -> Self {
        self.related.push(Related {
            path,
            range,
            message: message.into(),
        });
        self
    }

    #[must_use]
    pub fn fix(mut self, fix: Fix) -> Self {
        self.fixes.push(fix);
        self
    }
}

/// How bad a finding is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    Error,
    Warning,
    Information,
    Hint,
}

impl Severity {
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Error => "error",
            Self::Warning => "warning",
            Self::Information => "information",
            Self::Hint => "hint",
        }
    }
}

/// Another place that belongs to a finding.
#[derive(Debug, Clone, PartialEq)]
pub struct Related {
    /// None: the document itself.
    pub path: Option<PathBuf>,
    pub range: TextRange,
    pub message: String,
}

/// A repair that a finding brings along.
#[derive(Debug, Clone, PartialEq)]
pub struct Fix {
    pub title: String,
    pub trust: Trust,
    pub edits: Vec<TextEdit>,
}

/// How far a person may trust a change without reading it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Trust {
    /// Same meaning or plainly repaired, nothing lost.
    Safe,
    /// A choice was made: shown as such.
    Review,
    /// Has places to fill in.
    Draft,
}

impl Ranges for Finding {
    fn each_range(&mut self, each: &mut impl FnMut(&mut TextRange)) {
        each(&mut self.range);
        // Places in other files stay where they are.
        for related in self
            .related
            .iter_mut()
            .filter(|related| related.path.is_none())
        {
            each(&mut related.range);
        }
        for edit in self.fixes.iter_mut().flat_map(|fix| &mut fix.edits) {
            each(&mut edit.range);
        }
    }
}
