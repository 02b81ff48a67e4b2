//! Reads the small parts that declarations are made of.

use memchr::memchr;

use crate::chars::{self, shown};
use crate::reference::{self, Reference};

/// What is wrong, and where in the text that was scanned.
#[derive(Debug)]
pub(crate) struct Fault {
    pub(crate) at: usize,
    pub(crate) message: String,
}

pub(crate) type Scanned<T> = Result<T, Fault>;

#[derive(Debug, Clone, Default)]
pub(crate) struct Scanner<'s> {
    pub(crate) text: &'s str,
    pub(crate) at: usize,
}

impl<'s> Scanner<'s> {
    pub(crate) fn fault<T>(&self, message: impl Into<String>) -> Scanned<T> {
        Err(Fault {
            at: self.at,
            message: message.into(),
        })
    }

    pub(crate) fn rest(&self) -> &'s str {
        &self.text[self.at..]
    }

    pub(crate) fn peek(&self) -> Option<u8> {
        self.text.as_bytes().get(self.at).copied()
    }

    /// Moves on behind `word` if it stands here.
    pub(crate) fn eat(&mut self, word: &str) -> bool {
        let here = self.rest().starts_with(word);
        if here {
            self.at += word.len();
        }
        here
    }

    pub(crate) fn need(&mut self, word: &str) -> Scanned<()> {
        if self.eat(word) {
            Ok(())
        } else {
            self.fault(format!("`{word}` is missing here"))
        }
    }

    /// Skips white space; whether there was any.
    pub(crate) fn space(&mut self) -> bool {
        let from = self.at;
        self.at = chars::skip_space(self.text.as_bytes(), from);
        self.at > from
    }

    pub(crate) fn need_space(&mut self) -> Scanned<()> {
        if self.space() {
            Ok(())
        } else {
            self.fault("White space is missing here")
        }
    }

    pub(crate) fn name(&mut self) -> Scanned<&'s str> {
        let end = chars::name_end(self.text, self.at);
        if end == self.at {
            return self.fault("A name is missing here");
        }
        let name = &self.text[self.at..end];
        self.at = end;
        Ok(name)
    }

    pub(crate) fn nmtoken(&mut self) -> Scanned<()> {
        let len = self
            .rest()
            .find(|c| !chars::is_name_char(c))
            .unwrap_or(self.rest().len());
        if len == 0 {
            return self.fault("A word is missing here");
        }
        self.at += len;
        Ok(())
    }

    /// Something in quotes; what is between them.
    pub(crate) fn literal(&mut self) -> Scanned<&'s str> {
        let Some(quote @ (b'"' | b'\'')) = self.peek() else {
            return self.fault("Something in quotes is missing here");
        };
        let start = self.at + 1;
        let Some(len) = memchr(quote, &self.text.as_bytes()[start..]) else {
            return self.fault("The closing quote is missing");
        };
        self.at = start + len + 1;
        Ok(&self.text[start..start + len])
    }

    /// `ExternalID`, production 75, or `PublicID` too if the system identifier may be left out. Whether one was here.
    pub(crate) fn external_id(&mut self, system_optional: bool) -> Scanned<bool> {
        if self.eat("SYSTEM") {
            self.need_space()?;
            self.literal()?;
            return Ok(true);
        }
        if !self.eat("PUBLIC") {
            return Ok(false);
        }
        self.need_space()?;
        let start = self.at + 1;
        let public = self.literal()?;
        let allowed = |c: char| c.is_ascii_alphanumeric() || " \r\n-'()+,./:=?;!*#@$_%".contains(c);
        if let Some((at, c)) = public.char_indices().find(|&(_, c)| !allowed(c)) {
            return Err(Fault {
                at: start + at,
                message: format!("`{c}` may not stand in a public identifier"),
            });
        }
        let mut ahead = self.clone();
        let spaced = ahead.space();
        if system_optional && !matches!(ahead.peek(), Some(b'"' | b'\'')) {
            return Ok(true);
        }
        if !spaced {
            return self.fault("White space is missing here");
        }
        self.at = ahead.at;
        self.literal()?;
        Ok(true)
    }

    /// `EntityValue`, production 9: its replacement text, with character references resolved.
    pub(crate) fn entity_value(&mut self) -> Scanned<String> {
        let start = self.at + 1;
        let literal = self.literal()?;
        let mut text = String::with_capacity(literal.len());
        let mut at = 0;
        while let Some(found) = literal[at..].find(['&', '%']) {
            let place = at + found;
            text.push_str(&literal[at..place]);
            let fault = |message: &str| {
                Err(Fault {
                    at: start + place,
                    message: message.into(),
                })
            };
            if literal.as_bytes()[place] == b'%' {
                return fault("A `%` may not stand in the value of an entity here. Write `&#37;`");
            }
            let (reference, end) = reference::read(literal, place);
            match reference {
                Reference::Character(c) => text.push(c),
                Reference::Entity(_) => text.push_str(&literal[place..end]),
                Reference::NoCharacter => {
                    return fault("This is not the number of a character that XML allows");
                }
                Reference::Unfinished | Reference::Ampersand => {
                    return fault(
                        "This `&` starts no reference. Write `&#38;#38;` for a plain `&`",
                    );
                }
            }
            at = end;
        }
        text.push_str(&literal[at..]);
        Ok(text)
    }

    /// Skips what is left of a declaration.
    pub(crate) fn skip_declaration(&mut self) {
        let bytes = self.text.as_bytes();
        while let Some(&b) = bytes.get(self.at) {
            match b {
                b'>' => {
                    self.at += 1;
                    return;
                }
                b'<' | b']' => return,
                _ => self.at += 1,
            }
        }
    }

    pub(crate) fn no_more(&self, what: &str) -> Scanned<()> {
        let end = self.rest().find(|c: char| c.is_whitespace() || c == '>');
        let found = &self.rest()[..end.unwrap_or(self.rest().len())];
        self.fault(format!("`{}` does not belong in {what}", shown(found)))
    }
}
