//! How numbers and rows of numbers are written.

use std::ops::Range;
use std::str::Split;

/// Digits and mark of a number that is read in one go.
const SHORT: usize = 17;

/// All of these are exact.
const POWERS_OF_TEN: [f64; SHORT] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16,
];

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
        let rest = match self {
            Separator::WhiteSpace => Rest::Words(0),
            Separator::Text(_) if is_blank(text) => Rest::Words(text.len()),
            Separator::Text(separator) => Rest::Parts(text.split(separator.as_str())),
        };
        Members { text, rest }
    }

    /// What to write between two members.
    pub fn written(&self) -> &str {
        match self {
            Separator::WhiteSpace => " ",
            Separator::Text(separator) => separator,
        }
    }
}

/// The members of a row that are still to come.
struct Members<'t> {
    text: &'t str,
    rest: Rest<'t>,
}

enum Rest<'t> {
    /// Words from there on.
    Words(usize),
    Parts(Split<'t, &'t str>),
}

impl Iterator for Members<'_> {
    type Item = Range<usize>;

    fn next(&mut self) -> Option<Range<usize>> {
        match &mut self.rest {
            Rest::Words(at) => {
                let is_space = u8::is_ascii_whitespace;
                let bytes = self.text.as_bytes();
                let start = *at + bytes[*at..].iter().position(|byte| !is_space(byte))?;
                let word = &bytes[start..];
                *at = start + word.iter().position(is_space).unwrap_or(word.len());
                Some(start..*at)
            }
            Rest::Parts(parts) => parts.next().map(|part| trimmed_range(self.text, part)),
        }
    }
}

/// The text without the white space around it, which is that of XML: a no-break space is a letter like others. Most texts
/// have none, and one look at each end shows that.
pub(crate) fn trimmed(text: &str) -> &str {
    let is_mark = |byte: Option<&u8>| byte.is_some_and(u8::is_ascii_graphic);
    let bytes = text.as_bytes();
    match is_mark(bytes.first()) && is_mark(bytes.last()) {
        true => text,
        false => text.trim_ascii(),
    }
}

/// Whether there is nothing but white space.
pub(crate) fn is_blank(text: &str) -> bool {
    trimmed(text).is_empty()
}

/// Byte range of a subslice.
pub(crate) fn range_in(text: &str, part: &str) -> Range<usize> {
    let start = part.as_ptr() as usize - text.as_ptr() as usize;
    start..start + part.len()
}

/// Byte range of a subslice without the white space around it.
pub(crate) fn trimmed_range(text: &str, part: &str) -> Range<usize> {
    let inner = trimmed(part);
    if inner.is_empty() {
        return range_in(text, part);
    }
    range_in(text, inner)
}

/// Adds digits to a number, up to what is none: gives back what stands there. There must be so few that all have room.
fn add_digits<'t>(number: &mut u64, mut text: &'t [u8]) -> &'t [u8] {
    while let [digit @ b'0'..=b'9', behind @ ..] = text {
        *number = 10 * *number + u64::from(digit - b'0');
        text = behind;
    }
    text
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
        let text = trimmed(text);
        if let Some(number) = self.read_short(text) {
            return Some(number);
        }
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

    /// A number of few digits and without exponent, as nearly all are written; None for any other text. Two numbers
    /// that are exact are divided by each other, so that the result is rounded as `parse` rounds (Clinger, How to read
    /// floating point numbers accurately, 1990).
    fn read_short(&self, text: &str) -> Option<f64> {
        let (is_negative, digits) = match text.as_bytes() {
            [b'-', digits @ ..] => (true, digits),
            [b'+', digits @ ..] => (false, digits),
            digits => (false, digits),
        };
        if digits.len() > SHORT {
            return None;
        }
        let mut number = 0;
        let behind = add_digits(&mut number, digits);
        let decimals = match behind {
            [] => behind,
            [mark, decimals @ ..] if self.is_decimal_mark(*mark) => decimals,
            _ => return None,
        };
        let is_whole = add_digits(&mut number, decimals).is_empty();
        let has_digits = digits.len() - behind.len() + decimals.len() > 0;
        if !is_whole || !has_digits || number > 1 << f64::MANTISSA_DIGITS {
            return None;
        }
        let decimals = decimals.len();
        let number = number as f64 / POWERS_OF_TEN[decimals];
        Some(if is_negative { -number } else { number })
    }

    fn is_decimal_mark(&self, byte: u8) -> bool {
        byte.is_ascii() && self.decimal_marks.contains(&char::from(byte))
    }

    /// Whether a mark could be a part of a number, so that it cannot stand
    /// between numbers. `..` and `->` could not: no number has two decimal
    /// marks, or a `>`.
    pub fn may_contain(&self, mark: &str) -> bool {
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
    fn short_numbers_are_read_as_the_library_reads_them() {
        let mut seed = 1_u64;
        let mut random = |below: u64| {
            seed = seed
                .wrapping_mul(6364136223846793005)
                .wrapping_add(1442695040888963407);
            (seed >> 33) % below
        };
        let plain = NumberNotation::default();
        let mut short = 0;
        for _ in 0..20_000 {
            let length = random(20);
            let letters = (0..length).map(|_| b"0123456789.-"[random(12) as usize]);
            let text: String = letters.map(char::from).collect();
            let text = format!("{}{text}", ["", "-", "+"][random(3) as usize]);
            let expected = text.parse().ok().map(f64::to_bits);
            assert_eq!(plain.read(&text).map(f64::to_bits), expected, "{text}");
            short += usize::from(plain.read_short(&text).is_some());
        }
        assert!(short > 4_000, "{short}");
        for text in [
            "9007199254740993",
            "0.1",
            "-0",
            "123456789.12345678",
            "1.",
            ".",
            "-",
            "",
        ] {
            let expected = text.parse().ok().map(f64::to_bits);
            assert_eq!(plain.read(text).map(f64::to_bits), expected, "{text}");
        }
        assert_eq!(comma().read("-0,3"), Some(-0.3));
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

    #[test]
    fn only_white_space_of_xml_is_white_space() {
        let words = |text| Separator::WhiteSpace.split(text).count();
        assert_eq!((words("1\t2\r\n3"), words("1\u{a0}2\u{3000}3")), (3, 1));
        assert_eq!(trimmed(" \t12\r\n"), "12");
        assert_eq!(trimmed("12\u{a0} "), "12\u{a0}");
    }
}
