//! A table of the file that knows which keys were asked for, so that the rest are unknown.

use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::nearest::nearest;
use crate::path::Path;
use crate::problem::Problems;
use crate::values::or_list;

/// A value and the bytes it stands at.
#[derive(Clone, Debug)]
pub(super) struct Placed<T> {
    pub(super) value: T,
    pub(super) place: Range<usize>,
}

pub(super) type Value<'a> = &'a Spanned<DeValue<'a>>;

/// One table of the file.
#[derive(Debug)]
pub(super) struct Section<'a> {
    /// How messages call it: "`[units]`", "attribute `id` of `wheel`".
    pub(super) label: String,
    /// Where the table or its header stands.
    pub(super) place: Range<usize>,
    table: &'a DeTable<'a>,
    asked: Vec<&'static str>,
}

impl<'a> Section<'a> {
    pub(super) fn new(
        label: impl Into<String>,
        place: Range<usize>,
        table: &'a DeTable<'a>,
    ) -> Self {
        Self {
            label: label.into(),
            place,
            table,
            asked: Vec::new(),
        }
    }

    /// The value of a key; the key counts as known from now on.
    pub(super) fn take(&mut self, key: &'static str) -> Option<Value<'a>> {
        if !self.asked.contains(&key) {
            self.asked.push(key);
        }
        self.table.get(key)
    }

    /// Keys that may stand but are not looked at.
    pub(super) fn allow(&mut self, keys: &[&'static str]) {
        self.asked.extend(keys);
    }

    pub(super) fn has(&self, key: &str) -> bool {
        self.table.contains_key(key)
    }

    /// All entries in the order of the file, for tables whose keys are the user's own.
    pub(super) fn entries(&self) -> Vec<(Placed<&'a str>, Value<'a>)> {
        entries(self.table)
    }

    /// Where the key stands, if it is there.
    pub(super) fn key_place(&self, key: &str) -> Range<usize> {
        let entry = self.table.get_key_value(key);
        entry.map_or(self.place.clone(), |(key, _)| key.span())
    }

    /// Reports the keys nobody asked for.
    pub(super) fn finish(self, problems: &mut Problems<'_>) {
        for (key, _) in self.entries() {
            if self.asked.contains(&key.value) {
                continue;
            }
            let advice = match meant_key(key.value, &self.asked) {
                Some(meant) => format!("did you mean `{meant}`?"),
                None => format!("known here: {}", or_list(self.asked.iter().copied())),
            };
            let label = &self.label;
            problems.report(
                key.place,
                format!("unknown key `{}` in {label}; {advice}", key.value),
            );
        }
    }

    pub(super) fn missing(&self, key: &str, problems: &mut Problems<'_>, example: &str) {
        let label = &self.label;
        let message =
            format!("{label} lacks the key `{key}`; add, for example, `{key} = {example}`");
        problems.report(self.place.clone(), message);
    }

    /// Reports that a table is missing from the file.
    pub(super) fn missing_table(&self, header: &str, what: &str, problems: &mut Problems<'_>) {
        let message = format!("the file has no `{header}`; add one: {what}");
        problems.report(self.place.clone(), message);
    }

    pub(super) fn string(
        &mut self,
        key: &'static str,
        problems: &mut Problems<'_>,
    ) -> Option<Placed<&'a str>> {
        let value = self.take(key)?;
        as_string(key, value, problems)
    }

    /// A text that may be left out, then empty.
    pub(super) fn doc(&mut self, problems: &mut Problems<'_>) -> String {
        let doc = self.string("doc", problems);
        doc.map_or_else(String::new, |doc| doc.value.trim().to_owned())
    }

    /// A string that must be there and not be empty.
    pub(super) fn required(
        &mut self,
        key: &'static str,
        problems: &mut Problems<'_>,
        example: &str,
    ) -> Option<Placed<&'a str>> {
        let Some(value) = self.take(key) else {
            self.missing(key, problems, example);
            return None;
        };
        let text = as_string(key, value, problems)?;
        if text.value.trim().is_empty() {
            let message = format!("`{key}` is empty; write, for example, {example}");
            problems.report(text.place, message);
            return None;
        }
        Some(text)
    }

