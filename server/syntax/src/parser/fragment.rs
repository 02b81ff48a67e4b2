//! Parsing a part of a document, and the text of an entity.

use std::ops::Range;
use std::sync::Arc;

use super::bindings::Bindings;
use super::{Around, DEEPEST, Parser};
use crate::Element;
use crate::doctype::Doctype;
use crate::error::{FormCode, FormError};
use crate::tag::Closing;
use crate::tree::Notes;
use crate::wide::Green;
use crate::words;

/// What is around a part of a document.
#[derive(Debug)]
pub(crate) struct Outer<'s> {
    /// The elements whose prefixes are in force, outermost first.
    pub(crate) elements: Vec<Element<'s>>,
    pub(crate) names: Option<Vec<&'s str>>,
    /// At most so many elements are open.
    pub(crate) depth: usize,
    pub(crate) doctype: Option<Arc<Doctype>>,
}

/// What was found in a part of a document, beside the tree.
#[derive(Debug)]
pub(crate) struct Fragment {
    pub(crate) errors: Vec<FormError>,
    pub(crate) notes: Notes,
}

/// Whether a part of a document ends at a place between two items.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub(crate) enum Stop {
    Here,
    Later,
    /// It should have ended before.
    Missed,
}

/// An entity that the text of another one refers to.
#[derive(Debug)]
pub(crate) struct Mention {
    pub(crate) name: String,
    /// In the value of an attribute.
    pub(crate) in_value: bool,
}

impl<'s> Parser<'s> {
    /// Parses the text of an entity: whether it is well-formed as content, and the entities that it mentions.
    pub(crate) fn entity_text(mut self) -> (bool, Vec<Mention>) {
        self.around = Around::Entity(Vec::new());
        while self.at < self.text.len() {
            self.step();
        }
        self.check_characters(0, self.text.len());
        let harmless = |error: &FormError| {
            matches!(
                error.code,
                FormCode::UnboundPrefix | FormCode::BadNamespace | FormCode::TooDeep
            )
        };
        let sound = self.frames.is_empty() && self.errors.iter().all(harmless);
        match self.around {
            Around::Entity(mentions) => (sound, mentions),
            _ => (sound, Vec::new()),
        }
    }

    /// A parser for the content of an element from the start of `part`, which is expected to take about `part`.
    pub(crate) fn fragment(text: &'s str, part: Range<usize>, outer: Outer<'s>) -> Self {
        Self {
            at: part.start,
            start: part.start,
            around: Around::Elements {
                names: outer.names,
                depth: outer.depth,
            },
            // Whether elements are too deep here is not known.
            aborted: outer.depth >= DEEPEST,
            doctype: outer.doctype,
            bindings: Bindings::inside(outer.elements),
            ..Self::expecting(text, part.len())
        }
    }

    /// Parses items until the part ends. False if it does not end where it should.
    pub(crate) fn until(&mut self, mut stop: impl FnMut(usize) -> Stop) -> bool {
        loop {
            if self.frames.is_empty() {
                match stop(self.at) {
                    Stop::Here => return true,
                    Stop::Later => {}
                    Stop::Missed => return false,
                }
            }
            if self.at >= self.text.len() {
                return false;
            }
            self.step();
            if self.aborted || self.notes.overflow || self.notes.prefixes_leaked {
                return false;
            }
        }
    }

    /// How far it has come.
    pub(crate) fn place(&self) -> usize {
        self.at
    }

    /// The items of the part, and what was found in it.
    pub(crate) fn finish_fragment(mut self) -> (Vec<Green>, Fragment) {
        // The element around it has an end tag of its own.
        self.stray_from(0);
        self.check_characters(self.start, self.at);
        let children = std::mem::take(&mut self.children);
        let fragment = Fragment {
            errors: self.errors,
            notes: self.notes,
        };
        (children, fragment)
    }

    /// Parses what stands before the root element, or behind it. None if anything there could matter elsewhere: a
    /// mistake, an element, a DOCTYPE.
    pub(crate) fn outside_root(mut self) -> Option<(Vec<Green>, Fragment)> {
        let text = self.text;
        self.all(|| words::may_hold_forbidden(text));
        let count = self.errors.len();
        self.errors
            .retain(|error| error.code != FormCode::MissingRoot);
        let is_harmless = self.errors.len() < count
            && self.errors.iter().all(FormError::is_about_itself)
            && self.doctype.is_none()
            && self.notes == Notes::default();
        let fragment = Fragment {
            errors: self.errors,
            notes: Notes::default(),
        };
        is_harmless.then_some((self.children, fragment))
    }

    /// Parses a start tag that should end at `end` and be closed in the same way and have the same name as before.
    pub(crate) fn only_start_tag(
        mut self,
        end: usize,
        empty: bool,
        name: &str,
    ) -> Option<(Green, Fragment)> {
        let start = self.at;
        if !self.starts_name(start + 1) {
            return None;
        }
        let tag = self.lex_start_tag();
        let closing = if empty { Closing::Empty } else { Closing::Open };
        let same = tag.end == end
            && tag.closing == Some(closing)
            && &self.text[start + 1..tag.name_end] == name;
        if !same || self.notes.overflow {
            return None;
        }
        let (mut children, fragment) = self.finish_fragment();
        Some((children.pop()?, fragment))
    }
}
