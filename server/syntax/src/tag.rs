//! Lexes one start tag into pieces. What is half-typed ends where a person would end it, with one error for one
//! mistake; what follows the tag is never swallowed.

use rowan::{TextRange, TextSize};

use crate::TextEdit;
use crate::chars::{self, NAME, SPACE, WIDE, class, is_space, shown};
use crate::error::{FormCode, FormError};
use crate::kind::Kind;
use crate::plain_tag::LONGEST_PLAIN;
use crate::value::{self, Ending};

/// What stands behind so many attributes of one tag is one piece of junk. People write dozens.
pub(crate) const MOST_ATTRIBUTES: usize = 5_000;

/// A token of the tag.
#[derive(Copy, Clone, Debug)]
pub(crate) struct Piece {
    pub(crate) kind: Kind,
    pub(crate) start: usize,
    pub(crate) end: usize,
}

/// An attribute that has a value.
#[derive(Copy, Clone, Debug)]
pub(crate) struct Pair {
    pub(crate) start: usize,
    pub(crate) name_end: usize,
    pub(crate) value_start: usize,
    pub(crate) value_end: usize,
    pub(crate) end: usize,
}

impl Pair {
    #[inline]
    pub(crate) fn name<'s>(&self, text: &'s str) -> &'s str {
        &text[self.start..self.name_end]
    }
}

#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub(crate) enum Closing {
    /// `>`
    Open,
    /// `/>`
    Empty,
    /// Neither.
    Unclosed,
}

/// A start tag in pieces. Kept and used again for the next tag, so that no tag allocates.
#[derive(Debug, Default)]
pub(crate) struct Tag {
    pub(crate) pieces: Vec<Piece>,
    pub(crate) pairs: Vec<Pair>,
    pub(crate) errors: Vec<FormError>,
    pub(crate) closing: Option<Closing>,
    pub(crate) start: usize,
    pub(crate) name_end: usize,
    pub(crate) end: usize,
    /// A name in it has a colon.
    pub(crate) has_colon: bool,
    /// The name of an attribute with a value begins with `xmlns`.
    pub(crate) declares: bool,
    pub(crate) has_ampersand: bool,
    /// No two attributes have the same name. Not looked into if false.
    pub(crate) names_differ: bool,
    /// How far the text was read to find out where broken pieces end; 0 if no farther than the tag.
    pub(crate) read_to: usize,
    /// Where the tag is cut off if it turns out to have no `>`: before the first line that holds no attribute with a value.
    cut: Option<(usize, usize)>,
    /// The last piece was junk and has been reported.
    after_junk: bool,
}

pub(crate) fn range(start: usize, end: usize) -> TextRange {
    TextRange::new(size(start), size(end))
}

pub(crate) fn size(offset: usize) -> TextSize {
    // Texts longer than `u32` are refused by `parse`.
    TextSize::new(offset as u32)
}

