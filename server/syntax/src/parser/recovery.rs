//! Which element an end tag closes when names do not fit, and where elements end that have no end tag.
//!
//! Well-formed documents never come here, so everything is allowed to look at indentation: a person sees the structure
//! by it. Nothing here looks ahead; the decision about an unclosed element falls when an outer one is closed, and its
//! would-be children are then divided between the two.

use rowan::{GreenNode, GreenTokenData, NodeOrToken, TextSize};

use super::end_tag::{Doubtful, EndTag, element};
use super::misspelt::is_misspelt;
use super::{DEEPEST, Frame, Parser};
use crate::chars::{self, shown};
use crate::element::end_tag_name;
use crate::error::{FormCode, FormError};
use crate::kind::Kind;
use crate::tag::{range, size};
use crate::text_element;
use crate::wide::{Green, Wide, borrowed};
use crate::{Element, TextEdit};

/// An end tag looks no farther up for the element it closes.
const FARTHEST: usize = 100;

/// So many end tags that fit nothing are looked at to find the one of an element.
const FEW: usize = 16;

/// An unclosed element whose end is being looked for.
struct Open {
    frame: Frame,
    /// Index of its start tag in the output.
    base: usize,
    column: Option<usize>,
    start_tag_end: usize,
    /// Where its end tag starts that is to come and is misspelt.
    misspelt_end: Option<usize>,
    /// That it has no end tag needs no error: it has one already, or it holds a `<` without a name, so that somebody is
    /// typing, perhaps its end tag.
    reported: bool,
}

impl Parser<'_> {
    /// The open element that the end tag closes, when it is not the innermost by name. None: nobody knows yet.
    pub(crate) fn closed_by(&mut self, tag: &EndTag) -> Option<usize> {
        let bytes = self.text.as_bytes();
        let name = tag.name(self.text);
        let near = self.frames.len().saturating_sub(FARTHEST);
        let named = |index: &usize| self.name_of(&self.frames[*index]) == name;
        let nearest = (near..self.frames.len()).rev().find(named);
        let Some(nearest) = nearest else {
            self.aborted |= self.could_close_outer(name);
            return None;
        };
        let Some(column) = chars::indentation(bytes, tag.start) else {
            return Some(nearest);
        };
        let column_of = |index: usize| chars::indentation(bytes, self.frames[index].start());
        match column_of(nearest) {
            Some(own) if own < column => {
                // It stands inside: it may be the misspelt end of an element of its own column.
                (nearest + 1..self.frames.len())
                    .rev()
                    .find(|&index| column_of(index) == Some(column))
            }
            Some(own) if own > column => {
                let outer = (near..nearest).rev().filter(named);
                let aligned = outer
                    .into_iter()
                    .find(|&index| column_of(index) == Some(column));
                // One of the elements around a part may be the aligned one.
                self.aborted |= aligned.is_none() && self.could_close_outer(name);
                Some(aligned.unwrap_or(nearest))
            }
            _ => Some(nearest),
        }
    }

    /// Ends all elements from the frame `from` inwards. They have no end tag, or a doubtful one. `outer` is the end
    /// tag that closes the element around them; None at the end of the text.
    pub(crate) fn resolve_unclosed(&mut self, from: usize, outer: Option<EndTag>) {
        while self.frames.len() > from && self.depth() > DEEPEST {
            if let Some(frame) = self.frames.pop() {
                self.too_deep_unclosed(frame, outer);
            }
        }
        let frames = self.frames.split_off(from.min(self.frames.len()));
        let Some(first) = frames.first() else {
            return;
        };
        // Elements that turn out to stand beside one another were parsed inside one another.
        self.notes.prefixes_leaked |= self.bindings.len() > first.bindings();
        self.bindings.leave(first.bindings());
        let doubtful = self.doubtful.split_off(first.doubtful());
        let items = self.children.split_off(first.base());
        let keep_all = from == 0;
        let mut sorting = Sorting {
            at: first.start(),
            first_index: first.base(),
            out: Vec::with_capacity(items.len()),
            open: Vec::new(),
            frames: frames.iter().peekable(),
            doubtful: doubtful.iter().peekable(),
            borrowed: Vec::new(),
            keep_all,
            outer,
            parser: self,
        };
        for (position, item) in items.into_iter().enumerate() {
            sorting.place(position, item);
        }
        if outer.is_none() {
            sorting.end_at_the_end();
        }
        while !sorting.open.is_empty() {
            sorting.end_innermost(None);
        }
        let out = sorting.out;
        self.children.extend(out);
    }

    fn too_deep_unclosed(&mut self, frame: Frame, outer: Option<EndTag>) {
        self.notes.prefixes_leaked |= self.bindings.len() > frame.bindings();
        self.bindings.leave(frame.bindings());
        if self.depth() == DEEPEST {
            self.unclosed(&frame, outer, None);
            self.notes.hoisted.push(size(frame.start()));
            let end = outer.map_or(self.at, |tag| tag.start);
            self.close_too_deep(frame, end);
        }
    }

    fn unclosed(&mut self, frame: &Frame, outer: Option<EndTag>, fix: Option<TextEdit>) {
        if frame.is_tag_unclosed() {
            return;
        }
        let name = shown(self.name_of(frame));
        let mut error = self.unclosed_error(frame);
        if let Some(edit) = fix {
            let title = if edit.insert == "/" {
                "Close it with `/>`".into()
            } else {
                format!("Add `</{name}>`")
            };
            error = error.with_fix(title, vec![edit]);
        }
        if let Some(outer) = outer {
            let end_tag = shown(outer.name(self.text));
            error = error.with_related(
                outer.range(),
                format!("`</{end_tag}>` comes before `</{name}>`"),
            );
        }
        self.error(error);
    }

    fn unclosed_error(&self, frame: &Frame) -> FormError {
        let name = shown(self.name_of(frame));
        FormError::new(
            FormCode::UnclosedElement,
            range(frame.start(), frame.name_end()),
            format!(
                "`<{name}>` has no end tag. Write `</{name}>` where it ends, or `/>` if nothing belongs in it"
            ),
        )
    }
}

