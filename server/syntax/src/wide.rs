//! Lists with any number of children, kept narrow: a node with many children holds them in nested `Chunk` nodes, so
//! that replacing one child copies a few short lists and not a long one. The chunks are invisible to the views, and
//! two trees that differ only in their chunks are equal.

use rowan::{
    Children, GreenNode, GreenNodeData, GreenToken, GreenTokenData, NodeOrToken, TextSize,
};

use crate::kind::Kind;

pub(crate) type Green = NodeOrToken<GreenNode, GreenToken>;
pub(crate) type GreenRef<'t> = NodeOrToken<&'t GreenNodeData, &'t GreenTokenData>;

pub(crate) fn borrowed(green: &Green) -> GreenRef<'_> {
    match green {
        NodeOrToken::Node(node) => NodeOrToken::Node(node),
        NodeOrToken::Token(token) => NodeOrToken::Token(token),
    }
}

/// The place in memory.
pub(crate) fn address(green: GreenRef<'_>) -> usize {
    match green {
        NodeOrToken::Node(node) => std::ptr::from_ref(node).addr(),
        NodeOrToken::Token(token) => std::ptr::from_ref(token).addr(),
    }
}

/// Levels of chunks; the narrowest to this power is more than a text can hold.
const DEEPEST: usize = 8;

/// Children per chunk when a list of so many is built: as many as there are chunks, within bounds. What is looked at anew
/// after an edit is a chunk, and all chunks are passed by: of a short list the one weighs more, of a long one the other.
/// Twice as many are divided again.
fn fanout(children: usize) -> usize {
    children.isqrt().clamp(32, 128)
}

/// About how many children a list has.
fn count(list: &GreenNodeData) -> usize {
    let children = list.children();
    let below = children.clone().find_map(|child| match child {
        NodeOrToken::Node(chunk) if Kind::of(chunk.kind()) == Kind::Chunk => Some(count(chunk)),
        _ => None,
    });
    children.len() * below.unwrap_or(1)
}

/// A node of `kind` that holds `children`, in chunks if they are many.
pub(crate) fn node(kind: Kind, children: impl ExactSizeIterator<Item = Green>) -> GreenNode {
    let fanout = fanout(children.len());
    in_chunks(kind, children, fanout)
}

fn in_chunks(
    kind: Kind,
    children: impl ExactSizeIterator<Item = Green>,
    fanout: usize,
) -> GreenNode {
    if children.len() <= 2 * fanout {
        return GreenNode::new(kind.raw(), children);
    }
    let mut level = chunks(children, fanout);
    while level.len() > 2 * fanout {
        level = chunks(level.into_iter(), fanout);
    }
    GreenNode::new(kind.raw(), level)
}

fn chunks(mut children: impl ExactSizeIterator<Item = Green>, fanout: usize) -> Vec<Green> {
    let count = children.len().div_ceil(fanout);
    let mut chunks = Vec::with_capacity(count);
    for made in 0..count {
        // Even shares: no chunk is left with a single child.
        let share = children.len().div_ceil(count - made);
        chunks.push(GreenNode::new(Kind::Chunk.raw(), Take(&mut children, share)).into());
    }
    chunks
}

/// The next so many items of an iterator; `std::iter::Take` over `&mut dyn` does not know its length.
struct Take<'i, I>(&'i mut I, usize);

impl<I: ExactSizeIterator> Iterator for Take<'_, I> {
    type Item = I::Item;

    fn next(&mut self) -> Option<I::Item> {
        if self.1 == 0 {
            return None;
        }
        self.1 -= 1;
        self.0.next()
    }

    fn size_hint(&self) -> (usize, Option<usize>) {
        let left = self.1.min(self.0.len());
        (left, Some(left))
    }
}

impl<I: ExactSizeIterator> ExactSizeIterator for Take<'_, I> {}

/// The children of a node with their offsets, chunks opened.
#[derive(Clone, Debug)]
pub(crate) struct Wide<'t> {
    /// What is left of the innermost list.
    inner: Option<Children<'t>>,
    /// What is left of the lists around it, outermost first. Mostly there are none, and nothing is allocated.
    outer: Vec<Children<'t>>,
    offset: TextSize,
}

