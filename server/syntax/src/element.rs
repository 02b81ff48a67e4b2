//! An element and its parts.

use std::borrow::Cow;

use rowan::{GreenNodeData, GreenTokenData, NodeOrToken, TextRange, TextSize};

use crate::attribute::{Attribute, Attributes};
use crate::chars::{self, COLON, DELIMITER, class};
use crate::item::{Item, Items, Token};
use crate::kind::Kind;
use crate::reference;
use crate::source::{self, Source};
use crate::text_element::Parts;
use crate::wide::{GreenRef, Wide, address};

/// An element, found in a tree at an offset. A view: copied freely, allocates nothing.
#[derive(Copy, Clone, Debug)]
pub struct Element<'t> {
    /// A [`Kind::Element`] or [`Kind::TextElement`], or a [`Kind::Tag`] that closes itself.
    pub(crate) green: GreenRef<'t>,
    pub(crate) offset: TextSize,
}

/// The same place in the same tree.
impl PartialEq for Element<'_> {
    fn eq(&self, other: &Self) -> bool {
        address(self.green) == address(other.green) && self.offset == other.offset
    }
}

impl Eq for Element<'_> {}

impl<'t> Element<'t> {
    /// The name as written, prefix included; "" for a `<` without a name.
    pub fn name(&self) -> &'t str {
        let open = self.open();
        open.strip_prefix('<').unwrap_or(open)
    }

    /// Prefix and local name.
    pub fn split_name(&self) -> (Option<&'t str>, &'t str) {
        match self.start_tag() {
            Some(NodeOrToken::Token(tag)) => split_tag_name(tag.text()),
            _ => split_name(self.name()),
        }
    }

    /// The name without its prefix.
    pub fn local_name(&self) -> &'t str {
        self.split_name().1
    }

    /// What stands before the `:` of the name.
    pub fn prefix(&self) -> Option<&'t str> {
        self.split_name().0
    }

    /// Where the name in the start tag stands; empty behind the `<` if there is none.
    pub fn name_range(&self) -> TextRange {
        let end = self.offset + TextSize::of(self.open());
        TextRange::new(end - TextSize::of(self.name()), end)
    }

    /// From the `<` of the start tag to the `>` of the end tag.
    pub fn range(&self) -> TextRange {
        TextRange::at(self.offset, self.green.text_len())
    }

    /// The text in a range that is in it.
    pub fn slice(&self, range: TextRange) -> Cow<'t, str> {
        let within = |offset: TextSize| offset.checked_sub(self.offset).unwrap_or_default();
        let range = TextRange::new(within(range.start()), within(range.end()));
        match self.green {
            NodeOrToken::Node(node) => source::slice(node, range),
            NodeOrToken::Token(token) => token.text().slice(range),
        }
    }

    /// The whole start tag, `<` and `>` included, as far as they are there.
    pub fn start_tag_range(&self) -> TextRange {
        let len = match (self.parts(), self.start_tag()) {
            (Some(parts), _) => TextSize::of(parts.tag),
            (None, Some(tag)) => tag.text_len(),
            (None, None) => TextSize::new(0),
        };
        TextRange::at(self.offset, len)
    }

    /// The start tag as written.
    pub fn start_tag_text(&self) -> String {
        match (self.parts(), self.start_tag()) {
            (Some(parts), _) => parts.tag.to_owned(),
            (None, tag) => tag.map(|tag| tag.to_string()).unwrap_or_default(),
        }
    }

    /// Whether the start tag has its `>`.
    pub fn is_start_tag_closed(&self) -> bool {
        self.last_of_start_tag()
            .is_some_and(|kind| matches!(kind, Kind::TagEnd | Kind::EmptyTagEnd))
    }

    /// Whether it is written `<name/>`.
    pub fn is_self_closing(&self) -> bool {
        self.last_of_start_tag() == Some(Kind::EmptyTagEnd)
    }

    /// The end tag that closes the element. Its name can differ, and its `>` can be missing; both are errors.
    pub fn end_tag(&self) -> Option<EndTag<'t>> {
        let text = match self.green {
            NodeOrToken::Node(element) => {
                let token = element.children().last()?.into_token()?;
                (Kind::of(token.kind()) == Kind::EndTag).then(|| token.text())?
            }
            NodeOrToken::Token(_) => self.parts()?.end_tag,
        };
        let offset = self.range().end() - TextSize::of(text);
        Some(EndTag { text, offset })
    }

    /// Between the start tag and the end tag, or the end of the element if that is missing. None if the element is
    /// self-closing or its start tag has no `>` and nothing follows it.
    pub fn content_range(&self) -> Option<TextRange> {
        let start = self.start_tag_range().end();
        let end = self
            .end_tag()
            .map_or(self.range().end(), |tag| tag.range().start());
        let open = self.last_of_start_tag() == Some(Kind::TagEnd);
        (open || self.end_tag().is_some() || end > start).then(|| TextRange::new(start, end))
    }

    /// The attributes of the start tag as they are written, broken ones included.
    pub fn attributes(&self) -> Attributes<'t> {
        match self.start_tag() {
            Some(NodeOrToken::Token(tag)) => Attributes::of_tag(tag.text(), self.offset),
            Some(NodeOrToken::Node(tag)) => Attributes::of_pieces(Wide::new(tag, self.offset)),
            None => Attributes::of_pieces(Wide::empty()),
        }
    }

    /// The first attribute with this name, as written.
    pub fn attribute(&self, qualified_name: &str) -> Option<Attribute<'t>> {
        // Asked so often for what is not there, such as a namespace, that a look at the whole tag goes first.
        if let Some(NodeOrToken::Token(tag)) = self.start_tag()
            && let (tag, name) = (tag.text().as_bytes(), qualified_name.as_bytes())
            && let Some(first) = name.first()
            && !memchr::memchr_iter(*first, tag).any(|at| tag[at..].starts_with(name))
        {
            return None;
        }
        let mut attributes = self.attributes();
        attributes.find(|attribute| attribute.name() == qualified_name)
    }

    /// The elements directly in this one.
    pub fn children(&self) -> Children<'t> {
        Children { wide: self.wide() }
    }

    /// Everything directly in this element.
    pub fn items(&self) -> Items<'t> {
        if let Some(parts) = self.parts() {
            return Items::alone(parts.text, self.offset + TextSize::of(parts.tag));
        }
        Items::new(self.wide())
    }

    /// The content, if it is in pieces.
    fn wide(&self) -> Wide<'t> {
        let content = self.content();
        content.map_or_else(Wide::empty, |(content, offset)| Wide::new(content, offset))
    }

    /// The text directly in this element: character data, CDATA sections, references resolved. White space is kept,
    /// line breaks are `\n`. An entity that is declared by the document stays `&name;`.
    pub fn text(&self) -> Cow<'t, str> {
        let mut text = Cow::Borrowed("");
        for item in self.items() {
            let part = match item {
                Item::Text(token) | Item::Reference(token) => reference::resolved(token.text()),
                Item::CData(token) => cdata_text(token.text()),
                _ => continue,
            };
            if text.is_empty() {
                text = part;
            } else {
                text.to_mut().push_str(&part);
            }
        }
        text
    }

    /// From the first to the last character of the text in this element that is not white space. None if there is
    /// no such text. Elements and comments between two pieces of text are inside the range.
    pub fn text_range(&self) -> Option<TextRange> {
        let mut range: Option<TextRange> = None;
        for item in self.items().filter(Item::is_content_text) {
            let Some(token) = item.token() else { continue };
            let part = trimmed(token);
            range = Some(range.map_or(part, |range| range.cover(part)));
        }
        range
    }

    /// [`Self::text`] and [`Self::text_range`], if there is such text.
    pub fn text_and_range(&self) -> Option<(Cow<'t, str>, TextRange)> {
        let mut items = self.items();
        match (items.next(), items.next()) {
            // Nearly all that say something by their text.
            (Some(Item::Text(token)), None) => {
                let is_blank = chars::is_blank(token.text());
                (!is_blank).then(|| (reference::resolved(token.text()), trimmed(token)))
            }
            _ => Some((self.text(), self.text_range()?)),
        }
    }

    /// A [`Kind::Tag`] or [`Kind::StartTag`], or the [`Kind::TextElement`] that begins with it.
    pub(crate) fn start_tag(&self) -> Option<GreenRef<'t>> {
        match self.green {
            NodeOrToken::Node(element) => element.children().next(),
            tag => Some(tag),
        }
    }

    /// Whether anything stands between the tags. Quicker to tell than what.
    pub fn has_content(&self) -> bool {
        self.content().is_some() || self.holds_text_alone().is_some()
    }

    /// The text of a [`Kind::TextElement`].
    fn holds_text_alone(&self) -> Option<&'t str> {
        let token = self.green.into_token()?;
        (Kind::of(token.kind()) == Kind::TextElement).then(|| token.text())
    }

    /// The parts of a [`Kind::TextElement`].
    fn parts(&self) -> Option<Parts<'t>> {
        self.holds_text_alone().map(Parts::of)
    }

    pub(crate) fn content(&self) -> Option<(&'t GreenNodeData, TextSize)> {
        let mut children = self.green.into_node()?.children();
        let start_tag = children.next()?;
        let content = children.next()?.into_node()?;
        Some((content, self.offset + start_tag.text_len()))
    }

    /// `<` and the name.
    fn open(&self) -> &'t str {
        match self.start_tag() {
            Some(NodeOrToken::Token(tag)) => tag_open(tag.text()),
            Some(NodeOrToken::Node(tag)) => first_piece(tag).map_or("", GreenTokenData::text),
            None => "",
        }
    }

    fn last_of_start_tag(&self) -> Option<Kind> {
        match self.start_tag()? {
            NodeOrToken::Token(_) if self.holds_text_alone().is_some() => Some(Kind::TagEnd),
            NodeOrToken::Token(tag) if tag.text().ends_with("/>") => Some(Kind::EmptyTagEnd),
            NodeOrToken::Token(_) => Some(Kind::TagEnd),
            NodeOrToken::Node(tag) => last_piece(tag).map(|piece| Kind::of(piece.kind())),
        }
    }
}

