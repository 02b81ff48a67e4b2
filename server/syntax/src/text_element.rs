//! Elements that hold text and nothing else, as many formats write their values. Short ones are one token each, and
//! their parts are found when somebody asks.

use rowan::{GreenNode, GreenToken, NodeOrToken, TextSize};

use crate::kind::Kind;
use crate::wide::{Green, Wide};

/// Bytes: the parts of longer ones take their time to be found.
const LONGEST: usize = 512;

/// The parts of a [`Kind::TextElement`]: a [`Kind::Tag`], a [`Kind::Text`], and a [`Kind::EndTag`].
#[derive(Copy, Clone, Debug)]
pub(crate) struct Parts<'t> {
    pub(crate) tag: &'t str,
    pub(crate) text: &'t str,
    pub(crate) end_tag: &'t str,
}

impl<'t> Parts<'t> {
    /// `whole`: a [`Kind::TextElement`].
    pub(crate) fn of(whole: &'t str) -> Self {
        let bytes = whole.as_bytes();
        let text = memchr::memchr(b'>', bytes).map_or(bytes.len(), |end| end + 1);
        let end_tag = memchr::memchr(b'<', &bytes[text..]);
        let end_tag = end_tag.map_or(bytes.len(), |found| text + found);
        Self {
            tag: &whole[..text],
            text: &whole[text..end_tag],
            end_tag: &whole[end_tag..],
        }
    }

    fn tokens(self) -> [GreenToken; 3] {
        [
            GreenToken::new(Kind::Tag.raw(), self.tag),
            GreenToken::new(Kind::Text.raw(), self.text),
            GreenToken::new(Kind::EndTag.raw(), self.end_tag),
        ]
    }
}

/// Where an element ends that holds the text behind its start tag, which ends at `tag_end`, and nothing else. None if
/// it holds something else, or might be in pieces, or something in it or about its end tag needs a look.
pub(crate) fn end(text: &str, start: usize, name: &str, tag_end: usize) -> Option<usize> {
    let bytes = &text.as_bytes()[..text.len().min(start + LONGEST)];
    let content = bytes.get(tag_end..)?;
    let end_tag = tag_end + memchr::memchr3(b'<', b'&', b']', content)?;
    let rest = bytes[end_tag..].strip_prefix(b"</")?;
    let is_right = rest.strip_prefix(name.as_bytes())?.first() == Some(&b'>');
    let is_one = end_tag > tag_end && ends_at_first_bracket(&text[start..tag_end]);
    (is_right && is_one).then_some(end_tag + 2 + name.len() + 1)
}

fn ends_at_first_bracket(tag: &str) -> bool {
    memchr::memchr(b'>', tag.as_bytes()) == Some(tag.len() - 1)
}

/// An element as one token, if it may be one.
pub(crate) fn joined(element: GreenNode) -> Green {
    match as_one(&element) {
        Some(whole) => GreenToken::new(Kind::TextElement.raw(), &whole).into(),
        None => element.into(),
    }
}

fn as_one(element: &GreenNode) -> Option<String> {
    if usize::from(element.text_len()) > LONGEST {
        return None;
    }
    let mut parts = element.children();
    let (tag, content) = (parts.next()?.into_token()?, parts.next()?.into_node()?);
    let end_tag = parts.next()?.into_token()?;
    // One of many that were deleted can still be in a chunk.
    let mut items = Wide::new(content, TextSize::new(0));
    let text = items.next()?.0.into_token()?;
    let kinds = [tag, text, end_tag].map(|token| Kind::of(token.kind()));
    let is_one = items.next().is_none()
        && kinds == [Kind::Tag, Kind::Text, Kind::EndTag]
        && ends_at_first_bracket(tag.text());
    is_one.then(|| element.to_string())
}

/// An element with its parts as nodes and tokens of their own. None if it is a single tag.
pub(crate) fn in_parts(element: Green) -> Option<GreenNode> {
    let token = match element {
        NodeOrToken::Node(node) => return Some(node),
        NodeOrToken::Token(token) => token,
    };
    if Kind::of(token.kind()) != Kind::TextElement {
        return None;
    }
    let [tag, text, end_tag] = Parts::of(token.text()).tokens();
    let content = GreenNode::new(Kind::Content.raw(), [text.into()]);
    let parts: [Green; 3] = [tag.into(), content.into(), end_tag.into()];
    Some(GreenNode::new(Kind::Element.raw(), parts))
}