impl Tag {
    /// Lexes the tag at `start`, where a `<` and the first character of a name stand.
    pub(crate) fn lex(&mut self, text: &str, start: usize) {
        let bytes = text.as_bytes();
        self.clear(start);
        self.name_end = self.name(text, start + 1, "element");
        self.push(Kind::TagOpen, start, self.name_end);
        let mut at = self.name_end;
        let closing = loop {
            let next = chars::skip_space(bytes, at);
            match bytes.get(next) {
                None | Some(b'<') => break Closing::Unclosed,
                Some(b'>') => {
                    self.space(at, next);
                    at = next + 1;
                    self.push(Kind::TagEnd, next, at);
                    break Closing::Open;
                }
                Some(b'/') if bytes.get(next + 1) == Some(&b'>') => {
                    self.space(at, next);
                    at = next + 2;
                    self.push(Kind::EmptyTagEnd, next, at);
                    break Closing::Empty;
                }
                Some(b'/') if bytes.get(chars::skip_space(bytes, next + 1)) == Some(&b'>') => {
                    self.space(at, next);
                    let mark = chars::skip_space(bytes, next + 1);
                    let message = "White space stands between `/` and `>`. Write `/>`";
                    self.error(FormCode::StrayCharacters, next, mark + 1, message.into());
                    let edit = TextEdit::delete(range(next + 1, mark));
                    self.fix("Write `/>`", vec![edit]);
                    at = mark + 1;
                    self.push(Kind::EmptyTagEnd, next, at);
                    break Closing::Empty;
                }
                Some(_) if self.pairs.len() >= MOST_ATTRIBUTES => {
                    self.space(at, next);
                    at = self.pass_over(bytes, next);
                }
                Some(_) => {
                    let cut = (self.pieces.len(), at);
                    let pairs = self.pairs.len();
                    let new_line = has_line_break(&bytes[at..next]);
                    self.space(at, next);
                    at = self.attribute(text, at, next);
                    if self.pairs.len() > pairs {
                        self.cut = None;
                    } else if new_line && self.cut.is_none() {
                        self.cut = Some(cut);
                    }
                }
            }
        };
        if closing == Closing::Unclosed {
            at = self.leave_unclosed(bytes, at);
        }
        self.end = at;
        self.closing = Some(closing);
        let declares = |pair: &Pair| pair.name(text).starts_with("xmlns");
        self.names_differ = false;
        self.declares = self.pairs.iter().any(declares);
        self.has_ampersand = memchr::memchr(b'&', &bytes[start..at]).is_some();
    }

    /// Forgets the tag before the one at `start`.
    pub(crate) fn clear(&mut self, start: usize) {
        self.start = start;
        self.pieces.clear();
        self.pairs.clear();
        self.errors.clear();
        self.cut = None;
        self.after_junk = false;
        self.read_to = 0;
        self.has_colon = false;
        self.declares = false;
        self.has_ampersand = false;
        self.names_differ = true;
    }

    /// Whether it is as XML wants it, so that its parts can be told without a look at what follows, and not too long for
    /// that.
    pub(crate) fn is_plain(&self) -> bool {
        self.end - self.start <= LONGEST_PLAIN
            && self.errors.is_empty()
            && self.read_to == 0
            && self.closing != Some(Closing::Unclosed)
            && self.pieces.iter().all(|piece| piece.kind != Kind::Junk)
    }

    /// Decides where a tag without `>` ends: lines that hold no attribute with a value are taken for text. What is
    /// half-typed in it goes under the one error that the tag gets.
    fn leave_unclosed(&mut self, bytes: &[u8], mut at: usize) -> usize {
        if let Some((pieces, end)) = self.cut {
            self.pieces.truncate(pieces);
            at = end;
        }
        self.errors
            .retain(|error| matches!(error.code, FormCode::BadCharacter));
        let end = chars::skip_blanks(bytes, at);
        self.space(at, end);
        end
    }

    #[inline]
    fn push(&mut self, kind: Kind, start: usize, end: usize) {
        self.pieces.push(Piece { kind, start, end });
    }

    #[inline]
    fn space(&mut self, start: usize, end: usize) {
        if end > start {
            self.push(Kind::Space, start, end);
        }
    }

    fn error(&mut self, code: FormCode, start: usize, end: usize, message: String) {
        self.errors
            .push(FormError::new(code, range(start, end), message));
    }

    fn fix(&mut self, title: impl Into<String>, edits: Vec<TextEdit>) {
        if let Some(error) = self.errors.pop() {
            self.errors.push(error.with_fix(title, edits));
        }
    }

    /// The end of the name at `start`, which runs to the next delimiter; reports one that is none.
    #[inline]
    fn name(&mut self, text: &str, start: usize, of_what: &str) -> usize {
        let bytes = text.as_bytes();
        let mut end = start;
        let mut seen = 0;
        while end < bytes.len() && class(bytes[end]) & NAME != 0 {
            seen |= class(bytes[end]);
            end += 1;
        }
        self.has_colon |= seen & chars::COLON != 0;
        let plain = seen & WIDE == 0
            && end > start
            && class(bytes[start]) & chars::NAME_START != 0
            && bytes
                .get(end)
                .is_none_or(|&b| class(b) & chars::DELIMITER != 0);
        if plain {
            end
        } else {
            self.odd_name(text, start, of_what)
        }
    }

