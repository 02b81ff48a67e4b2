//! What stands in an element or at the top level, in the order of the text.

use rowan::{GreenTokenData, NodeOrToken, TextRange, TextSize};

use crate::Element;
use crate::kind::Kind;
use crate::wide::{GreenRef, Wide};

/// One piece of content. Together, the items of an element are its content without gaps.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum Item<'t> {
    Element(Element<'t>),
    Text(Token<'t>),
    CData(Token<'t>),
    Reference(Token<'t>),
    Comment(Token<'t>),
    ProcessingInstruction(Token<'t>),
    Doctype(Token<'t>),
    /// The XML declaration.
    Declaration(Token<'t>),
    /// The byte order mark at the start of a document.
    ByteOrderMark(Token<'t>),
    /// Markup that means nothing: an end tag that closes nothing, a `<!` that starts nothing.
    Error(Token<'t>),
    /// Elements nested too deeply, as one piece.
    TooDeep(TextRange),
}

/// A piece of text in the tree.
#[derive(Copy, Clone, Debug)]
pub struct Token<'t> {
    text: &'t str,
    kind: Kind,
    pub(crate) offset: TextSize,
}

impl PartialEq for Token<'_> {
    fn eq(&self, other: &Self) -> bool {
        std::ptr::eq(self.text, other.text) && self.offset == other.offset
    }
}

impl Eq for Token<'_> {}

impl<'t> Token<'t> {
    pub(crate) fn new(token: &'t GreenTokenData, offset: TextSize) -> Self {
        Token {
            text: token.text(),
            kind: Kind::of(token.kind()),
            offset,
        }
    }

    /// As it is written, delimiters included.
    pub fn text(&self) -> &'t str {
        self.text
    }

    pub fn range(&self) -> TextRange {
        TextRange::at(self.offset, TextSize::of(self.text))
    }

    pub(crate) fn kind(&self) -> Kind {
        self.kind
    }
}

impl<'t> Item<'t> {
    pub(crate) fn new(green: GreenRef<'t>, offset: TextSize) -> Self {
        let token = match green {
            NodeOrToken::Node(_) => return Item::Element(Element { green, offset }),
            NodeOrToken::Token(token) => Token::new(token, offset),
        };
        match token.kind() {
            Kind::Tag | Kind::TextElement => Item::Element(Element { green, offset }),
            Kind::TooDeep => Item::TooDeep(token.range()),
            Kind::Text => Item::Text(token),
            Kind::CData => Item::CData(token),
            Kind::Reference => Item::Reference(token),
            Kind::Comment => Item::Comment(token),
            Kind::Instruction => Item::ProcessingInstruction(token),
            Kind::Doctype => Item::Doctype(token),
            Kind::Declaration => Item::Declaration(token),
            Kind::Bom => Item::ByteOrderMark(token),
            _ => Item::Error(token),
        }
    }

    pub fn range(&self) -> TextRange {
        match self {
            Item::Element(element) => element.range(),
            Item::TooDeep(range) => *range,
            _ => self
                .token()
                .map_or_else(TextRange::default, |token| token.range()),
        }
    }

    /// The token, unless the item is an element.
    pub fn token(&self) -> Option<Token<'t>> {
        match *self {
            Item::Text(token)
            | Item::CData(token)
            | Item::Reference(token)
            | Item::Comment(token)
            | Item::ProcessingInstruction(token)
            | Item::Doctype(token)
            | Item::Declaration(token)
            | Item::ByteOrderMark(token)
            | Item::Error(token) => Some(token),
            Item::Element(_) | Item::TooDeep(_) => None,
        }
    }

    pub fn into_element(self) -> Option<Element<'t>> {
        match self {
            Item::Element(element) => Some(element),
            _ => None,
        }
    }

    /// Whether this is text that counts as such: not only white space.
    pub(crate) fn is_content_text(&self) -> bool {
        match self {
            Item::Text(token) => !crate::chars::is_blank(token.text()),
            Item::CData(_) | Item::Reference(_) => true,
            _ => false,
        }
    }
}

/// The items of an element or of the top level.
#[derive(Clone, Debug)]
pub struct Items<'t> {
    /// The text of an element that holds nothing else.
    alone: Option<Token<'t>>,
    wide: Wide<'t>,
}

impl<'t> Items<'t> {
    #[inline]
    pub(crate) fn new(wide: Wide<'t>) -> Self {
        Self { alone: None, wide }
    }

    /// Text and nothing else.
    pub(crate) fn alone(text: &'t str, offset: TextSize) -> Self {
        let kind = Kind::Text;
        Self {
            alone: Some(Token { text, kind, offset }),
            wide: Wide::empty(),
        }
    }

    /// Skips the items that end before `offset`.
    pub(crate) fn seek(&mut self, offset: TextSize) {
        self.alone = self.alone.filter(|text| text.range().end() >= offset);
        self.wide.seek(offset);
    }
}

impl<'t> Iterator for Items<'t> {
    type Item = Item<'t>;

    #[inline]
    fn next(&mut self) -> Option<Item<'t>> {
        if let Some(text) = self.alone.take() {
            return Some(Item::Text(text));
        }
        let (green, offset) = self.wide.next()?;
        Some(Item::new(green, offset))
    }
}
