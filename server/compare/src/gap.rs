//! What stands between two neighbours that stay.

use syntax::TextSize;
use syntax::escape::plain_lines;

use crate::document::{Document, Id, Kind, TOP};
use crate::operations::{Place, Planner};

/// Nodes between two that stay, or the end of their parent, and the texts around each.
#[derive(Debug)]
pub(crate) struct Gap {
    parent: (Id, Id),
    left: Option<Id>,
    right: Option<Id>,
    old: Side,
    new: Side,
}

/// n nodes and n + 1 texts around them, which may be empty.
#[derive(Debug, Default)]
struct Side {
    nodes: Vec<Id>,
    texts: Vec<Option<Id>>,
    start: TextSize,
    end: TextSize,
}

type Pair = Option<(Id, Id)>;

impl Gap {
    pub(crate) fn new(
        planner: &Planner<'_, '_>,
        parent: (Id, Id),
        (left, right): (Pair, Pair),
    ) -> Self {
        let old = |pair: Pair| pair.map(|pair| pair.0);
        let new = |pair: Pair| pair.map(|pair| pair.1);
        Self {
            parent,
            left: old(left),
            right: old(right),
            old: side(planner.old, parent.0, old(left), old(right)),
            new: side(planner.new, parent.1, new(left), new(right)),
        }
    }

    /// Adds the operations that make the new one out of the old one.
    pub(crate) fn close(self, planner: &mut Planner<'_, '_>) {
        let (old, new) = (planner.old, planner.new);
        // No path leads to a declaration or a DOCTYPE, and no patch can bring one along.
        let is_fixed = |id: &Id| matches!(new.nodes[*id].kind, Kind::Fixed);
        if self.new.nodes.iter().any(is_fixed) {
            return;
        }
        if self.alike(planner) {
            for (was, is) in self.old.nodes.iter().zip(&self.new.nodes).rev() {
                if old.nodes[*was].written != new.nodes[*is].written {
                    planner.replace(*was, *is);
                }
            }
            return;
        }
        let (left, right) = (self.anchor(old, self.left), self.anchor(old, self.right));
        if self.parent.0 == TOP && left.is_none() && right.is_none() {
            return;
        }
        self.exchange(planner);
    }

    /// Takes the old nodes away and adds the new ones, at an end of the gap where the text fits, so that it can stay.
    fn exchange(&self, planner: &mut Planner<'_, '_>) {
        let (old, new) = (planner.old, planner.new);
        let was = |at: usize| self.old.text(old, at);
        let is = |at: usize| self.new.text(new, at);
        let same = |one: &str, other: &str| plain_lines(one) == plain_lines(other);
        let blank = |at: usize| crate::document::is_blank(was(at));
        let (gone, came) = (self.old.nodes.len(), self.new.nodes.len());
        let mut fits_at_end = match gone {
            0 => is(0).starts_with(was(0)),
            _ => same(was(0), is(0)) && (1..=gone).all(blank),
        };
        let mut fits_at_start = match gone {
            0 => is(came).ends_with(was(0)),
            _ => same(was(gone), is(came)) && (0..gone).all(blank),
        };
        // White space at the top is no node, so what is added there goes right beside another node.
        let at_top = self.parent.0 == TOP;
        fits_at_end &= !at_top || self.anchor(old, self.right).is_some();
        fits_at_start &= !at_top || self.anchor(old, self.left).is_some();
        let rather_at_end = self.right.is_none() && (gone == 0 || came > 0);
        if came == 0 && gone == 0 {
            self.settle_text(planner, is(0));
        } else if fits_at_end && (rather_at_end || !fits_at_start) {
            if came > 0 {
                let kept = match gone {
                    0 => was(0).len(),
                    _ => is(0).len(),
                };
                self.add_at_end(planner, kept);
            }
            for at in (0..gone).rev() {
                let blanks = (!was(at + 1).is_empty()).then_some("after");
                planner.remove(self.old.nodes[at], blanks);
            }
        } else if fits_at_start {
            for at in (0..gone).rev() {
                let blanks = (!was(at).is_empty()).then_some("before");
                planner.remove(self.old.nodes[at], blanks);
            }
            if came > 0 {
                let kept = match gone {
                    0 => was(0).len(),
                    _ => is(came).len(),
                };
                self.add_at_start(planner, kept);
            }
        } else {
            for node in self.old.nodes.iter().rev() {
                planner.remove(*node, None);
            }
            self.settle_text(planner, is(came));
            if came > 0 {
                self.add_at_start(planner, is(came).len());
            }
        }
    }

