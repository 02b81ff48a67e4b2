//! Text to tree. One pass with a stack of its own: nesting costs no call stack. What goes wrong is sorted out where it
//! shows, in `recovery`.

use std::ops::Range;
use std::sync::Arc;

use rowan::{GreenNode, TextRange};

use crate::bindings::Bindings;
use crate::chars::{self, TEXT_STOP, class, shown};
use crate::doctype::{self, Doctype};
use crate::error::{FormCode, FormError};
use crate::interner::Interner;
use crate::kind::Kind;
use crate::markup::{self, Markup};
use crate::reference::{self, Reference};
use crate::tag::{Closing, Tag, range, size};
use crate::tree::{Notes, Watch};
use crate::wide::{self, Green};
use crate::{Element, TextEdit};

/// Elements nested deeper than this are checked but have no place of their own in the tree.
pub(crate) const DEEPEST: usize = 500;

/// More errors than this are not kept.
pub(crate) const MOST_ERRORS: usize = 10_000;

/// An element that is open.
#[derive(Copy, Clone, Debug)]
pub(crate) struct Frame {
    /// Index of its start tag among the children that have no parent yet; its content follows.
    pub(crate) base: usize,
    pub(crate) start: usize,
    pub(crate) name_end: usize,
    /// How many doubtful end tags there were before it.
    pub(crate) doubtful: usize,
    /// How many prefixes were declared around it.
    pub(crate) bindings: usize,
    /// Its start tag has no `>`.
    pub(crate) tag_unclosed: bool,
}

/// An end tag.
#[derive(Copy, Clone, Debug)]
pub(crate) struct EndTag {
    pub(crate) start: usize,
    pub(crate) name_end: usize,
    pub(crate) end: usize,
    /// It has its `>`.
    pub(crate) closed: bool,
}

impl EndTag {
    pub(crate) fn range(&self) -> TextRange {
        range(self.start, self.end)
    }

    pub(crate) fn name<'s>(&self, text: &'s str) -> &'s str {
        &text[self.start + 2..self.name_end]
    }
}

/// An end tag that fits no open element. It closes the element it stands in if nothing else does.
#[derive(Copy, Clone, Debug)]
pub(crate) struct Doubtful {
    /// Its index among the children that have no parent yet.
    pub(crate) index: usize,
    pub(crate) tag: EndTag,
}

/// The root element, the first at the top level, after its end tag: open again if another end tag of it comes.
#[derive(Copy, Clone, Debug)]
struct ClosedRoot {
    frame: Frame,
    /// Index of its end tag among the children.
    end_tag: usize,
    tag: EndTag,
    /// Something other than white space, comments and instructions has followed.
    followed: bool,
}

/// What is around the text that is parsed.
#[derive(Debug, Default)]
pub(crate) enum Around<'s> {
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

