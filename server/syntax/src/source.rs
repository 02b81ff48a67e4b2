//! Texts that are read piece by piece, so that nobody needs to hold all of one in one piece.

use std::borrow::Cow;

use rowan::{Children, GreenNodeData, GreenTokenData, NodeOrToken, TextRange, TextSize};

use crate::Tree;

/// A text that can be read piece by piece.
pub trait Source: std::fmt::Debug {
    /// In bytes.
    fn text_len(&self) -> TextSize;

    /// The start of the character that `offset` is in: `offset` itself between two characters, the text's length past
    /// its end.
    fn floor(&self, offset: TextSize) -> TextSize;

    /// The text in a range, with both ends at [`Source::floor`].
    fn slice(&self, range: TextRange) -> Cow<'_, str>;

    /// The character that starts at `offset`.
    fn char_at(&self, offset: TextSize) -> Option<char> {
        self.slice(TextRange::at(offset, LONGEST)).chars().next()
    }

    /// The character that ends at `offset`.
    fn char_before(&self, offset: TextSize) -> Option<char> {
        let from = offset.checked_sub(LONGEST).unwrap_or_default();
        self.slice(TextRange::new(from, offset)).chars().next_back()
    }

    /// Whether `what` stands directly before `offset`.
    fn is_before(&self, offset: TextSize, what: &str) -> bool {
        let from = offset.checked_sub(TextSize::of(what));
        from.is_some_and(|from| self.slice(TextRange::new(from, offset)) == what)
    }
}

/// In bytes: no character is longer.
const LONGEST: TextSize = TextSize::new(4);

impl Source for str {
    fn text_len(&self) -> TextSize {
        TextSize::of(self)
    }

    #[inline]
    fn floor(&self, offset: TextSize) -> TextSize {
        TextSize::new(self.floor_char_boundary(offset.into()) as u32)
    }

    #[inline]
    fn slice(&self, range: TextRange) -> Cow<'_, str> {
        let ends =
            [range.start(), range.end()].map(|offset| self.floor_char_boundary(offset.into()));
        Cow::Borrowed(&self[ends[0]..ends[1]])
    }
}

impl Source for String {
    fn text_len(&self) -> TextSize {
        self.as_str().text_len()
    }

    fn floor(&self, offset: TextSize) -> TextSize {
        self.as_str().floor(offset)
    }

    fn slice(&self, range: TextRange) -> Cow<'_, str> {
        self.as_str().slice(range)
    }
}

impl Source for Tree {
    fn text_len(&self) -> TextSize {
        self.green.text_len()
    }

    fn floor(&self, offset: TextSize) -> TextSize {
        match Tokens::from(&self.green, offset).next() {
            Some((token, start)) => start + token.text().floor(offset - start),
            None => self.green.text_len(),
        }
    }

    fn slice(&self, range: TextRange) -> Cow<'_, str> {
        let mut tokens = Tokens::from(&self.green, range.start());
        let within = |token: &'_ GreenTokenData, start: TextSize| {
            let from = range.start().checked_sub(start).unwrap_or_default();
            let to = range.end().checked_sub(start).unwrap_or_default();
            (token.text().floor(from), token.text().floor(to))
        };
        let Some((first, start)) = tokens.next() else {
            return Cow::Borrowed("");
        };
        let (from, to) = within(first, start);
        let head = &first.text()[from.into()..to.into()];
        if range.end() <= start + first.text_len() {
            return Cow::Borrowed(head);
        }
        let mut text = String::with_capacity(range.len().into());
        text.push_str(head);
        for (token, start) in tokens {
            if start >= range.end() {
                break;
            }
            let (_, to) = within(token, start);
            text.push_str(&token.text()[..to.into()]);
        }
        Cow::Owned(text)
    }
}

/// The tokens of a tree in the order of the text, each with its offset.
pub(crate) struct Tokens<'t> {
    /// What is left of the lists of children around the place, outermost first.
    lists: Vec<Children<'t>>,
    offset: TextSize,
}

impl<'t> Tokens<'t> {
    /// From the one on that holds `offset`.
    pub(crate) fn from(tree: &'t GreenNodeData, offset: TextSize) -> Self {
        let mut lists = vec![tree.children()];
        let mut at = TextSize::new(0);
        while let Some(list) = lists.last_mut() {
            let mut rest = list.clone();
            match rest.next() {
                None => {
                    lists.pop();
                }
                Some(child) if at + child.text_len() <= offset => {
                    at += child.text_len();
                    *list = rest;
                }
                Some(NodeOrToken::Node(node)) => {
                    *list = rest;
                    lists.push(node.children());
                }
                Some(NodeOrToken::Token(_)) => break,
            }
        }
        Self { lists, offset: at }
    }
}

impl<'t> Iterator for Tokens<'t> {
    type Item = (&'t GreenTokenData, TextSize);

    fn next(&mut self) -> Option<Self::Item> {
        loop {
            match self.lists.last_mut()?.next() {
                None => {
                    self.lists.pop();
                }
                Some(NodeOrToken::Node(node)) => self.lists.push(node.children()),
                Some(NodeOrToken::Token(token)) => {
                    let offset = self.offset;
                    self.offset += token.text_len();
                    return Some((token, offset));
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::parse;

    #[test]
    fn a_tree_gives_the_pieces_of_its_text() {
        let text = "\u{FEFF}<a x='é'>\n  <b>😀 &amp; t</b><!-- ü --><c/>\r\n</a>\n";
        let text = text.repeat(3);
        let tree = parse(&text);
        let len = text.len() as u32 + 3;
        for from in 0..len {
            assert_eq!(tree.floor(from.into()), text.floor(from.into()));
            for to in from..len {
                let range = TextRange::new(from.into(), to.into());
                assert_eq!(tree.slice(range), text.slice(range), "{range:?}");
            }
        }
        assert_eq!(parse("").slice(TextRange::up_to(2.into())), "");
    }
}
