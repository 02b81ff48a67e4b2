//! Text to tree. One pass with a stack of its own: nesting costs no call stack. What goes wrong is sorted out where it
//! shows, in `recovery`.

mod again;
mod bindings;
mod content;
mod duplicates;
mod end_tag;
mod fragment;
mod frame;
mod halves;
mod misspelt;
mod recovery;
mod start_tag;

use std::sync::Arc;

use rowan::GreenNode;

use crate::doctype::Doctype;
use crate::error::{FormCode, FormError};
use crate::interner::Interner;
use crate::kind::Kind;
use crate::markup::{self, Markup, Missing};
use crate::tag::{Tag, range, size};
use crate::tree::{Notes, Watch};
use crate::wide::{self, Green};
use again::Last;
use bindings::Bindings;
use end_tag::{ClosedRoot, Doubtful};
use frame::Frame;
use halves::Ahead;

pub(crate) use duplicates::{FEW, Marks};
pub(crate) use end_tag::childless;
pub(crate) use fragment::{Fragment, Mention, Outer, Stop};
pub use halves::{Far, Near, in_two};

/// Elements nested deeper than this are checked but have no place of their own in the tree.
const DEEPEST: usize = 500;

/// More errors than this are not kept.
pub(crate) const MOST_ERRORS: usize = 10_000;

/// What is around the text that is parsed.
#[derive(Debug, Default)]
enum Around<'s> {
    /// Nothing: it is a whole document.
    #[default]
    Document,
    /// A reference: it is the text of an entity. The entities that it mentions are collected.
    Entity(Vec<Mention>),
    /// Other elements: it is a part of a document.
    Elements {
        /// The names of the elements around it, if they are known for sure.
        names: Option<Vec<&'s str>>,
        depth: usize,
    },
}

/// A document, parsed.
#[derive(Debug)]
pub(crate) struct Parsed {
    pub(crate) green: GreenNode,
    pub(crate) errors: Vec<FormError>,
    pub(crate) notes: Notes,
    pub(crate) doctype: Option<Arc<Doctype>>,
}

#[derive(Debug)]
pub(crate) struct Parser<'s> {
    text: &'s str,
    at: usize,
    /// Finished nodes and tokens whose parent is not finished, in the order of the text.
    children: Vec<Green>,
    frames: Vec<Frame>,
    doubtful: Vec<Doubtful>,
    errors: Vec<FormError>,
    notes: Notes,
    bindings: Bindings<'s>,
    around: Around<'s>,
    /// What is around a part of a document turned out to matter more than is known about it.
    aborted: bool,
    /// Where the part starts.
    start: usize,
    doctype: Option<Arc<Doctype>>,
    interner: Interner,
    last: Last<'s>,
    missing: Missing,
    /// None while it is in use.
    tag: Option<Box<Tag>>,
    standalone: bool,
    /// Where the root element starts.
    root: Option<usize>,
    /// A `<` without a name stands at the top level.
    half_root: bool,
    closed_root: Option<ClosedRoot>,
    /// The error about what stands outside the root element; one before the root and one after it is enough.
    outside: Option<usize>,
    /// What another thread parses of the text meanwhile.
    ahead: Option<Ahead>,
}

impl<'s> Parser<'s> {
    pub(crate) fn new(text: &'s str) -> Self {
        Self::expecting(text, text.len())
    }

    /// A parser that will see about so many bytes.
    fn expecting(text: &'s str, expected: usize) -> Self {
        Self {
            text,
            at: 0,
            children: Vec::new(),
            frames: Vec::new(),
            doubtful: Vec::new(),
            errors: Vec::new(),
            notes: Notes::default(),
            bindings: Bindings::default(),
            around: Around::Document,
            aborted: false,
            start: 0,
            doctype: None,
            interner: Interner::new(expected),
            last: Last::default(),
            missing: Missing::default(),
            tag: None,
            standalone: false,
            root: None,
            half_root: false,
            closed_root: None,
            outside: None,
            ahead: None,
        }
    }

