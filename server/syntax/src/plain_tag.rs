//! The quick way through a start tag in which nothing is odd, as nearly all are: one look at each byte, no pieces.

use crate::chars::{self, DELIMITER, NAME_START, SIMPLE_NAME, class};
use crate::parser::{FEW, Marks};
use crate::tag::{Closing, Pair, Tag};
use crate::words;

/// Bytes: what is asked for in a plain tag is looked for in its text, which takes its time in a tag that is too long.
pub(crate) const LONGEST_PLAIN: usize = 4096;

impl Tag {
    /// Reads the tag at `start`, where a `<` stands, to the same end as [`Tag::lex`] but for the pieces. False, and to
    /// be lexed, if it is not as XML wants it, or long.
    pub(crate) fn lex_plain(&mut self, text: &str, start: usize) -> bool {
        let longest = text.floor_char_boundary(start + LONGEST_PLAIN);
        self.clear(start);
        self.lex_plain_in(&text[..longest]).is_some()
    }

    // By itself, for it has enough to keep in mind.
    #[inline(never)]
    fn lex_plain_in(&mut self, text: &str) -> Option<()> {
        let bytes = text.as_bytes();
        self.name_end = self.plain_name(text, self.start + 1)?;
        let mut marks = Marks::default();
        let mut names_differ = true;
        let mut at = self.name_end;
        let (closing, end) = loop {
            let start = chars::skip_space(bytes, at);
            match *bytes.get(start)? {
                b'>' => break (Closing::Open, start + 1),
                b'/' if *bytes.get(start + 1)? == b'>' => break (Closing::Empty, start + 2),
                _ if start == at => return None,
                _ => {}
            }
            let name_end = self.plain_name(text, start)?;
            let name = &bytes[start..name_end];
            names_differ &= marks.are_new(name) || self.is_new(bytes, name);
            if name.starts_with(b"xmlns") {
                self.declares = true;
            }
            let value = value(bytes, name_end)?;
            if !value.is_literal && bytes[value.start..value.end].contains(&b'&') {
                self.has_ampersand = true;
            }
            at = value.end + 1;
            self.pairs.push(Pair {
                start,
                name_end,
                value_start: value.start,
                value_end: value.end,
                end: at,
            });
        };
        self.names_differ = names_differ;
        self.end = end;
        self.closing = Some(closing);
        Some(())
    }

    /// Whether no attribute so far has this name; not looked into if they are many.
    fn is_new(&self, bytes: &[u8], name: &[u8]) -> bool {
        let is_other = |pair: &Pair| &bytes[pair.start..pair.name_end] != name;
        self.pairs.len() <= FEW && self.pairs.iter().all(is_other)
    }

    /// The end of the name at `start`, which a delimiter follows.
    #[inline(always)]
    fn plain_name(&mut self, text: &str, start: usize) -> Option<usize> {
        let rest = text.as_bytes().get(start..)?;
        let len = simple_len(rest)?;
        let is_simple = class(rest[0]) & NAME_START != 0 && class(rest[len]) & DELIMITER != 0;
        match is_simple {
            true => Some(start + len),
            false => self.other_name(text, start),
        }
    }

    /// The same for one with colons or characters outside ASCII, or none at all.
    #[inline(never)]
    fn other_name(&mut self, text: &str, start: usize) -> Option<usize> {
        let is_delimiter = |byte: u8| class(byte) & DELIMITER != 0;
        let name = &text[start..start + text[start..].bytes().position(is_delimiter)?];
        self.has_colon |= chars::colon(name).is_some();
        chars::is_name(name).then_some(start + name.len())
    }
}

/// How many bytes at the front are such that nothing in a name of them needs a look. None: all of them.
#[inline(always)]
fn simple_len(bytes: &[u8]) -> Option<usize> {
    let is_odd = |byte: &u8| class(*byte) & SIMPLE_NAME == 0;
    // Most names are short: that they do not reach the end need not be asked for each byte.
    let first = bytes.first_chunk::<8>();
    let len = first.and_then(|first| first.iter().position(is_odd));
    len.or_else(|| bytes.iter().position(is_odd))
}

/// A value in a tag as XML wants it.
pub(crate) struct Value {
    /// Behind the opening quote.
    pub(crate) start: usize,
    /// Of the closing quote.
    pub(crate) end: usize,
    /// Each character in it is known to stand for itself.
    pub(crate) is_literal: bool,
}

/// The value of the attribute whose name ends at `name_end`; None if it is not as XML wants it.
#[inline(always)]
pub(crate) fn value(bytes: &[u8], name_end: usize) -> Option<Value> {
    let (quote, start) = match bytes.get(name_end..)? {
        [b'=', quote @ (b'"' | b'\''), ..] => (*quote, name_end + 2),
        _ => spaced_quote(bytes, name_end)?,
    };
    let mut end = start;
    let mut is_literal = true;
    loop {
        end = words::find_value_stop(bytes, end, quote)?;
        match bytes[end] {
            b'<' => return None,
            byte if byte == quote => {
                return Some(Value {
                    start,
                    end,
                    is_literal,
                });
            }
            _ => is_literal = false,
        }
        end += 1;
    }
}