    fn odd_name(&mut self, text: &str, start: usize, of_what: &str) -> usize {
        let end = delimiter(text.as_bytes(), start);
        let name = &text[start..end];
        if end > start && !chars::is_name(name) {
            let message = match name.chars().find(|&c| !chars::is_name_char(c)) {
                Some(c) => format!(
                    "`{}` is not a name for an {of_what}: `{c}` may not stand in a name. Use letters, digits, `-`, `_` and `.`",
                    shown(name)
                ),
                None => format!(
                    "`{}` is not a name for an {of_what}: a name starts with a letter or `_`",
                    shown(name)
                ),
            };
            // A character that is nowhere allowed has its own error.
            if name.chars().all(chars::is_char) {
                self.error(FormCode::BadName, start, end, message);
            }
        }
        end
    }

    /// Lexes what stands at `at`, which is neither white space nor the end of the tag; `before` is where the piece
    /// before it ends.
    #[inline]
    fn attribute(&mut self, text: &str, before: usize, at: usize) -> usize {
        let bytes = text.as_bytes();
        let touches = before == at;
        match bytes[at] {
            b'"' | b'\'' => return self.nameless_value(text, at),
            b'/' | b'&' => return self.junk(text, at, at + 1),
            _ => {}
        }
        if touches && self.after_value(bytes) {
            let end = junk_end(bytes, at, b'=');
            if bytes.get(end) != Some(&b'=') {
                return self.junk(text, at, end);
            }
            self.missing_space(at);
        }
        let errors = self.errors.len();
        let name_end = self.name(text, at, "attribute");
        let equals = chars::skip_space(bytes, name_end);
        if bytes.get(equals) != Some(&b'=') {
            self.errors.truncate(errors);
            return self.without_equals(text, at, name_end);
        }
        if name_end == at {
            self.error(
                FormCode::UnfinishedAttribute,
                at,
                at + 1,
                "There is no attribute name before this `=`. Write `name=\"value\"`".into(),
            );
        }
        self.after_junk = false;
        let value = chars::skip_space(bytes, equals + 1);
        match bytes.get(value) {
            Some(b'"' | b'\'') => self.quoted(text, at, name_end, value),
            _ => self.unquoted(text, at, name_end, equals, value),
        }
    }

    /// Whether the last piece is an attribute that ends in a quote.
    fn after_value(&self, bytes: &[u8]) -> bool {
        self.pieces.last().is_some_and(|piece| {
            piece.kind == Kind::Attribute && matches!(bytes[piece.end - 1], b'"' | b'\'')
        })
    }

    fn missing_space(&mut self, at: usize) {
        let message =
            "White space is missing between this attribute and the one before it. Add a space";
        self.error(FormCode::MissingSpace, at, at + 1, message.into());
        self.fix("Add a space", vec![TextEdit::insert(size(at), " ")]);
        if let Some(error) = self.errors.last_mut() {
            error.range = range(at - 1, at);
        }
    }

    /// An attribute with a value that starts with the quote at `open`.
    #[inline]
    fn quoted(&mut self, text: &str, start: usize, name_end: usize, open: usize) -> usize {
        let bytes = text.as_bytes();
        let ending = value::ending(text, open);
        let (value_end, end) = match ending {
            Ending::Quote(end) => (end, end + 1),
            Ending::QuoteBefore { end, read_to } => {
                self.read_to = self.read_to.max(read_to);
                (end, end + 1)
            }
            Ending::QuoteAfterMarkup { end, less_than } => {
                self.error(
                    FormCode::BadCharacter,
                    less_than,
                    less_than + 1,
                    "A `<` may not stand in a value. Write `&lt;`".into(),
                );
                let place = range(less_than, less_than + 1);
                self.fix("Write `&lt;`", vec![TextEdit::replace(place, "&lt;")]);
                self.read_to = self.read_to.max(end + 2);
                (end, end + 1)
            }
            Ending::Lost { end, read_to } => {
                let quote = char::from(bytes[open]);
                self.error(
                    FormCode::UnfinishedAttribute,
                    start,
                    end,
                    format!(
                        "The value of `{}` has no closing quote. Put a `{quote}` where it ends",
                        shown(&text[start..name_end])
                    ),
                );
                self.fix(
                    format!("Add the closing `{quote}`"),
                    vec![TextEdit::insert(size(end), quote)],
                );
                self.read_to = self.read_to.max(read_to);
                (end, end)
            }
        };
        self.pair(start, name_end, open + 1, value_end, end)
    }

