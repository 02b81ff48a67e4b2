//! What a check reports.

use machine::Ranges;
use std::borrow::Cow;
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
    /// `range`: in the document. Of a very long message the middle is left out. That of an error names a character in it
    /// that nobody sees.
    pub fn new(
        code: &'static str,
        severity: Severity,
        range: TextRange,
        message: impl Into<String>,
    ) -> Self {
        let mut message = legible(message.into());
        if severity == Severity::Error
            && let Some(unseen) = unseen(&message)
        {
            message.push_str(&unseen);
        }
        Self {
            code,
            severity,
            range,
            message,
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
        // Most have one or two, and there may be ten thousand findings.
        self.related.reserve_exact(1);
        self.related.push(Related {
            path,
            range,
            message: legible(message.into()),
        });
        self
    }

    /// Brings a repair along.
    #[must_use]
    pub fn fix(mut self, fix: Fix) -> Self {
        self.fixes.reserve_exact(1);
        self.fixes.push(fix);
        self
    }
}

/// Bytes: nobody reads longer messages, and a name or a value that is quoted may be as long as its document.
const LEGIBLE: usize = 2_000;
/// Characters of a name or value that is quoted where it does not stand.
const QUOTED: usize = 200;

/// What may be wrong with a name, a value or a text: a character in it that nobody sees, or that looks like a space. For
/// the end of a message, with a blank before it.
pub(crate) fn unseen(text: &str) -> Option<String> {
    if text.is_ascii() {
        return None;
    }
    let is_zero_wide = |c: char| matches!(c, '\u{ad}' | '\u{200b}' | '\u{2060}' | '\u{feff}');
    let odd = |c: &char| !c.is_ascii() && (c.is_whitespace() || is_zero_wide(*c));
    let c = text.chars().find(odd)?;
    let what = match is_zero_wide(c) {
        true => "cannot be seen",
        false => "looks like a space and is none",
    };
    let c = u32::from(c);
    Some(format!(" In it is the character U+{c:04X}, which {what}."))
}

fn legible(message: String) -> String {
    if message.len() <= LEGIBLE {
        return message;
    }
    let (start, end) = (
        message.floor_char_boundary(LEGIBLE / 2),
        message.ceil_char_boundary(message.len() - LEGIBLE / 4),
    );
    format!("{} … {}", &message[..start], &message[end..])
}

/// A name or a value for a message about its own place, without what [`legible`] would leave out of its middle.
pub(crate) fn curtailed(quoted: &str) -> Cow<'_, str> {
    if quoted.len() <= 4 * LEGIBLE {
        return Cow::Borrowed(quoted);
    }
    let (start, end) = (
        quoted.floor_char_boundary(LEGIBLE),
        quoted.ceil_char_boundary(quoted.len() - LEGIBLE),
    );
    Cow::Owned([&quoted[..start], &quoted[end..]].concat())
}

/// A name or a value for a message about another place: there may be many such messages, each with the same long name.
pub(crate) fn short(quoted: &str) -> Cow<'_, str> {
    match quoted.char_indices().nth(QUOTED) {
        Some((end, _)) => Cow::Owned(format!("{}…", &quoted[..end])),
        None => Cow::Borrowed(quoted),
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
    /// The gravest first.
    pub const ALL: [Severity; 4] = [
        Severity::Error,
        Severity::Warning,
        Severity::Information,
        Severity::Hint,
    ];

    /// The word in reports of commands.
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_names_do_not_make_long_messages() {
        let name = "é".repeat(1_000_000);
        let message = format!("There is no file `{name}`.");
        let finding = Finding::new(
            "file-missing",
            Severity::Error,
            TextRange::default(),
            message,
        );
        assert!(
            finding.message.len() <= LEGIBLE,
            "{}",
            finding.message.len()
        );
        assert!(finding.message.starts_with("There is no file `é"));
        assert!(finding.message.ends_with("é`."));
        let message = |name: &str| format!("There is no file `{name}`, or none of that ending.");
        for length in [LEGIBLE / 2, 2 * LEGIBLE, 2 * LEGIBLE + 1, 500_000] {
            let name = format!("{}{}", "é".repeat(length), "end".repeat(length));
            let whole = legible(message(&name));
            assert_eq!(legible(message(&curtailed(&name))), whole);
        }
        assert!(curtailed(&name).len() <= 2 * LEGIBLE);
        assert_eq!(short(&name).chars().count(), QUOTED + 1);
        assert_eq!(short("mast"), "mast");
    }
}