    /// One string, or an array of strings.
    pub(super) fn strings(
        &mut self,
        key: &'static str,
        problems: &mut Problems<'_>,
    ) -> Option<Placed<Vec<Placed<&'a str>>>> {
        as_strings(key, self.take(key)?, problems)
    }

    pub(super) fn boolean(
        &mut self,
        key: &'static str,
        problems: &mut Problems<'_>,
    ) -> Option<bool> {
        let value = self.take(key)?;
        match value.get_ref() {
            DeValue::Boolean(answer) => Some(*answer),
            other => {
                let message = wrong_type(key, "`true` or `false` (without quotes)", other);
                problems.report(value.span(), message);
                None
            }
        }
    }

    /// A whole number from 0.
    pub(super) fn count(
        &mut self,
        key: &'static str,
        problems: &mut Problems<'_>,
    ) -> Option<Placed<u32>> {
        let value = self.take(key)?;
        as_count(key, value, problems)
    }

    pub(super) fn number(
        &mut self,
        key: &'static str,
        problems: &mut Problems<'_>,
    ) -> Option<Placed<f64>> {
        let value = self.take(key)?;
        as_number(key, value, problems)
    }

    /// A sub-table.
    pub(super) fn section(
        &mut self,
        key: &'static str,
        label: impl Into<String>,
        problems: &mut Problems<'_>,
    ) -> Option<Section<'a>> {
        let value = self.take(key)?;
        let place = self.key_place(key);
        as_section(key, label, place, value, problems)
    }

    /// The members of an array of tables; one table alone counts as an array of one.
    pub(super) fn sections(
        &mut self,
        key: &'static str,
        label: &str,
        problems: &mut Problems<'_>,
    ) -> Vec<Section<'a>> {
        let Some(value) = self.take(key) else {
            return Vec::new();
        };
        match value.get_ref() {
            DeValue::Array(members) => members
                .iter()
                .filter_map(|member| as_section(key, label, member.span(), member, problems))
                .collect(),
            _ => {
                let place = self.key_place(key);
                let section = as_section(key, label, place, value, problems);
                section.into_iter().collect()
            }
        }
    }

    /// A word out of a fixed list.
    pub(super) fn choice<T: Copy>(
        &mut self,
        key: &'static str,
        choices: &[(&'static str, T)],
        problems: &mut Problems<'_>,
    ) -> Option<T> {
        let word = self.string(key, problems)?;
        choose(key, &word, choices, problems)
    }

    pub(super) fn path(
        &mut self,
        key: &'static str,
        problems: &mut Problems<'_>,
    ) -> Option<Placed<Path>> {
        let text = self.string(key, problems)?;
        parse_path(key, &text, problems)
    }
}

/// The key that was probably meant: misspelled, shortened, or with another ending.
fn meant_key(key: &str, known: &[&'static str]) -> Option<&'static str> {
    let alike = |known: &&&str| {
        let same = key
            .bytes()
            .zip(known.bytes())
            .take_while(|(a, b)| a == b)
            .count();
        same >= 4 && same * 2 > key.len() || key.len() >= 4 && known.contains(key)
    };
    nearest(key, known.iter().copied()).or_else(|| known.iter().find(alike).copied())
}

pub(super) fn choose<T: Copy>(
    key: &str,
    word: &Placed<&str>,
    choices: &[(&'static str, T)],
    problems: &mut Problems<'_>,
) -> Option<T> {
    let found = choices.iter().find(|(known, _)| *known == word.value);
    if found.is_none() {
        let words = || choices.iter().map(|(known, _)| *known);
        let meant = match nearest(word.value, words()) {
            Some(meant) => format!(" (did you mean `{meant}`?)"),
            None => String::new(),
        };
        let message = format!(
            "`{key}` is {}, not `{}`{meant}",
            or_list(words()),
            word.value
        );
        problems.report(word.place.clone(), message);
    }
    found.map(|(_, choice)| *choice)
}

pub(super) fn parse_path(
    key: &str,
    text: &Placed<&str>,
    problems: &mut Problems<'_>,
) -> Option<Placed<Path>> {
    match Path::parse(text.value) {
        Ok(path) => Some(Placed {
            value: path,
            place: text.place.clone(),
        }),
        Err(fault) => {
            let place = problems.within(&text.place, text.value, fault.range);
            let message = format!("bad path in `{key}`: {}", fault.message);
            problems.report(place, message);
            None
        }
    }
}

pub(super) fn entries<'a>(table: &'a DeTable<'a>) -> Vec<(Placed<&'a str>, Value<'a>)> {
    let mut entries: Vec<_> = table
        .iter()
        .map(|(key, value)| {
            let place = key.span();
            let key: &'a str = key.get_ref().as_ref();
            (Placed { value: key, place }, value)
        })
        .collect();
    entries.sort_by_key(|(key, _)| key.place.start);
    entries
}

/// A text, or an array of texts.
pub(super) fn as_strings<'a>(
    key: &str,
    value: Value<'a>,
    problems: &mut Problems<'_>,
) -> Option<Placed<Vec<Placed<&'a str>>>> {
    let place = value.span();
    let strings = match value.get_ref() {
        DeValue::String(_) => vec![as_string(key, value, problems)?],
        DeValue::Array(members) => members
            .iter()
            .filter_map(|member| as_string(key, member, problems))
            .collect(),
        other => {
            problems.report(
                place,
                wrong_type(key, "a string or an array of strings", other),
            );
            return None;
        }
    };
    Some(Placed {
        value: strings,
        place,
    })
}

pub(super) fn as_string<'a>(
    key: &str,
    value: Value<'a>,
    problems: &mut Problems<'_>,
) -> Option<Placed<&'a str>> {
    match value.get_ref() {
        DeValue::String(text) => Some(Placed {
            value: text.as_ref(),
            place: value.span(),
        }),
        other => {
            problems.report(value.span(), wrong_type(key, "a string in quotes", other));
            None
        }
    }
}

