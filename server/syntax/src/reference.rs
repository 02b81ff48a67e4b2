//! References: `&name;`, `&#65;`, `&#x41;`.

use std::borrow::Cow;
use std::collections::HashMap;

use crate::chars;

#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub(crate) enum Reference<'s> {
    Character(char),
    Entity(&'s str),
    /// A number that is no character, or no number at all.
    NoCharacter,
    /// A name or number without the `;`.
    Unfinished,
    /// An `&` that stands alone.
    Ampersand,
}

/// Reads the reference whose `&` is at `at`. Gives what it is and where it ends.
pub(crate) fn read(text: &str, at: usize) -> (Reference<'_>, usize) {
    let bytes = text.as_bytes();
    let start = at + 1;
    if bytes.get(start) == Some(&b'#') {
        return number(text, start + 1);
    }
    let end = chars::name_end(text, start);
    if end == start {
        (Reference::Ampersand, start)
    } else if bytes.get(end) == Some(&b';') {
        (Reference::Entity(&text[start..end]), end + 1)
    } else {
        (Reference::Unfinished, end)
    }
}

fn number(text: &str, start: usize) -> (Reference<'_>, usize) {
    let bytes = text.as_bytes();
    let (radix, digits) = match bytes.get(start) {
        Some(b'x') => (16, start + 1),
        _ => (10, start),
    };
    let mut end = digits;
    let mut code = 0u32;
    while let Some(digit) = bytes.get(end).and_then(|&b| char::from(b).to_digit(radix)) {
        code = code.saturating_mul(radix).saturating_add(digit);
        end += 1;
    }
    if bytes.get(end) != Some(&b';') {
        return (Reference::Unfinished, end);
    }
    match char::from_u32(code).filter(|&c| chars::is_char(c) && end > digits) {
        Some(c) => (Reference::Character(c), end + 1),
        None => (Reference::NoCharacter, end + 1),
    }
}

/// The five entities that need no declaration.
pub(crate) fn predefined(name: &str) -> Option<char> {
    Some(match name {
        "lt" => '<',
        "gt" => '>',
        "amp" => '&',
        "apos" => '\'',
        "quot" => '"',
        _ => return None,
    })
}

/// What the reference at the start of `text` stands for, as far as the text alone tells.
fn meaning(text: &str) -> (Option<char>, usize) {
    let (reference, end) = read(text, 0);
    let c = match reference {
        Reference::Character(c) => Some(c),
        Reference::Entity(name) => predefined(name),
        _ => None,
    };
    (c, end)
}

/// Whether there is a reference whose meaning the document would have to declare.
pub(crate) fn names_entity(text: &str) -> bool {
    let mut ampersands = memchr::memchr_iter(b'&', text.as_bytes());
    ampersands.any(
        |at| matches!(read(text, at), (Reference::Entity(name), _) if predefined(name).is_none()),
    )
}

/// `text` with the texts of these entities in the place of references to them; all else stays as it is.
pub(crate) fn expanded(text: &str, plain: &HashMap<String, String>) -> String {
    let mut out = String::with_capacity(text.len());
    let mut done = 0;
    for at in memchr::memchr_iter(b'&', text.as_bytes()) {
        let (reference, end) = read(text, at);
        if let Reference::Entity(name) = reference
            && let Some(meant) = plain.get(name)
        {
            out.push_str(&text[done..at]);
            out.push_str(meant);
            done = end;
        }
    }
    out + &text[done..]
}

/// `text` with its character references and predefined entities resolved; all else stays as it is.
pub(crate) fn resolved(text: &str) -> Cow<'_, str> {
    replaced(text, |_| None)
}

/// A value as a processor would hand it on: each white space character is a space, references are resolved.
pub(crate) fn normalized(value: &str) -> Cow<'_, str> {
    if !value
        .bytes()
        .any(|b| chars::class(b) & chars::REPLACED != 0)
    {
        // Nearly all; asked of all.
        return value.into();
    }
    replaced(value, |c| matches!(c, '\t' | '\n' | '\r').then_some(' '))
}

fn replaced(text: &str, replace: impl Fn(char) -> Option<char>) -> Cow<'_, str> {
    // All that is ever replaced is ASCII.
    let is_special = |byte| byte == b'&' || byte == b'\r' || replace(char::from(byte)).is_some();
    if !text.bytes().any(is_special) {
        return text.into();
    }
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(c) = rest.chars().next() {
        let mut used = c.len_utf8();
        match c {
            '&' => {
                let (meant, end) = meaning(rest);
                match meant {
                    Some(c) => out.push(c),
                    None => out.push_str(&rest[..end]),
                }
                used = end;
            }
            // A line break is one character, however it is written (section 2.11).
            '\r' => {
                out.push(replace('\n').unwrap_or('\n'));
                used += usize::from(rest[1..].starts_with('\n'));
            }
            c => out.push(replace(c).unwrap_or(c)),
        }
        rest = &rest[used..];
    }
    out.into()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn references_end_at_their_semicolon() {
        assert_eq!(read("&amp;x", 0), (Reference::Entity("amp"), 5));
        assert_eq!(read("&#65;", 0), (Reference::Character('A'), 5));
        assert_eq!(read("&#x1F600;", 0), (Reference::Character('😀'), 9));
        assert_eq!(read("&#0;", 0), (Reference::NoCharacter, 4));
        assert_eq!(read("&#x110000;", 0), (Reference::NoCharacter, 10));
        assert_eq!(read("&#X41;", 0), (Reference::Unfinished, 2));
        assert_eq!(read("&#;", 0), (Reference::NoCharacter, 3));
        assert_eq!(read("&amp", 0), (Reference::Unfinished, 4));
        assert_eq!(read("& ", 0), (Reference::Ampersand, 1));
    }

    #[test]
    fn entities_of_the_document_are_told_from_others() {
        for text in ["&mine;", "a&lt;b&mine;c", "& &x;"] {
            assert!(names_entity(text), "{text}");
        }
        for text in ["", "plain", "&lt;&#65;&#x41;", "&mine", "& mine;", "a & b"] {
            assert!(!names_entity(text), "{text}");
        }
    }

    #[test]
    fn values_are_normalized_and_references_resolved() {
        assert_eq!(normalized("a\r\nb\tc&#10;d&amp;&mine;"), "a b c\nd&&mine;");
        assert_eq!(resolved("a\r\nb\rc&lt;&"), "a\nb\nc<&");
        assert!(matches!(normalized("plain"), Cow::Borrowed(_)));
    }
}
