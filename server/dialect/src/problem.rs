use std::fmt;
use std::ops::Range;

use syntax::{TextRange, TextSize};

/// One thing that is wrong with a dialect file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DialectProblem {
    /// Bytes of the file that the problem is about.
    pub range: TextRange,
    /// Line of the range's start, counted from 1.
    pub line: u32,
    /// Column of the range's start in characters, counted from 1.
    pub column: u32,
    /// What is wrong and what to do about it.
    pub message: String,
}

impl fmt::Display for DialectProblem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}: {}", self.line, self.column, self.message)
    }
}

/// Collects the problems of one file.
#[derive(Debug)]
pub(crate) struct Problems<'t> {
    source: &'t str,
    line_starts: Vec<usize>,
    found: Vec<DialectProblem>,
}

impl<'t> Problems<'t> {
    pub(crate) fn new(source: &'t str) -> Self {
        let ends = source
            .bytes()
            .enumerate()
            .filter(|(_, byte)| *byte == b'\n');
        let line_starts = std::iter::once(0)
            .chain(ends.map(|(at, _)| at + 1))
            .collect();
        Self {
            source,
            line_starts,
            found: Vec::new(),
        }
    }

    pub(crate) fn report(&mut self, range: Range<usize>, message: impl Into<String>) {
        let start = range.start.min(self.source.len());
        let end = range.end.clamp(start, self.source.len());
        let line = self.line_starts.partition_point(|at| *at <= start) - 1;
        let before = self.source.get(self.line_starts[line]..start).unwrap_or("");
        let column = before.chars().filter(|c| *c != '\u{feff}').count();
        self.found.push(DialectProblem {
            range: TextRange::new(size(start), size(end)),
            line: line as u32 + 1,
            column: column as u32 + 1,
            message: message.into(),
        });
    }

    /// The bytes of a part of a string, given those of the quoted string in the file. The
    /// whole string if it is written with escapes.
    pub(crate) fn within(
        &self,
        place: &Range<usize>,
        text: &str,
        part: Range<usize>,
    ) -> Range<usize> {
        let quoted = self.source.get(place.clone()).unwrap_or("");
        let quotes = ["\"\"\"", "'''", "\"", "'"];
        let quote = quotes.iter().find(|quote| quoted.starts_with(**quote));
        let inner = quote.map_or(0, |quote| quote.len());
        match quoted.get(inner..inner + text.len()) == Some(text) {
            true => place.start + inner + part.start..place.start + inner + part.end,
            false => place.clone(),
        }
    }

    /// Whether there are so many that looking for what was meant would take too long: every
    /// search compares with all there is.
    pub(crate) fn are_many(&self) -> bool {
        self.found.len() > 200
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.found.is_empty()
    }

    /// The problems in the order of the file.
    pub(crate) fn into_sorted(mut self) -> Vec<DialectProblem> {
        self.found.sort_by_key(|problem| problem.range.start());
        self.found.dedup();
        self.found
    }
}

fn size(offset: usize) -> TextSize {
    TextSize::new(u32::try_from(offset).unwrap_or(u32::MAX))
}
