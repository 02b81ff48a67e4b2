//! The character classes of XML 1.0 (fifth edition) and small scanners over them. All positions are byte offsets.

pub(crate) const NAME: u8 = 1;
pub(crate) const NAME_START: u8 = 2;
pub(crate) const SPACE: u8 = 4;
/// Ends a name in a tag: white space, `=`, `/`, `<`, `>`, quotes, `&`.
pub(crate) const DELIMITER: u8 = 8;
/// Part of a character outside ASCII; counts as `NAME` and `NAME_START` until it is looked at.
pub(crate) const WIDE: u8 = 16;
pub(crate) const COLON: u8 = 32;
/// Stands for another character in a value, or begins what does: `&`, white space but for the blank.
pub(crate) const REPLACED: u8 = 64;
/// `NAME` without colons and characters outside ASCII: nothing in it needs a look.
pub(crate) const SIMPLE_NAME: u8 = 128;

static CLASSES: [u8; 256] = classes();

const fn classes() -> [u8; 256] {
    let mut table = [0; 256];
    let mut byte = 0;
    while byte < 256 {
        let b = byte as u8;
        let mut class = 0;
        if b >= 0x80 {
            class |= WIDE | NAME | NAME_START;
        }
        if b.is_ascii_alphabetic() || b == b'_' || b == b':' {
            class |= NAME | NAME_START;
        }
        if b.is_ascii_digit() || b == b'-' || b == b'.' {
            class |= NAME;
        }
        if b == b':' {
            class |= COLON;
        }
        if matches!(b, b' ' | b'\t' | b'\r' | b'\n') {
            class |= SPACE | DELIMITER;
        }
        if matches!(b, b'=' | b'/' | b'<' | b'>' | b'"' | b'\'' | b'&') {
            class |= DELIMITER;
        }
        if matches!(b, b'&' | b'\t' | b'\r' | b'\n') {
            class |= REPLACED;
        }
        if class & (NAME | WIDE | COLON) == NAME {
            class |= SIMPLE_NAME;
        }
        table[byte] = class;
        byte += 1;
    }
    table
}

#[inline]
pub(crate) fn class(byte: u8) -> u8 {
    CLASSES[byte as usize]
}

#[inline]
pub(crate) fn is_space(byte: u8) -> bool {
    class(byte) & SPACE != 0
}

/// Whether the text is white space only (also when empty).
pub(crate) fn is_blank(text: &str) -> bool {
    text.bytes().all(is_space)
}

/// `Char`, production 2.
pub(crate) fn is_char(c: char) -> bool {
    matches!(c, '\t' | '\n' | '\r' | '\u{20}'..='\u{D7FF}' | '\u{E000}'..='\u{FFFD}' | '\u{10000}'..)
}

/// `NameStartChar`, production 4.
pub(crate) fn is_name_start(c: char) -> bool {
    if c.is_ascii() {
        return class(c as u8) & NAME_START != 0;
    }
    matches!(c,
        '\u{C0}'..='\u{D6}' | '\u{D8}'..='\u{F6}' | '\u{F8}'..='\u{2FF}' | '\u{370}'..='\u{37D}'
        | '\u{37F}'..='\u{1FFF}' | '\u{200C}'..='\u{200D}' | '\u{2070}'..='\u{218F}' | '\u{2C00}'..='\u{2FEF}'
        | '\u{3001}'..='\u{D7FF}' | '\u{F900}'..='\u{FDCF}' | '\u{FDF0}'..='\u{FFFD}' | '\u{10000}'..='\u{EFFFF}')
}

/// `NameChar`, production 4a.
pub(crate) fn is_name_char(c: char) -> bool {
    if c.is_ascii() {
        return class(c as u8) & NAME != 0;
    }
    is_name_start(c) || matches!(c, '\u{B7}' | '\u{300}'..='\u{36F}' | '\u{203F}'..='\u{2040}')
}

/// `Name`, production 5.
pub(crate) fn is_name(text: &str) -> bool {
    let bytes = text.as_bytes();
    let is_ascii_name = |byte: &u8| class(*byte) & (NAME | WIDE) == NAME;
    if bytes.iter().all(is_ascii_name) {
        return bytes
            .first()
            .is_some_and(|first| class(*first) & NAME_START != 0);
    }
    let mut chars = text.chars();
    chars.next().is_some_and(is_name_start) && chars.all(is_name_char)
}

