//! What comes again soon is made once: long lists hold the same elements, on lines that are indented alike.

use rowan::{GreenNode, GreenToken, NodeOrToken};

use super::end_tag::childless;
use super::{DEEPEST, MOST_ERRORS, Parser};
use crate::kind::Kind;
use crate::tag::Tag;
use crate::wide::{Green, borrowed};

/// Bytes: longer elements hardly stand in long lists of the same.
const LONGEST: usize = 500;

/// Behind the last of the elements that are the same there are a comment and the text around it, at most.
const NEAR: usize = 4;

/// What came last, which may come again.
#[derive(Debug, Default)]
pub(super) struct Last<'s> {
    /// An element that is an empty tag, in which nothing is wrong, and which means the same wherever it stands.
    childless: Option<&'s str>,
    /// An element without content, in whose start tag something is odd.
    odd: Option<GreenNode>,
    /// Text of nothing but white space, before a `<`.
    blank: Option<(&'s str, GreenToken)>,
}

impl Last<'_> {
    /// The element without content of a start tag in which something is odd: the one that came last, if it is the same.
    pub(super) fn element_of(&mut self, tag: Green) -> Green {
        if let Some(last) = &self.odd
            && last.children().eq([borrowed(&tag)])
        {
            return last.clone().into();
        }
        let element = childless(tag);
        self.odd = element.as_node().cloned();
        element
    }
}

impl<'s> Parser<'s> {
    /// Takes the childless element that came last once more, if it stands here again.
    pub(super) fn childless_again(&mut self) -> bool {
        let rest = &self.text[self.at..];
        let is_here = |last: &&str| {
            // The end first: lists of similar elements are longer than those of the same.
            rest.as_bytes().get(last.len() - 1) == Some(&b'>') && rest.starts_with(*last)
        };
        let Some(last) = self.last.childless.filter(is_here) else {
            return false;
        };
        let is_it = |green: &&Green| match green {
            NodeOrToken::Token(token) => {
                Kind::of(token.kind()) == Kind::Tag && token.text() == last
            }
            NodeOrToken::Node(_) => false,
        };
        let is_placed = !self.is_outside() && self.depth() <= DEEPEST;
        let mut near = self.children.iter().rev().take(NEAR);
        let Some(green) = near.find(is_it).filter(|_| is_placed).cloned() else {
            return false;
        };
        self.children.push(green);
        self.at += last.len();
        true
    }

    /// Remembers the empty tag from `start`, which was pushed last. `before`: how many errors and watches there were
    /// then.
    pub(super) fn note_childless(&mut self, tag: &Tag, start: usize, before: (usize, usize)) {
        let is_right = before == (self.errors.len(), self.notes.watches.len())
            && self.errors.len() < MOST_ERRORS
            && tag.read_to <= tag.end;
        let is_same_anywhere = tag.end - start <= LONGEST
            && !tag.has_colon
            && self.doctype.is_none()
            && !tag.declares
            && !tag.has_ampersand;
        let is_wanted = is_right && is_same_anywhere;
        self.last.childless = is_wanted.then(|| &self.text[start..tag.end]);
    }

    /// Takes the white space that came last once more, if it stands here again.
    pub(super) fn blank_again(&mut self) -> bool {
        let rest = &self.text[self.at..];
        match &self.last.blank {
            Some((last, token))
                if rest.as_bytes().get(last.len()) == Some(&b'<') && rest.starts_with(last) =>
            {
                self.children.push(token.clone().into());
                self.at += last.len();
                true
            }
            _ => false,
        }
    }

    /// Takes the white space from here to the `<` at `end`.
    pub(super) fn blank(&mut self, end: usize) {
        let text = &self.text[self.at..end];
        let token = self.interner.token(Kind::Text, text);
        self.children.push(token.clone().into());
        self.last.blank = Some((text, token));
        self.at = end;
    }
}

#[cfg(test)]
mod tests {
    use std::collections::HashSet;

    use rowan::TextSize;

    use crate::parse;
    use crate::wide::{Wide, address};

    /// How many different pieces of the tree stand for what follows one another in such a text.
    fn pieces(text: &str) -> usize {
        let tree = parse(text);
        assert_eq!(tree.text(), text);
        let children = Wide::new(&tree.green, TextSize::new(0));
        let places = children.map(|(child, _)| address(child));
        places.collect::<HashSet<_>>().len()
    }

    #[test]
    fn elements_in_which_something_is_odd_are_made_once_if_they_follow_one_another() {
        for (text, different) in [
            ("<a ".repeat(50), 1),
            ("<a x=1/>".repeat(50), 1),
            ("<a x=1/><a x=2/>".repeat(2), 4),
            ("<a x=1/><a x=1 />".to_owned(), 2),
            ("<a x=1/><a x='1/>".to_owned(), 2),
        ] {
            assert_eq!(pieces(&text), different, "{text}");
        }
    }
}
