//! Where the value of an attribute ends, also when its quote is lost.

use crate::chars::{self, is_space};

#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub(crate) enum Ending {
    /// At this quote.
    Quote(usize),
    /// At the quote `end`, although something odd follows. The text up to `read_to` was looked at to decide that.
    QuoteBefore { end: usize, read_to: usize },
    /// At the quote `end`, although there is a `<` before it.
    QuoteAfterMarkup { end: usize, less_than: usize },
    /// At `end`, without a quote. The text up to `read_to` was looked at to decide that.
    Lost { end: usize, read_to: usize },
}

/// The end of the value whose opening quote is at `open`.
///
/// What well-formed XML could be is taken as it is. Otherwise the quote counts as lost where the text up to the next
/// quote cannot be meant: it runs into other tags, over lines, or into the next `name=`.
#[inline]
pub(crate) fn ending(text: &str, open: usize) -> Ending {
    let bytes = text.as_bytes();
    let start = open + 1;
    let quote = bytes[open];
    let mut at = start;
    let found = loop {
        match bytes.get(at) {
            None => break None,
            Some(&b) if b == quote || b == b'<' => break Some(at),
            Some(_) => at += 1,
        }
    };
    match found {
        Some(end) if bytes[end] == quote && is_separated(bytes, end + 1) => Ending::Quote(end),
        found => unusual(text, open, found),
    }
}

fn is_separated(bytes: &[u8], at: usize) -> bool {
    bytes
        .get(at)
        .is_none_or(|&b| is_space(b) || matches!(b, b'>' | b'/' | b'?'))
}

#[cold]
fn unusual(text: &str, open: usize, found: Option<usize>) -> Ending {
    let bytes = text.as_bytes();
    let start = open + 1;
    let quote = bytes[open];
    let Some(stop) = found else {
        return lost(text, start, bytes.len(), bytes.len() + 1);
    };
    if bytes[stop] == quote {
        let value = &bytes[start..stop];
        let odd = value.iter().any(|b| matches!(b, b'\n' | b'\r' | b'>'));
        let (tag_end, line_end) = if odd {
            tag_end(text, start)
        } else {
            (stop, stop)
        };
        if tag_end < stop || ends_with_name_and_equals(text, start, stop) {
            return lost(text, start, stop, stop + 2);
        }
        return Ending::QuoteBefore {
            end: stop,
            read_to: line_end + 1,
        };
    }
    let has_break = |bytes: &[u8]| memchr::memchr2(b'\n', b'\r', bytes).is_some();
    let next = memchr::memchr3(quote, b'\n', b'\r', &bytes[stop..])
        .map_or(bytes.len(), |found| stop + found);
    if !has_break(&bytes[start..stop])
        && bytes.get(next) == Some(&quote)
        && is_separated(bytes, next + 1)
        && !ends_with_name_and_equals(text, start, next)
    {
        return Ending::QuoteAfterMarkup {
            end: next,
            less_than: stop,
        };
    }
    lost(text, start, stop, next + 2)
}

/// The end of a value that no quote ends and that starts at `start`: before the next attribute, before the end of the
/// tag, or at the end of the line, and in any case before `stop`.
fn lost(text: &str, start: usize, stop: usize, read_to: usize) -> Ending {
    let bytes = text.as_bytes();
    let (tag_end, line_end) = tag_end(text, start);
    let line = chars::line_end(&bytes[..stop], start).min(tag_end);
    let mut end = None;
    let mut at = start;
    while at < line && end.is_none() {
        if is_space(bytes[at]) {
            let name = chars::skip_space(bytes, at);
            if name < line && starts_an_attribute(text, name) {
                end = Some(at);
            }
            at = name;
        } else {
            at += 1;
        }
    }
    let end = end.unwrap_or_else(|| chars::trim_end(bytes, start, line));
    Ending::Lost {
        end,
        read_to: read_to.max(line_end + 1),
    }
}

/// No farther than this a value without quotes is looked at: hostile lines are long.
const FARTHEST: usize = 1024;

/// Where the tag around `start` seems to end, before its `/>` or `>`, and where the line does, or the next tag starts.
/// A `>` before a `/>` belongs to a value: dialects write `->`.
fn tag_end(text: &str, start: usize) -> (usize, usize) {
    let rest = &text[start..text.floor_char_boundary(start + FARTHEST)];
    let line = memchr::memchr3(b'<', b'\n', b'\r', rest.as_bytes()).unwrap_or(rest.len());
    let line = &rest.as_bytes()[..line];
    let closed = memchr::memmem::find(line, b"/>").or_else(|| memchr::memchr(b'>', line));
    (start + closed.unwrap_or(line.len()), start + line.len())
}

/// Whether `name="` or the like starts at `at`.
fn starts_an_attribute(text: &str, at: usize) -> bool {
    let bytes = text.as_bytes();
    let end = chars::name_end(text, at);
    let equals = chars::skip_blanks(bytes, end);
    end > at
        && bytes.get(equals) == Some(&b'=')
        && matches!(
            bytes.get(chars::skip_blanks(bytes, equals + 1)),
            Some(b'"' | b'\'')
        )
}

