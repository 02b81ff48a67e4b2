//! From what elements were seen to hold to what they may and must hold.
//!
//! Children get a multiplicity each, choices where they stand for each other, and an order if they keep one: a chain
//! of single occurrences, or a multiplicity schema where order does not matter (Bex and others 2010; Ciucanu and
//! Staworko 2013).

use crate::choices;
use crate::content::{Makeup, Occurrence};
use crate::musts::Musts;
use crate::orders;
use crate::symbols::Symbol;
use std::ops::Range;

/// Fewer elements than these do not show that something must be there.
pub(crate) const ENOUGH: u32 = 3;

/// Whether a few elements may be otherwise without a rule being the worse for it.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub(crate) enum Slips {
    Few,
    /// A rule is what all elements keep.
    None,
}

impl Slips {
    /// How many of so many may be slips.
    pub(crate) fn of(self, all: u32) -> u32 {
        match self {
            Self::Few => (all / 20).min(2 + all / 200),
            Self::None => 0,
        }
    }

    /// Whether what `with` of `all` elements have must be there.
    pub(crate) fn ask_for(self, with: u32, all: u32) -> bool {
        all >= ENOUGH && with > 0 && all - with.min(all) <= self.of(all)
    }
}

/// How many of so many may be slips.
pub(crate) fn slips(of: u32) -> u32 {
    Slips::Few.of(of)
}

/// Whether what `with` of `all` elements have must be there.
pub(crate) fn is_required(with: u32, all: u32) -> bool {
    Slips::Few.ask_for(with, all)
}

/// How often a child may stand in its parent.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub struct Child {
    /// Local name.
    pub name: Symbol,
    pub min: u32,
    /// `None` is any.
    pub max: Option<u32>,
    /// How many parents have it.
    pub parents: u32,
    /// In how many files.
    pub files: u32,
}

/// Children that stand for each other.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Choice {
    /// Their places among the children.
    pub members: Range<usize>,
    /// Least number of them.
    pub min: u32,
    /// Greatest number of them; `None` is any, 1 is one sort of them.
    pub max: Option<u32>,
}

/// What an element may hold besides attributes and text.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Content {
    pub children: Vec<Child>,
    /// Which of them stand for each other.
    pub choices: Vec<Choice>,
    /// Whether they stand in this order.
    pub ordered: bool,
    /// Whether there may be others: the names seem to be without end.
    pub open: bool,
}

pub(crate) fn content(makeup: &Makeup, musts: &Musts, slips: Slips) -> Content {
    let files: Vec<u32> = makeup
        .children
        .iter()
        .map(|(_, child)| child.files)
        .collect();
    let open = is_open(&files);
    let known = |child: &Occurrence| !open || child.files > 1;
    let is_shown = musts.ask_for_child(makeup.spread.files());
    let must_be = |parents: u32| is_shown && slips.ask_for(parents, makeup.elements);
    let children = makeup.children.iter().filter(|(_, child)| known(child));
    let children: Vec<Child> = children
        .map(|(name, child)| Child {
            name,
            min: u32::from(must_be(child.parents)),
            max: (child.several <= slips.of(makeup.elements).min(makeup.elements / 200))
                .then_some(1),
            parents: child.parents,
            files: child.files,
        })
        .collect();
    if open {
        return Content {
            children,
            open,
            ..Content::default()
        };
    }
    let alternatives = choices::of(makeup, &children, slips);
    let (mut blocks, mut ordered) = orders::of(makeup, &children, &alternatives, slips);
    let must = |name: &Symbol| {
        children
            .iter()
            .any(|child| child.name == *name && child.min > 0)
    };
    // That each of several must be there says more than where they stand, and a block cannot say it.
    if blocks
        .iter()
        .any(|block| block.names.len() > 1 && block.names.iter().any(must))
    {
        (blocks, ordered) = (orders::units(&children, &alternatives), false);
    }
    let mut content = Content {
        ordered,
        ..Content::default()
    };
    for block in blocks {
        let from = content.children.len();
        let members = block.names.iter();
        let members = members.filter_map(|name| children.iter().find(|child| child.name == *name));
        content.children.extend(members.cloned());
        let members = from..content.children.len();
        if members.len() > 1 {
            let min = match block.is_exclusive {
                true => block.is_required,
                false => makeup.sets.are_known() && must_be(makeup.sets.any(&block.names)),
            };
            for child in &mut content.children[members.clone()] {
                child.min = 0;
            }
            content.choices.push(Choice {
                members,
                min: u32::from(min),
                max: block.is_exclusive.then_some(1),
            });
        }
    }
    content
}

/// Whether names seem to be made up as one goes: many, and most of them met in one file only. `files`: in how
/// many files each name was met.
pub(crate) fn is_open(files: &[u32]) -> bool {
    let single = files.iter().filter(|files| **files == 1).count();
    files.len() >= 24 && single * 3 > files.len()
}
