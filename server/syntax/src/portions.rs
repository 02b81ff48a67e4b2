//! A document cut into portions that are looked at one by one.
//!
//! What is computed from a portion alone can be kept as long as the portion stays: an edit makes a few new ones and
//! leaves the others the same. Where a list is cut depends on how the document came to be, so what is computed over
//! all portions must not depend on the cuts.

use rowan::{GreenNode, GreenNodeData, NodeOrToken, TextRange, TextSize};

use crate::item::{Item, Items};
use crate::kind::Kind;
use crate::wide::{GreenRef, Wide, address};
use crate::{Element, Tree};

/// Elements longer than this are cut up, but for those in a short chunk; and no run of items is cut longer unless it is a
/// single item. Bytes.
const LONG: TextSize = TextSize::new(4096);

/// A chunk of a list that is no longer than this is a portion, whatever is in it: chunks of long lists hold many items. Bytes.
const LONGEST_CHUNK: TextSize = TextSize::new(2 * 4096);

/// A portion is mostly no shorter. Bytes.
const USUAL: usize = 1024;

/// A stretch of a document. Together, the portions are the document, but for the end tags of long elements. A portion
/// holds what is in it, so it can be looked at when its tree is gone.
#[derive(Clone, Debug)]
pub struct Portion {
    /// The long element, or the list that the items are in.
    green: GreenNode,
    /// Where that starts.
    offset: TextSize,
    is_tag: bool,
    /// Of the start tag, or of the items.
    pub range: TextRange,
    /// Where in the list of portions the tag of the long element around this one stands. None at the top level.
    pub holder: Option<usize>,
    pub identity: Identity,
}

/// What tells portions apart: two portions with equal identities are the same, as long as both are alive. It is their
/// place in memory, so it means nothing once they are gone.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Identity(Addresses);

/// Mostly it is one place, and there are many portions.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
enum Addresses {
    One(usize),
    Several(Box<[usize]>),
}

impl Identity {
    fn one(green: GreenRef<'_>) -> Self {
        Self(Addresses::One(address(green)))
    }

    fn of(addresses: &[usize]) -> Self {
        Self(match addresses {
            [only] => Addresses::One(*only),
            several => Addresses::Several(several.into()),
        })
    }
}

impl Portion {
    /// The long element whose start tag this is; its content follows in portions of its own.
    pub fn element(&self) -> Option<Element<'_>> {
        self.is_tag.then(|| Element {
            green: NodeOrToken::Node(&self.green),
            offset: self.offset,
        })
    }

    /// The items, neighbours in one element or at the top level. None for a start tag.
    pub fn items(&self) -> impl Iterator<Item = Item<'_>> {
        let range = self.range;
        let mut items = Items::new(match self.is_tag {
            true => Wide::empty(),
            false => Wide::new(&self.green, self.offset),
        });
        items.seek(range.start());
        items
            .skip_while(move |item| item.range().end() <= range.start())
            .take_while(move |item| item.range().start() < range.end())
    }

    /// How many bytes at the front and at the back of two runs of items are the same items, without the neighbours of
    /// those that differ: what is wrong with an item touches them. Nothing for start tags.
    pub fn in_common(&self, other: &Self) -> (TextSize, TextSize) {
        if self.is_tag || other.is_tag {
            return Default::default();
        }
        let (own, others) = (self.pieces(), other.pieces());
        let same = |(one, other): &(&(usize, TextSize), &(usize, TextSize))| one == other;
        let front = own.iter().zip(&others).take_while(same).count();
        if front == own.len() && front == others.len() {
            return (self.range.len(), TextSize::new(0));
        }
        let (rest, others) = (&own[front..], &others[front..]);
        let from_back = rest.iter().rev().zip(others.iter().rev());
        let back = from_back.take_while(same).count();
        let len = |pieces: &[(usize, TextSize)]| pieces.iter().map(|(_, len)| *len).sum();
        (
            len(&own[..front.saturating_sub(1)]),
            len(&rest[rest.len() - back..][usize::from(back > 0)..]),
        )
    }

    /// The places in memory of the items, with their lengths.
    fn pieces(&self) -> Vec<(usize, TextSize)> {
        let range = self.range;
        let mut all = Wide::new(&self.green, self.offset);
        all.seek(range.start());
        let here = all
            .skip_while(|(green, offset)| *offset + green.text_len() <= range.start())
            .take_while(|(_, offset)| *offset < range.end());
        here.map(|(green, _)| (address(green), green.text_len()))
            .collect()
    }

    /// The identity without what is in the long element, for a start tag; else the identity.
    pub fn lasting_identity(&self) -> Identity {
        match self.element().and_then(|element| element.start_tag()) {
            Some(tag) => Identity::one(tag),
            None => self.identity.clone(),
        }
    }

    /// Whether both are the same, or start tags that are the same.
    pub fn is_same_but_for_content(&self, other: &Self) -> bool {
        if self.identity == other.identity {
            return true;
        }
        let tag = |portion: &Self| Some(address(portion.element()?.start_tag()?));
        match (tag(self), tag(other)) {
            (None, None) => false,
            (one, other) => one == other,
        }
    }
}