    /// As many nodes of the same sorts, and the same texts.
    fn alike(&self, planner: &Planner<'_, '_>) -> bool {
        let (old, new) = (planner.old, planner.new);
        let count = self.old.nodes.len();
        count == self.new.nodes.len()
            && (0..=count).all(|at| {
                plain_lines(self.old.text(old, at)) == plain_lines(self.new.text(new, at))
            })
            && self
                .old
                .nodes
                .iter()
                .zip(&self.new.nodes)
                .all(|(one, other)| {
                    let kinds = (&old.nodes[*one].kind, &new.nodes[*other].kind);
                    std::mem::discriminant(kinds.0) == std::mem::discriminant(kinds.1)
                })
    }

    fn add_at_end(&self, planner: &mut Planner<'_, '_>, kept: usize) {
        let start = usize::from(self.new.start) + kept;
        let content = &planner.new.text[start..usize::from(self.new.end)];
        let place = match self.right {
            Some(right) => Place::Before(right),
            None => Place::Append(self.parent.0),
        };
        planner.add(place, self.parent.1, content);
    }

    fn add_at_start(&self, planner: &mut Planner<'_, '_>, kept: usize) {
        let end = usize::from(self.new.end) - kept;
        let content = &planner.new.text[usize::from(self.new.start)..end];
        let left = self.anchor(planner.old, self.left);
        let place = match (left, self.right) {
            (Some(left), _) => Place::After(left),
            (None, Some(right)) if self.parent.0 == TOP => Place::Before(right),
            (None, _) => Place::Prepend(self.parent.0),
        };
        planner.add(place, self.parent.1, content);
    }

    /// A neighbour that a path leads to.
    fn anchor(&self, old: &Document<'_>, id: Option<Id>) -> Option<Id> {
        id.filter(|id| !matches!(old.nodes[*id].kind, Kind::Fixed))
    }

    /// Makes `wanted` of all texts, once there is nothing between them any more.
    fn settle_text(&self, planner: &mut Planner<'_, '_>, wanted: &str) {
        let texts: Vec<Id> = self.old.texts.iter().copied().flatten().collect();
        let there: String = texts.iter().map(|id| planner.old.written(*id)).collect();
        if plain_lines(&there) == plain_lines(wanted) || self.parent.0 == TOP {
            return;
        }
        match texts.first() {
            Some(first) => {
                let selector = planner.text_selector(*first);
                match wanted.is_empty() {
                    true => planner.remove_text(selector),
                    false => planner.replace_text(selector, wanted),
                }
            }
            None => {
                let place = match (self.left, self.right) {
                    (_, None) => Place::Append(self.parent.0),
                    (Some(left), _) => Place::After(left),
                    (None, Some(_)) => Place::Prepend(self.parent.0),
                };
                planner.add(place, self.parent.1, wanted);
            }
        }
    }
}

impl Side {
    fn text<'t>(&self, document: &Document<'t>, at: usize) -> &'t str {
        match self.texts.get(at).copied().flatten() {
            Some(id) => document.written(id),
            None => "",
        }
    }
}

fn side(document: &Document<'_>, parent: Id, left: Option<Id>, right: Option<Id>) -> Side {
    let children = &document.nodes[parent].children;
    // Children are in ascending order.
    let place = |id: Id| children.partition_point(|child| *child < id);
    let from = left.map_or(0, |left| place(left) + 1);
    let to = right.map_or(children.len(), place);
    let mut side = Side {
        texts: vec![None],
        ..Side::default()
    };
    for id in &children[from..to] {
        if document.is_text(*id) {
            if let Some(last) = side.texts.last_mut() {
                *last = Some(*id);
            }
        } else {
            side.nodes.push(*id);
            side.texts.push(None);
        }
    }
    // Looked for at the ends only: it takes time with the number of children.
    let inner = || match document.element(parent) {
        Some(element) => element.content_range().unwrap_or_default(),
        None => document.nodes[parent].range,
    };
    let range = |id: Id| document.nodes[id].range;
    side.start = left.map_or_else(|| inner().start(), |left| range(left).end());
    side.end = right.map_or_else(|| inner().end(), |right| range(right).start());
    side
}
