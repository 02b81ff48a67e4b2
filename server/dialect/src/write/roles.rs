//! Writes roles.

use super::toml::{key, line, one_or_array, quoted, remarks, table};
use std::fmt::Write as _;

/// A `[[role.…]]` table in the making.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct RoleDraft {
    /// Sentences for a comment above it.
    pub remarks: Vec<String>,
    /// The role: `wheel`.
    pub name: String,
    /// Its keys, in order.
    pub keys: Vec<(String, RoleValue)>,
    /// The keys of each motion of a channel.
    pub motions: Vec<Vec<(String, RoleValue)>>,
    /// How sure it is, from 0 to 1, if it was learnt.
    pub confidence: Option<f64>,
    /// Whether a person confirmed it.
    pub confirmed: bool,
}

/// The value of a role's key.
#[derive(Clone, Debug, PartialEq)]
pub enum RoleValue {
    /// A path, or a word of the role's own.
    Text(String),
    /// Where a word of the document stands, and which words have which meaning.
    Words {
        at: String,
        meanings: Vec<(String, Vec<String>)>,
    },
    /// `true`.
    Yes,
    /// Keys of its own.
    Table(Vec<(String, RoleValue)>),
}

impl RoleDraft {
    pub(super) fn write(&self, out: &mut String) {
        out.push('\n');
        remarks(out, &self.remarks);
        let _ = writeln!(out, "[[role.{}]]", key(&self.name));
        lines(out, &self.keys);
        if let Some(confidence) = self.confidence {
            let mut record = vec![("confidence", format!("{confidence:?}"))];
            if self.confirmed {
                record.push(("confirmed", "true".to_owned()));
            }
            line(out, "learnt", &table(&record));
        }
        for motion in &self.motions {
            let _ = writeln!(out, "\n[[role.{}.motion]]", key(&self.name));
            lines(out, motion);
        }
    }
}

fn lines(out: &mut String, keys: &[(String, RoleValue)]) {
    for (name, value) in keys {
        line(out, &key(name), &written(value));
    }
}

/// Tables are written by whoever makes drafts, and no deeper than dialects have them.
fn written(value: &RoleValue) -> String {
    match value {
        RoleValue::Text(text) => quoted(text),
        RoleValue::Yes => "true".to_owned(),
        RoleValue::Words { at, meanings } => {
            let mut pairs = vec![("at", quoted(at))];
            let meanings = meanings.iter();
            pairs.extend(meanings.map(|(meaning, words)| (meaning.as_str(), one_or_array(words))));
            table(&pairs)
        }
        RoleValue::Table(keys) => {
            let keys = keys.iter();
            let pairs: Vec<(&str, String)> = keys
                .map(|(name, value)| (name.as_str(), written(value)))
                .collect();
            table(&pairs)
        }
    }
}