fn first_piece(mut start_tag: &GreenNodeData) -> Option<&GreenTokenData> {
    loop {
        match start_tag.children().next()? {
            NodeOrToken::Node(chunk) => start_tag = chunk,
            NodeOrToken::Token(piece) => return Some(piece),
        }
    }
}

fn last_piece(mut start_tag: &GreenNodeData) -> Option<&GreenTokenData> {
    loop {
        match start_tag.children().last()? {
            NodeOrToken::Node(chunk) => start_tag = chunk,
            NodeOrToken::Token(piece) => return Some(piece),
        }
    }
}

/// Prefix and local name. A name with an empty side or a second colon is all local name.
pub(crate) fn split_name(name: &str) -> (Option<&str>, &str) {
    let Some(colon) = chars::colon(name) else {
        return (None, name);
    };
    let (prefix, local) = (&name[..colon], &name[colon + 1..]);
    match prefix.is_empty() || local.is_empty() || chars::colon(local).is_some() {
        true => (None, name),
        false => (Some(prefix), local),
    }
}

fn cdata_text(text: &str) -> Cow<'_, str> {
    let inner = text.strip_prefix("<![CDATA[").unwrap_or(text);
    crate::escape::plain_lines(inner.strip_suffix("]]>").unwrap_or(inner))
}