impl<'t> Wide<'t> {
    /// The children of `node`, which starts at `offset`.
    #[inline]
    pub(crate) fn new(node: &'t GreenNodeData, offset: TextSize) -> Self {
        Self {
            inner: Some(node.children()),
            outer: Vec::new(),
            offset,
        }
    }

    #[inline]
    pub(crate) fn empty() -> Self {
        Self {
            inner: None,
            outer: Vec::new(),
            offset: TextSize::new(0),
        }
    }

    /// Skips the children that end before `target`, so that the next one holds it or starts with it or touches it
    /// with its end.
    pub(crate) fn seek(&mut self, target: TextSize) {
        while let Some(list) = &mut self.inner {
            let mut rest = list.clone();
            match rest.next() {
                None => self.inner = self.outer.pop(),
                Some(child) if self.offset + child.text_len() < target => {
                    self.offset += child.text_len();
                    *list = rest;
                }
                Some(NodeOrToken::Node(chunk)) if Kind::of(chunk.kind()) == Kind::Chunk => {
                    *list = rest;
                    self.open(chunk);
                }
                Some(_) => return,
            }
        }
    }

    fn open(&mut self, chunk: &'t GreenNodeData) {
        self.outer.extend(self.inner.replace(chunk.children()));
    }
}

impl<'t> Iterator for Wide<'t> {
    type Item = (GreenRef<'t>, TextSize);

    #[inline]
    fn next(&mut self) -> Option<Self::Item> {
        loop {
            match self.inner.as_mut()?.next() {
                None => self.inner = self.outer.pop(),
                Some(NodeOrToken::Node(chunk)) if Kind::of(chunk.kind()) == Kind::Chunk => {
                    self.open(chunk)
                }
                Some(child) => {
                    let offset = self.offset;
                    self.offset += child.text_len();
                    return Some((child, offset));
                }
            }
        }
    }
}

/// `list` with the children between the offsets `from` and `to` (relative to its start, both between children)
/// replaced by `new`. None if nothing is left.
pub(crate) fn splice(
    list: &GreenNodeData,
    from: TextSize,
    to: TextSize,
    new: Vec<Green>,
) -> Option<GreenNode> {
    let mut new = Some(new);
    let fanout = fanout(count(list));
    let children = spliced(list, from, to, &mut new, fanout);
    if children.is_empty() {
        return None;
    }
    let kind = Kind::of(list.kind());
    let node = in_chunks(kind, children.into_iter(), fanout);
    if levels(&node) < DEEPEST {
        return Some(node);
    }
    // Only an endless session of unlucky edits gets here: build the list afresh.
    let all: Vec<Green> = Wide::new(&node, TextSize::new(0))
        .map(|(child, _)| child.to_owned())
        .collect();
    Some(self::node(kind, all.into_iter()))
}

fn levels(node: &GreenNodeData) -> usize {
    let mut deepest = 1;
    let mut below: Vec<(&GreenNodeData, usize)> = vec![(node, 1)];
    while let Some((node, level)) = below.pop() {
        deepest = deepest.max(level);
        // Chunks are as deep on the left as elsewhere, give or take what was deleted.
        below.extend(node.children().find_map(|child| match child {
            NodeOrToken::Node(chunk) if Kind::of(chunk.kind()) == Kind::Chunk => {
                Some((chunk, level + 1))
            }
            _ => None,
        }));
    }
    deepest
}

/// The children of a node or chunk after the replacement; new ones go into the first chunk that touches the place.
fn spliced(
    node: &GreenNodeData,
    from: TextSize,
    to: TextSize,
    new: &mut Option<Vec<Green>>,
    fanout: usize,
) -> Vec<Green> {
    let mut children = Vec::with_capacity(node.children().len() + 1);
    let mut start = TextSize::new(0);
    for child in node.children() {
        let end = start + child.text_len();
        let touched = end >= from && start <= to;
        match child {
            NodeOrToken::Node(chunk)
                if touched
                    && Kind::of(chunk.kind()) == Kind::Chunk
                    && (new.is_some() || start < to) =>
            {
                let zero = TextSize::new(0);
                let from = from.checked_sub(start).unwrap_or(zero);
                let inner = spliced(
                    chunk,
                    from,
                    to.checked_sub(start).unwrap_or(zero).min(end - start),
                    new,
                    fanout,
                );
                push_chunks(&mut children, inner, fanout);
            }
            _ => {
                if start >= from {
                    children.extend(new.take().into_iter().flatten());
                }
                if end <= from || start >= to {
                    children.push(child.to_owned());
                }
            }
        }
        start = end;
    }
    // The end of this node is the place, or behind it.
    if start >= from {
        children.extend(new.take().into_iter().flatten());
    }
    children
}

fn push_chunks(children: &mut Vec<Green>, inner: Vec<Green>, fanout: usize) {
    if inner.len() > 2 * fanout {
        children.extend(chunks(inner.into_iter(), fanout));
    } else if !inner.is_empty() {
        children.push(GreenNode::new(Kind::Chunk.raw(), inner).into());
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn list(texts: &[String]) -> GreenNode {
        let tokens: Vec<Green> = tokens(texts);
        node(Kind::Content, tokens.into_iter())
    }

    fn tokens(texts: &[String]) -> Vec<Green> {
        texts
            .iter()
            .map(|text| GreenToken::new(Kind::Text.raw(), text).into())
            .collect()
    }

    fn texts(node: &GreenNodeData) -> Vec<String> {
        Wide::new(node, TextSize::new(0))
            .map(|(child, _)| {
                child
                    .into_token()
                    .map_or(String::new(), |token| token.text().to_owned())
            })
            .collect()
    }

    fn widest(node: &GreenNodeData) -> usize {
        let own = node.children().len();
        node.children()
            .filter_map(NodeOrToken::into_node)
            .map(widest)
            .fold(own, usize::max)
    }

    #[test]
    fn long_lists_are_narrow_and_complete() {
        for count in [0, 1, 64, 65, 66, 5000] {
            let words: Vec<String> = (0..count).map(|n| format!("{n},")).collect();
            let list = list(&words);
            assert_eq!(texts(&list), words);
            assert!(widest(&list) <= 2 * fanout(words.len()));
        }
    }

    #[test]
    fn a_long_list_has_about_as_many_chunks_as_each_has_children() {
        let words: Vec<String> = (0..10_000).map(|n| format!("{n},")).collect();
        let long = list(&words);
        assert_eq!((long.children().len(), widest(&long)), (100, 100));
        assert_eq!(count(&long), 10_000);
        // And stays so: one more does not make another level.
        let after = splice(&long, 0.into(), 0.into(), tokens(&["first,".to_owned()])).unwrap();
        assert_eq!((after.children().len(), widest(&after)), (100, 101));
    }

    #[test]
    fn splicing_does_what_it_does_to_a_vector() {
        let mut words: Vec<String> = (0..300).map(|n| format!("{n},")).collect();
        let mut list = list(&words);
        let mut seed = 7u64;
        let mut random = |below: usize| {
            seed = seed
                .wrapping_mul(6364136223846793005)
                .wrapping_add(1442695040888963407);
            (seed >> 33) as usize % below.max(1)
        };
        for round in 0..2000 {
            let from = random(words.len() + 1);
            let to = from + random((words.len() - from).min(4) + 1);
            let new: Vec<String> = (0..random(5)).map(|n| format!("{round}.{n};")).collect();
            let offset =
                |at: usize| TextSize::new(words[..at].iter().map(|w| w.len() as u32).sum());
            let Some(after) = splice(&list, offset(from), offset(to), tokens(&new)) else {
                continue;
            };
            list = after;
            words.splice(from..to, new);
            assert_eq!(texts(&list), words);
            assert!(widest(&list) <= 2 * fanout(words.len()));
        }
    }

    #[test]
    fn seeking_stops_at_the_child_that_touches() {
        let words: Vec<String> = (0..1000).map(|n| format!("{n:04}")).collect();
        let list = list(&words);
        let mut children = Wide::new(&list, TextSize::new(10));
        children.seek(TextSize::new(10 + 4 * 777 + 1));
        assert_eq!(
            children.next().map(|(_, offset)| offset),
            Some(TextSize::new(10 + 4 * 777))
        );
        let mut children = Wide::new(&list, TextSize::new(10));
        children.seek(TextSize::new(10 + 4 * 777));
        assert_eq!(
            children.next().map(|(_, offset)| offset),
            Some(TextSize::new(10 + 4 * 776))
        );
    }
}
