//! An attribute and its parts.

use std::borrow::Cow;
use std::ops::Range;

use rowan::{GreenTokenData, TextRange, TextSize};

use crate::chars::{self, class, is_space};
use crate::element::{split_name, tag_open};
use crate::kind::Kind;
use crate::namespaces::declared_prefix;
use crate::plain_tag;
use crate::reference;
use crate::tag::size;
use crate::value;
use crate::wide::Wide;
use crate::words;

/// An attribute, found in a tree at an offset; perhaps half-typed. A view: copied freely, allocates nothing.
#[derive(Copy, Clone, Debug)]
pub struct Attribute<'t> {
    /// As written; "" if it is missing.
    name: &'t str,
    /// As written, inside its quotes.
    value: Option<&'t str>,
    /// Where the name starts.
    offset: TextSize,
    /// Where the value starts, if there is one.
    value_offset: TextSize,
    /// Where the closing quote ends, or what is there of the attribute.
    end: TextSize,
    /// The one that the value starts with: `"` or `'`.
    quote: Option<u8>,
    has_equals: bool,
    /// Each character of the value is known to stand for itself.
    is_literal: bool,
}

/// The same place in the same tree.
impl PartialEq for Attribute<'_> {
    fn eq(&self, other: &Self) -> bool {
        std::ptr::eq(self.name, other.name) && self.offset == other.offset
    }
}

impl Eq for Attribute<'_> {}

impl<'t> Attribute<'t> {
    /// None: the token is something else.
    fn new(green: &'t GreenTokenData, offset: TextSize) -> Option<Self> {
        if Kind::of(green.kind()) != Kind::Attribute {
            return None;
        }
        let text = green.text();
        let bytes = text.as_bytes();
        let name = name_len(text);
        let value = value_span(text, name);
        let before = value.as_ref().and_then(|value| bytes[..value.start].last());
        Some(Self {
            name: &text[..name],
            value: value.clone().map(|value| &text[value]),
            offset,
            value_offset: offset + size(value.map_or(0, |value| value.start)),
            end: offset + TextSize::of(text),
            quote: before.copied().filter(|byte| matches!(byte, b'"' | b'\'')),
            has_equals: bytes.get(chars::skip_space(bytes, name)) == Some(&b'='),
            is_literal: false,
        })
    }

    /// The name as written, prefix included; "" if it is missing.
    pub fn name(&self) -> &'t str {
        self.name
    }

    /// The name without its prefix.
    pub fn local_name(&self) -> &'t str {
        split_name(self.name()).1
    }

    /// What stands before the `:` of the name.
    pub fn prefix(&self) -> Option<&'t str> {
        split_name(self.name()).0
    }

    /// Where the name stands, prefix included.
    pub fn name_range(&self) -> TextRange {
        TextRange::at(self.offset, TextSize::of(self.name))
    }

    /// From the name to the closing quote, as far as they are there.
    pub fn range(&self) -> TextRange {
        TextRange::new(self.offset, self.end)
    }

    /// The quote that the value starts with.
    pub fn quote(&self) -> Option<char> {
        self.quote.map(char::from)
    }

    /// The value inside its quotes; None if there is none, not even a quote.
    pub fn value_range(&self) -> Option<TextRange> {
        let len = TextSize::of(self.value?);
        Some(TextRange::at(self.value_offset, len))
    }

    /// [`Self::value`] and [`Self::value_range`], if there is a value.
    pub fn value_and_range(&self) -> Option<(Cow<'t, str>, TextRange)> {
        Some((self.value(), self.value_range()?))
    }

    /// The value with references resolved and each white space character a space; "" if there is none.
    pub fn value(&self) -> Cow<'t, str> {
        match self.is_literal {
            true => self.raw_value().into(),
            false => reference::normalized(self.raw_value()),
        }
    }

    /// The value as it stands in the text; "" if there is none.
    pub fn raw_value(&self) -> &'t str {
        self.value.unwrap_or_default()
    }

    /// The prefix that this attribute declares (`Some(None)`: the default namespace), if it declares one.
    pub fn declared_prefix(&self) -> Option<Option<&'t str>> {
        declared_prefix(self.name()).filter(|_| self.value.is_some())
    }

    /// Whether there is an `=`.
    pub fn has_equals(&self) -> bool {
        self.has_equals
    }
}

fn name_len(text: &str) -> usize {
    let delimiter = |&b: &u8| class(b) & chars::DELIMITER != 0;
    text.bytes()
        .position(|b| delimiter(&b))
        .unwrap_or(text.len())
}

/// Where in the text of an attribute its value is, behind a name of so many bytes.
fn value_span(text: &str, name: usize) -> Option<Range<usize>> {
    let bytes = text.as_bytes();
    let equals = chars::skip_space(bytes, name);
    let start = match bytes.get(equals)? {
        b'=' => chars::skip_space(bytes, equals + 1),
        _ => equals,
    };
    match *bytes.get(start)? {
        quote @ (b'"' | b'\'') => {
            let closed = bytes.len() > start + 1 && bytes.last() == Some(&quote);
            Some(start + 1..bytes.len() - usize::from(closed))
        }
        _ => {
            let (from, to) = value::without_odd_quotes(text, start, text.len());
            Some(from..to)
        }
    }
}

