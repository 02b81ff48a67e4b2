//! Whether the elements of a portion are as the grammar declares them.
//!
//! Nearly all are, and reading what they say has cut up their attributes anyway. So it notes on its way that all is
//! right, and the checks look for mistakes elsewhere only. Nothing is said of what stands right in the portion, of which
//! only the element around it could say whether it may; and where it is not plain that all is right, it does not conform.

use crate::{attributes::is_foreign, found::has_text, here::Here};
use dialect::{AttributeDecl, ElementDecl, Order, Property};

/// What was seen of a portion so far. Kept from one portion to the next, so that not each allocates.
#[derive(Debug, Default)]
pub(crate) struct Conformity<'t> {
    is_doubtful: bool,
    /// What a channel around the portion moves.
    around: Option<Property>,
    /// What the element moves that comes next.
    moved: Option<Property>,
    /// The elements that the one at hand may stand in, the outermost first.
    open: Vec<Open<'t>>,
    /// For one after the other of these, if it has children: how many there are by each of its rules.
    counts: Vec<u32>,
}

/// An element of which more may come.
#[derive(Debug)]
struct Open<'t> {
    /// How many elements there are from the root to it, both included.
    depth: usize,
    /// None: nothing is known of it, nor of what it holds.
    declared: Option<&'t ElementDecl>,
    property: Option<Property>,
    /// Where the counts of its children start, if it has any.
    counts: Option<usize>,
    /// The greatest place of a child in the declared order.
    rank: usize,
}

impl<'t> Conformity<'t> {
    /// Begins with another portion. `around`: what a channel around it moves.
    pub(crate) fn begin(&mut self, around: Option<Property>) {
        self.is_doubtful = false;
        self.around = around;
        self.moved = None;
        self.open.clear();
        self.counts.clear();
    }

    /// The element that comes next is a channel, of which this is known.
    pub(crate) fn moves(&mut self, property: Option<Property>) {
        match (self.moved, property) {
            // Whoever looks closer knows which of them counts.
            (Some(one), Some(other)) if one != other => self.is_doubtful = true,
            (None, _) => self.moved = property,
            _ => {}
        }
    }

    /// Takes the next element, in the order of the document.
    pub(crate) fn element(&mut self, here: Here<'_, 't>) {
        let moved = self.moved.take();
        self.close(here.chain.len());
        if self.is_doubtful {
            return;
        }
        let mut declared = here.declared;
        let mut property = moved.or(self.around);
        if let Some(holder) = self.open.last_mut() {
            property = moved.or(holder.property);
            match holder.declared {
                Some(known) => {
                    self.is_doubtful |= !holder.takes(known, here.at.name(), &mut self.counts)
                }
                None => declared = None,
            }
        }
        let conforms = |declared| {
            has_right_attributes(here, declared, property)
                && has_right_text(here, declared, property)
        };
        self.is_doubtful |= !declared.is_none_or(conforms);
        self.open.push(Open {
            depth: here.chain.len(),
            declared,
            property,
            counts: None,
            rank: 0,
        });
    }

    /// Whether all elements conform.
    pub(crate) fn done(&mut self) -> bool {
        self.close(0);
        !self.is_doubtful
    }

    /// What is as deep, or deeper, has come to its end.
    fn close(&mut self, depth: usize) {
        while let Some(last) = self.open.pop_if(|last| last.depth >= depth) {
            self.is_doubtful |= !last
                .declared
                .is_none_or(|declared| last.is_whole(declared, &self.counts));
            self.counts
                .truncate(last.counts.unwrap_or(self.counts.len()));
        }
    }
}

impl Open<'_> {
    /// Counts a child. Whether it may stand there.
    fn takes(&mut self, declared: &ElementDecl, child: &str, counts: &mut Vec<u32>) -> bool {
        let Some(rule) = declared.children.place_of(child) else {
            return declared.open;
        };
        let start = *self.counts.get_or_insert_with(|| {
            let start = counts.len();
            counts.resize(start + declared.children.len(), 0);
            start
        });
        counts[start + rule] += 1;
        if declared.order != Order::Listed {
            return true;
        }
        let before = std::mem::replace(&mut self.rank, declared.rank(rule));
        before <= self.rank
    }

    /// Whether there are as many children as there should be.
    fn is_whole(&self, declared: &ElementDecl, counts: &[u32]) -> bool {
        match self.counts {
            Some(start) => declared.allows(&counts[start..]),
            None => declared.may_be_childless(),
        }
    }
}

fn has_right_attributes(
    here: Here<'_, '_>,
    declared: &ElementDecl,
    property: Option<Property>,
) -> bool {
    let is_right = |assigned: &crate::Assigned<'_>| match (assigned.declared, &assigned.value) {
        (Some(declared), Some((value, _))) => fits(here, declared, value, property),
        // What has no value yet is reported as such.
        (Some(_), None) => true,
        (None, _) => declared.open || is_foreign(assigned.attribute),
    };
    let is_there =
        |(slot, known): (usize, &AttributeDecl)| !known.required || here.attributes.has(slot);
    here.attributes.iter().all(is_right) && declared.attributes.iter().enumerate().all(is_there)
}

fn has_right_text(here: Here<'_, '_>, declared: &ElementDecl, property: Option<Property>) -> bool {
    let element = here.at.element;
    match &declared.text {
        Some(text) if element.text_range().is_some() => {
            fits(here, text, element.text().trim(), property)
        }
        Some(text) => !text.required,
        None => declared.open || !has_text(element),
    }
}

fn fits(
    here: Here<'_, '_>,
    declared: &AttributeDecl,
    value: &str,
    property: Option<Property>,
) -> bool {
    let dialect = here.reader.dialect;
    dialect
        .check_value(&declared.value, value, property)
        .is_empty()
}
