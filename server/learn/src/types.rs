//! Types of values, told from the values alone: answers, numbers, rows of numbers, words, text.
//!
//! A type holds if all values fit it but for a few rare ones ([`Values::hold`]); the narrowest
//! that holds is taken. What fits is what the dialect itself would say.

use crate::corpus::Corpus;
use crate::habits::Habits;
use crate::separators::separator;
use crate::settings::Settings;
use crate::symbols::Symbol;
use crate::values::Values;
use crate::words;
use dialect::{Around, Bounds, ItemType, ListRule, Separator, ValueType, Word, WordList};

/// What a type is told by, besides the values.
#[derive(Copy, Clone, Debug)]
pub(crate) struct Look<'a> {
    pub(crate) corpus: &'a Corpus,
    pub(crate) habits: &'a Habits,
    pub(crate) settings: &'a Settings,
}

/// Marks between the members of a list, in the order in which they are tried.
const MARKS: [&str; 6] = [" ", ";", ",", "|", "..", "/"];

/// Marks between the words of a list, in the order in which they are tried.
const WORD_MARKS: [&str; 4] = [";", ",", "|", " "];

/// Of longer values only the beginning is looked at, in bytes.
const LOOKED_AT: usize = 2000;

/// More numbers are no vector, but a list.
const LONGEST_VECTOR: u32 = 64;

/// Fewer whole numbers than these may be numbers without decimals by chance.
const ENOUGH_WHOLE: u32 = 10;

