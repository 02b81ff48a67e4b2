//! What the nodes and tokens of the tree are. Private: the views show elements, attributes and items.

use rowan::SyntaxKind;

/// `Document`..=`Chunk` are nodes, the rest are tokens.
///
/// ```text
/// Document   = Bom? item*
/// item       = Element | TextElement | Tag (one that closes itself is an element) | TooDeep | Text | CData | Reference | Comment | Instruction | Declaration | Doctype | Broken
///            | EndTag (one that closes nothing)
/// Element    = (Tag | StartTag) Content? EndTag?
/// StartTag   = TagOpen (Space | Attribute | Junk)* (TagEnd | EmptyTagEnd)?
/// Content    = item+
/// ```
/// A `Document`, `Content` or `StartTag` with many children holds them in `Chunk`s, see `wide`.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
#[repr(u16)]
pub(crate) enum Kind {
    Document,
    Element,
    StartTag,
    Content,
    Chunk,
    Bom,
    /// A whole start tag in which nothing is odd, as nearly all are: its parts are found when somebody asks for them.
    Tag,
    /// A whole element, short, that is a `Tag` with no `>` in it but the last, `Text`, and an `EndTag`.
    TextElement,
    /// An element below the deepest level with all that is in it.
    TooDeep,
    /// `<name`, or one or more `<` without a name.
    TagOpen,
    /// White space in a start tag.
    Space,
    /// `name="value"`, or as much of it as there is.
    Attribute,
    /// What has no place in a start tag.
    Junk,
    /// `>`
    TagEnd,
    /// `/>`
    EmptyTagEnd,
    /// `</name>`
    EndTag,
    Text,
    CData,
    Reference,
    Comment,
    Instruction,
    Declaration,
    Doctype,
    /// Markup that is none of the above, such as `<!x`.
    Broken,
}

impl Kind {
    const ALL: [Kind; 24] = [
        Kind::Document,
        Kind::Element,
        Kind::StartTag,
        Kind::Content,
        Kind::Chunk,
        Kind::Bom,
        Kind::Tag,
        Kind::TextElement,
        Kind::TooDeep,
        Kind::TagOpen,
        Kind::Space,
        Kind::Attribute,
        Kind::Junk,
        Kind::TagEnd,
        Kind::EmptyTagEnd,
        Kind::EndTag,
        Kind::Text,
        Kind::CData,
        Kind::Reference,
        Kind::Comment,
        Kind::Instruction,
        Kind::Declaration,
        Kind::Doctype,
        Kind::Broken,
    ];

    pub(crate) fn of(kind: SyntaxKind) -> Kind {
        Self::ALL[usize::from(kind.0)]
    }

    /// Whether it is an element; a tag is one that closes itself where it stands among items.
    #[inline]
    pub(crate) fn is_element(self) -> bool {
        matches!(self, Kind::Element | Kind::TextElement | Kind::Tag)
    }

    pub(crate) const fn raw(self) -> SyntaxKind {
        SyntaxKind(self as u16)
    }
}

#[cfg(test)]
mod tests {
    use super::Kind;

    #[test]
    fn every_kind_survives_the_way_through_rowan() {
        for kind in Kind::ALL {
            assert_eq!(Kind::of(kind.raw()), kind);
        }
    }
}
