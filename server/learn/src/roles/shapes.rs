//! How values are built: numbers, what stands between them, words.

use dialect::NumberNotation;

/// One end of a motion, or a plain value.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Value {
    Number(f64),
    Vector([f64; 3]),
    Word(String),
}

impl Value {
    /// Whether two values are built alike.
    pub(super) fn is_like(&self, other: &Self) -> bool {
        std::mem::discriminant(self) == std::mem::discriminant(other)
    }

    pub(super) fn number(&self) -> Option<f64> {
        match self {
            Self::Number(number) => Some(*number),
            _ => None,
        }
    }

    pub(super) fn vector(&self) -> Option<[f64; 3]> {
        match self {
            Self::Vector(vector) => Some(*vector),
            _ => None,
        }
    }
}

/// What stands between the parts of a value; `" "` is white space.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Default)]
pub(super) struct Marks {
    /// Between two values.
    pub(super) outer: Option<String>,
    /// Between the numbers of a vector.
    pub(super) inner: Option<String>,
}

/// A value read as one.
pub(super) fn single(text: &str, numbers: &NumberNotation) -> Option<(Value, Marks)> {
    let (row, gaps) = match row(text, numbers) {
        Some(row) => row,
        None => return word(text).map(|word| (Value::Word(word), Marks::default())),
    };
    match (row.as_slice(), gaps.as_slice()) {
        ([number], _) => Some((Value::Number(*number), Marks::default())),
        ([x, y, z], [one, other]) if one == other && separates(one, numbers) => {
            let inner = Some(one.clone());
            let marks = Marks { outer: None, inner };
            Some((Value::Vector([*x, *y, *z]), marks))
        }
        _ => None,
    }
}

/// A value read as a list of two.
pub(super) fn pair(text: &str, numbers: &NumberNotation) -> Option<([Value; 2], Marks)> {
    let Some((row, gaps)) = row(text, numbers) else {
        return words(text);
    };
    match (row.as_slice(), gaps.as_slice()) {
        ([one, other], [gap]) if gap == "-" || separates(gap, numbers) => {
            let marks = Marks {
                outer: Some(gap.clone()),
                inner: None,
            };
            Some(([Value::Number(*one), Value::Number(*other)], marks))
        }
        ([a, b, c, d, e, f], [one, two, outer, three, four])
            if one == two
                && two == three
                && three == four
                && [one, outer].iter().all(|mark| separates(mark, numbers)) =>
        {
            let marks = Marks {
                outer: Some(outer.clone()),
                inner: Some(one.clone()),
            };
            let values = [[*a, *b, *c], [*d, *e, *f]].map(Value::Vector);
            Some((values, marks))
        }
        _ => None,
    }
}

/// Whether a dialect may say that a mark stands between numbers. A minus may where none is negative, which only
/// [`pair`] takes for possible.
fn separates(mark: &str, numbers: &NumberNotation) -> bool {
    !numbers.may_contain(mark)
}

/// Numbers, and what stands between them; `None` if there is anything else.
pub(crate) fn row(text: &str, notation: &NumberNotation) -> Option<(Vec<f64>, Vec<String>)> {
    let mut rest = text.trim();
    let (mut row, mut gaps) = (Vec::new(), Vec::new());
    loop {
        let end = number_end(rest, notation)?;
        row.push(notation.read(&rest[..end])?);
        rest = &rest[end..];
        if rest.is_empty() {
            return Some((row, gaps));
        }
        let gap = rest.find(|c: char| c.is_ascii_digit())?;
        // A sign or a mark right before the digits belongs to the number, unless a number ends there.
        let mut start = gap;
        let mut before = rest[..gap].chars().rev();
        let mut last = before.next();
        if let Some(mark) = last.filter(|mark| notation.decimal_marks.contains(mark))
            && before.clone().next().is_some_and(|c| c != mark)
        {
            start -= mark.len_utf8();
            last = before.next();
        }
        if let Some(sign) = last.filter(|c| "+-".contains(*c))
            && start > sign.len_utf8()
        {
            start -= sign.len_utf8();
        }
        let mark = rest[..start].trim();
        if mark.len() > 5 || mark.chars().any(char::is_alphanumeric) {
            return None;
        }
        gaps.push(match mark {
            "" => " ".to_owned(),
            mark => mark.to_owned(),
        });
        rest = &rest[start..];
        if row.len() > 16 {
            return None;
        }
    }
}