impl Look<'_> {
    /// The type of the values.
    pub(crate) fn value_type(&self, values: &Values) -> ValueType {
        let single = ValueType::single;
        if values.each.is_empty() {
            return single(ItemType::Text);
        }
        if self.are_answers(values) {
            return single(self.answer());
        }
        if values.hold(|value| self.number(value).is_some()) {
            let range = self.bounds(values, &|text| self.read(text).into_iter().collect());
            return single(match self.are_whole(values) {
                true => ItemType::Integer { range },
                false => ItemType::Number { range, unit: None },
            });
        }
        if let Some(row) = self.row(values) {
            return row;
        }
        if let Some(list) = self.words(values) {
            return list;
        }
        if let Some(words) = words::closed(values, self.corpus, self.settings.new_word) {
            return single(ItemType::Word(self.list_of(&words)));
        }
        single(ItemType::Text)
    }

    /// Lists of words out of a closed list.
    fn words(&self, values: &Values) -> Option<ValueType> {
        let marks = WORD_MARKS.into_iter();
        let mut marks = marks.filter(|mark| self.may_separate(mark)).map(separator);
        marks.find_map(|separator| {
            let members = |text| -> Vec<&str> {
                let members = separator.split(text);
                members.map(|range| &text[range]).collect()
            };
            let new_word = self.settings.new_word;
            let alone = separator == Separator::WhiteSpace;
            let words = words::listed(values, self.corpus, new_word, alone, members)?;
            let words = words.into_iter().map(|word| Word {
                text: word.to_owned(),
                doc: String::new(),
            });
            let list = WordList {
                name: None,
                words: words.collect(),
            };
            Some(ValueType {
                item: ItemType::Word(list.into()),
                list: Some(ListRule {
                    separator,
                    min: 1,
                    max: None,
                }),
                around: Around::default(),
            })
        })
    }

    /// The value, or the beginning of a very long one: it will go on as it began.
    fn text(&self, value: Symbol) -> &str {
        let text = self.corpus.text(value);
        match self.is_long(value) {
            false => text,
            true => {
                let at = text.floor_char_boundary(LOOKED_AT);
                text[..at]
                    .rsplit_once(char::is_whitespace)
                    .map_or("", |(start, _)| start)
            }
        }
    }

    fn is_long(&self, value: Symbol) -> bool {
        self.corpus.text(value).len() > LOOKED_AT
    }

    /// How many members a value has, as `count` counts those of its text.
    fn members<T>(&self, value: Symbol, read: impl Fn(&str) -> Option<Vec<T>>) -> Option<u32> {
        match self.is_long(value) {
            true => Some(u32::MAX),
            false => read(self.text(value)).map(|members| members.len() as u32),
        }
    }

    fn read(&self, text: &str) -> Option<f64> {
        self.habits.dialect.read_number(text)
    }

    fn number(&self, value: Symbol) -> Option<f64> {
        self.read(self.text(value))
    }

    /// Words for answers, and noughts and ones only beside them.
    fn are_answers(&self, values: &Values) -> bool {
        let notation = self.habits.notation();
        let is_answer = |value| {
            let answers = notation.yes.iter().chain(&notation.no);
            answers.into_iter().any(|answer| answer == self.text(value))
        };
        let worded = values
            .each
            .first()
            .is_some_and(|(value, _)| self.number(*value).is_none());
        worded && values.hold(is_answer)
    }

    pub(crate) fn answer(&self) -> ItemType {
        let notation = self.habits.notation();
        ItemType::Boolean {
            yes: notation.yes.clone(),
            no: notation.no.clone(),
        }
    }

    fn are_whole(&self, values: &Values) -> bool {
        let is_whole = |value| {
            let text = self.text(value).trim();
            text.strip_prefix('+')
                .unwrap_or(text)
                .parse::<i64>()
                .is_ok()
        };
        values.each.len() > 1 && values.all.places >= ENOUGH_WHOLE && values.hold(is_whole)
    }

    /// Rows of numbers: vectors, lists, and lists of vectors.
    fn row(&self, values: &Values) -> Option<ValueType> {
        let marks = || MARKS.into_iter().filter(|mark| self.may_separate(mark));
        let inner = marks().find_map(|mark| self.flat_row(values, mark));
        inner.or_else(|| {
            marks().find_map(|outer| {
                let inner = marks().filter(|inner| *inner != outer);
                inner
                    .into_iter()
                    .find_map(|inner| self.nested_row(values, outer, inner))
            })
        })
    }

    fn may_separate(&self, mark: &str) -> bool {
        mark != "," || !self.habits.reads_commas()
    }

    fn flat_row(&self, values: &Values, mark: &str) -> Option<ValueType> {
        let separator = separator(mark);
        let numbers = |text: &str| self.habits.notation().numbers.read_row(text, &separator);
        let first = values.each.first()?.0;
        let several = |value: Symbol| numbers(self.text(value)).filter(|row| row.len() > 1);
        // Cheap, and most texts are no rows.
        several(first).or_else(|| several(values.each.get(1)?.0))?;
        if !values.hold(|value| numbers(self.text(value)).is_some_and(|row| !row.is_empty())) {
            return None;
        }
        let range = self.bounds(values, &|text| numbers(text).unwrap_or_default());
        let counts = Counts::of(values, |value| self.members(value, numbers));
        match counts.only() {
            // A slash between whole numbers makes no vector, but a path or a share.
            Some(count) if count > 1 && mark != "/" => Some(ValueType {
                item: ItemType::Vector {
                    count,
                    separator,
                    range,
                    unit: None,
                },
                list: None,
                around: Around::default(),
            }),
            None if mark != "/" => Some(ValueType {
                item: ItemType::Number { range, unit: None },
                list: Some(counts.rule(separator)),
                around: Around::default(),
            }),
            _ => None,
        }
    }

    /// Rows within rows: `0;0;1 | 0;0;2`.
    fn nested_row(&self, values: &Values, outer: &str, inner: &str) -> Option<ValueType> {
        let (outer, inner) = (separator(outer), separator(inner));
        let vectors = |text: &str| -> Option<Vec<Vec<f64>>> {
            let parts = outer.split(text);
            let rows =
                parts.map(|part| self.habits.notation().numbers.read_row(&text[part], &inner));
            rows.collect()
        };
        let first = vectors(self.text(values.each.first()?.0))?;
        let count = first.first()?.len();
        let fits = |value: Symbol| {
            vectors(self.text(value))
                .is_some_and(|rows| !rows.is_empty() && rows.iter().all(|row| row.len() == count))
        };
        if first.len() < 2 || count < 2 || count > LONGEST_VECTOR as usize || !values.hold(fits) {
            return None;
        }
        let range = self.bounds(values, &|text| vectors(text).unwrap_or_default().concat());
        let counts = Counts::of(values, |value| self.members(value, vectors));
        Some(ValueType {
            item: ItemType::Vector {
                count: count as u32,
                separator: inner,
                range,
                unit: None,
            },
            list: Some(counts.rule(outer)),
            around: Around::default(),
        })
    }

    /// Bounds that are more than the least and greatest number somebody happened to write: not below
    /// nought, and shares up to one.
    fn bounds(&self, values: &Values, numbers: &dyn Fn(&str) -> Vec<f64>) -> Bounds {
        let mut bounds = Bounds::default();
        let Some((least, greatest)) = extremes(values, |value| numbers(self.text(value))) else {
            return bounds;
        };
        if least >= 0.0 && values.each.len() >= 5 && values.all.files >= 5 {
            bounds.min = Some(0.0);
            let ones = values
                .each
                .iter()
                .filter(|(value, _)| numbers(self.text(*value)).contains(&1.0));
            let reach_one: u32 = ones.map(|(_, tally)| tally.files).sum();
            if greatest == 1.0 && reach_one >= 3 {
                bounds.max = Some(1.0);
            }
        }
        bounds
    }

    pub(crate) fn list_of(&self, words: &[Symbol]) -> std::sync::Arc<WordList> {
        let words = words.iter().map(|word| Word {
            text: self.text(*word).to_owned(),
            doc: String::new(),
        });
        WordList {
            name: None,
            words: words.collect(),
        }
        .into()
    }

    /// The least and the greatest number, if the type has numbers.
    pub(crate) fn observed(&self, value_type: &ValueType, values: &Values) -> Option<(f64, f64)> {
        let separators: Vec<&Separator> = match &value_type.item {
            ItemType::Integer { .. } | ItemType::Number { .. } => Vec::new(),
            ItemType::Vector { separator, .. } => vec![separator],
            _ => return None,
        };
        let separators = value_type
            .list
            .iter()
            .map(|list| &list.separator)
            .chain(separators);
        let separators: Vec<&Separator> = separators.collect();
        extremes(values, |value| {
            let mut parts = vec![self.text(value)];
            for separator in &separators {
                let split = parts
                    .iter()
                    .flat_map(|part| separator.split(part).map(move |range| &part[range]));
                parts = split.collect();
            }
            parts
                .into_iter()
                .filter_map(|part| self.read(part))
                .collect()
        })
    }
}

