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
    pub(crate) green: &'t GreenTokenData,
    pub(crate) offset: TextSize,
}

impl PartialEq for Token<'_> {
    fn eq(&self, other: &Self) -> bool {
        std::ptr::eq(self.green, other.green) && self.offset == other.offset
    }
}

impl Eq for Token<'_> {}

impl<'t> Token<'t> {
    pub fn text(&self) -> &'t str {
        self.green.text()
    }

    pub fn range(&self) -> TextRange {
        TextRange::at(self.offset, self.green.text_len())
    }

    pub(crate) fn kind(&self) -> Kind {
        Kind::of(self.green.kind())
    }
}

impl<'t> Item<'t> {
    pub(crate) fn new(green: GreenRef<'t>, offset: TextSize) -> Self {
        let token = match green {
            NodeOrToken::Node(node) if Kind::of(node.kind()) == Kind::Element => {
                return Item::Element(Element { green, offset });
            }
            NodeOrToken::Node(node) => {
                return Item::TooDeep(TextRange::at(offset, node.text_len()));
            }
            NodeOrToken::Token(token) => Token {
                green: token,
                offset,
            },
        };
        match token.kind() {
            Kind::Tag => Item::Element(Element { green, offset }),
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
    wide: Wide<'t>,
}

impl<'t> Items<'t> {
    pub(crate) fn new(wide: Wide<'t>) -> Self {
        Self { wide }
    }

    /// Skips the items that end before `offset`.
    pub(crate) fn seek(&mut self, offset: TextSize) {
        self.wide.seek(offset);
    }
}

impl<'t> Iterator for Items<'t> {
    type Item = Item<'t>;

    fn next(&mut self) -> Option<Item<'t>> {
        self.wide
            .next()
            .map(|(green, offset)| Item::new(green, offset))
    }
}