    #[inline]
    fn pair(
        &mut self,
        start: usize,
        name_end: usize,
        value_start: usize,
        value_end: usize,
        end: usize,
    ) -> usize {
        self.pairs.push(Pair {
            start,
            name_end,
            value_start,
            value_end,
            end,
        });
        self.push(Kind::Attribute, start, end);
        end
    }

    /// An attribute with an `=` at `equals` that no quote follows; `value` is the next character that is not white
    /// space.
    fn unquoted(
        &mut self,
        text: &str,
        start: usize,
        name_end: usize,
        equals: usize,
        value: usize,
    ) -> usize {
        let bytes = text.as_bytes();
        let name = shown(&text[start..name_end]);
        let next_line = has_line_break(&bytes[equals..value]);
        let next = delimiter(bytes, value);
        let next_is_name = next > value && bytes.get(chars::skip_space(bytes, next)) == Some(&b'=');
        let end = if next_line || next_is_name {
            value
        } else {
            let (end, read_to) = value::unquoted_end(text, value);
            self.read_to = self.read_to.max(read_to);
            end
        };
        if end == value {
            let edit = TextEdit::insert(size(equals + 1), "\"\"");
            self.errors.push(
                FormError::new(
                    FormCode::UnfinishedAttribute,
                    range(start, equals + 1),
                    format!("`{name}` has no value. Write `{name}=\"…\"`"),
                )
                .with_fix("Add an empty value", vec![edit]),
            );
            self.push(Kind::Attribute, start, equals + 1);
            // Counts as a pair for the cut: there is an `=`.
            self.cut = None;
            return equals + 1;
        }
        let (from, to) = value::without_odd_quotes(text, value, end);
        let edits = vec![
            TextEdit::replace(range(value, from), "\""),
            TextEdit::replace(range(to, end), "\""),
        ];
        let message = if from > value {
            format!("The value of `{name}` stands in typographic quotes. Use plain ones: `\"`")
        } else if to < end {
            format!("The value of `{name}` has no opening quote. Put a `\"` before it")
        } else {
            format!(
                "The value of `{name}` has no quotes. Write `{name}=\"{}\"`",
                shown(&text[from..to])
            )
        };
        self.errors.push(
            FormError::new(FormCode::UnfinishedAttribute, range(start, end), message)
                .with_fix("Put plain quotes around the value", edits),
        );
        self.pair(start, name_end, from, to, end)
    }

    /// A name with no `=` behind it.
    fn without_equals(&mut self, text: &str, start: usize, name_end: usize) -> usize {
        let bytes = text.as_bytes();
        let quote = matches!(bytes.get(name_end), Some(b'"' | b'\''));
        if quote && self.after_junk || !chars::is_name(&text[start..name_end]) {
            return self.junk(text, start, junk_end(bytes, start, b'>').max(start + 1));
        }
        let name = shown(&text[start..name_end]);
        if quote {
            let edit = TextEdit::insert(size(name_end), "=");
            let error = FormError::new(
                FormCode::UnfinishedAttribute,
                range(start, name_end),
                format!("There is no `=` between `{name}` and its value. Write `{name}=\"…\"`"),
            );
            self.errors.push(error.with_fix("Add the `=`", vec![edit]));
            let errors = self.errors.len();
            let end = self.quoted(text, start, name_end, name_end);
            self.errors.truncate(errors);
            return end;
        }
        let edit = TextEdit::insert(size(name_end), "=\"\"");
        let error = FormError::new(
            FormCode::UnfinishedAttribute,
            range(start, name_end),
            format!("`{name}` has no value. Write `{name}=\"…\"`"),
        );
        self.errors
            .push(error.with_fix("Add an empty value", vec![edit]));
        self.push(Kind::Attribute, start, name_end);
        self.after_junk = false;
        name_end
    }