/// Whether `text[start..end]` ends in white space or nothing, a name, and `=`.
fn ends_with_name_and_equals(text: &str, start: usize, end: usize) -> bool {
    let bytes = text.as_bytes();
    let Some(before_equals) = chars::trim_end(bytes, start, end)
        .checked_sub(1)
        .filter(|&at| at >= start && bytes[at] == b'=')
    else {
        return false;
    };
    let name_end = chars::trim_end(bytes, start, before_equals);
    let name_start = bytes[start..name_end]
        .iter()
        .rposition(|&b| is_space(b))
        .map_or(start, |found| start + found + 1);
    name_start > start && chars::is_name(&text[name_start..name_end])
}

/// Quotes that word processors put in.
fn is_typographic(c: char) -> bool {
    matches!(
        c,
        '“' | '”' | '„' | '‟' | '«' | '»' | '‘' | '’' | '‚' | '`' | '´'
    )
}

/// The end of a value without an opening quote, or with a typographic one, and how far the text was read to find it.
pub(crate) fn unquoted_end(text: &str, start: usize) -> (usize, usize) {
    let (tag_end, line_end) = tag_end(text, start);
    (unquoted_end_before(text, start, tag_end), line_end + 1)
}

fn unquoted_end_before(text: &str, start: usize, tag_end: usize) -> usize {
    let bytes = text.as_bytes();
    let rest = &text[start..tag_end];
    if rest.starts_with(is_typographic) {
        let mut chars = rest.char_indices().skip(1);
        let stops = |c: char| is_typographic(c) || matches!(c, '"' | '\'');
        if let Some((at, c)) = chars.find(|&(_, c)| stops(c))
            && is_typographic(c)
        {
            return start + at + c.len_utf8();
        }
    }
    // A closing quote without an opening one.
    if let Some(quote) = memchr::memchr2(b'"', b'\'', rest.as_bytes()) {
        let end = start + quote;
        let is_lone = quote > 0 && is_separated(bytes, end + 1);
        if is_lone && !rest[..quote].contains('=') {
            return end + 1;
        }
    }
    // No quote at all: up to the next attribute, or to the end of the tag.
    let mut at = start;
    while at < tag_end {
        if is_space(bytes[at]) {
            let name = chars::skip_space(bytes, at);
            let name_end = chars::name_end(text, name);
            let equals = chars::skip_blanks(bytes, name_end);
            if name_end > name && bytes.get(equals) == Some(&b'=') {
                return at;
            }
            at = name;
        } else if matches!(bytes[at], b'"' | b'\'') {
            return at;
        } else {
            at += 1;
        }
    }
    chars::trim_end(bytes, start, tag_end)
}

/// The part of an unquoted value between a typographic quote at its start and one or a stray plain one at its end.
pub(crate) fn without_odd_quotes(text: &str, start: usize, end: usize) -> (usize, usize) {
    let value = &text[start..end];
    let inner = value.strip_prefix(is_typographic).unwrap_or(value);
    let from = end - inner.len();
    let odd = |c: char| is_typographic(c) || c == '"' || c == '\'';
    (from, from + inner.strip_suffix(odd).unwrap_or(inner).len())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The value in a text that starts with a quote, and whether a quote ends it.
    fn value(text: &str) -> (&str, bool) {
        match ending(text, 0) {
            Ending::Quote(end)
            | Ending::QuoteBefore { end, .. }
            | Ending::QuoteAfterMarkup { end, .. } => (&text[1..end], true),
            Ending::Lost { end, .. } => (&text[1..end], false),
        }
    }

    #[test]
    fn what_may_be_well_formed_is_taken_as_it_is() {
        assert_eq!(value(r#""a b" c="d""#), ("a b", true));
        assert_eq!(value("\"a\n b\"/>"), ("a\n b", true));
        assert_eq!(value("'say \"x\"'>"), ("say \"x\"", true));
        assert_eq!(value(r#"" x=" />"#), (" x=", true));
    }

    #[test]
    fn a_lost_quote_is_put_where_a_person_would_put_it() {
        assert_eq!(value(r#""leg path="0/1"/>"#), ("leg", false));
        assert_eq!(value(r#"" path="0/1"/>"#), ("", false));
        assert_eq!(value("\"leg/>\n<alias name=\"b\"/>"), ("leg", false));
        assert_eq!(value("\"a/b>text</alias>"), ("a/b", false));
        assert_eq!(value("\"leg\n<alias name=\"b\"/>"), ("leg", false));
        assert_eq!(value("\"\n  path=\"0\"/>"), ("", false));
        assert_eq!(value("\"mast\n  path=\"0\"/>"), ("mast", false));
        assert_eq!(value("\"mast  "), ("mast", false));
        assert_eq!(value("'1 -> 2 gait='soft'/>"), ("1 -> 2", false));
        assert_eq!(value("'1 -> 2''/>"), ("1 -> 2", true));
        assert_eq!(value("'1 -> 2'gait='soft'/>"), ("1 -> 2", true));
    }

    #[test]
    fn a_less_than_sign_does_not_lose_a_quote_on_the_same_line() {
        assert_eq!(value("\"a < b\" c=\"d\""), ("a < b", true));
        assert_eq!(value("\"a/> <alias name=\"b\"/>"), ("a", false));
    }
}