    /// Parses a whole document. `may_hold_forbidden`: what the function of this name says of the text; asked at the end.
    pub(crate) fn document(mut self, may_hold_forbidden: impl FnOnce() -> bool) -> Parsed {
        self.all(may_hold_forbidden);
        let green = wide::node(
            Kind::Document,
            std::mem::take(&mut self.children).into_iter(),
        );
        Parsed {
            green,
            errors: self.errors,
            notes: self.notes,
            doctype: self.doctype,
        }
    }

    fn all(&mut self, may_hold_forbidden: impl FnOnce() -> bool) {
        if self.text.starts_with('\u{FEFF}') {
            self.token(Kind::Bom, 3);
        }
        if markup::is_declaration(self.text, self.at) {
            let found = markup::declaration(self.text, self.at);
            self.standalone = markup::is_standalone(&self.text[self.at..found.end]);
            self.markup(Kind::Declaration, found);
        }
        while self.at < self.text.len() {
            if !self.take_run() {
                self.step();
            }
        }
        // The other thread need not go on.
        self.ahead = None;
        self.finish(may_hold_forbidden());
    }

    fn finish(&mut self, may_hold_forbidden: bool) {
        if !self.frames.is_empty() {
            self.resolve_unclosed(0, None);
        }
        if let Some(root) = self.closed_root.take() {
            let after = self.children.split_off(root.end_tag + 1);
            self.close_element(root.frame, true);
            self.children.extend(after);
        }
        if self.root.is_none() && self.outside.is_none() && !self.half_root {
            let end = self.text.len();
            self.error(FormError::new(
                FormCode::MissingRoot,
                range(end, end),
                "There is no element in this file. A definition has one root element that holds all others",
            ));
        }
        if may_hold_forbidden {
            self.find_bad_characters(0, self.text.len());
        }
        self.errors.sort_by_key(FormError::order);
        self.notes.sort();
    }

    /// Parses one item of the content, or of the top level.
    fn step(&mut self) {
        self.item();
        // Below the deepest level all will be one piece.
        if let Some(too_deep) = self.frames.get(DEEPEST) {
            self.children.truncate(too_deep.base());
        }
    }

    fn item(&mut self) {
        let bytes = self.text.as_bytes();
        match bytes[self.at] {
            b'<' => match bytes.get(self.at + 1) {
                Some(b'/') => self.end_tag(),
                Some(b'!') => self.exclamation(),
                Some(b'?') => {
                    let found = markup::instruction(self.text, self.at, &mut self.missing);
                    self.markup(Kind::Instruction, found);
                }
                _ => self.start_tag(),
            },
            b'&' => self.reference(),
            _ => self.character_data(),
        }
    }

    fn error(&mut self, error: FormError) {
        if self.errors.len() < MOST_ERRORS {
            self.errors.push(error);
        } else if !self.notes.overflow {
            self.notes.overflow = true;
            let message =
                format!("There are more than {MOST_ERRORS} form errors. The rest is not listed");
            self.errors.push(FormError::new(
                FormCode::TooManyErrors,
                error.range,
                message,
            ));
        }
    }

    /// Notes that what was found at `from` depends on the text up to `to`.
    fn watch(&mut self, from: usize, to: usize) {
        self.notes.watches.push(Watch {
            from: size(from),
            to: size(to),
        });
    }

    /// Pushes a token of so many bytes and moves on behind it.
    fn token(&mut self, kind: Kind, len: usize) {
        let end = self.at + len;
        let token = self.interner.token(kind, &self.text[self.at..end]);
        self.children.push(token.into());
        self.at = end;
    }

    fn markup(&mut self, kind: Kind, found: Markup) {
        if found.read_to > found.end {
            self.watch(self.at, found.read_to);
        }
        for error in found.errors {
            self.error(error);
        }
        self.token(kind, found.end - self.at);
    }

    fn is_outside(&self) -> bool {
        self.frames.is_empty() && matches!(self.around, Around::Document)
    }

    /// How many elements are open.
    fn depth(&self) -> usize {
        let outer = match self.around {
            Around::Elements { depth, .. } => depth,
            _ => 0,
        };
        outer + self.frames.len()
    }

    fn name_of(&self, frame: &Frame) -> &'s str {
        &self.text[frame.start() + 1..frame.name_end()]
    }
}