/// The attributes of an element, in the order of the text.
#[derive(Clone, Debug)]
pub struct Attributes<'t>(Rest<'t>);

/// Those that are still to come.
#[derive(Clone, Debug)]
enum Rest<'t> {
    /// In the pieces of a tag in which something is odd.
    Pieces(Wide<'t>),
    /// In a tag as XML wants it, which starts at `offset`: from `at` on in its text.
    Tag {
        text: &'t str,
        offset: TextSize,
        at: usize,
    },
}

impl<'t> Attributes<'t> {
    pub(crate) fn of_pieces(pieces: Wide<'t>) -> Self {
        Self(Rest::Pieces(pieces))
    }

    /// `text`: a [`Kind::Tag`], or the [`Kind::TextElement`] that begins with it.
    pub(crate) fn of_tag(text: &'t str, offset: TextSize) -> Self {
        let at = tag_open(text).len();
        Self(Rest::Tag { text, offset, at })
    }
}

impl<'t> Iterator for Attributes<'t> {
    type Item = Attribute<'t>;

    #[inline]
    fn next(&mut self) -> Option<Attribute<'t>> {
        match &mut self.0 {
            Rest::Pieces(pieces) => first_of(pieces),
            Rest::Tag { text, offset, at } => first_in(text, at, *offset),
        }
    }

    #[inline]
    fn fold<B, F: FnMut(B, Attribute<'t>) -> B>(self, init: B, mut f: F) -> B {
        let mut folded = init;
        match self.0 {
            Rest::Pieces(mut pieces) => {
                while let Some(attribute) = first_of(&mut pieces) {
                    folded = f(folded, attribute);
                }
            }
            Rest::Tag {
                text,
                offset,
                mut at,
            } => {
                while let Some(attribute) = first_in(text, &mut at, offset) {
                    folded = f(folded, attribute);
                }
            }
        }
        folded
    }
}

/// The first attribute among the pieces of a tag; what follows is left.
#[inline(never)]
fn first_of<'t>(pieces: &mut Wide<'t>) -> Option<Attribute<'t>> {
    pieces.find_map(|(green, offset)| Attribute::new(green.into_token()?, offset))
}

/// The first attribute at or behind `at` in the text of a tag as XML wants it, which starts at `offset`. `at` moves on
/// behind it.
#[inline]
fn first_in<'t>(tag: &'t str, at: &mut usize, offset: TextSize) -> Option<Attribute<'t>> {
    let bytes = tag.as_bytes();
    let start = chars::skip_space(bytes, *at);
    if matches!(bytes.get(start)?, b'>' | b'/') {
        return None;
    }
    // Whatever else may stand in a name, an `=` does not.
    let equals = words::find_equals(bytes, start)?;
    let is_spaced = bytes[..equals].last().is_some_and(|byte| is_space(*byte));
    let name_end = match is_spaced {
        true => chars::trim_end(bytes, start, equals),
        false => equals,
    };
    let value = plain_tag::value(bytes, equals)?;
    *at = value.end + 1;
    Some(Attribute {
        name: &tag[start..name_end],
        value: Some(&tag[value.start..value.end]),
        offset: offset + size(start),
        value_offset: offset + size(value.start),
        end: offset + size(*at),
        quote: Some(bytes[value.end]),
        has_equals: true,
        is_literal: value.is_literal,
    })
}

#[cfg(test)]
mod tests {
    use crate::parse;

    /// Names and values of the attributes of the root, with what stands in their ranges.
    fn attributes(text: &str) -> Vec<(String, String)> {
        let tree = parse(text);
        let root = tree.root().expect("a root");
        let attributes = root.attributes().map(|attribute| {
            let (value, range) = attribute.value_and_range().expect("a value");
            assert_eq!(&text[attribute.name_range()], attribute.name());
            assert_eq!(&text[range], attribute.raw_value());
            assert!(attribute.range().end() > range.end() && attribute.has_equals());
            assert_eq!(
                attribute.quote(),
                text[..range.start().into()].chars().last()
            );
            (attribute.name().to_owned(), value.into_owned())
        });
        attributes.collect()
    }

    #[test]
    fn a_tag_in_one_piece_says_what_one_in_pieces_says() {
        for written in [
            "a='1' b=\"2 3\"",
            "a = '1'\n\tb=\n\"2\"",
            "a='&lt;&#10;' b='x\ty\r\nz' c='\"&amp;\"'",
            "é='ü' p:q='😀' xmlns:p='u'",
            "a\u{1}b='1' c='\u{1}'",
            "a='' b='>' c='/>'",
        ] {
            let plain = attributes(&format!("<m {written}/>"));
            let long = " ".repeat(5000);
            assert_eq!(
                plain,
                attributes(&format!("<m {written}{long}/>")),
                "{written}"
            );
            // Something odd behind them.
            assert_eq!(plain, attributes(&format!("<m {written} &/>")), "{written}");
            assert!(!plain.is_empty());
        }
    }
}