impl Tree {
    /// All of the document as one portion.
    pub fn whole(&self) -> Portion {
        let len = self.green.text_len();
        Portion {
            green: self.green.clone(),
            offset: TextSize::new(0),
            is_tag: false,
            range: TextRange::up_to(len),
            holder: None,
            identity: Identity::one(NodeOrToken::Node(&self.green)),
        }
    }

    /// The document in portions, in the order of the text. Takes time in proportion to their number.
    pub fn portions(&self) -> Vec<Portion> {
        let mut cut = Cut {
            portions: Vec::with_capacity(usize::from(self.green.text_len()) / USUAL + 1),
            run: Vec::new(),
            run_start: TextSize::new(0),
        };
        // Nesting is capped, so this recursion is.
        cut.list(&self.green, TextSize::new(0), None);
        cut.portions
    }
}

struct Cut {
    portions: Vec<Portion>,
    /// The neighbours that are not in a portion yet.
    run: Vec<usize>,
    run_start: TextSize,
}

impl Cut {
    fn list(&mut self, list: &GreenNodeData, offset: TextSize, holder: Option<usize>) {
        let mut at = offset;
        self.run_start = at;
        for child in list.children() {
            let len = child.text_len();
            match child {
                NodeOrToken::Node(node) if Kind::of(node.kind()) == Kind::Chunk => {
                    self.flush(list, offset, at, holder);
                    if len <= LONGEST_CHUNK {
                        let range = TextRange::at(at, len);
                        self.items(node, at, range, holder, Identity::one(child));
                    } else {
                        self.list(node, at, holder);
                    }
                }
                NodeOrToken::Node(node) if Kind::of(node.kind()) == Kind::Element && len > LONG => {
                    self.flush(list, offset, at, holder);
                    self.element(node, at, holder);
                }
                _ => {
                    if !self.run.is_empty() && at + len - self.run_start > LONG {
                        self.flush(list, offset, at, holder);
                    }
                    self.run.push(address(child));
                }
            }
            at += len;
            if self.run.is_empty() {
                self.run_start = at;
            }
        }
        self.flush(list, offset, at, holder);
    }

    fn element(&mut self, node: &GreenNodeData, offset: TextSize, holder: Option<usize>) {
        let green = NodeOrToken::Node(node);
        let element = Element { green, offset };
        let tag = self.portions.len();
        self.portions.push(Portion {
            green: node.to_owned(),
            offset,
            is_tag: true,
            range: element.start_tag_range(),
            holder,
            identity: Identity::one(green),
        });
        if let Some((content, offset)) = element.content() {
            self.list(content, offset, Some(tag));
        }
    }

    /// Makes a portion of the neighbours, which stand in `list` and end at `end`.
    fn flush(
        &mut self,
        list: &GreenNodeData,
        offset: TextSize,
        end: TextSize,
        holder: Option<usize>,
    ) {
        if self.run.is_empty() {
            return;
        }
        let range = TextRange::new(self.run_start, end);
        let identity = Identity::of(&self.run);
        self.items(list, offset, range, holder, identity);
        self.run.clear();
        self.run_start = end;
    }