pub(super) fn as_count(
    key: &str,
    value: Value<'_>,
    problems: &mut Problems<'_>,
) -> Option<Placed<u32>> {
    let count = match value.get_ref() {
        DeValue::Integer(number) => u32::from_str_radix(number.as_str(), number.radix()).ok(),
        _ => None,
    };
    match count {
        Some(count) => Some(Placed {
            value: count,
            place: value.span(),
        }),
        None => {
            let message = wrong_type(key, "a whole number from 0", value.get_ref());
            problems.report(value.span(), message);
            None
        }
    }
}

pub(super) fn as_section<'a>(
    key: &str,
    label: impl Into<String>,
    place: Range<usize>,
    value: Value<'a>,
    problems: &mut Problems<'_>,
) -> Option<Section<'a>> {
    match value.get_ref() {
        DeValue::Table(table) => Some(Section::new(label, place, table)),
        other => {
            problems.report(value.span(), wrong_type(key, "a table", other));
            None
        }
    }
}

pub(super) fn wrong_type(key: &str, expected: &str, found: &DeValue<'_>) -> String {
    let found = match found {
        DeValue::String(_) => "a string",
        DeValue::Integer(_) | DeValue::Float(_) => "this number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "an array",
        DeValue::Table(_) => "a table",
    };
    format!("`{key}` takes {expected}, not {found}")
}

pub(super) fn as_number(
    key: &str,
    value: Value<'_>,
    problems: &mut Problems<'_>,
) -> Option<Placed<f64>> {
    let number = match value.get_ref() {
        DeValue::Integer(number) => {
            let whole = i64::from_str_radix(number.as_str(), number.radix()).ok();
            whole.map(|whole| whole as f64)
        }
        DeValue::Float(number) => number.as_str().parse().ok(),
        _ => None,
    };
    match number.filter(|number: &f64| number.is_finite()) {
        Some(number) => Some(Placed {
            value: number,
            place: value.span(),
        }),
        None => {
            let message = wrong_type(key, "a number (without quotes)", value.get_ref());
            problems.report(value.span(), message);
            None
        }
    }
}
