//! Texts that a terminal takes for nothing but texts. Names of files and what stands in them may hold characters that
//! move its cursor, colour it or turn its lines around: such become U+FFFD.

use std::borrow::Cow;
use std::path::Path;

/// A text of several lines.
pub(crate) fn text(text: &str) -> Cow<'_, str> {
    plain(text, |at, c| match c {
        '\n' | '\t' => false,
        '\r' => !text[at + 1..].starts_with('\n'),
        c => is_odd(c),
    })
}

/// A text that stands on one line.
pub(crate) fn line(text: &str) -> Cow<'_, str> {
    plain(text, |_, c| is_odd(c))
}

/// A file's name.
pub(crate) fn name(file: &Path) -> String {
    line(&file.to_string_lossy()).into_owned()
}

/// JSON that means the same: such characters stand in strings only.
pub(crate) fn json(json: &str) -> Cow<'_, str> {
    let is_odd = |c: char| !c.is_ascii() && is_odd(c);
    if !json.contains(is_odd) {
        return Cow::Borrowed(json);
    }
    json.chars()
        .map(|c| match is_odd(c) {
            true => format!("\\u{:04x}", u32::from(c)),
            false => c.to_string(),
        })
        .collect()
}

fn plain(text: &str, is_odd: impl Fn(usize, char) -> bool) -> Cow<'_, str> {
    if !text.char_indices().any(|(at, c)| is_odd(at, c)) {
        return Cow::Borrowed(text);
    }
    text.char_indices()
        .map(|(at, c)| match is_odd(at, c) {
            true => char::REPLACEMENT_CHARACTER,
            false => c,
        })
        .collect()
}

/// Control characters, and those that turn the direction of what is shown.
fn is_odd(c: char) -> bool {
    c.is_control() || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_terminal_would_obey_is_not_shown() {
        for (odd, plain) in [
            ("a\u{1b}[31m\u{7}b", "a\u{fffd}[31m\u{fffd}b"),
            ("a\u{9b}2J\u{85}\u{7f}", "a\u{fffd}2J\u{fffd}\u{fffd}"),
            ("lmx\u{202e}.a\u{2066}", "lmx\u{fffd}.a\u{fffd}"),
            ("a\rb\r\r\nc\td\n\r", "a\u{fffd}b\u{fffd}\r\nc\td\n\u{fffd}"),
        ] {
            assert_eq!(text(odd), plain);
        }
        let usual = "größe\u{200f} \u{5d0}\r\n\t日本\n";
        assert!(matches!(text(usual), Cow::Borrowed(same) if same == usual));
        assert_eq!(
            name(Path::new("a\nb\t\u{1b}c.xml")),
            "a\u{fffd}b\u{fffd}\u{fffd}c.xml"
        );
    }

    #[test]
    fn json_means_the_same() {
        let value = serde_json::json!({"a\u{9b}": "\u{202e}\u{1b}\u{7f}ä", "b": [1, "\n"]});
        let written = serde_json::to_string(&value).unwrap();
        let plain = json(&written);
        assert_eq!(
            serde_json::from_str::<serde_json::Value>(&plain).unwrap(),
            value
        );
        assert!(!plain.contains(['\u{9b}', '\u{202e}']), "{plain}");
    }
}