/// What is around a part of a document.
#[derive(Debug)]
pub(crate) struct Outer<'s> {
    /// The elements whose prefixes are in force, outermost first.
    pub(crate) elements: Vec<Element<'s>>,
    pub(crate) names: Option<Vec<&'s str>>,
    /// At least so many elements are open.
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
    pub(crate) text: &'s str,
    pub(crate) at: usize,
    /// Finished nodes and tokens whose parent is not finished, in the order of the text.
    pub(crate) children: Vec<Green>,
    pub(crate) frames: Vec<Frame>,
    pub(crate) doubtful: Vec<Doubtful>,
    pub(crate) errors: Vec<FormError>,
    pub(crate) notes: Notes,
    pub(crate) bindings: Bindings<'s>,
    around: Around<'s>,
    /// What is around a part of a document turned out to matter more than is known about it.
    pub(crate) aborted: bool,
    /// Where the part starts.
    start: usize,
    doctype: Option<Arc<Doctype>>,
    interner: Interner,
    tag: Tag,
    standalone: bool,
    /// Where the root element starts.
    root: Option<usize>,
    closed_root: Option<ClosedRoot>,
    /// The error about what stands outside the root element; one before the root and one after it is enough.
    outside: Option<usize>,
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
            tag: Tag::default(),
            standalone: false,
            root: None,
            closed_root: None,
            outside: None,
        }
    }

    /// Parses a whole document.
    pub(crate) fn document(mut self) -> Parsed {
        if self.text.starts_with('\u{FEFF}') {
            self.token(Kind::Bom, 3);
        }
        if markup::is_declaration(self.text, self.at) {
            let found = markup::declaration(self.text, self.at);
            self.standalone = markup::is_standalone(&self.text[self.at..found.end]);
            self.markup(Kind::Declaration, found);
        }
        while self.at < self.text.len() {
            self.step();
        }
        self.finish();
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

    /// The items of the part, and what was found in it.
    pub(crate) fn finish_fragment(mut self) -> (Vec<Green>, Fragment) {
        // The element around it has an end tag of its own.
        for doubtful in std::mem::take(&mut self.doubtful) {
            self.stray(doubtful.tag);
        }
        self.check_characters(self.start, self.at);
        let children = std::mem::take(&mut self.children);
        let fragment = Fragment {
            errors: self.errors,
            notes: self.notes,
        };
        (children, fragment)
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

    fn finish(&mut self) {
        if !self.frames.is_empty() {
            self.resolve_unclosed(0, None);
        }
        if let Some(root) = self.closed_root.take() {
            let after = self.children.split_off(root.end_tag + 1);
            self.close_element(root.frame, true);
            self.children.extend(after);
        }
        if self.root.is_none() {
            let end = self.text.len();
            self.error(FormError::new(
                FormCode::MissingRoot,
                range(end, end),
                "There is no element in this file. A definition has one root element that holds all others",
            ));
        }
        self.check_characters(0, self.text.len());
        self.errors
            .sort_by_key(|error| (error.range.start(), error.range.end(), error.code));
        self.notes.sort();
    }

    /// Parses one item of the content, or of the top level.
    pub(crate) fn step(&mut self) {
        let bytes = self.text.as_bytes();
        match bytes[self.at] {
            b'<' => match bytes.get(self.at + 1) {
                Some(b'/') => self.end_tag(),
                Some(b'!') => self.exclamation(),
                Some(b'?') => {
                    let found = markup::instruction(self.text, self.at);
                    self.markup(Kind::Instruction, found);
                }
                _ => self.start_tag(),
            },
            b'&' => self.reference(),
            _ => self.character_data(),
        }
    }

    pub(crate) fn error(&mut self, error: FormError) {
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
    pub(crate) fn watch(&mut self, from: usize, to: usize) {
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

    /// The prefixes that the DOCTYPE declares on this element.
    pub(crate) fn default_namespaces(&self, element: &str) -> Vec<(String, String)> {
        let declared = self
            .doctype
            .as_ref()
            .and_then(|doctype| doctype.namespaces.get(element));
        declared.cloned().unwrap_or_default()
    }

    fn exclamation(&mut self) {
        let rest = &self.text.as_bytes()[self.at..];
        if rest.starts_with(b"<!--") {
            let found = markup::comment(self.text, self.at);
            self.markup(Kind::Comment, found);
        } else if rest.starts_with(b"<![CDATA[") {
            let found = markup::cdata(self.text, self.at);
            self.text_outside(self.at, found.end);
            self.markup(Kind::CData, found);
        } else if rest.starts_with(b"<!DOCTYPE") {
            self.doctype();
        } else {
            let found = markup::broken(self.text, self.at);
            self.markup(Kind::Broken, found);
        }
    }

    fn doctype(&mut self) {
        let start = self.at;
        let read = doctype::read(self.text, start, self.standalone);
        let faulty = !read.errors.is_empty();
        if self.root.is_some() || self.doctype.is_some() || !self.is_outside() {
            self.error(
                FormError::new(
                    FormCode::BadDoctype,
                    range(start, start + 9),
                    "A DOCTYPE declaration may only stand once, before the root element. Remove it",
                )
                .with_fix("Remove it", vec![TextEdit::delete(range(start, read.end))]),
            );
        } else {
            for error in read.errors {
                self.error(error);
            }
            self.doctype = Some(Arc::new(read.doctype));
        }
        if faulty {
            // Where it ends can depend on all that follows.
            self.watch(start, self.text.len() + 1);
        }
        self.token(Kind::Doctype, read.end - start);
    }

    fn is_outside(&self) -> bool {
        self.frames.is_empty() && matches!(self.around, Around::Document)
    }

    /// Reports text outside the root element, if `start..end` is.
    fn text_outside(&mut self, start: usize, end: usize) {
        if !self.is_outside() {
            return;
        }
        let bytes = self.text.as_bytes();
        let start = chars::skip_space(bytes, start);
        if start < end {
            let end = chars::trim_end(bytes, start, chars::line_end(bytes, start).min(end));
            self.found_outside(FormError::new(
                FormCode::ExtraText,
                range(start, end),
                "Text may only stand inside the root element. Move it there, or remove it",
            ));
        }
    }

    /// One error before the root element and one behind it.
    fn found_outside(&mut self, error: FormError) {
        if let Some(root) = &mut self.closed_root {
            root.followed = true;
        }
        if self.outside.is_none() {
            self.outside = Some(self.errors.len());
            self.error(error);
        }
    }

    fn character_data(&mut self) {
        let bytes = self.text.as_bytes();
        let start = self.at;
        let mut end = start;
        loop {
            while end < bytes.len() && class(bytes[end]) & TEXT_STOP == 0 {
                end += 1;
            }
            if bytes.get(end) != Some(&b']') {
                break;
            }
            if bytes[end..].starts_with(b"]]>") {
                let place = range(end, end + 3);
                self.error(
                    FormError::new(
                        FormCode::BadCharacter,
                        place,
                        "`]]>` may not stand in text. Write `]]&gt;`",
                    )
                    .with_fix("Write `]]&gt;`", vec![TextEdit::replace(place, "]]&gt;")]),
                );
            }
            end += 1;
        }
        self.text_outside(start, end);
        self.token(Kind::Text, end - start);
    }

    fn reference(&mut self) {
        let (reference, end) = reference::read(self.text, self.at);
        self.text_outside(self.at, end);
        self.check_reference(reference, self.at, end, false);
        self.token(Kind::Reference, end - self.at);
    }

    fn check_reference(
        &mut self,
        reference: Reference<'_>,
        start: usize,
        end: usize,
        in_value: bool,
    ) {
        let place = range(start, end);
        let escape = || vec![TextEdit::insert(size(start + 1), "amp;")];
        let error = |message: String| FormError::new(FormCode::BadReference, place, message);
        let error = match reference {
            Reference::Character(_) => return,
            Reference::Entity(name) if reference::predefined(name).is_some() => return,
            Reference::Entity(name) if self.is_declared(name, place, in_value) => return,
            Reference::Entity(name) => error(format!(
                "`&{0};` stands for nothing: no entity `{0}` is declared. Write `&amp;` for a plain `&`",
                shown(name)
            ))
            .with_fix("Write `&amp;`", escape()),
            Reference::NoCharacter => error(format!(
                "`{}` is not the number of a character that XML allows",
                shown(&self.text[start..end])
            )),
            Reference::Ampersand => {
                error("A plain `&` is written `&amp;`".into()).with_fix("Write `&amp;`", escape())
            }
            Reference::Unfinished => {
                let name = &self.text[start..end];
                let error = error(format!(
                    "`{0}` has no `;`. Write `{0};`, or `&amp;` for a plain `&`",
                    shown(name)
                ));
                if name.starts_with("&#") || reference::predefined(&name[1..]).is_some() {
                    error.with_fix("Add the `;`", vec![TextEdit::insert(size(end), ";")])
                } else {
                    error.with_fix("Write `&amp;`", escape())
                }
            }
        };
        self.error(error);
    }

    /// Whether there is such an entity; reports one that may not stand here.
    fn is_declared(&mut self, name: &str, place: TextRange, in_value: bool) -> bool {
        if let Around::Entity(mentions) = &mut self.around {
            mentions.push(Mention {
                name: name.to_owned(),
                in_value,
            });
            return true;
        }
        let Some(verdict) = self
            .doctype
            .as_ref()
            .and_then(|doctype| doctype.entity(name))
        else {
            return false;
        };
        let reason = if in_value {
            verdict.in_value
        } else {
            verdict.in_content
        };
        if let Some(reason) = reason.filter(|_| !verdict.circular) {
            let message = format!("The entity `{}` {}", shown(name), reason.as_str());
            self.error(FormError::new(FormCode::BadReference, place, message));
        }
        true
    }

    fn start_tag(&mut self) {
        let start = self.at;
        if !self.starts_name(start + 1) {
            return self.lone_less_than();
        }
        let mut bindings = self.bindings.len();
        let is_root = self.is_outside() && self.root.is_none();
        let tag = self.lex_start_tag();
        if is_root {
            // Its prefixes stay declared to the end: it may turn out that it ended too early.
            bindings = self.bindings.len();
        }
        self.element_outside(start, tag.name_end);
        match tag.closing {
            Some(Closing::Empty) => self.childless(bindings),
            Some(Closing::Unclosed) => {
                self.unclosed_tag(&tag, start);
                if self.opens_anyway(&tag, start) {
                    self.open(start, tag.name_end, bindings, true);
                } else {
                    self.childless(bindings);
                }
            }
            _ => self.open(start, tag.name_end, bindings, false),
        }
        self.tag = tag;
    }

    /// Pushes the start tag that stands here and checks what is in it.
    fn lex_start_tag(&mut self) -> Tag {
        let start = self.at;
        let mut tag = std::mem::take(&mut self.tag);
        tag.lex(self.text, start);
        let base = self.children.len();
        for piece in &tag.pieces {
            let token = self
                .interner
                .token(piece.kind, &self.text[piece.start..piece.end]);
            self.children.push(token.into());
        }
        let node = wide::node(Kind::StartTag, self.children.drain(base..));
        self.children.push(node.into());
        self.at = tag.end;
        for error in tag.errors.drain(..) {
            self.error(error);
        }
        self.check_attributes(&tag);
        self.check_namespaces(&tag, start);
        if tag.read_to > tag.end {
            self.watch(start, tag.read_to);
        }
        tag
    }

    fn starts_name(&self, at: usize) -> bool {
        match self.text.as_bytes().get(at) {
            Some(&b) if class(b) & chars::WIDE == 0 => class(b) & chars::NAME_START != 0,
            Some(_) => self.text[at..].starts_with(chars::is_name_start),
            None => false,
        }
    }

    /// The start tag that was pushed last is an element without content.
    fn childless(&mut self, bindings: usize) {
        self.bindings.leave(bindings);
        if self.depth() <= DEEPEST
            && let Some(tag) = self.children.pop()
        {
            self.children
                .push(GreenNode::new(Kind::Element.raw(), [tag]).into());
        }
    }

    /// How many elements are open.
    pub(crate) fn depth(&self) -> usize {
        let outer = match self.around {
            Around::Elements { depth, .. } => depth,
            _ => 0,
        };
        outer + self.frames.len()
    }

    fn open(&mut self, start: usize, name_end: usize, bindings: usize, tag_unclosed: bool) {
        self.frames.push(Frame {
            base: self.children.len() - 1,
            start,
            name_end,
            doubtful: self.doubtful.len(),
            bindings,
            tag_unclosed,
        });
        // How deep exactly is not known in a part.
        self.aborted |= self.depth() >= DEEPEST && matches!(self.around, Around::Elements { .. });
        if self.depth() == DEEPEST + 1 {
            self.error(FormError::new(
                FormCode::TooDeep,
                range(start, name_end),
                format!(
                    "Elements are nested more than {DEEPEST} levels deep here. What is in this one is checked as XML but not understood"
                ),
            ));
        }
    }

    /// Reports an element at the top level behind the root.
    fn element_outside(&mut self, start: usize, name_end: usize) {
        if !self.is_outside() {
            return;
        }
        if self.root.is_some() {
            self.found_outside(FormError::new(
                FormCode::ExtraRoot,
                range(start, name_end),
                "A second element at the top level: the root element has ended. Move this one into it, or remove it",
            ));
        } else {
            self.root = Some(start);
            // What stands behind the root is another matter than what stands before it.
            self.outside = None;
        }
    }

    /// One or more `<` that start no tag.
    fn lone_less_than(&mut self) {
        let bytes = self.text.as_bytes();
        let start = self.at;
        let mut end = start + 1;
        let starts_markup =
            |at: usize| matches!(bytes.get(at), Some(b'/' | b'!' | b'?')) || self.starts_name(at);
        while bytes.get(end) == Some(&b'<') && !starts_markup(end + 1) {
            end += 1;
        }
        let place = range(start, end);
        let escaped = "&lt;".repeat(end - start);
        self.error(
            FormError::new(
                FormCode::UnclosedTag,
                place,
                "A tag starts here but has no name. Write its name, or `&lt;` for a plain `<`",
            )
            .with_fix("Write `&lt;`", vec![TextEdit::replace(place, escaped)]),
        );
        self.watch(start, end + 2);
        self.element_outside(start, end);
        let open = self.interner.token(Kind::TagOpen, &self.text[start..end]);
        self.children
            .push(GreenNode::new(Kind::StartTag.raw(), [open.into()]).into());
        self.at = end;
        self.childless(self.bindings.len());
    }

    fn unclosed_tag(&mut self, tag: &Tag, start: usize) {
        let name = shown(&self.text[start + 1..tag.name_end]);
        let end = chars::trim_end(self.text.as_bytes(), tag.name_end, tag.end);
        let error = FormError::new(
            FormCode::UnclosedTag,
            range(start, tag.name_end),
            format!("The tag `<{name}` is not closed. Write `/>` or `>` where it ends"),
        );
        self.error(error.with_fix(
            "Close it with `/>`",
            vec![TextEdit::insert(size(end), "/>")],
        ));
    }

    /// Whether an element whose start tag has no `>` nonetheless has content: its end tag comes next, or something
    /// that is indented more.
    fn opens_anyway(&mut self, tag: &Tag, start: usize) -> bool {
        let bytes = self.text.as_bytes();
        let Some(next) = memchr::memchr(b'<', &bytes[tag.end..]).map(|found| tag.end + found)
        else {
            self.watch(start, bytes.len() + 1);
            return false;
        };
        let name = &bytes[start + 1..tag.name_end];
        let rest = &bytes[next + 1..];
        self.watch(start, next + 2 + name.len() + 2);
        let columns = (
            chars::indentation(bytes, start),
            chars::indentation(bytes, next),
        );
        match rest.strip_prefix(b"/") {
            Some(rest) => {
                let same = rest.starts_with(name)
                    && rest
                        .get(name.len())
                        .is_none_or(|&b| class(b) & chars::DELIMITER != 0);
                same && !matches!(columns, (Some(own), Some(other)) if own != other)
            }
            None => matches!(columns, (Some(own), Some(other)) if own < other),
        }
    }

    fn check_attributes(&mut self, tag: &Tag) {
        for pair in &tag.pairs {
            let mut at = pair.value_start;
            while let Some(found) = memchr::memchr(b'&', &self.text.as_bytes()[at..pair.value_end])
            {
                let start = at + found;
                let (reference, end) = reference::read(&self.text[..pair.value_end], start);
                self.check_reference(reference, start, end, true);
                at = end;
            }
        }
        crate::attributes::check_duplicates(self, tag);
    }

    /// Reports characters that no XML document may hold, one error for each run of them.
    pub(crate) fn check_characters(&mut self, start: usize, end: usize) {
        let bytes = &self.text.as_bytes()[start..end];
        let suspicious = |b: u8| b < 0x20 && !matches!(b, b'\t' | b'\n' | b'\r');
        // A plain loop without a way out is fast: the compiler takes many bytes at once.
        let controls = bytes.iter().fold(false, |found, &b| found | suspicious(b));
        let noncharacters = memchr::memmem::find(bytes, b"\xEF\xBF").is_some();
        if !controls && !noncharacters {
            return;
        }
        let mut run: Option<(usize, usize, char)> = None;
        for (at, c) in self.text[start..end].char_indices() {
            let bad = !chars::is_char(c);
            match &mut run {
                Some((_, to, _)) if bad && *to == start + at => *to = start + at + c.len_utf8(),
                _ if bad => {
                    self.bad_characters(run);
                    run = Some((start + at, start + at + c.len_utf8(), c));
                }
                _ => {}
            }
        }
        self.bad_characters(run);
    }

    fn bad_characters(&mut self, run: Option<(usize, usize, char)>) {
        if let Some((start, end, c)) = run {
            let message = format!(
                "The character U+{:04X} may not stand in an XML file. Remove it",
                u32::from(c)
            );
            let place = range(start, end);
            self.error(
                FormError::new(FormCode::BadCharacter, place, message)
                    .with_fix("Remove it", vec![TextEdit::delete(place)]),
            );
        }
    }

    fn end_tag(&mut self) {
        let bytes = self.text.as_bytes();
        let start = self.at;
        let mut name_end = start + 2;
        while name_end < bytes.len() && class(bytes[name_end]) & chars::DELIMITER == 0 {
            name_end += 1;
        }
        let next = chars::skip_space(bytes, name_end);
        let line = chars::line_end(bytes, name_end);
        let mut tag = EndTag {
            start,
            name_end,
            end: name_end,
            closed: true,
        };
        if bytes.get(next) == Some(&b'>') {
            tag.end = next + 1;
        } else if let Some(found) = memchr::memchr2(b'<', b'>', &bytes[name_end..line])
            && bytes[name_end + found] == b'>'
        {
            tag.end = name_end + found + 1;
            let place = range(next, tag.end - 1);
            self.error(
                FormError::new(
                    FormCode::StrayCharacters,
                    place,
                    "An end tag holds nothing but its name. Remove this",
                )
                .with_fix("Remove it", vec![TextEdit::delete(place)]),
            );
        } else {
            tag.closed = false;
            self.watch(start, next.max(line) + 1);
        }
        self.token(Kind::EndTag, tag.end - start);
        self.close(tag);
    }

    pub(crate) fn name_of(&self, frame: &Frame) -> &'s str {
        &self.text[frame.start + 1..frame.name_end]
    }

    /// Finds out what the end tag that was pushed last closes.
    fn close(&mut self, tag: EndTag) {
        let name = tag.name(self.text);
        match self.frames.last().copied() {
            None if self.is_outside() => self.end_tag_outside(tag),
            None => self.end_tag_of_outer(tag),
            Some(top) if self.name_of(&top) == name => self.close_last(tag),
            Some(top) => {
                let beginning = !tag.closed && self.name_of(&top).starts_with(name);
                let closes = if beginning {
                    None
                } else {
                    self.closed_by(&tag)
                };
                match closes {
                    _ if self.aborted => {}
                    Some(index) => {
                        let end_tag = self.children.pop();
                        self.resolve_unclosed(index + 1, Some(tag));
                        self.children.extend(end_tag);
                        self.close_last(tag);
                    }
                    None if self.depth() > DEEPEST => self.stray(tag),
                    None => self.doubtful.push(Doubtful {
                        index: self.children.len() - 1,
                        tag,
                    }),
                }
            }
        }
    }

    /// An end tag outside all elements of a part.
    fn end_tag_of_outer(&mut self, tag: EndTag) {
        let name = tag.name(self.text);
        let innermost = match &self.around {
            Around::Elements {
                names: Some(names), ..
            } => names.last().copied(),
            Around::Elements { names: None, .. } => {
                self.aborted = true;
                return;
            }
            _ => return self.stray(tag),
        };
        let beginning = !tag.closed
            && innermost.is_some_and(|innermost| innermost != name && innermost.starts_with(name));
        if !beginning && self.could_close_outer(name) {
            self.aborted = true;
            return;
        }
        self.doubtful.push(Doubtful {
            index: self.children.len() - 1,
            tag,
        });
    }

    /// Whether an element around this part has this name, as far as anybody knows.
    pub(crate) fn could_close_outer(&self, name: &str) -> bool {
        match &self.around {
            Around::Elements {
                names: Some(names), ..
            } => names.contains(&name),
            Around::Elements { names: None, .. } => true,
            _ => false,
        }
    }

    /// Closes the innermost element with the end tag that was pushed last.
    fn close_last(&mut self, tag: EndTag) {
        let Some(frame) = self.frames.pop() else {
            return;
        };
        for doubtful in self.doubtful.split_off(frame.doubtful) {
            self.stray(doubtful.tag);
        }
        self.check_end_tag(&frame, tag);
        if self.is_outside() && self.root == Some(frame.start) {
            self.closed_root = Some(ClosedRoot {
                frame,
                end_tag: self.children.len() - 1,
                tag,
                followed: false,
            });
        } else {
            self.bindings.leave(frame.bindings);
            self.close_element(frame, true);
        }
    }

    /// Reports an end tag that has no `>` or another name than the element it closes.
    pub(crate) fn check_end_tag(&mut self, frame: &Frame, tag: EndTag) {
        let (name, wanted) = (tag.name(self.text), self.name_of(frame));
        let opened = range(frame.start, frame.name_end);
        let error = if !tag.closed {
            let written = shown(&self.text[tag.start..tag.end]);
            FormError::new(
                FormCode::UnclosedTag,
                tag.range(),
                format!(
                    "The end tag `{written}` is not complete. Write `</{}>`",
                    shown(wanted)
                ),
            )
        } else if name != wanted {
            FormError::new(
                FormCode::MismatchedEndTag,
                tag.range(),
                format!(
                    "This end tag should close `<{0}>` but says `{1}`. Write `</{0}>`",
                    shown(wanted),
                    shown(name)
                ),
            )
        } else {
            return;
        };
        let edit = TextEdit::replace(tag.range(), format!("</{wanted}>"));
        self.error(
            error
                .with_fix(format!("Write `</{}>`", shown(wanted)), vec![edit])
                .with_related(opened, format!("`<{}>` starts here", shown(wanted))),
        );
    }

    pub(crate) fn stray(&mut self, tag: EndTag) {
        let name = tag.name(self.text);
        let written = shown(&self.text[tag.start..tag.end]);
        let (code, message) = if tag.closed {
            (
                FormCode::StrayEndTag,
                format!(
                    "`{written}` closes nothing: no `<{}>` is open here. Remove it",
                    shown(name)
                ),
            )
        } else {
            (
                FormCode::UnclosedTag,
                format!(
                    "The end tag `{written}` is not complete, and there is nothing it could close"
                ),
            )
        };
        self.error(FormError::new(code, tag.range(), message).with_fix(
            format!("Remove `{written}`"),
            vec![TextEdit::delete(tag.range())],
        ));
    }

    /// An end tag at the top level. A second one of the root means that the first one came too early.
    fn end_tag_outside(&mut self, tag: EndTag) {
        match self.closed_root {
            Some(root) if root.followed && self.name_of(&root.frame) == tag.name(self.text) => {
                self.closed_root = None;
                let is_outside = |error: &FormError| {
                    matches!(error.code, FormCode::ExtraRoot | FormCode::ExtraText)
                };
                if let Some(index) = self.outside.take()
                    && self.errors.get(index).is_some_and(is_outside)
                {
                    self.errors.remove(index);
                }
                self.stray(root.tag);
                self.notes.hoisted.push(size(root.frame.start));
                self.frames.push(root.frame);
                self.close_last(tag);
            }
            _ => self.stray(tag),
        }
    }

    /// Makes an element of `frame` from all children since its start tag; the last one is its end tag if `closed`.
    pub(crate) fn close_element(&mut self, frame: Frame, closed: bool) {
        let depth = self.depth() + 1;
        if depth > DEEPEST {
            if depth == DEEPEST + 1 {
                let node = wide::node(Kind::TooDeep, self.children.drain(frame.base..));
                self.children.push(node.into());
            }
            return;
        }
        let end_tag = if closed { self.children.pop() } else { None };
        let element = element(self.children.drain(frame.base..), end_tag);
        self.children.push(element.into());
    }
}

/// An element from its start tag and content, and its end tag.
pub(crate) fn element(
    mut children: std::vec::Drain<'_, Green>,
    end_tag: Option<Green>,
) -> GreenNode {
    let kind = Kind::Element.raw();
    let start_tag = children.next();
    let content = (children.len() > 0).then(|| Green::from(wide::node(Kind::Content, children)));
    match (start_tag, content, end_tag) {
        (Some(start), Some(content), Some(end)) => GreenNode::new(kind, [start, content, end]),
        (start, content, end) => {
            let parts: Vec<Green> = [start, content, end].into_iter().flatten().collect();
            GreenNode::new(kind, parts)
        }
    }
}