/// The opening quote behind a name, and where it ends, where there is white space around the `=`.
fn spaced_quote(bytes: &[u8], name_end: usize) -> Option<(u8, usize)> {
    let equals = chars::skip_space(bytes, name_end);
    let open = chars::skip_space(bytes, equals + 1);
    let quote = *bytes.get(open)?;
    let is_whole = bytes[equals] == b'=' && matches!(quote, b'"' | b'\'');
    is_whole.then_some((quote, open + 1))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// What tags are made of, and what breaks them or is not for the quick way.
    const PIECES: &[&str] = &[
        " ",
        " ",
        "\n",
        "\t\r\n",
        "a",
        "b-1",
        "p:c",
        "xmlns",
        "xmlns:p",
        "x",
        "é",
        "1",
        "{",
        "=",
        " = ",
        "=\n'",
        "\"",
        "'",
        "\"\"",
        "a=\"1\"",
        " b='2 3'",
        " a=\"\n\"",
        " c=\"'\"",
        " d=\"&amp;\"",
        " e='>'",
        " f=\"/>\"",
        " é=\"1\"",
        " xmlns:p=\"u\"",
        "<",
        "&",
        "/",
        ">",
        "/>",
        "]",
        "1.5 -2",
        "\u{1}",
        "<!--",
    ];

    fn soup() -> impl Strategy<Value = String> {
        let piece = prop::sample::select(PIECES);
        prop::collection::vec(piece, 0..14).prop_map(|pieces| format!("..<a{}", pieces.concat()))
    }

    fn tags(text: &str) -> (Option<Tag>, Tag) {
        // What was there before must not show.
        let (mut quick, mut whole) = (Tag::default(), Tag::default());
        quick.lex("<p:b xmlns='u' & xmlns='u'", 0);
        whole.lex("<p:b xmlns='u' & xmlns='u'", 0);
        let is_plain = quick.lex_plain(text, 2);
        whole.lex(text, 2);
        (is_plain.then_some(quick), whole)
    }

    fn has_same_names(tag: &Tag, text: &str) -> bool {
        let names: Vec<&str> = tag.pairs.iter().map(|pair| pair.name(text)).collect();
        (1..names.len()).any(|at| names[..at].contains(&names[at]))
    }

    fn check(text: &str) -> bool {
        let (quick, whole) = tags(text);
        let Some(quick) = quick else {
            let is_odd = |name: &str| !chars::is_name(name);
            let has_odd_name = is_odd(&text[3..whole.name_end])
                || whole.pairs.iter().any(|pair| is_odd(pair.name(text)));
            assert!(!whole.is_plain() || has_odd_name, "{text:?}");
            return false;
        };
        assert!(whole.is_plain(), "{text:?}");
        let places = |tag: &Tag| {
            let place = |pair: &Pair| {
                [
                    pair.start,
                    pair.name_end,
                    pair.value_start,
                    pair.value_end,
                    pair.end,
                ]
            };
            tag.pairs.iter().map(place).collect::<Vec<_>>()
        };
        assert_eq!(places(&quick), places(&whole), "{text:?}");
        let rest = |tag: &Tag| {
            let places = (tag.start, tag.name_end, tag.end, tag.closing, tag.read_to);
            (
                places,
                tag.has_colon,
                tag.declares,
                tag.has_ampersand,
                tag.errors.clone(),
            )
        };
        assert_eq!(rest(&quick), rest(&whole), "{text:?}");
        assert!(
            !(quick.names_differ && has_same_names(&quick, text)),
            "{text:?}"
        );
        true
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 4000, ..ProptestConfig::default() })]

        #[test]
        fn both_ways_come_to_the_same_end(text in soup()) {
            check(&text);
        }
    }

    #[test]
    fn plain_tags_are_read_quickly() {
        for tag in [
            "<a>",
            "<a/>x",
            "<p:a p:b='1' xmlns:p = \"u\"\n/>",
            "<a b='&amp;' c=\"'>/>\t\" >",
            "<é p:ü='ö'/>",
        ] {
            assert!(check(&format!("..{tag}")), "{tag}");
        }
    }

    #[test]
    fn others_are_left_alone() {
        for tag in [
            "<a",
            "<a b",
            "<a b>",
            "<a b=>",
            "<a b=c>",
            "<a b='1'c='2'>",
            "<a b='1>",
            "<a b='<'>",
            "<a / >",
            "<a\u{1}/>",
            "<é× b='1'/>",
            "<a ×='1'/>",
            "<a 1='1'/>",
            "<a b={'1'}/>",
            "<a b='1'&/>",
        ] {
            assert!(!check(&format!("..{tag}")), "{tag}");
        }
        let long = |len: usize| format!("..<a b='{}'/>", "x".repeat(len - "<a b=''/>".len()));
        assert!(check(&long(LONGEST_PLAIN)));
        assert!(!check(&long(LONGEST_PLAIN + 1)));
    }

    #[test]
    fn equal_names_are_seen_among_few_and_among_many() {
        for count in [2, FEW, FEW + 1, 3 * FEW, 100] {
            let attributes: String = (0..count).map(|n| format!(" n{n}='1'")).collect();
            for (again, is_right) in [("", true), (" n0='2'", false), (" n1='2'", false)] {
                let (quick, _) = tags(&format!("..<a{attributes}{again}/>"));
                let quick = quick.expect("plain");
                // Of many it need not be known.
                assert!(
                    quick.names_differ == is_right || (is_right && count > FEW),
                    "{count}"
                );
            }
        }
    }
}