/// Divides the items behind the start tags of unclosed elements among those elements and the one around them.
struct Sorting<'p, 's, 'f> {
    parser: &'p mut Parser<'s>,
    /// Offset of the item to come.
    at: usize,
    first_index: usize,
    out: Vec<Green>,
    open: Vec<Open>,
    frames: std::iter::Peekable<std::slice::Iter<'f, Frame>>,
    doubtful: std::iter::Peekable<std::slice::Iter<'f, Doubtful>>,
    /// Where the end tags stand that are to be given to other elements, the next one last.
    borrowed: Vec<usize>,
    /// The outermost is the root element: it keeps everything.
    keep_all: bool,
    outer: Option<EndTag>,
}

impl Sorting<'_, '_, '_> {
    fn place(&mut self, position: usize, item: Green) {
        let index = self.first_index + position;
        let len = usize::from(item.text_len());
        let bytes = self.parser.text.as_bytes();
        if let Some(frame) = self.frames.next_if(|frame| frame.base() == index) {
            let column = chars::indentation(bytes, frame.start());
            if self.is_end_tag_without_slash(frame, column, self.at + len) {
                // Until now it was an open element, too.
                self.parser.notes.hoisted.push(size(frame.start()));
                self.end_tag_without(len, "/", 1);
                self.at += len;
                return;
            }
            self.end_those_before(column, Some(self.parser.name_of(frame)));
            let misspelt_end = self.misspelt_end(frame, column);
            if frame.is_tag_unclosed() {
                self.parser.notes.hoisted.push(size(frame.start()));
                self.out
                    .push(GreenNode::new(Kind::Element.raw(), [item]).into());
            } else {
                self.open.push(Open {
                    frame: *frame,
                    base: self.out.len(),
                    column,
                    start_tag_end: self.at + len,
                    misspelt_end,
                    reported: false,
                });
                self.out.push(item);
            }
        } else if self.doubtful.next_if(|it| it.index() == index).is_some() {
            self.end_tag(item);
        } else {
            self.place_other(item);
            return;
        }
        self.at += len;
    }

    /// The end tag to come that is this element's but for its spelling, at the same column. So a text in which nothing is
    /// indented keeps its structure.
    fn misspelt_end(&self, frame: &Frame, column: Option<usize>) -> Option<usize> {
        let text = self.parser.text;
        let name = self.parser.name_of(frame);
        let to_come = self.doubtful.clone().take(FEW);
        let tags = to_come.map(|doubtful| usize::from(doubtful.start()));
        let mut tags = tags.filter(|start| {
            let written = end_tag_name(&text[*start..]);
            column.is_some()
                && chars::indentation(text.as_bytes(), *start) == column
                && is_misspelt(written, name)
        });
        tags.next()
    }

    /// An item that is complete by itself, or seemed so.
    fn place_other(&mut self, item: Green) {
        let mut waiting = vec![item];
        while let Some(item) = waiting.pop() {
            let len = usize::from(item.text_len());
            match Kind::of(item.kind()) {
                Kind::Text => {
                    if let Some(place) = self.end_tag_without_bracket(len) {
                        self.split_text(place, len);
                        continue;
                    }
                }
                Kind::Reference => {}
                Kind::EndTag if self.borrowed.last() == Some(&self.at) => {
                    self.borrowed.pop();
                    self.end_tag(item);
                    self.at += len;
                    continue;
                }
                _ => {
                    let column = chars::indentation(self.parser.text.as_bytes(), self.at);
                    let name = element_name(&item);
                    if name.as_deref() == Some("") {
                        self.expect_end_tag(column);
                    }
                    self.end_those_before(column, name.as_deref());
                    if let Some(element) = text_element::in_parts(item.clone())
                        && self.took_end_tag(&element, column, name.as_deref())
                    {
                        self.open_again(&element, column, &mut waiting);
                        continue;
                    }
                    if let Some(open) = self.open.last_mut()
                        && name.as_deref() == Some("")
                    {
                        open.reported = true;
                    }
                }
            }
            self.out.push(item);
            self.at += len;
        }
    }

    /// Whether a start tag is the end tag of the innermost open element, whose `/` was forgotten: neither has an end tag,
    /// it says nothing but the name, it does not stand inside by its indentation, and nothing stands in it.
    fn is_end_tag_without_slash(&self, frame: &Frame, column: Option<usize>, end: usize) -> bool {
        let Some(top) = self.open.last() else {
            return false;
        };
        let text = self.parser.text;
        let could = self.parser.name_of(frame) == self.parser.name_of(&top.frame)
            && !frame.is_tag_unclosed()
            && text[frame.name_end()..end].trim_start() == ">"
            && (column.is_none() || column == top.column);
        let next = chars::skip_space(text.as_bytes(), end);
        could
            && match (chars::indentation(text.as_bytes(), next), top.column) {
                (Some(next), Some(own)) => next <= own,
                (Some(_), None) => true,
                (None, _) => next == text.len() || text[next..].starts_with("</"),
            }
    }

    /// Where the text that stands here ends with the end tag of the innermost open element, but for its `<`.
    fn end_tag_without_bracket(&self, len: usize) -> Option<std::ops::Range<usize>> {
        let text = &self.parser.text[self.at..self.at + len];
        let name = self.parser.name_of(&self.open.last()?.frame);
        let end = text.trim_end();
        let start = end.strip_suffix('>')?.trim_end().strip_suffix(name)?;
        let start = start.strip_suffix('/')?.len();
        Some(self.at + start..self.at + end.len())
    }

    /// Divides a text of this length at the end tag in it that has no `<`.
    fn split_text(&mut self, place: std::ops::Range<usize>, len: usize) {
        let end = self.at + len;
        self.push_text(place.start);
        self.end_tag_without(place.len(), "<", 0);
        self.at = place.end;
        self.push_text(end);
    }

    fn push_text(&mut self, end: usize) {
        let text = &self.parser.text[self.at..end];
        if !text.is_empty() {
            let token = self.parser.interner.token(Kind::Text, text);
            self.out.push(token.into());
            self.at = end;
        }
    }

    /// Ends the innermost open element at what stands here, which is its end tag but for one character.
    fn end_tag_without(&mut self, len: usize, missing: &str, after: usize) {
        let (start, end) = (self.at, self.at + len);
        let text = &self.parser.text[start..end];
        let token = self.parser.interner.token(Kind::Broken, text);
        self.out.push(token.into());
        let Some(open) = self.open.last_mut() else {
            return;
        };
        open.reported = true;
        let frame = open.frame;
        let name = shown(self.parser.name_of(&frame));
        let error = FormError::new(
            FormCode::UnclosedElement,
            range(start, end),
            format!("The end tag of `<{name}>` has no `{missing}`. Write `</{name}>`"),
        );
        let edit = TextEdit::insert(size(start + after), missing);
        let opened = range(frame.start(), frame.name_end());
        self.parser.error(
            error
                .with_fix(format!("Write `</{name}>`"), vec![edit])
                .with_related(opened, format!("`<{name}>` starts here")),
        );
        if !(self.keep_all && self.open.len() == 1) {
            self.end_innermost(None);
        }
    }

    /// Whether an element in the innermost open one, of the same name, has taken its end tag: it is indented more, but
    /// its end tag stands where the outer one starts.
    fn took_end_tag(&self, item: &GreenNode, column: Option<usize>, name: Option<&str>) -> bool {
        let (Some(outer), Some(column), Some(name)) = (self.open.last(), column, name) else {
            return false;
        };
        if outer.column.is_none_or(|outer| outer >= column)
            || name != self.parser.name_of(&outer.frame)
        {
            return false;
        }
        let last = item.children().last();
        let end_tag = last.and_then(NodeOrToken::into_token);
        let len = |end_tag: &GreenTokenData| usize::from(end_tag.text_len());
        end_tag.is_some_and(|end_tag| {
            let start = self.at + usize::from(item.text_len()) - len(end_tag);
            let bytes = self.parser.text.as_bytes();
            Kind::of(end_tag.kind()) == Kind::EndTag
                && chars::indentation(bytes, start) == outer.column
        })
    }

    /// Takes an element apart again: it is open, and its parts are waiting.
    fn open_again(&mut self, element: &GreenNode, column: Option<usize>, waiting: &mut Vec<Green>) {
        let len = usize::from(element.text_len());
        let name_len = element_name(&element.clone().into()).map_or(0, |name| name.len());
        let frame = Frame::new(self.at, self.at + 1 + name_len);
        let first = waiting.len();
        for part in element.children() {
            match part {
                part if matches!(Kind::of(part.kind()), Kind::Tag | Kind::StartTag) => {
                    self.open.push(Open {
                        frame,
                        base: self.out.len(),
                        column,
                        start_tag_end: self.at + usize::from(part.text_len()),
                        misspelt_end: None,
                        reported: false,
                    });
                    self.out.push(part.to_owned());
                    self.at += usize::from(part.text_len());
                }
                NodeOrToken::Node(content) => {
                    let items = Wide::new(content, TextSize::new(0));
                    waiting.extend(items.map(|(item, _)| item.to_owned()));
                }
                NodeOrToken::Token(end_tag) => {
                    self.borrowed
                        .push(frame.start() + len - usize::from(end_tag.text_len()));
                    waiting.push(end_tag.to_owned().into());
                }
            }
        }
        waiting[first..].reverse();
    }

    /// A `<` without a name is the beginning of an end tag, if it stands where an open element starts.
    fn expect_end_tag(&mut self, column: Option<usize>) {
        let aligned = |open: &&mut Open| column.is_some() && open.column == column;
        if let Some(open) = self.open.iter_mut().rev().find(aligned) {
            open.reported = true;
        }
    }

    /// Ends the open elements that something at this column cannot be in: it is not indented more than they are, or,
    /// where there is no indentation to go by, it bears the same name.
    fn end_those_before(&mut self, column: Option<usize>, name: Option<&str>) {
        while let Some(top) = self.open.last() {
            let has_its_name = name.is_some_and(|name| name == self.parser.name_of(&top.frame));
            let ends = match (column, top.column) {
                (Some(column), Some(own)) if column == own => {
                    has_its_name || top.misspelt_end.is_none_or(|end| end < self.at)
                }
                (Some(column), Some(own)) => column < own,
                _ => has_its_name,
            };
            if !ends || (self.keep_all && self.open.len() == 1) {
                return;
            }
            self.end_innermost(None);
        }
    }

    /// A doubtful end tag closes the element with its name (and its column, if there are several), else the one at its
    /// column, else the innermost.
    fn end_tag(&mut self, item: Green) {
        let text = self.parser.text;
        let tag = EndTag::of(&item, self.at);
        let column = chars::indentation(text.as_bytes(), tag.start);
        let named = |open: &Open| self.parser.name_of(&open.frame) == tag.name(text);
        let aligned = |open: &Open| column.is_some() && open.column == column;
        let closed = self
            .open
            .iter()
            .rposition(|open| named(open) && aligned(open))
            .or_else(|| self.open.iter().rposition(named))
            .or_else(|| self.open.iter().rposition(aligned))
            .or(self.open.len().checked_sub(1));
        let Some(closed) = closed else {
            self.parser.stray(tag);
            self.out.push(item);
            return;
        };
        while self.open.len() > closed + 1 {
            self.end_innermost(None);
        }
        self.end_innermost(Some((tag, item)));
    }

    /// Ends the innermost open element here. White space before this place belongs to the element around it.
    fn end_innermost(&mut self, end_tag: Option<(EndTag, Green)>) {
        let Some(open) = self.open.pop() else {
            return;
        };
        let mut trailing = None;
        if end_tag.is_none()
            && !(self.keep_all && self.open.is_empty())
            && self.out.len() > open.base + 1
        {
            trailing = self.out.pop_if(|last| is_blank(last));
        }
        let content_end = self.at
            - trailing
                .as_ref()
                .map_or(0, |item| usize::from(item.text_len()));
        self.parser.notes.hoisted.push(size(open.frame.start()));
        let end_tag = match end_tag {
            Some((tag, item)) => {
                self.parser.check_end_tag(&open.frame, tag);
                Some(item)
            }
            None => {
                if !open.reported {
                    let fix = self.fix(&open, content_end);
                    self.parser.unclosed(&open.frame, self.outer, Some(fix));
                }
                None
            }
        };
        let element = element(self.out.drain(open.base..), end_tag);
        self.out.push(element);
        self.out.extend(trailing);
    }

    /// Ends all open elements where the text ends. It is cut off, or somebody is typing it: one error, always at the
    /// outermost, so that it stays where it is while people type.
    fn end_at_the_end(&mut self) {
        let [outermost, .., innermost] = &self.open[..] else {
            return;
        };
        let bytes = self.parser.text.as_bytes();
        let end = chars::trim_end(bytes, innermost.start_tag_end, self.at);
        let missing: String = self
            .open
            .iter()
            .rev()
            .map(|open| self.missing(open))
            .collect();
        let innermost = range(innermost.frame.start(), innermost.frame.name_end());
        let error = self
            .parser
            .unclosed_error(&outermost.frame)
            .with_fix(
                format!("Add the {} missing end tags", self.open.len()),
                vec![TextEdit::insert(size(end), missing)],
            )
            .with_related(innermost, "the innermost element that is still open");
        self.parser.error(error);
        for open in &mut self.open {
            open.reported = true;
        }
    }

    /// The missing end tag, on a line of its own if the content has lines of its own.
    fn fix(&self, open: &Open, content_end: usize) -> TextEdit {
        let bytes = self.parser.text.as_bytes();
        if content_end == open.start_tag_end {
            return TextEdit::insert(size(content_end - 1), "/");
        }
        let end = chars::trim_end(bytes, open.start_tag_end, content_end);
        TextEdit::insert(size(end), self.missing(open))
    }

    /// The end tag of an element, with the line end and the indentation that it needs.
    fn missing(&self, open: &Open) -> String {
        let text = self.parser.text;
        let bytes = text.as_bytes();
        let end_tag = format!("</{}>", self.parser.name_of(&open.frame));
        let line_end = chars::skip_blanks(bytes, open.start_tag_end);
        let newline = match bytes.get(line_end) {
            Some(b'\r') if bytes.get(line_end + 1) == Some(&b'\n') => "\r\n",
            Some(b'\r') => "\r",
            Some(b'\n') => "\n",
            _ => return end_tag,
        };
        let start = open.frame.start();
        let indent = open
            .column
            .map_or("", |column| &text[start - column..start]);
        format!("{newline}{indent}{end_tag}")
    }
}

fn is_blank(item: &Green) -> bool {
    item.as_token()
        .is_some_and(|token| Kind::of(token.kind()) == Kind::Text && chars::is_blank(token.text()))
}

/// The name of an element, "" for a `<` without one.
fn element_name(item: &Green) -> Option<String> {
    if !Kind::of(item.kind()).is_element() {
        return None;
    }
    let element = Element {
        green: borrowed(item),
        offset: TextSize::new(0),
    };
    element.start_tag()?;
    Some(element.name().trim_start_matches('<').to_owned())
}
