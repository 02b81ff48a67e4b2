//! Habits of writing that hold for all values: the decimal mark, words for answers.

use crate::corpus::Corpus;
use crate::survey::Group;
use crate::symbols::Symbol;
use crate::values::Values;
use dialect::{Dialect, Notation};

/// English for yes and no, in the order of preference. Letter case does not matter.
const ANSWERS: [(&str, &str); 6] = [
    ("true", "false"),
    ("yes", "no"),
    ("on", "off"),
    ("y", "n"),
    ("t", "f"),
    ("enabled", "disabled"),
];

/// The same as numbers; they count only beside words.
const AS_NUMBERS: (&str, &str) = ("1", "0");

/// How the values of some slots are written.
#[derive(Clone, Debug)]
pub struct Habits {
    /// A dialect that has nothing but the notation, to read and check values with.
    pub dialect: Dialect,
}

impl Habits {
    /// `slots`: the values of each slot.
    pub(crate) fn of<'v>(slots: impl Iterator<Item = &'v Values> + Clone, corpus: &Corpus) -> Self {
        let mut notation = Notation::default();
        notation.numbers.decimal_marks = decimal_marks(slots.clone(), corpus);
        (notation.yes, notation.no) = answers(slots, corpus);
        let mut dialect = Dialect::default();
        dialect.notation = notation;
        Self { dialect }
    }

    /// Of several decimal marks, that of some slots comes first: it is the one that is written.
    pub(crate) fn write_as<'v>(
        &mut self,
        slots: impl Iterator<Item = &'v Values> + Clone,
        corpus: &Corpus,
    ) {
        let own = decimal_marks(slots, corpus);
        let marks = &mut self.dialect.notation.numbers.decimal_marks;
        marks.sort_by_key(|mark| Some(mark) != own.first());
    }

    /// Decimal marks and answers as the library writes them; all else as where nothing is said.
    pub fn notation(&self) -> &Notation {
        &self.dialect.notation
    }

    pub(crate) fn reads_commas(&self) -> bool {
        self.notation().numbers.decimal_marks.contains(&',')
    }
}

/// What separates numbers of a row whatever the decimal mark.
const BETWEEN: [char; 6] = [' ', '\t', '\n', '\r', ';', '|'];

/// The decimal marks of a library, the usual one first.
fn decimal_marks<'v>(
    slots: impl Iterator<Item = &'v Values> + Clone,
    corpus: &Corpus,
) -> Vec<char> {
    let (mut points, mut commas) = (0_u32, 0_u32);
    for values in slots {
        let texts = || {
            values
                .each
                .iter()
                .take(1000)
                .map(|(value, _)| corpus.text(*value))
        };
        points +=
            u32::from(texts().any(|text| text.split(BETWEEN).any(|word| is_decimal(word, '.'))));
        commas += u32::from(has_decimal_commas(texts()));
    }
    match (points, commas) {
        (_, 0) => vec!['.'],
        (0, _) => vec![','],
        // One or the other is a slip of one author, or a list that looks like a number.
        (points, commas) if commas * 10 < points => vec!['.'],
        (points, commas) if points * 10 < commas => vec![','],
        (points, commas) if points >= commas => vec!['.', ','],
        _ => vec![',', '.'],
    }
}

/// `1,5` may be a number or two. It is one where whole numbers stand beside it, or where the second
/// would begin with a nought.
fn has_decimal_commas<'t>(texts: impl Iterator<Item = &'t str>) -> bool {
    let (mut whole, mut decimal, mut sure) = (false, false, false);
    for text in texts {
        for word in text.split(BETWEEN).filter(|word| !word.is_empty()) {
            if is_decimal(word, ',') {
                decimal = true;
                let after = word.split(',').next_back().unwrap_or_default();
                sure |= after.len() > 1 && after.starts_with('0');
            } else if word.parse::<i64>().is_ok() {
                whole = true;
            } else if word.chars().any(|c| c.is_alphanumeric()) {
                return false;
            }
        }
    }
    decimal && (whole || sure)
}

/// Digits, one mark, digits.
fn is_decimal(word: &str, mark: char) -> bool {
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|c| c.is_ascii_digit());
    let word = word.strip_prefix(['-', '+']).unwrap_or(word);
    word.split_once(mark)
        .is_some_and(|(whole, part)| (whole.is_empty() || digits(whole)) && digits(part))
}

/// Words for yes and for no; those seen most come first.
fn answers<'v>(
    slots: impl Iterator<Item = &'v Values> + Clone,
    corpus: &Corpus,
) -> (Vec<String>, Vec<String>) {
    let mut yes: Vec<(String, u32)> = Vec::new();
    let mut no: Vec<(String, u32)> = Vec::new();
    for values in slots {
        let Some((truths, pair)) = asked(values, corpus) else {
            continue;
        };
        for ((value, tally), truth) in values.each.iter().zip(truths) {
            let text = corpus.text(*value);
            let words = if truth { &mut yes } else { &mut no };
            match words.iter_mut().find(|(known, _)| known == text) {
                Some(known) => known.1 += tally.places,
                None => words.push((text.to_owned(), tally.places)),
            }
        }
        // Where only one answer was seen, the other is not unknown for that.
        for (word, words) in [(pair.0, &mut yes), (pair.1, &mut no)] {
            let is_missing = !words
                .iter()
                .any(|(known, _)| known.eq_ignore_ascii_case(word));
            if is_missing && values.each.len() == 1 {
                words.push((word.to_owned(), 0));
            }
        }
    }
    let words = |mut words: Vec<(String, u32)>, otherwise: &str| {
        words.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
        match words.is_empty() {
            true => vec![otherwise.to_owned()],
            false => words.into_iter().map(|(word, _)| word).collect(),
        }
    };
    (words(yes, ANSWERS[0].0), words(no, ANSWERS[0].1))
}

/// Whether values are all answers, of one pair of words: which each is.
fn asked(values: &Values, corpus: &Corpus) -> Option<(Vec<bool>, (&'static str, &'static str))> {
    if values.each.is_empty() || values.each.len() > 8 {
        return None;
    }
    ANSWERS.into_iter().find_map(|pair| {
        let truth = |value: Symbol| truth(corpus.text(value), pair);
        let worded = values.each.iter().any(|(value, _)| {
            !corpus
                .text(*value)
                .starts_with(|c: char| c.is_ascii_digit())
        });
        let truths: Option<Vec<bool>> =
            values.each.iter().map(|(value, _)| truth(*value)).collect();
        truths.filter(|_| worded).map(|truths| (truths, pair))
    })
}

fn truth(text: &str, (yes, no): (&str, &str)) -> Option<bool> {
    let is = |word: &str, number: &str| text.eq_ignore_ascii_case(word) || text == number;
    match (is(yes, AS_NUMBERS.0), is(no, AS_NUMBERS.1)) {
        (true, _) => Some(true),
        (_, true) => Some(false),
        _ => None,
    }
}

/// The trusted values of every slot of a group.
pub(crate) fn values_of(group: &Group) -> Vec<Values> {
    group
        .slots
        .iter()
        .map(|slot| Values::of([(group, slot)]))
        .collect()
}
