//! Texts that are read piece by piece, so that nobody needs to hold all of one in one piece.

use std::borrow::Cow;
use std::cell::RefCell;

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
pub(crate) const LONGEST: TextSize = TextSize::new(4);

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
        slice(&self.green, range)
    }
}

/// The text in a range of a tree.
pub(crate) fn slice(tree: &GreenNodeData, range: TextRange) -> Cow<'_, str> {
    if range.is_empty() {
        return Cow::Borrowed("");
    }
    let mut tokens = Tokens::from(tree, range.start());
    let place = |token: &GreenTokenData, start: TextSize, offset: TextSize| {
        let within = offset.checked_sub(start).unwrap_or_default();
        usize::from(token.text().floor(within))
    };
    let Some((first, start)) = tokens.next() else {
        return Cow::Borrowed("");
    };
    let ends = [range.start(), range.end()].map(|offset| place(first, start, offset));
    let head = &first.text()[ends[0]..ends[1]];
    if range.end() <= start + first.text_len() {
        return Cow::Borrowed(head);
    }
    let mut text = String::with_capacity(range.len().into());
    text.push_str(head);
    for (token, start) in tokens.take_while(|(_, start)| *start < range.end()) {
        text.push_str(&token.text()[..place(token, start, range.end())]);
    }
    Cow::Owned(text)
}

/// A text of which one piece after the other is asked for, mostly near each other: the text around the last one is at
/// hand, and that around another one: who counts columns in a long line asks for its start again and again.
#[derive(Debug)]
pub struct Nearby<'s> {
    whole: &'s dyn Source,
    /// With where each starts. The last one that was asked for comes first.
    seen: RefCell<[(TextSize, String); 2]>,
}

impl<'s> Nearby<'s> {
    /// In bytes: what is at hand before and behind a place that was not.
    const BEFORE: TextSize = TextSize::new(16 << 10);
    const BEHIND: TextSize = TextSize::new(64 << 10);

    pub fn new(whole: &'s dyn Source) -> Self {
        Self {
            whole,
            seen: RefCell::default(),
        }
    }

    /// What `then` makes of the text around a range, and of where that starts.
    fn around<T>(&self, range: TextRange, then: impl FnOnce(&str, TextSize) -> T) -> T {
        let mut seen = self.seen.borrow_mut();
        let is_in = |(start, text): &(TextSize, String)| {
            TextRange::at(*start, TextSize::of(&**text)).contains_range(range)
        };
        if !is_in(&seen[0]) {
            seen.swap(0, 1);
        }
        if !is_in(&seen[0]) {
            let from = range.start().checked_sub(Self::BEFORE).unwrap_or_default();
            let from = self.whole.floor(from);
            let to = u32::from(range.end()).saturating_add(Self::BEHIND.into());
            let text = self.whole.slice(TextRange::new(from, to.into()));
            seen[0] = (from, text.into_owned());
        }
        then(&seen[0].1, seen[0].0)
    }
}

impl Source for Nearby<'_> {
    fn text_len(&self) -> TextSize {
        self.whole.text_len()
    }

    fn floor(&self, offset: TextSize) -> TextSize {
        self.around(TextRange::empty(offset), |text, start| {
            start + text.floor(offset - start)
        })
    }

    fn slice(&self, range: TextRange) -> Cow<'_, str> {
        self.around(range, |text, start| {
            Cow::Owned(text.slice(range - start).into_owned())
        })
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
        // Room for a place that is as deep as places mostly are.
        let mut lists = Vec::with_capacity(16);
        let mut list = tree.children();
        let mut at = TextSize::new(0);
        loop {
            let here = list.clone();
            match list.next() {
                None => match lists.pop() {
                    Some(around) => list = around,
                    None => break,
                },
                Some(child) if at + child.text_len() <= offset => at += child.text_len(),
                Some(NodeOrToken::Node(node)) => {
                    lists.push(list);
                    list = node.children();
                }
                Some(NodeOrToken::Token(_)) => {
                    list = here;
                    break;
                }
            }
        }
        lists.push(list);
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

    #[test]
    fn what_is_at_hand_is_what_is_there() {
        let text = "<a>aé€🌲</a>\n".repeat(20_000);
        let tree = parse(&text);
        let near = Nearby::new(&tree);
        let len = text.len() as u32;
        let steps = (0..len + 9).step_by(4_999);
        for from in steps
            .clone()
            .chain(steps.rev())
            .chain([0, 65_533, 65_540, len])
        {
            let from = TextSize::new(from);
            assert_eq!(near.floor(from), text.floor(from));
            for width in [0, 1, 2, 77, 90_000] {
                let range = TextRange::at(from, width.into());
                assert_eq!(near.slice(range), text.slice(range), "{range:?}");
            }
        }
        assert_eq!(near.text_len(), text.text_len());
    }

    #[test]
    fn an_element_gives_the_pieces_of_its_text() {
        let text = "<a>x<b c='é'>t<d/>u</b> <e f=\"1\"/> <g>h</g></a>";
        let tree = parse(text);
        let mut elements = vec![tree.root().unwrap()];
        while let Some(element) = elements.pop() {
            let (start, end) = (element.range().start().into(), element.range().end().into());
            for (from, to) in (start..=end).flat_map(|from| (from..=end).map(move |to| (from, to)))
            {
                let range = TextRange::new(TextSize::new(from), TextSize::new(to));
                assert_eq!(element.slice(range), text.slice(range), "{range:?}");
            }
            elements.extend(element.children());
        }
    }
}
