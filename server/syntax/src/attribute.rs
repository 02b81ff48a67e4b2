//! An attribute and its parts.

use std::borrow::Cow;
use std::ops::Range;

use rowan::{GreenTokenData, TextRange, TextSize};

use crate::chars::{self, class};
use crate::element::{split_name, tag_open};
use crate::kind::Kind;
use crate::namespaces::declared_prefix;
use crate::reference;
use crate::value;
use crate::wide::Wide;

/// An attribute, found in a tree at an offset; perhaps half-typed. A view: copied freely, allocates nothing.
#[derive(Copy, Clone, Debug)]
pub struct Attribute<'t> {
    /// From the name to the closing quote, as far as they are there.
    text: &'t str,
    offset: TextSize,
}

/// The same place in the same tree.
impl PartialEq for Attribute<'_> {
    fn eq(&self, other: &Self) -> bool {
        std::ptr::eq(self.text, other.text) && self.offset == other.offset
    }
}

impl Eq for Attribute<'_> {}

impl<'t> Attribute<'t> {
    /// None: the token is something else.
    #[inline]
    pub(crate) fn new(green: &'t GreenTokenData, offset: TextSize) -> Option<Self> {
        let text = green.text();
        (Kind::of(green.kind()) == Kind::Attribute).then_some(Self { text, offset })
    }

    /// The name as written, prefix included; "" if it is missing.
    pub fn name(&self) -> &'t str {
        &self.text[..name_len(self.text)]
    }

    /// Whether this is its name as written: asked of many attributes, most of which begin with another letter.
    pub(crate) fn is_called(&self, qualified_name: &str) -> bool {
        let (text, name) = (self.text.as_bytes(), qualified_name.as_bytes());
        let ends_there = |b: &u8| class(*b) & chars::DELIMITER != 0;
        text.first() == name.first()
            && text.get(name.len()).is_none_or(ends_there)
            && text.starts_with(name)
            && name_len(self.text) == name.len()
    }

    pub fn local_name(&self) -> &'t str {
        split_name(self.name()).1
    }

    pub fn prefix(&self) -> Option<&'t str> {
        split_name(self.name()).0
    }

    pub fn name_range(&self) -> TextRange {
        TextRange::at(self.offset, TextSize::of(self.name()))
    }

    /// From the name to the closing quote, as far as they are there.
    pub fn range(&self) -> TextRange {
        TextRange::at(self.offset, TextSize::of(self.text))
    }

    /// The quote that the value starts with.
    pub fn quote(&self) -> Option<char> {
        let value = value_span(self.text)?;
        let before = self.text[..value.start].chars().next_back()?;
        matches!(before, '"' | '\'').then_some(before)
    }

    /// The value inside its quotes; None if there is none, not even a quote.
    pub fn value_range(&self) -> Option<TextRange> {
        let value = value_span(self.text)?;
        let range = TextRange::new(offset(value.start), offset(value.end));
        Some(range + self.offset)
    }

    /// [`Self::value`] and [`Self::value_range`], if there is a value.
    pub fn value_and_range(&self) -> Option<(Cow<'t, str>, TextRange)> {
        self.cut().1
    }

    /// [`Self::name`] and [`Self::value_and_range`], for who asks for both.
    pub fn cut(&self) -> (&'t str, Option<(Cow<'t, str>, TextRange)>) {
        let text = self.text;
        let name = name_len(text);
        let value = value_span_behind(text, name).map(|value| {
            let range = TextRange::new(offset(value.start), offset(value.end));
            (reference::normalized(&text[value]), range + self.offset)
        });
        (&text[..name], value)
    }

    /// The value with references resolved and each white space character a space; "" if there is none.
    pub fn value(&self) -> Cow<'t, str> {
        reference::normalized(self.raw_value())
    }

    /// The value as it stands in the text; "" if there is none.
    pub fn raw_value(&self) -> &'t str {
        let text = self.text;
        value_span(text).map_or("", |value| &text[value])
    }

    /// The prefix that this attribute declares (`Some(None)`: the default namespace), if it declares one.
    pub fn declared_prefix(&self) -> Option<Option<&'t str>> {
        declared_prefix(self.name()).filter(|_| self.value_range().is_some())
    }

    /// Whether there is an `=`.
    pub fn has_equals(&self) -> bool {
        let text = self.text;
        let name = name_len(text);
        text.as_bytes()
            .get(chars::skip_space(text.as_bytes(), name))
            == Some(&b'=')
    }
}

fn offset(at: usize) -> TextSize {
    crate::tag::size(at)
}

fn name_len(text: &str) -> usize {
    let delimiter = |&b: &u8| class(b) & chars::DELIMITER != 0;
    text.bytes()
        .position(|b| delimiter(&b))
        .unwrap_or(text.len())
}

/// Where in the text of an attribute its value is.
fn value_span(text: &str) -> Option<Range<usize>> {
    value_span_behind(text, name_len(text))
}

/// The same where it is known how long the name is.
fn value_span_behind(text: &str, name: usize) -> Option<Range<usize>> {
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

    /// `text`: a [`Kind::Tag`].
    pub(crate) fn of_tag(text: &'t str, offset: TextSize) -> Self {
        let at = tag_open(text).len();
        Self(Rest::Tag { text, offset, at })
    }
}

impl<'t> Iterator for Attributes<'t> {
    type Item = Attribute<'t>;

    fn next(&mut self) -> Option<Attribute<'t>> {
        match &mut self.0 {
            Rest::Pieces(pieces) => {
                pieces.find_map(|(green, offset)| Attribute::new(green.into_token()?, offset))
            }
            Rest::Tag { text, offset, at } => {
                let start = chars::skip_space(text.as_bytes(), *at);
                *at = attribute_end(text.as_bytes(), start)?;
                Some(Attribute {
                    text: &text[start..*at],
                    offset: *offset + self::offset(start),
                })
            }
        }
    }
}

/// Where the attribute that starts at `start` ends, in a tag as XML wants it; None if the tag ends there.
fn attribute_end(tag: &[u8], start: usize) -> Option<usize> {
    let delimiter = |&b: &u8| class(b) & chars::DELIMITER != 0;
    let name = tag.get(start..)?.iter().position(delimiter)?;
    if name == 0 {
        return None;
    }
    let equals = chars::skip_space(tag, start + name);
    let open = chars::skip_space(tag, equals + 1);
    let quote = tag.get(open)?;
    let value = tag[open + 1..].iter().position(|byte| byte == quote)?;
    Some(open + 1 + value + 1)
}