#[cfg(test)]
mod tests {
    use rowan::{NodeOrToken, TextRange};

    use super::*;
    use crate::{Element, Item, parse};

    /// What is asked of the only child of the root.
    fn with_child<T>(content: &str, ask: impl FnOnce(Element<'_>) -> T) -> T {
        let tree = parse(&format!("<m>{content}</m>"));
        let root = tree.root().expect("a root");
        let mut children = root.children();
        let child = children.next().expect("a child");
        assert_eq!(children.next(), None, "{content}");
        ask(child)
    }

    fn is_one(element: Element<'_>) -> bool {
        Kind::of(element.green.kind()) == Kind::TextElement
    }

    #[derive(Debug, PartialEq)]
    struct Said {
        names: [String; 2],
        ranges: [Option<TextRange>; 7],
        texts: [String; 2],
        attributes: Vec<(String, String, TextRange)>,
        items: Vec<(String, TextRange)>,
        flags: [bool; 3],
    }

    fn said(element: Element<'_>) -> Said {
        let attributes = element.attributes().map(|attribute| {
            let (value, range) = attribute.value_and_range().expect("a value");
            (attribute.name().to_owned(), value.into_owned(), range)
        });
        let items = element.items().map(|item| match item {
            Item::Text(token) => (token.text().to_owned(), token.range()),
            item => panic!("{item:?}"),
        });
        let end_tag = element.end_tag();
        Said {
            names: [
                element.name().to_owned(),
                end_tag.map_or("", |tag| tag.name()).to_owned(),
            ],
            ranges: [
                Some(element.range()),
                Some(element.name_range()),
                Some(element.start_tag_range()),
                element.content_range(),
                element.text_range(),
                end_tag.map(|tag| tag.range()),
                end_tag.map(|tag| tag.name_range()),
            ],
            texts: [element.start_tag_text(), element.text().into_owned()],
            attributes: attributes.collect(),
            items: items.collect(),
            flags: [
                element.is_start_tag_closed(),
                element.is_self_closing(),
                element.has_content(),
            ],
        }
    }

    #[test]
    fn one_in_one_piece_says_what_one_in_pieces_says() {
        for content in [
            "<a>1</a>",
            "<a >\n 1 2\n</a>",
            "<a> </a>",
            "<p:a xmlns:p='u' p:b=\"&lt;\" c = '2'>é\r\n😀</p:a>",
            "<a>1</a >",
            "<a>x</a/>",
            "<a>]]></a>",
            "<a>1</b>",
        ] {
            with_child(content, |child| {
                assert!(is_one(child), "{content}");
                let parts = in_parts(child.green.to_owned()).expect("parts");
                let apart = Element {
                    green: NodeOrToken::Node(&parts),
                    offset: child.offset,
                };
                assert_eq!(said(child), said(apart), "{content}");
                assert_eq!(child.children().count(), 0);
                assert_eq!(joined(parts.clone()), child.green.to_owned(), "{content}");
                let mut items = child.items();
                items.seek(child.range().end());
                assert_eq!(items.next(), None);
            });
        }
    }

    #[test]
    fn the_root_may_be_one() {
        assert!(is_one(parse("<a>1</a>").root().expect("a root")));
    }

    #[test]
    fn others_are_in_pieces() {
        for content in [
            "<a></a>",
            "<a/>",
            "<a b='>'>1</a>",
            "<a>1&amp;2</a>",
            "<a>1<b/></a>",
            "<a>1<!-- --></a>",
            "<a><![CDATA[1]]></a>",
            "<a b=1>1</a>",
        ] {
            with_child(content, |child| assert!(!is_one(child), "{content}"));
        }
        let of_len = |len: usize| format!("<a>{}</a>", "x".repeat(len - "<a></a>".len()));
        assert!(with_child(&of_len(LONGEST), is_one));
        assert!(!with_child(&of_len(LONGEST + 1), is_one));
    }
}
