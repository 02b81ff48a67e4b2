//! What values look like, and how surprising it is to meet one twice.

use crate::survey::{Group, Slot, Survey};
use crate::symbols::{Symbol, Symbols};
use std::collections::BTreeMap;

/// The outer form of a value.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub(super) enum Look {
    /// A whole number.
    Integer,
    /// Any other number, several numbers, numbers with separators, or a number with a unit.
    Numeric,
    /// One character.
    Short,
    /// A word as a dictionary has it: a few letters of one case.
    Plain,
    /// An identifier: with digits, marks or mixed case, or long.
    Marked,
    /// Several words.
    Phrase,
    /// With folders.
    Path,
    /// A mark and a word: it points to something, or is a colour.
    Pointer,
    /// With brackets, quotes and the like, as formulas and lists have them.
    Code,
    /// Longer than names are.
    Long,
}

/// Names are not longer than this, in bytes.
const LONGEST_NAME: usize = 120;

/// Words up to this length may well be common words.
const LONGEST_PLAIN: usize = 8;

impl Look {
    pub(super) fn of(text: &str) -> Self {
        if numeric(text) {
            let digits = text.strip_prefix(['-', '+']).unwrap_or(text);
            let whole = !digits.is_empty() && digits.bytes().all(|byte| byte.is_ascii_digit());
            return if whole { Self::Integer } else { Self::Numeric };
        }
        if text.len() > LONGEST_NAME {
            return Self::Long;
        }
        if is_address(text) {
            return Self::Path;
        }
        if text.contains(['(', ')', '{', '}', '<', '>', '"', '\'', '=', ';', ',', '|']) {
            return Self::Code;
        }
        if text.contains(char::is_whitespace) {
            return Self::Phrase;
        }
        if text.contains(['/', '\\']) {
            return Self::Path;
        }
        if text.starts_with('#') && text.len() > 1 {
            return Self::Pointer;
        }
        if text.chars().nth(1).is_none() {
            return Self::Short;
        }
        let tail = text.get(1..).unwrap_or(text);
        let plain = text.len() <= LONGEST_PLAIN
            && text.chars().all(char::is_alphabetic)
            && (!tail.contains(char::is_uppercase) || !text.contains(char::is_lowercase));
        if plain { Self::Plain } else { Self::Marked }
    }

    /// Whether it may be a name at all.
    pub(super) fn may_be_name(self) -> bool {
        !matches!(self, Self::Numeric | Self::Long | Self::Code)
    }

    /// Whether it reads as a name even if nothing refers to it.
    pub(super) fn is_like_name(self) -> bool {
        matches!(self, Self::Plain | Self::Marked | Self::Short)
    }

    /// Whether it is made of numbers.
    pub(super) fn is_number(self) -> bool {
        matches!(self, Self::Integer | Self::Numeric)
    }

    /// The least probability that a value of this look turns up among others by chance.
    fn floor(self) -> f64 {
        match self {
            Self::Integer | Self::Numeric | Self::Short => 0.3,
            Self::Plain => 0.1,
            Self::Phrase | Self::Path => 0.02,
            Self::Marked | Self::Pointer | Self::Long | Self::Code => 0.01,
        }
    }

    /// How much it says, in nats, that a value of this look occurs in two slots at all.
    pub(super) fn weight(self) -> f64 {
        match self {
            Self::Integer | Self::Numeric => 0.0,
            Self::Short => 0.2,
            Self::Plain => 0.7,
            Self::Phrase | Self::Path => 1.5,
            Self::Marked | Self::Pointer | Self::Long | Self::Code => 2.0,
        }
    }
}

/// Numbers and what separates them, and a unit of up to three letters behind a single one.
fn numeric(text: &str) -> bool {
    let number =
        |byte: u8| byte.is_ascii_digit() || matches!(byte, b'.' | b'-' | b'+' | b'e' | b'E');
    let between =
        |byte: u8| byte.is_ascii_whitespace() || matches!(byte, b',' | b';' | b'/' | b':' | b'|');
    let starts = text
        .bytes()
        .find(|byte| !matches!(byte, b'-' | b'+' | b'.'));
    if !starts.is_some_and(|byte| byte.is_ascii_digit()) {
        return false;
    }
    if text.bytes().all(|byte| number(byte) || between(byte)) || is_time(text) {
        return true;
    }
    let unit = text.trim_start_matches(|c: char| c.is_ascii_digit() || "+-.".contains(c));
    unit == "%" || (unit.len() <= 3 && unit.chars().all(|c| c.is_ascii_lowercase()))
}

