//! Character data, references and markup in the content of an element, and what may not stand outside the root.

use std::sync::Arc;

use rowan::TextRange;

use super::{Around, Mention, Parser};
use crate::TextEdit;
use crate::chars::{self, shown};
use crate::doctype;
use crate::error::{FormCode, FormError};
use crate::kind::Kind;
use crate::markup;
use crate::reference::{self, Reference};
use crate::tag::{range, size};
use crate::words;

impl Parser<'_> {
    pub(super) fn exclamation(&mut self) {
        let rest = &self.text.as_bytes()[self.at..];
        if rest.starts_with(b"<!--") {
            let found = markup::comment(self.text, self.at);
            self.markup(Kind::Comment, found);
        } else if rest.starts_with(b"<![CDATA[") {
            let found = markup::cdata(self.text, self.at, &mut self.missing);
            self.text_outside(self.at, found.end);
            self.markup(Kind::CData, found);
        } else if rest.starts_with(b"<!DOCTYPE") {
            self.doctype();
        } else {
            let found = markup::broken(self.text, self.at);
            self.markup(Kind::Broken, found);
        }
    }

    pub(super) fn doctype(&mut self) {
        let start = self.at;
        if self.root.is_some() || self.doctype.is_some() || !self.is_outside() {
            let (end, read_to) = doctype::end_of_misplaced(self.text, start);
            self.error(
                FormError::new(
                    FormCode::BadDoctype,
                    range(start, start + 9),
                    "A DOCTYPE declaration may only stand once, before the root element. Remove it",
                )
                .with_fix("Remove it", vec![TextEdit::delete(range(start, end))]),
            );
            self.watch(start, read_to);
            return self.token(Kind::Doctype, end - start);
        }
        let read = doctype::read(self.text, start, self.standalone);
        if !read.errors.is_empty() {
            // Where it ends can depend on all that follows.
            self.watch(start, self.text.len() + 1);
        }
        for error in read.errors {
            self.error(error);
        }
        self.doctype = Some(Arc::new(read.doctype));
        self.token(Kind::Doctype, read.end - start);
    }

    /// Reports text outside the root element, if `start..end` is.
    pub(super) fn text_outside(&mut self, start: usize, end: usize) {
        if !self.is_outside() {
            return;
        }
        let bytes = self.text.as_bytes();
        let start = chars::skip_space(bytes, start);
        if start < end {
            let end = chars::trim_end(bytes, start, chars::line_end(&bytes[..end], start));
            self.found_outside(FormError::new(
                FormCode::ExtraText,
                range(start, end),
                "Text may only stand inside the root element. Move it there, or remove it",
            ));
        }
    }

    /// One error before the root element and one behind it.
    pub(super) fn found_outside(&mut self, error: FormError) {
        if let Some(root) = &mut self.closed_root {
            root.followed = true;
        }
        if self.outside.is_none() {
            self.outside = Some(self.errors.len());
            self.error(error);
        }
    }

    pub(super) fn character_data(&mut self) {
        if self.blank_again() {
            return;
        }
        let bytes = self.text.as_bytes();
        let start = self.at;
        let mut end = chars::skip_space(bytes, start);
        if bytes.get(end) == Some(&b'<') {
            return self.blank(end);
        }
        loop {
            let stop = memchr::memchr3(b'<', b'&', b']', &bytes[end..]);
            end = stop.map_or(bytes.len(), |stop| end + stop);
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

    pub(super) fn reference(&mut self) {
        let (reference, end) = reference::read(self.text, self.at);
        self.text_outside(self.at, end);
        self.check_reference(reference, self.at, end, false);
        self.token(Kind::Reference, end - self.at);
    }

    pub(super) fn check_reference(
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
    pub(super) fn is_declared(&mut self, name: &str, place: TextRange, in_value: bool) -> bool {
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

    /// Reports characters that no XML document may hold, one error for each run of them.
    pub(super) fn check_characters(&mut self, start: usize, end: usize) {
        if words::may_hold_forbidden(&self.text[start..end]) {
            self.find_bad_characters(start, end);
        }
    }

    pub(super) fn find_bad_characters(&mut self, start: usize, end: usize) {
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

    pub(super) fn bad_characters(&mut self, run: Option<(usize, usize, char)>) {
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
}
