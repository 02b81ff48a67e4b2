//! Whether the elements of a portion are as the grammar declares them.
//!
//! Nearly all are, and reading what they say has cut up their attributes anyway. So it notes on its way that all is
//! right, and the checks look for mistakes elsewhere only. Whether an element around has as many children as it should,
//! no portion knows. Where it is not plain that all is right, a portion does not conform.

use crate::attributes::{Assigned, is_foreign};
use crate::here::Here;
use dialect::{AttributeDecl, ElementDecl, Order, Property};

/// How much of a portion is surely as the grammar declares it.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord)]
pub enum Conformity {
    #[default]
    Doubtful,
    /// The document's own elements in it, with all that is in them: each by itself, wherever it stands.
    Elements,
    /// Also, they may stand here, and there is no text nor any element of others between them.
    All,
}

/// What was seen of a portion so far. Kept from one portion to the next, so that not each allocates.
#[derive(Debug, Default)]
pub(crate) struct Inspection<'t> {
    is_doubtful: bool,
    /// Some stand right in the portion that may not.
    some_stray: bool,
    /// How many elements there are from the root to what holds the portion, both included.
    top: usize,
    /// How many of those were seen that stand right in the portion.
    own: usize,
    /// What the element moves that comes next.
    moved: Option<Property>,
    /// The elements that the one at hand may stand in: what holds the portion, unless that is the document, and those in it.
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
    /// The place of the last child in the declared order.
    rank: usize,
    is_in_order: bool,
}

impl<'t> Inspection<'t> {
    /// Begins with another portion, in an element of which `holder` is known; `top` elements are around it. `property`:
    /// what a channel around it moves.
    pub(crate) fn begin(
        &mut self,
        top: usize,
        holder: Option<&'t ElementDecl>,
        property: Option<Property>,
    ) {
        (self.is_doubtful, self.some_stray) = (false, false);
        (self.top, self.own) = (top, 0);
        self.moved = None;
        self.open.clear();
        self.counts.clear();
        if top > 0 {
            self.open.push(Open::new(top, holder, property));
        }
    }

    /// This portion counts as doubtful, and nothing of it need be looked at.
    pub(crate) fn skip(&mut self) {
        self.is_doubtful = true;
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
        let depth = here.chain.len();
        self.close(depth);
        self.own += usize::from(depth == self.top + 1);
        self.is_doubtful |= here.may_lack_prefix();
        if self.is_doubtful {
            return;
        }
        let mut declared = here.declared;
        let mut property = moved;
        if let Some(holder) = self.open.last_mut() {
            property = moved.or(holder.property);
            match holder.declared {
                Some(known) => {
                    let may_stand = holder.takes(known, here.at.name(), &mut self.counts);
                    match depth == self.top + 1 {
                        true => self.some_stray |= !may_stand,
                        false => self.is_doubtful |= !may_stand,
                    }
                }
                None => declared = None,
            }
        }
        let conforms = |declared| {
            has_right_attributes(here, declared, property)
                && has_right_text(here, declared, property)
        };
        self.is_doubtful |= !declared.is_none_or(conforms);
        self.open.push(Open::new(depth, declared, property));
    }

    /// Ends the portion. `elements`: how many stand right in it, those of others included; `has_text`: whether text does.
    pub(crate) fn done(&mut self, elements: usize, has_text: bool) -> Conformity {
        self.close(self.top + 1);
        let is_stray = self.some_stray || has_text || self.own < elements;
        match (self.is_doubtful, is_stray) {
            (true, _) => Conformity::Doubtful,
            (false, true) => Conformity::Elements,
            (false, false) => Conformity::All,
        }
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

impl<'t> Open<'t> {
    fn new(depth: usize, declared: Option<&'t ElementDecl>, property: Option<Property>) -> Self {
        Self {
            depth,
            declared,
            property,
            counts: None,
            rank: 0,
            is_in_order: true,
        }
    }

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
        if declared.order == Order::Listed {
            let before = std::mem::replace(&mut self.rank, declared.rank(rule));
            self.is_in_order &= before <= self.rank;
        }
        true
    }

    /// Whether its children are as many as there should be, in the order in which they should be.
    fn is_whole(&self, declared: &ElementDecl, counts: &[u32]) -> bool {
        match self.counts {
            Some(start) => self.is_in_order && declared.allows(&counts[start..]),
            None => declared.may_be_childless(),
        }
    }
}

fn has_right_attributes(
    here: Here<'_, '_>,
    declared: &ElementDecl,
    property: Option<Property>,
) -> bool {
    let is_right = |assigned: &Assigned<'_>| match (assigned.declared, assigned.value_and_range()) {
        (Some(declared), Some((value, _))) => {
            assigned.is_known_to_fit(property) || fits(here, declared, value, property)
        }
        // What has no value yet is reported as such.
        (Some(_), None) => true,
        (None, _) => declared.open || is_foreign(assigned.attribute),
    };
    let is_there =
        |(slot, known): (usize, &AttributeDecl)| !known.required || here.attributes.has(slot);
    here.attributes.iter().all(is_right) && declared.attributes.iter().enumerate().all(is_there)
}

fn has_right_text(here: Here<'_, '_>, declared: &ElementDecl, property: Option<Property>) -> bool {
    match &declared.text {
        Some(text) => match here.at.element.text_and_range() {
            Some((said, _)) => fits(here, text, said.trim_ascii(), property),
            None => !text.required,
        },
        None => declared.open || !here.has_text(),
    }
}

fn fits(
    here: Here<'_, '_>,
    declared: &AttributeDecl,
    value: &str,
    property: Option<Property>,
) -> bool {
    let dialect = here.reader.dialect;
    dialect.fits(&declared.value, value, property)
}
