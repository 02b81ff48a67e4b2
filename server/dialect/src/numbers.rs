//! How numbers and rows of numbers are written.

use std::ops::Range;

/// What stands between the members of a row.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub enum Separator {
    /// Any run of white space; written as one blank.
    #[default]
    WhiteSpace,
    /// A fixed text; white space around it means nothing.
    Text(String),
}

impl Separator {
    /// The members of `text` with their byte ranges, trimmed of white space.
    /// Text that is empty or blank has no members; two separators in a row hold an empty one.
    pub fn split<'t>(&'t self, text: &'t str) -> impl Iterator<Item = Range<usize>> + 't {
        let (words, parts) = match self {
            Separator::WhiteSpace => (Some(text.split_whitespace()), None),
            Separator::Text(_) if text.trim().is_empty() => (None, None),
            Separator::Text(separator) => (None, Some(text.split(separator.as_str()))),
        };
        let words = words.into_iter().flatten();
        let parts = parts.into_iter().flatten();
        words
            .map(move |word| range_in(text, word))
            .chain(parts.map(move |part| trimmed_range(text, part)))
    }

    /// What to write between two members.
    pub fn written(&self) -> &str {
        match self {
            Separator::WhiteSpace => " ",
            Separator::Text(separator) => separator,
        }
    }
}

/// Byte range of a subslice.
fn range_in(text: &str, part: &str) -> Range<usize> {
    let start = part.as_ptr() as usize - text.as_ptr() as usize;
    start..start + part.len()
}

/// Byte range of a subslice without the white space around it.
pub(crate) fn trimmed_range(text: &str, part: &str) -> Range<usize> {
    let trimmed = part.trim();
    if trimmed.is_empty() {
        return range_in(text, part);
    }
    range_in(text, trimmed)
}

/// How a dialect writes numbers.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NumberNotation {
    /// The marks read between whole part and decimals. The first is the one to write.
    /// Never empty.
    pub decimal_marks: Vec<char>,
    /// Decimals to write at least: 1 makes `2` into `2.0`.
    pub least_decimals: usize,
    /// Decimals to write at most; rounds.
    pub most_decimals: Option<usize>,
    /// What stands between the numbers of a vector where nothing else is said.
    pub vector_separator: Separator,
}

impl Default for NumberNotation {
    fn default() -> Self {
        Self {
            decimal_marks: vec!['.'],
            least_decimals: 0,
            most_decimals: None,
            vector_separator: Separator::WhiteSpace,
        }
    }
}

impl NumberNotation {
    /// The number that `text` says, white space around it ignored. Sign, decimals and
    /// an exponent are understood; `inf` and `nan` are not numbers.
    pub fn read(&self, text: &str) -> Option<f64> {
        let text = text.trim();
        let mut is_plain = true;
        for c in text.chars() {
            match c {
                '0'..='9' | '+' | '-' | 'e' | 'E' => {}
                c if self.decimal_marks.contains(&c) => is_plain &= c == '.',
                _ => return None,
            }
        }
        let number: f64 = match is_plain {
            true => text.parse(),
            false => text.replace(self.decimal_marks.as_slice(), ".").parse(),
        }
        .ok()?;
        number.is_finite().then_some(number)
    }

    /// Whether a mark could be a part of a number, so that it cannot stand
    /// between numbers. `..` and `->` could not: no number has two decimal
    /// marks, or a `>`.
    pub(crate) fn may_contain(&self, mark: &str) -> bool {
        let is_decimal_mark = |c: &char| self.decimal_marks.contains(c);
        let in_number = |c: char| c.is_ascii_digit() || "+-eE".contains(c) || is_decimal_mark(&c);
        mark.chars().all(in_number) && mark.chars().filter(is_decimal_mark).count() <= 1
    }

    /// The numbers of a row.
    pub fn read_row(&self, text: &str, separator: &Separator) -> Option<Vec<f64>> {
        let parts = separator.split(text);
        parts.map(|part| self.read(&text[part])).collect()
    }

