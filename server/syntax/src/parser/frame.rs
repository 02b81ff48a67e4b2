//! An element that is open. A million may be open at once, so it is small; a text has less than 4 GiB.

use crate::tag::size;

#[derive(Copy, Clone, Debug)]
pub(super) struct Frame {
    base: u32,
    start: u32,
    name_end: u32,
    doubtful: u32,
    bindings: u32,
    tag_unclosed: bool,
}

impl Frame {
    /// An element whose start tag begins at `start`; its name ends at `name_end`.
    pub(super) fn new(start: usize, name_end: usize) -> Self {
        Self {
            base: 0,
            start: short(start),
            name_end: short(name_end),
            doubtful: 0,
            bindings: 0,
            tag_unclosed: false,
        }
    }

    /// The same element with how much of each there was before it: see the methods that are named like the parameters.
    pub(super) fn holding(self, base: usize, doubtful: usize, bindings: usize) -> Self {
        Self {
            base: short(base),
            doubtful: short(doubtful),
            bindings: short(bindings),
            ..self
        }
    }

    pub(super) fn with_unclosed_tag(self, tag_unclosed: bool) -> Self {
        Self {
            tag_unclosed,
            ..self
        }
    }

    /// Index of its start tag among the children that have no parent yet; its content follows.
    pub(super) fn base(&self) -> usize {
        self.base as usize
    }

    pub(super) fn start(&self) -> usize {
        self.start as usize
    }

    pub(super) fn name_end(&self) -> usize {
        self.name_end as usize
    }

    /// How many doubtful end tags there were before it.
    pub(super) fn doubtful(&self) -> usize {
        self.doubtful as usize
    }

    /// How many prefixes were declared around it.
    pub(super) fn bindings(&self) -> usize {
        self.bindings as usize
    }

    /// Its start tag has no `>`.
    pub(super) fn is_tag_unclosed(&self) -> bool {
        self.tag_unclosed
    }
}

fn short(number: usize) -> u32 {
    size(number).into()
}
