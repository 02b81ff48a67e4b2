use std::fmt;

/// Something that one language says and the other cannot, or not as strictly.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Note {
    /// What it is about, such as `joint/@type`; empty if it is about the whole.
    pub about: Vec<String>,
    /// A sentence without its full stop.
    pub text: String,
}

/// How many of the things that a note is about are named in a sentence.
const NAMED: usize = 6;

impl fmt::Display for Note {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)?;
        if self.about.is_empty() {
            return f.write_str(".");
        }
        let named = self.about.iter().take(NAMED).map(String::as_str);
        write!(f, ": {}", named.collect::<Vec<_>>().join(", "))?;
        match self.about.len().saturating_sub(NAMED) {
            0 => f.write_str("."),
            more => write!(f, " and {more} more."),
        }
    }
}

/// Notes in the order in which their sentences first came up; those with the same sentence are one.
#[derive(Clone, Debug, Default)]
pub(crate) struct Notes(Vec<Note>);

impl Notes {
    /// About the whole.
    pub(crate) fn add(&mut self, text: impl Into<String>) {
        self.entry(text.into());
    }

    /// About one thing.
    pub(crate) fn add_about(&mut self, about: impl Into<String>, text: impl Into<String>) {
        let (note, about) = (self.entry(text.into()), about.into());
        if !note.about.contains(&about) {
            note.about.push(about);
        }
    }

    fn entry(&mut self, text: String) -> &mut Note {
        let known = self.0.iter().position(|note| note.text == text);
        let at = known.unwrap_or_else(|| {
            let about = Vec::new();
            self.0.push(Note { about, text });
            self.0.len() - 1
        });
        &mut self.0[at]
    }

    pub(crate) fn into_vec(self) -> Vec<Note> {
        self.0
    }
}