    fn items(
        &mut self,
        list: &GreenNodeData,
        offset: TextSize,
        range: TextRange,
        holder: Option<usize>,
        identity: Identity,
    ) {
        self.portions.push(Portion {
            green: list.to_owned(),
            offset,
            is_tag: false,
            range,
            holder,
            identity,
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{TextEdit, parse};

    fn long_list(count: usize) -> String {
        let rows: String = (0..count)
            .map(|n| format!("  <row n=\"{n}\"/> text {n}\n"))
            .collect();
        let big = "x".repeat(5000);
        format!(
            "<?xml version=\"1.0\"?>\n<top a=\"1\">\n{rows}<long><in>{big}</in>{rows}</long>tail</top>\n<!-- end -->"
        )
    }

    /// What the portions say of the text: each item once, in order.
    fn covered(tree: &Tree) -> Vec<TextRange> {
        let mut ranges = Vec::new();
        for portion in tree.portions() {
            match portion.element() {
                Some(element) => ranges.push(element.start_tag_range()),
                None => {
                    let items: Vec<TextRange> = portion.items().map(|item| item.range()).collect();
                    assert_eq!(
                        items.first().map(|range| range.start()),
                        Some(portion.range.start())
                    );
                    assert_eq!(
                        items.last().map(|range| range.end()),
                        Some(portion.range.end())
                    );
                    ranges.extend(items);
                }
            }
        }
        ranges
    }

    #[test]
    fn every_item_is_in_one_portion() {
        for count in [0, 1, 3, 40, 700, 5000] {
            let text = long_list(count);
            let tree = parse(&text);
            let ranges = covered(&tree);
            let mut rest = text.clone();
            for range in ranges.iter().rev() {
                rest.replace_range(std::ops::Range::<usize>::from(*range), "");
            }
            let ends = ["</in></long></top>", "</long></top>", "</top>", ""];
            assert!(ends.contains(&rest.as_str()), "{count}: {rest}");
            assert!(
                ranges
                    .windows(2)
                    .all(|pair| pair[0].end() <= pair[1].start())
            );
        }
    }

    #[test]
    fn holders_are_the_long_elements_around() {
        let text = long_list(700);
        let tree = parse(&text);
        let portions = tree.portions();
        for portion in &portions {
            let Some(holder) = portion.holder else {
                continue;
            };
            let element = portions[holder].element().expect("a holder is a tag");
            assert!(element.range().contains_range(portion.range));
        }
        assert!(
            portions
                .iter()
                .any(|portion| portion.holder.is_some_and(|at| at > 0))
        );
    }

    #[test]
    fn neighbours_have_all_but_the_edited_item_in_common() {
        let mut text = long_list(20);
        let tree = parse(&text);
        let at = text.find("n=\"9\"").unwrap();
        text.insert_str(at, "m=\"1\" ");
        let after = tree.edited(&TextEdit::insert((at as u32).into(), "m=\"1\" "));
        let with = |tree: &Tree| {
            let mut portions = tree.portions().into_iter();
            portions.find(|portion| {
                portion.range.contains(TextSize::new(at as u32)) && portion.element().is_none()
            })
        };
        let (before, after) = (with(&tree).unwrap(), with(&after).unwrap());
        let (front, back) = after.in_common(&before);
        let start = after.range.start();
        let between = &text[usize::from(start + front)..usize::from(after.range.end() - back)];
        assert_eq!(between, " text 8\n  <row m=\"1\" n=\"9\"/> text 9\n  ");
        assert_eq!(
            before.in_common(&before),
            (before.range.len(), TextSize::new(0))
        );
    }

    #[test]
    fn an_edit_leaves_the_other_portions_the_same() {
        let text = long_list(5000);
        let tree = parse(&text);
        let at = text.find("n=\"2500\"").unwrap() + 3;
        let after = tree.edited(&TextEdit::insert((at as u32).into(), "7"));
        let known: std::collections::HashSet<Identity> =
            tree.portions().into_iter().map(|p| p.identity).collect();
        let new = after
            .portions()
            .into_iter()
            .filter(|p| !known.contains(&p.identity));
        // The run that holds it, and the tag of the element around.
        assert_eq!(new.count(), 2);
    }
}
