//! Start tags: what they open, and the checks on what is in them.

use rowan::GreenNode;

use super::{Around, DEEPEST, Frame, Parser};
use crate::TextEdit;
use crate::chars::{self, class, shown};
use crate::error::{FormCode, FormError};
use crate::kind::Kind;
use crate::markup;
use crate::reference;
use crate::tag::{Closing, Tag, range, size};
use crate::text_element;
use crate::wide::{self, Green};

/// More `<` one after the other are not meant as text, and what replaces them is four times as long.
const MOST_PLAIN: usize = 100;

impl<'s> Parser<'s> {
    pub(super) fn start_tag(&mut self) {
        if self.childless_again() {
            return;
        }
        let start = self.at;
        if !self.starts_name(start + 1) {
            return match markup::comment_without_mark(self.text, start) {
                Ok(found) => self.markup(Kind::Broken, found),
                Err(read_to) => {
                    self.watch(start, read_to);
                    self.lone_less_than();
                }
            };
        }
        let mut bindings = self.bindings.len();
        let is_root = self.is_outside() && self.root.is_none();
        let (errors, watches) = (self.errors.len(), self.notes.watches.len());
        let (tag, is_plain) = self.lex_tag();
        let whole = self.text_element_end(&tag).filter(|_| is_plain);
        match whole {
            Some(end) => self.token(Kind::TextElement, end - start),
            None => self.push_tag(&tag, is_plain),
        }
        let tag = self.check_tag(tag);
        if is_root {
            // Its prefixes stay declared to the end: it may turn out that it ended too early.
            bindings = self.bindings.len();
        }
        self.element_outside(start, tag.name_end);
        match tag.closing {
            _ if whole.is_some() => self.bindings.leave(bindings),
            Some(Closing::Empty) => {
                self.childless(bindings);
                self.note_childless(&tag, start, (errors, watches));
            }
            Some(Closing::Unclosed) => {
                self.unclosed_tag(&tag, start);
                if let Some(name_end) = self.opens_anyway(&tag, start) {
                    self.open(start, name_end, bindings, true);
                } else {
                    self.childless(bindings);
                }
            }
            _ => self.open(start, tag.name_end, bindings, false),
        }
        self.tag = Some(tag);
    }

    /// Pushes the start tag that stands here and checks what is in it.
    pub(super) fn lex_start_tag(&mut self) -> Box<Tag> {
        let (tag, is_plain) = self.lex_tag();
        self.push_tag(&tag, is_plain);
        self.check_tag(tag)
    }

    /// The start tag that stands here, and whether nothing in it is odd.
    fn lex_tag(&mut self) -> (Box<Tag>, bool) {
        let mut tag = self.tag.take().unwrap_or_default();
        let is_plain = tag.lex_plain(self.text, self.at) || {
            tag.lex(self.text, self.at);
            tag.is_plain()
        };
        (tag, is_plain)
    }

    /// Where the element of the start tag that stands here ends, if it is of one piece with its text and its end tag.
    fn text_element_end(&self, tag: &Tag) -> Option<usize> {
        if tag.closing != Some(Closing::Open) || self.is_outside() || self.depth() + 1 >= DEEPEST {
            return None;
        }
        let name = &self.text[tag.start + 1..tag.name_end];
        text_element::end(self.text, tag.start, name, tag.end)
    }

    fn push_tag(&mut self, tag: &Tag, is_plain: bool) {
        let green: Green = if is_plain {
            let text = &self.text[tag.start..tag.end];
            self.interner.token(Kind::Tag, text).into()
        } else {
            let pieces = tag.pieces.iter().map(|piece| {
                let text = &self.text[piece.start..piece.end];
                self.interner.token(piece.kind, text).into()
            });
            wide::node(Kind::StartTag, pieces).into()
        };
        self.children.push(green);
        self.at = tag.end;
    }