fn extremes(values: &Values, numbers: impl Fn(Symbol) -> Vec<f64>) -> Option<(f64, f64)> {
    let all = values.each.iter().flat_map(|(value, _)| numbers(*value));
    all.fold(None, |known, number| match known {
        None => Some((number, number)),
        Some((least, greatest)) => Some((f64::min(least, number), f64::max(greatest, number))),
    })
}

/// How many members lists have.
struct Counts {
    least: u32,
    greatest: u32,
    usual: u32,
}

impl Counts {
    fn of(values: &Values, count: impl Fn(Symbol) -> Option<u32>) -> Self {
        let mut tallies: std::collections::BTreeMap<u32, u32> = std::collections::BTreeMap::new();
        for (value, tally) in &values.each {
            if let Some(count) = count(*value) {
                *tallies.entry(count).or_default() += tally.places;
            }
        }
        let most = tallies.iter().max_by_key(|(_, places)| **places);
        // A few that are longer or shorter than all others are slips.
        if let Some((usual, places)) = most.map(|(count, places)| (*count, *places)) {
            let all: u32 = tallies.values().sum();
            if all - places <= crate::rules::slips(all) {
                tallies.retain(|count, _| *count == usual);
            }
        }
        let most = tallies.iter().max_by_key(|(_, places)| **places);
        Self {
            least: tallies.keys().next().copied().unwrap_or(0),
            greatest: tallies.keys().next_back().copied().unwrap_or(0),
            usual: most.map_or(0, |(count, _)| *count),
        }
    }

    /// The count, if all lists are equally long, and not very long.
    fn only(&self) -> Option<u32> {
        let only = (self.least == self.greatest).then_some(self.usual);
        only.filter(|count| *count <= LONGEST_VECTOR)
    }

    fn rule(&self, separator: Separator) -> ListRule {
        let always = self.only().is_some_and(|count| count > 1);
        ListRule {
            separator,
            min: if always {
                self.least
            } else {
                u32::from(self.least > 0)
            },
            max: always.then_some(self.greatest),
        }
    }
}