/// Whether it is an address with a scheme and steps or a query, as RFC 3986 has them: it may hold marks that names do not.
fn is_address(text: &str) -> bool {
    let Some((scheme, rest)) = text.split_once(':') else {
        return false;
    };
    let in_scheme = |c: char| c.is_ascii_alphanumeric() || matches!(c, '+' | '-' | '.');
    let in_rest = |c: char| !c.is_whitespace() && !matches!(c, '<' | '>' | '"' | '{' | '}' | '|');
    scheme.len() > 1
        && scheme.starts_with(|c: char| c.is_ascii_alphabetic())
        && scheme.chars().all(in_scheme)
        && rest.contains(['/', '?'])
        && rest.chars().all(in_rest)
}

/// Whether it is a date with a time of day, as ISO 8601 has them.
fn is_time(text: &str) -> bool {
    let Some((date, time)) = text.split_once('T') else {
        return false;
    };
    let time = time.strip_suffix('Z').unwrap_or(time);
    let digits = |text: &str, marks: &[u8]| {
        text.bytes()
            .all(|byte| byte.is_ascii_digit() || marks.contains(&byte))
    };
    date.len() >= 8 && digits(date, b"-") && time.len() >= 2 && digits(time, b":.,+-")
}

/// The looks of all values of a corpus, and how many fields they occur in.
pub(super) struct Looks {
    looks: Vec<Look>,
    /// Per symbol, in how many fields it occurs.
    fields: Vec<u16>,
}

impl Looks {
    pub(super) fn of(survey: &Survey<'_>) -> Self {
        let symbols: &Symbols = &survey.corpus.symbols;
        let mut fields = vec![0_u16; symbols.len()];
        // Per symbol, the last field that it was met in.
        let mut last = vec![None; symbols.len()];
        for (field, slots) in survey.groups.iter().flat_map(by_field).enumerate() {
            for seen in slots.into_iter().flat_map(|slot| &slot.seen) {
                let value = seen.value.index();
                if last[value].replace(field) != Some(field) {
                    fields[value] = fields[value].saturating_add(1);
                }
            }
        }
        Self {
            looks: symbols.texts().map(Look::of).collect(),
            fields,
        }
    }

    pub(super) fn look(&self, value: Symbol) -> Look {
        self.looks[value.index()]
    }

    /// In how many fields the value occurs.
    pub(super) fn fields(&self, value: Symbol) -> usize {
        self.fields[value.index()].into()
    }

    /// The least probability to take for a chance meeting with this value: common words, which
    /// turn up in fields that have nothing to do with each other, are met easily.
    pub(super) fn floor(&self, value: Symbol) -> f64 {
        let look = self.look(value);
        let floor = look.floor();
        match look {
            Look::Plain | Look::Short => {
                let strange = self.fields(value).saturating_sub(4) as f64;
                (floor * (1.0 + strange / 4.0)).min(0.9)
            }
            _ => floor,
        }
    }
}

/// A group's slots of each field: elements of one name, one attribute.
fn by_field(group: &Group) -> Vec<Vec<&Slot>> {
    let mut fields: BTreeMap<_, Vec<&Slot>> = BTreeMap::new();
    for slot in &group.slots {
        let field = (group.contexts.name(slot.context), slot.attribute);
        fields.entry(field).or_default().push(slot);
    }
    fields.into_values().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_have_looks() {
        for (text, look) in [
            ("12", Look::Integer),
            ("-3", Look::Integer),
            ("0.5", Look::Numeric),
            ("1e-3", Look::Numeric),
            ("0 1.5 -2", Look::Numeric),
            ("0/2/1", Look::Numeric),
            ("0.3s", Look::Numeric),
            ("2014-09-19T14:58:18.2Z", Look::Numeric),
            ("20140919T1458", Look::Numeric),
            ("2014-winter", Look::Marked),
            ("#mast", Look::Pointer),
            ("50%", Look::Numeric),
            ("3dof_base", Look::Marked),
            ("x", Look::Short),
            ("mast", Look::Plain),
            ("Mast", Look::Plain),
            ("leg.left", Look::Marked),
            ("wheel2", Look::Marked),
            ("handleBar", Look::Marked),
            ("left leg", Look::Phrase),
            ("sounds/pump.ogg", Look::Path),
            ("quay:net/ask?berth=7", Look::Path),
            ("sum: a/b = 7", Look::Code),
            ("rotate(3)", Look::Code),
            ("é", Look::Short),
            ("", Look::Short),
        ] {
            assert_eq!(Look::of(text), look, "{text}");
        }
    }
}