/// The range of a token without the white space around its text.
pub(crate) fn trimmed(token: Token<'_>) -> TextRange {
    let text = token.text();
    if !matches!(token.kind(), Kind::Text) {
        return token.range();
    }
    let is_space = |c: char| matches!(c, ' ' | '\t' | '\r' | '\n');
    let after = text.trim_start_matches(is_space);
    let start = token.offset + (TextSize::of(text) - TextSize::of(after));
    TextRange::at(start, TextSize::of(after.trim_end_matches(is_space)))
}

/// The end tag of an element.
#[derive(Copy, Clone, Debug)]
pub struct EndTag<'t> {
    text: &'t str,
    offset: TextSize,
}

impl<'t> EndTag<'t> {
    /// The name as written.
    pub fn name(&self) -> &'t str {
        end_tag_name(self.text)
    }

    pub fn name_range(&self) -> TextRange {
        TextRange::at(self.offset + TextSize::new(2), TextSize::of(self.name()))
    }

    pub fn range(&self) -> TextRange {
        TextRange::at(self.offset, TextSize::of(self.text))
    }
}

/// `<` and the name at the start of a tag.
pub(crate) fn tag_open(tag: &str) -> &str {
    let is_delimiter = |b: &u8| class(*b) & DELIMITER != 0;
    let behind = tag.as_bytes().iter().skip(1);
    match behind.clone().position(is_delimiter) {
        Some(end) => &tag[..1 + end],
        None => tag,
    }
}