    /// Reports what is wrong in a start tag.
    fn check_tag(&mut self, mut tag: Box<Tag>) -> Box<Tag> {
        if !tag.errors.is_empty() {
            for error in std::mem::take(&mut tag.errors) {
                self.error(error);
            }
        }
        self.check_attributes(&tag);
        self.check_namespaces(&tag, tag.start);
        if tag.read_to > tag.end {
            self.watch(tag.start, tag.read_to);
        }
        tag
    }

    pub(super) fn starts_name(&self, at: usize) -> bool {
        match self.text.as_bytes().get(at) {
            Some(&b) if class(b) & chars::WIDE == 0 => class(b) & chars::NAME_START != 0,
            Some(_) => self.text[at..].starts_with(chars::is_name_start),
            None => false,
        }
    }

    /// The start tag that was pushed last is an element without content.
    pub(super) fn childless(&mut self, bindings: usize) {
        self.bindings.leave(bindings);
        let is_part = |tag: &mut Green| Kind::of(tag.kind()) == Kind::StartTag;
        if self.depth() <= DEEPEST
            && let Some(tag) = self.children.pop_if(is_part)
        {
            let element = self.last.element_of(tag);
            self.children.push(element);
        }
    }

    pub(super) fn open(
        &mut self,
        start: usize,
        name_end: usize,
        bindings: usize,
        tag_unclosed: bool,
    ) {
        let frame = Frame::new(start, name_end).with_unclosed_tag(tag_unclosed);
        let base = self.children.len() - 1;
        self.frames
            .push(frame.holding(base, self.doubtful.len(), bindings));
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
    pub(super) fn element_outside(&mut self, start: usize, name_end: usize) {
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
    pub(super) fn lone_less_than(&mut self) {
        let bytes = self.text.as_bytes();
        let start = self.at;
        let mut end = start + 1;
        let starts_markup =
            |at: usize| matches!(bytes.get(at), Some(b'/' | b'!' | b'?')) || self.starts_name(at);
        while bytes.get(end) == Some(&b'<') && !starts_markup(end + 1) {
            end += 1;
        }
        let place = range(start, end);
        let mut error = FormError::new(
            FormCode::UnclosedTag,
            place,
            "A tag starts here but has no name. Write its name, or `&lt;` for a plain `<`",
        );
        if end - start <= MOST_PLAIN {
            let escaped = "&lt;".repeat(end - start);
            let edit = TextEdit::replace(place, escaped);
            error = error.with_fix("Write `&lt;`", vec![edit]);
        }
        self.error(error);
        self.watch(start, end + 2);
        // No root, but where there is no other one, enough said.
        self.half_root |= self.is_outside();
        let open = self.interner.token(Kind::TagOpen, &self.text[start..end]);
        self.children
            .push(GreenNode::new(Kind::StartTag.raw(), [open.into()]).into());
        self.at = end;
        self.childless(self.bindings.len());
    }

    pub(super) fn unclosed_tag(&mut self, tag: &Tag, start: usize) {
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
    /// that is indented more. Gives the end of its name, which may have run into its content.
    pub(super) fn opens_anyway(&mut self, tag: &Tag, start: usize) -> Option<usize> {
        let bytes = self.text.as_bytes();
        let Some(next) = memchr::memchr(b'<', &bytes[tag.end..]).map(|found| tag.end + found)
        else {
            self.watch(start, bytes.len() + 1);
            return None;
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
                let ends = |&b: &u8| class(b) & chars::DELIMITER != 0;
                let len = rest.iter().position(ends).unwrap_or(rest.len());
                let same = len > 0 && len <= name.len() && name.starts_with(&rest[..len]);
                (same && !matches!(columns, (Some(own), Some(other)) if own != other))
                    .then_some(start + 1 + len)
            }
            None => {
                matches!(columns, (Some(own), Some(other)) if own < other).then_some(tag.name_end)
            }
        }
    }

    pub(super) fn check_attributes(&mut self, tag: &Tag) {
        super::duplicates::check_duplicates(self, tag);
        if !tag.has_ampersand {
            return;
        }
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
    }
}