/// Where the first colon in a name stands. Names are short and most have none: a plain loop finds that out sooner than a
/// search does.
#[inline]
pub(crate) fn colon(name: &str) -> Option<usize> {
    name.bytes().position(|byte| byte == b':')
}

/// `QName` of Namespaces in XML, production 7: a name with at most one colon, and a name on each side of it.
pub(crate) fn is_qualified_name(text: &str) -> bool {
    match colon(text) {
        None => is_name(text),
        Some(at) => {
            let (prefix, local) = (&text[..at], &text[at + 1..]);
            is_name(prefix) && is_name(local) && colon(local).is_none()
        }
    }
}

/// The end of the longest name that starts at `from`; `from` if there is none.
pub(crate) fn name_end(text: &str, from: usize) -> usize {
    let mut chars = text[from..].char_indices();
    match chars.next() {
        Some((_, c)) if is_name_start(c) => {}
        _ => return from,
    }
    from + chars
        .find(|&(_, c)| !is_name_char(c))
        .map_or(text.len() - from, |(at, _)| at)
}

#[inline]
pub(crate) fn skip_space(bytes: &[u8], mut at: usize) -> usize {
    while at < bytes.len() && is_space(bytes[at]) {
        at += 1;
    }
    at
}

/// Like `skip_space`, but stays on the line.
pub(crate) fn skip_blanks(bytes: &[u8], mut at: usize) -> usize {
    while at < bytes.len() && matches!(bytes[at], b' ' | b'\t') {
        at += 1;
    }
    at
}

/// Where the line that holds `at` ends, its line break not included.
pub(crate) fn line_end(bytes: &[u8], at: usize) -> usize {
    memchr::memchr2(b'\n', b'\r', &bytes[at..]).map_or(bytes.len(), |found| at + found)
}

/// The column of `at` in bytes, if only blanks stand before it on its line, and not more than anybody would put there.
pub(crate) fn indentation(bytes: &[u8], at: usize) -> Option<usize> {
    const DEEPEST: usize = 400;
    let mut start = at;
    while start > 0 && matches!(bytes[start - 1], b' ' | b'\t') && at - start <= DEEPEST {
        start -= 1;
    }
    let first = start == 0
        || matches!(bytes[start - 1], b'\n' | b'\r')
        || (start == 3 && bytes[..3] == *b"\xEF\xBB\xBF");
    first.then_some(at - start)
}

/// `text[..end]`, without the white space it ends in.
pub(crate) fn trim_end(bytes: &[u8], start: usize, mut end: usize) -> usize {
    while end > start && is_space(bytes[end - 1]) {
        end -= 1;
    }
    end
}

/// A name as it is shown in a message: not longer than a line.
pub(crate) fn shown(name: &str) -> std::borrow::Cow<'_, str> {
    const LONGEST: usize = 60;
    match name.char_indices().nth(LONGEST) {
        None => name.into(),
        Some((cut, _)) => format!("{}…", &name[..cut]).into(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_follow_the_fifth_edition() {
        for good in ["a", "_", ":", "a-b.c", "é", "名前", "a·", "\u{10000}x"] {
            assert!(is_name(good), "{good}");
        }
        for bad in [
            "",
            "1a",
            "-a",
            ".a",
            "a b",
            "·a",
            "×",
            "a\u{37E}",
            "\u{F0000}",
        ] {
            assert!(!is_name(bad), "{bad}");
        }
    }

    #[test]
    fn indentation_is_that_of_the_first_thing_on_a_line() {
        assert_eq!(indentation(b"a\n  <b", 4), Some(2));
        assert_eq!(indentation(b"a\n x<b", 4), None);
        assert_eq!(indentation(b"\xEF\xBB\xBF<b", 3), Some(0));
    }

    #[test]
    fn ascii_names_are_those_of_the_productions() {
        let starts = |c: char| c.is_ascii_alphabetic() || matches!(c, ':' | '_');
        let follows = |c: char| starts(c) || c.is_ascii_digit() || matches!(c, '-' | '.');
        let ascii = || (0..128u8).map(char::from);
        for (one, two) in ascii().flat_map(|one| ascii().map(move |two| (one, two))) {
            let is_one = starts(one) && follows(two);
            for name in [format!("{one}{two}"), format!("{one}{two}é")] {
                assert_eq!(is_name(&name), is_one, "{name:?}");
                assert_eq!(name_end(&name, 0) == name.len(), is_one, "{name:?}");
            }
        }
    }
}
