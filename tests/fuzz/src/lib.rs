//! Reads a fuzzer's bytes as something with a shape, so that a small change of the bytes is a small change of that.

/// Bytes that are taken from the front.
#[derive(Debug)]
pub struct Bytes<'d> {
    rest: &'d [u8],
}

impl<'d> Bytes<'d> {
    pub fn new(data: &'d [u8]) -> Self {
        Self { rest: data }
    }

    pub fn is_empty(&self) -> bool {
        self.rest.is_empty()
    }

    /// The next byte; 0 behind the end.
    pub fn byte(&mut self) -> u8 {
        let Some((first, rest)) = self.rest.split_first() else {
            return 0;
        };
        self.rest = rest;
        *first
    }

    /// The next two bytes, little end first.
    pub fn number(&mut self) -> usize {
        usize::from(u16::from_le_bytes([self.byte(), self.byte()]))
    }

    /// The text up to the next zero byte, which is taken too. What is no UTF-8 is replaced.
    pub fn text(&mut self) -> String {
        let end = self.rest.iter().position(|&byte| byte == 0);
        let (text, rest) = match end {
            Some(end) => (&self.rest[..end], &self.rest[end + 1..]),
            None => (self.rest, &[][..]),
        };
        self.rest = rest;
        String::from_utf8_lossy(text).into_owned()
    }
}

/// The nearest place at or before `offset` where no character is cut.
pub fn boundary(text: &str, offset: usize) -> usize {
    text.floor_char_boundary(offset)
}