    /// A quote where an attribute should start.
    fn nameless_value(&mut self, text: &str, at: usize) -> usize {
        let bytes = text.as_bytes();
        let lone = bytes
            .get(at + 1)
            .is_none_or(|&b| is_space(b) || b == b'>' || b == b'/');
        let close =
            memchr::memchr3(bytes[at], b'<', b'>', &bytes[at + 1..]).map(|found| at + 1 + found);
        match close {
            Some(close)
                if !lone && bytes[close] == bytes[at] && !has_line_break(&bytes[at..close]) =>
            {
                if !self.after_junk {
                    self.error(
                        FormCode::UnfinishedAttribute,
                        at,
                        close + 1,
                        "This value belongs to no attribute. Write `name=\"value\"`".into(),
                    );
                }
                self.push(Kind::Junk, at, close + 1);
                self.after_junk = true;
                close + 1
            }
            _ => self.junk(text, at, at + 1),
        }
    }

    /// Everything from `start` to the end of the tag, with one error.
    fn pass_over(&mut self, bytes: &[u8], start: usize) -> usize {
        let mut quote = None;
        let mut end = start;
        while let Some(&byte) = bytes.get(end) {
            match (byte, quote) {
                (b'<', _) | (b'>', None) => break,
                (b'"' | b'\'', None) => quote = Some(byte),
                (_, Some(open)) if open == byte => quote = None,
                _ => {}
            }
            end += 1;
        }
        if bytes.get(end) == Some(&b'>') && bytes[end - 1] == b'/' {
            end -= 1;
        }
        let end = end.max(start + 1);
        if !self.after_junk {
            let message = format!(
                "There are more than {MOST_ATTRIBUTES} attributes in this tag. What stands from here to its end is not read"
            );
            let name = delimiter(bytes, start).clamp(start + 1, end);
            self.error(FormCode::TooManyAttributes, start, name, message);
        }
        self.push(Kind::Junk, start, end);
        self.cut = None;
        self.after_junk = true;
        end
    }

    /// One error for all the junk in a row.
    fn junk(&mut self, text: &str, start: usize, end: usize) -> usize {
        let bytes = text.as_bytes();
        self.push(Kind::Junk, start, end);
        let what = &text[start..end];
        if !self.after_junk && what.chars().all(chars::is_char) {
            self.errors.push(
                FormError::new(
                    FormCode::StrayCharacters,
                    range(start, end),
                    format!(
                        "`{}` does not belong in this tag. Remove it, or put it in quotes",
                        shown(what)
                    ),
                )
                .with_fix(
                    format!("Remove `{}`", shown(what)),
                    vec![TextEdit::delete(range(start, end))],
                ),
            );
        }
        self.after_junk = true;
        debug_assert!(end <= bytes.len() && end > start);
        end
    }
}

fn has_line_break(bytes: &[u8]) -> bool {
    memchr::memchr2(b'\n', b'\r', bytes).is_some()
}

/// The next delimiter at or after `at`.
fn delimiter(bytes: &[u8], mut at: usize) -> usize {
    while at < bytes.len() && class(bytes[at]) & chars::DELIMITER == 0 {
        at += 1;
    }
    at
}

/// The end of what has no meaning in a tag: the next white space, `<`, `>` or `/>`, or the byte `stop`.
fn junk_end(bytes: &[u8], start: usize, stop: u8) -> usize {
    let mut at = start;
    while at < bytes.len() {
        match bytes[at] {
            b'<' | b'>' => break,
            b'/' if bytes.get(at + 1) == Some(&b'>') => break,
            b if b == stop || class(b) & SPACE != 0 => break,
            _ => at += 1,
        }
    }
    at
}