/// Where the number that a text begins with ends.
fn number_end(text: &str, notation: &NumberNotation) -> Option<usize> {
    let bytes = text.as_bytes();
    let digits = |from: usize| {
        let digits = bytes[from.min(bytes.len())..].iter();
        digits.take_while(|byte| byte.is_ascii_digit()).count()
    };
    let mut at = usize::from(text.starts_with(['+', '-']));
    let whole = digits(at);
    at += whole;
    let mut part = 0;
    if let Some(mark) = text[at..].chars().next()
        && notation.decimal_marks.contains(&mark)
    {
        part = digits(at + mark.len_utf8());
        at += if part > 0 { mark.len_utf8() + part } else { 0 };
    }
    if whole + part == 0 {
        return None;
    }
    if matches!(bytes.get(at), Some(b'e' | b'E')) {
        let sign = usize::from(matches!(bytes.get(at + 1), Some(b'+' | b'-')));
        let exponent = digits(at + 1 + sign);
        at += if exponent > 0 { 1 + sign + exponent } else { 0 };
    }
    Some(at)
}

/// A word: letters first, no blanks.
fn word(text: &str) -> Option<String> {
    let text = text.trim();
    let fits = text.len() <= 24
        && text.starts_with(char::is_alphabetic)
        && text
            .chars()
            .all(|c| c.is_alphanumeric() || matches!(c, '-' | '_' | '.'));
    fits.then(|| text.to_owned())
}

/// Two words with a mark or a blank between them.
fn words(text: &str) -> Option<([Value; 2], Marks)> {
    let text = text.trim();
    let is_letter = |c: char| c.is_alphanumeric();
    let end = text.find(|c| !is_letter(c))?;
    let start = text[end..].find(is_letter)? + end;
    let (one, other) = (word(&text[..end])?, &text[start..]);
    if !other.chars().all(is_letter) {
        return None;
    }
    let other = word(other)?;
    let outer = match text[end..start].trim() {
        "" => " ".to_owned(),
        mark => mark.to_owned(),
    };
    let marks = Marks {
        outer: Some(outer),
        inner: None,
    };
    Some(([Value::Word(one), Value::Word(other)], marks))
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
    fn values_are_read_whatever_stands_between_them() {
        let plain = NumberNotation::default();
        let vector = |text, notation: &NumberNotation| single(text, notation);
        let marks = |inner: &str| Marks {
            outer: None,
            inner: Some(inner.to_owned()),
        };
        for (text, notation, mark) in [
            ("1 -2.5 .5", &plain, " "),
            ("1;-2,5;0,5", &comma(), ";"),
            ("1 / -2.5 / 0.5", &plain, "/"),
            ("1,-2.5,.5", &plain, ","),
        ] {
            let expected = (Value::Vector([1.0, -2.5, 0.5]), marks(mark));
            assert_eq!(vector(text, notation), Some(expected), "{text}");
        }
        assert_eq!(single("1 2", &plain), None);
        assert_eq!(
            single("aye", &plain).map(|(value, _)| value),
            Some(Value::Word("aye".into()))
        );
    }

    #[test]
    fn lists_of_two_are_read() {
        let outer = |text: &str, notation: &NumberNotation| {
            let (values, marks) = pair(text, notation)?;
            Some((values, marks.outer.unwrap_or_default()))
        };
        let plain = NumberNotation::default();
        let numbers = [0.0, 2000.0].map(Value::Number);
        for (text, mark) in [("0..2000", ".."), ("0 -> 2000", "->"), ("0 2000", " ")] {
            let expected = Some((numbers.clone(), mark.to_owned()));
            assert_eq!(outer(text, &plain), expected, "{text}");
        }
        let vectors = [[-6.0, 0.0, 4.0], [-8.5, 0.0, 4.0]].map(Value::Vector);
        for text in ["-6;0;4 -> -8,5;0;4", "-6;0;4->-8,5;0;4"] {
            let expected = Some((vectors.clone(), "->".to_owned()));
            assert_eq!(outer(text, &comma()), expected, "{text}");
        }
        let words = ["nay", "aye"].map(|word| Value::Word(word.into()));
        assert_eq!(outer("nay | aye", &plain), Some((words, "|".to_owned())));
        assert_eq!(outer("one two three", &plain), None);
    }
}