/// Prefix and local name at the start of a tag: one look at the name, if it has no prefix.
fn split_tag_name(tag: &str) -> (Option<&str>, &str) {
    let stops = |b: &u8| class(*b) & (DELIMITER | COLON) != 0;
    let rest = tag.as_bytes().get(1..).unwrap_or_default();
    match rest.iter().position(stops) {
        Some(len) if rest[len] != b':' => (None, &tag[1..1 + len]),
        _ => split_name(&tag_open(tag)[1..]),
    }
}

/// The name in the text of an end tag.
pub(crate) fn end_tag_name(text: &str) -> &str {
    let name = text.strip_prefix("</").unwrap_or_default();
    let is_delimiter = |b: &u8| class(*b) & DELIMITER != 0;
    let end = name.as_bytes().iter().position(is_delimiter);
    &name[..end.unwrap_or(name.len())]
}

/// The child elements of an element.
#[derive(Clone, Debug)]
pub struct Children<'t> {
    wide: Wide<'t>,
}

impl<'t> Iterator for Children<'t> {
    type Item = Element<'t>;

    #[inline]
    fn next(&mut self) -> Option<Element<'t>> {
        let is_element =
            |(green, _): &(GreenRef<'t>, TextSize)| Kind::of(green.kind()).is_element();
        let (green, offset) = self.wide.find(is_element)?;
        Some(Element { green, offset })
    }
}

#[cfg(test)]
mod tests {
    use super::split_name;
    use crate::parse;

    #[test]
    fn text_and_its_range_are_told_alike_at_once_and_one_by_one() {
        for content in [
            "",
            " \n",
            "a",
            " a b\r\n",
            "é ",
            "\u{a0}a",
            "&lt;",
            " &lt;a ",
            "<![CDATA[ a ]]>",
            "a<b/>c",
            "a<!-- c -->",
            "<b/>",
            " <b> a </b> ",
            "a &mine; b",
            "&#32;",
        ] {
            let tree = parse(&format!("<m>{content}</m>"));
            let root = tree.root().expect("a root");
            let apart = root.text_range().map(|range| (root.text(), range));
            assert_eq!(root.text_and_range(), apart, "{content:?}");
        }
    }

    #[test]
    fn names_are_split_alike_in_a_tag_and_by_themselves() {
        for name in [
            "a", "p:a", ":a", "a:", "p:a:b", "é", "é:a", "a-1.b", "a\u{1}:b", "p\u{1}",
        ] {
            for rest in ["/>", ">", " b='c:d'/>", "\n/>", " &/>", "<"] {
                let tree = parse(&format!("<{name}{rest}"));
                let root = tree.root().expect("a root");
                assert_eq!(root.name(), name);
                assert_eq!(root.split_name(), split_name(name), "{name}{rest}");
                assert_eq!((root.prefix(), root.local_name()), split_name(name));
            }
        }
    }
}
