//! End tags, and the elements they close.

use rowan::{GreenNode, TextRange, TextSize};

use super::{Around, DEEPEST, Frame, Parser};
use crate::TextEdit;
use crate::chars::{self, class, shown};
use crate::element::end_tag_name;
use crate::error::{FormCode, FormError};
use crate::kind::Kind;
use crate::tag::{range, size};
use crate::text_element;
use crate::wide::{self, Green};

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
    /// The end tag that an item at `start` is.
    pub(super) fn of(item: &Green, start: usize) -> Self {
        let text = item.as_token().map_or("", |token| token.text());
        Self {
            start,
            name_end: start + 2 + end_tag_name(text).len(),
            end: start + text.len(),
            closed: text.ends_with('>'),
        }
    }

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
    index: u32,
    start: TextSize,
}

impl Doubtful {
    /// Its index among the children that have no parent yet.
    pub(super) fn index(&self) -> usize {
        self.index as usize
    }

    pub(super) fn start(&self) -> TextSize {
        self.start
    }
}

/// The root element, the first at the top level, after its end tag: open again if another end tag of it comes.
#[derive(Copy, Clone, Debug)]
pub(super) struct ClosedRoot {
    pub(super) frame: Frame,
    /// Index of its end tag among the children.
    pub(super) end_tag: usize,
    pub(super) tag: EndTag,
    /// Something other than white space, comments and instructions has followed.
    pub(super) followed: bool,
}

impl Parser<'_> {
    pub(super) fn end_tag(&mut self) {
        let bytes = self.text.as_bytes();
        let start = self.at;
        let mut name_end = start + 2;
        while name_end < bytes.len() && class(bytes[name_end]) & chars::DELIMITER == 0 {
            name_end += 1;
        }
        let next = chars::skip_space(bytes, name_end);
        let mut tag = EndTag {
            start,
            name_end,
            end: name_end,
            closed: true,
        };
        if bytes.get(next) == Some(&b'>') {
            tag.end = next + 1;
        } else {
            self.odd_end_tag(&mut tag, next);
        }
        self.token(Kind::EndTag, tag.end - start);
        self.close(tag);
    }

    /// An end tag with something between its name and its `>`, at `next`, or without a `>`.
    fn odd_end_tag(&mut self, tag: &mut EndTag, next: usize) {
        let bytes = self.text.as_bytes();
        let stop = bytes[tag.name_end..]
            .iter()
            .position(|&b| matches!(b, b'<' | b'>' | b'\n' | b'\r'))
            .map_or(bytes.len(), |found| tag.name_end + found);
        if bytes.get(stop) != Some(&b'>') {
            tag.closed = false;
            self.watch(tag.start, next.max(stop) + 1);
            return;
        }
        tag.end = stop + 1;
        let place = range(next, stop);
        let message = "An end tag holds nothing but its name. Remove this";
        self.error(
            FormError::new(FormCode::StrayCharacters, place, message)
                .with_fix("Remove it", vec![TextEdit::delete(place)]),
        );
    }

    /// Finds out what the end tag that was pushed last closes.
    pub(super) fn close(&mut self, tag: EndTag) {
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
                    None => self.doubt(tag),
                }
            }
        }
    }

    /// An end tag outside all elements of a part.
    pub(super) fn end_tag_of_outer(&mut self, tag: EndTag) {
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
        self.doubt(tag);
    }

    /// Remembers the end tag that was pushed last.
    fn doubt(&mut self, tag: EndTag) {
        self.doubtful.push(Doubtful {
            index: size(self.children.len() - 1).into(),
            start: size(tag.start),
        });
    }

    /// Reports the doubtful end tags from the one with this number on: they close nothing.
    pub(super) fn stray_from(&mut self, first: usize) {
        for number in first..self.doubtful.len() {
            let doubtful = self.doubtful[number];
            let item = &self.children[doubtful.index()];
            self.stray(EndTag::of(item, doubtful.start.into()));
        }
        self.doubtful.truncate(first);
    }

    /// Whether an element around this part has this name, as far as anybody knows.
    pub(super) fn could_close_outer(&self, name: &str) -> bool {
        match &self.around {
            Around::Elements {
                names: Some(names), ..
            } => names.contains(&name),
            Around::Elements { names: None, .. } => true,
            _ => false,
        }
    }

    /// Closes the innermost element with the end tag that was pushed last.
    pub(super) fn close_last(&mut self, tag: EndTag) {
        let Some(frame) = self.frames.pop() else {
            return;
        };
        self.stray_from(frame.doubtful());
        self.check_end_tag(&frame, tag);
        if self.is_outside() && self.root == Some(frame.start()) {
            self.closed_root = Some(ClosedRoot {
                frame,
                end_tag: self.children.len() - 1,
                tag,
                followed: false,
            });
        } else {
            self.bindings.leave(frame.bindings());
            self.close_element(frame, true);
        }
    }

    /// Reports an end tag that has no `>` or another name than the element it closes.
    pub(super) fn check_end_tag(&mut self, frame: &Frame, tag: EndTag) {
        let (name, wanted) = (tag.name(self.text), self.name_of(frame));
        let opened = range(frame.start(), frame.name_end());
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

    pub(super) fn stray(&mut self, tag: EndTag) {
        if self.notes.overflow {
            return;
        }
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
    pub(super) fn end_tag_outside(&mut self, tag: EndTag) {
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
                self.notes.hoisted.push(size(root.frame.start()));
                self.frames.push(root.frame);
                self.close_last(tag);
            }
            _ => self.stray(tag),
        }
    }

    /// Makes an element of `frame` from all children since its start tag; the last one is its end tag if `closed`.
    pub(super) fn close_element(&mut self, frame: Frame, closed: bool) {
        let depth = self.depth() + 1;
        if depth > DEEPEST {
            if depth == DEEPEST + 1 {
                self.close_too_deep(frame, self.at);
            }
            return;
        }
        let end_tag = if closed { self.children.pop() } else { None };
        let element = element(self.children.drain(frame.base()..), end_tag);
        self.children.push(element);
    }

    /// Makes one piece of an element below the deepest level, which ends at `end`.
    pub(super) fn close_too_deep(&mut self, frame: Frame, end: usize) {
        self.children.truncate(frame.base());
        let text = &self.text[frame.start()..end];
        let token = self.interner.token(Kind::TooDeep, text);
        self.children.push(token.into());
    }
}

/// An element from its start tag and content, and its end tag.
pub(crate) fn element(mut children: std::vec::Drain<'_, Green>, end_tag: Option<Green>) -> Green {
    let kind = Kind::Element.raw();
    let start_tag = children.next();
    let content = (children.len() > 0).then(|| Green::from(wide::node(Kind::Content, children)));
    let element = match (start_tag, content, end_tag) {
        (Some(start), Some(content), Some(end)) => GreenNode::new(kind, [start, content, end]),
        (start, content, end) => {
            let parts: Vec<Green> = [start, content, end].into_iter().flatten().collect();
            GreenNode::new(kind, parts)
        }
    };
    text_element::joined(element)
}

/// An element without content from its start tag. A whole one that closes itself is all that there is to the element.
pub(crate) fn childless(start_tag: Green) -> Green {
    match Kind::of(start_tag.kind()) {
        Kind::Tag => start_tag,
        _ => GreenNode::new(Kind::Element.raw(), [start_tag]).into(),
    }
}