    /// The shortest text for a number, without exponent, in the dialect's habit.
    ///
    /// Fifteen significant digits are kept: every decimal of that length comes back
    /// unchanged, and the noise of computing (`0.30000000000000004`) does not show.
    pub fn write(&self, number: f64) -> String {
        if !number.is_finite() {
            return String::from("0");
        }
        let rounded: f64 = format!("{number:.14e}").parse().unwrap_or(number);
        let mut text = match self.most_decimals {
            Some(most) => {
                let shortest = format!("{rounded}");
                let decimals = shortest.split_once('.').map_or(0, |(_, d)| d.len());
                if decimals > most {
                    let text = format!("{rounded:.most$}");
                    match text.contains('.') {
                        true => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
                        false => text,
                    }
                } else {
                    shortest
                }
            }
            None => format!("{rounded}"),
        };
        if text == "-0" {
            text = String::from("0");
        }
        let decimals = text.split_once('.').map_or(0, |(_, d)| d.len());
        if decimals < self.least_decimals {
            if decimals == 0 {
                text.push('.');
            }
            text.extend(std::iter::repeat_n('0', self.least_decimals - decimals));
        }
        match self.decimal_marks.first() {
            Some('.') | None => text,
            Some(mark) => text.replace('.', mark.to_string().as_str()),
        }
    }

    /// A row of numbers.
    pub fn write_row(&self, numbers: &[f64], separator: &Separator) -> String {
        let written: Vec<String> = numbers.iter().map(|number| self.write(*number)).collect();
        written.join(separator.written())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn comma() -> NumberNotation {
        NumberNotation {
            decimal_marks: vec![','],
            ..NumberNotation::default()
        }
    }

    #[test]
    fn numbers_are_read_by_the_dialects_mark() {
        let plain = NumberNotation::default();
        assert_eq!(plain.read(" -1.5 "), Some(-1.5));
        assert_eq!(plain.read("+.5"), Some(0.5));
        assert_eq!(plain.read("2."), Some(2.0));
        assert_eq!(plain.read("1e3"), Some(1000.0));
        assert_eq!(comma().read("1,25"), Some(1.25));
        for bad in [
            "", "1,5", "abc", "inf", "NaN", "1 2", "0x10", "1e999", "--1", "1.2.3",
        ] {
            assert_eq!(plain.read(bad), None, "{bad}");
        }
        assert_eq!(comma().read("1.25"), None);
    }

    #[test]
    fn numbers_are_written_short_and_without_exponent() {
        let plain = NumberNotation::default();
        assert_eq!(plain.write(0.1 + 0.2), "0.3");
        assert_eq!(plain.write(0.07 / 0.01), "7");
        assert_eq!(plain.write(-0.0), "0");
        assert_eq!(plain.write(1e-7), "0.0000001");
        assert_eq!(plain.write(1e15), "1000000000000000");
        assert_eq!(comma().write(-2.5), "-2,5");
    }

    #[test]
    fn decimals_follow_the_habit() {
        let habit = NumberNotation {
            least_decimals: 1,
            most_decimals: Some(3),
            ..NumberNotation::default()
        };
        assert_eq!(habit.write(2.0), "2.0");
        assert_eq!(habit.write(1.23456), "1.235");
        assert_eq!(habit.write(-0.00001), "0.0");
        assert_eq!(habit.write(0.25), "0.25");
    }

    #[test]
    fn rows_split_with_places() {
        let text = " 1;  2 ;3 ";
        let semicolon = Separator::Text(";".into());
        let parts = semicolon.split(text);
        let words: Vec<&str> = parts.into_iter().map(|part| &text[part]).collect();
        assert_eq!(words, ["1", "2", "3"]);
        assert_eq!(Separator::WhiteSpace.split("  \n ").count(), 0);
        assert_eq!(semicolon.split("  \n ").count(), 0);
        let places: Vec<_> = Separator::WhiteSpace.split("é 2").collect();
        assert_eq!(places, [0..2, 3..4]);
    }
}
