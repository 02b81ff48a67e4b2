//! Text on its way out, in chunks. An answer may be larger than its document. As one long string it would take its
//! memory twice while it grows and once more where it is framed; and the allocator keeps long strings that one thread
//! makes and another one drops: a server that was asked for an outline a hundred times held a hundred of them. The
//! largest are not held at all: they are made twice, once to know how long they are and once while they go out.

mod late;

use std::collections::VecDeque;
use std::io::{self, Write};
use std::sync::{Mutex, PoisonError};

use serde::Serialize;

pub(crate) use late::Late;

/// As much as a pipe takes at once.
pub(crate) const CHUNK: usize = 64 * 1024;

/// Chunks that have gone out, to be written to again: one thread makes a text, another one lets it go, and the allocator
/// would give that memory back only to the first, which need not be the one that makes the next.
static SPARE: Mutex<Vec<Vec<u8>>> = Mutex::new(Vec::new());

/// The outline of two megabytes takes some 80.
const MOST_SPARE: usize = 128;

/// Most messages are shorter.
const USUAL: usize = 256;

/// In bytes. So much is always one piece: a pipe with any room has room for that (`PIPE_BUF` of Linux). What is longer is
/// not copied.
pub(crate) const SHORT: usize = 4096;

#[derive(Clone, Debug, Default)]
pub(crate) struct Chunks {
    full: VecDeque<Piece>,
    last: Vec<u8>,
}

#[derive(Clone, Debug)]
enum Piece {
    /// Not empty, and not longer than a chunk but for what was written as one.
    Chunk(Vec<u8>),
    Late(Late),
}

impl Chunks {
    /// With room for about so many bytes: a text that grows leaves behind all that it was too long for.
    pub(crate) fn with_room(bytes: usize) -> Self {
        Self {
            full: VecDeque::new(),
            last: Vec::with_capacity(bytes.min(CHUNK)),
        }
    }

    /// As JSON.
    pub(crate) fn json(value: &impl Serialize) -> Self {
        let mut text = Self::with_room(USUAL);
        text.push_json(value);
        text
    }

    pub(crate) fn push_json(&mut self, value: &impl Serialize) {
        // All that is sent is plain data, so this cannot fail.
        let _ = serde_json::to_writer(self, value);
    }

    /// In bytes.
    pub(crate) fn len(&self) -> usize {
        let full = self.full.iter().map(|piece| match piece {
            Piece::Chunk(chunk) => chunk.len(),
            Piece::Late(late) => late.len(),
        });
        full.sum::<usize>() + self.last.len()
    }

    pub(crate) fn push_str(&mut self, text: &str) {
        self.push(text.as_bytes());
    }

    /// Written to in bits of a few bytes each.
    #[inline]
    pub(crate) fn push(&mut self, bytes: &[u8]) {
        if self.last.len() + bytes.len() > CHUNK {
            self.make_room(bytes.len());
        }
        self.last.extend_from_slice(bytes);
    }

    #[cold]
    fn make_room(&mut self, bytes: usize) {
        if !self.last.is_empty() {
            let spare = || SPARE.lock().unwrap_or_else(PoisonError::into_inner).pop();
            let next = match bytes <= CHUNK {
                true => spare().unwrap_or_else(|| Vec::with_capacity(CHUNK)),
                false => Vec::with_capacity(bytes),
            };
            self.begin(next);
        }
    }

    /// Goes on in this chunk.
    fn begin(&mut self, next: Vec<u8>) {
        let before = std::mem::replace(&mut self.last, next);
        if !before.is_empty() {
            self.full.push_back(Piece::Chunk(before));
        }
    }

    pub(crate) fn append(&mut self, other: Self) {
        for piece in other.into_pieces() {
            match piece {
                Piece::Chunk(chunk) if self.last.len() + chunk.len() <= SHORT => {
                    self.last.extend_from_slice(&chunk);
                }
                Piece::Chunk(chunk) => self.begin(chunk),
                Piece::Late(_) => {
                    self.begin(Vec::new());
                    self.full.push_back(piece);
                }
            }
        }
    }

    /// Writes all, in order.
    pub(crate) fn copy_to(&self, output: &mut dyn Write) -> io::Result<()> {
        for piece in &self.full {
            match piece {
                Piece::Chunk(chunk) => output.write_all(chunk)?,
                Piece::Late(late) => late.write_to(output)?,
            }
        }
        output.write_all(&self.last)
    }

    /// The same for the last time.
    pub(crate) fn write_to(self, output: &mut dyn Write) -> io::Result<()> {
        self.copy_to(output)?;
        for piece in self.into_pieces() {
            if let Piece::Chunk(chunk) = piece {
                keep(chunk);
            }
        }
        Ok(())
    }

    fn into_pieces(mut self) -> VecDeque<Piece> {
        self.full.push_back(Piece::Chunk(self.last));
        self.full
    }

    #[cfg(test)]
    pub(crate) fn whole(&self) -> Vec<u8> {
        let mut whole = Vec::new();
        self.copy_to(&mut whole).unwrap();
        whole
    }
}

/// Keeps a chunk that has gone out, if it is of use and if there is need.
fn keep(mut chunk: Vec<u8>) {
    let mut spare = SPARE.lock().unwrap_or_else(PoisonError::into_inner);
    if chunk.capacity() == CHUNK && spare.len() < MOST_SPARE {
        chunk.clear();
        spare.push(chunk);
    }
}

impl From<String> for Chunks {
    fn from(text: String) -> Self {
        Self {
            full: VecDeque::new(),
            last: text.into_bytes(),
        }
    }
}

impl From<Late> for Chunks {
    fn from(late: Late) -> Self {
        Self {
            full: VecDeque::from([Piece::Late(late)]),
            last: Vec::new(),
        }
    }
}

impl Write for Chunks {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.push(bytes);
        Ok(bytes.len())
    }

    #[inline]
    fn write_all(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.push(bytes);
        Ok(())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_short_text_is_one_chunk() {
        let mut text = Chunks::json(&["a", "b"]);
        text.push_str("!");
        let mut before = Chunks::from("said: ".to_owned());
        before.append(text);
        assert_eq!(lengths(&before).len(), 1);
        assert_eq!(before.whole(), br#"said: ["a","b"]!"#);
    }

    #[test]
    fn what_is_longer_than_short_is_not_copied() {
        for (length, pieces) in [(SHORT - 1, 1), (SHORT, 2)] {
            let mut text = Chunks::from("a".to_owned());
            text.append(Chunks::from("x".repeat(length)));
            text.push_str("b");
            assert_eq!(lengths(&text).len(), pieces);
            assert_eq!(text.len(), length + 2);
        }
    }

    #[test]
    fn a_long_text_is_in_chunks_that_a_pipe_takes_at_once() {
        let numbers: Vec<u32> = (0..100_000).collect();
        let text = Chunks::json(&numbers);
        assert_eq!(text.whole(), serde_json::to_vec(&numbers).unwrap());
        assert_eq!(text.len(), text.whole().len());
        let chunks = lengths(&text);
        assert!(chunks.len() > 5 && chunks.iter().all(|length| *length <= CHUNK));
        let mut framed = Chunks::from("of this length: ".to_owned());
        framed.append(text.clone());
        framed.push_str(".");
        let expected = [b"of this length: ", &text.whole()[..], b"."].concat();
        assert_eq!(framed.whole(), expected);
        assert!(lengths(&framed).len() <= chunks.len() + 1);
    }

    #[test]
    fn chunks_that_have_gone_out_are_kept_but_not_all() {
        let mut text = Chunks::from("x".repeat(3 * CHUNK));
        for _ in 0..MOST_SPARE + 10 {
            text.push_str(&"y".repeat(CHUNK));
        }
        let (mut written, length) = (Vec::new(), text.len());
        text.write_to(&mut written).unwrap();
        assert_eq!(written.len(), length);
        let spare = SPARE.lock().unwrap();
        // Other tests may have taken some.
        assert!(spare.len() <= MOST_SPARE && spare.len() > MOST_SPARE / 2);
        assert!(
            spare
                .iter()
                .all(|chunk| chunk.is_empty() && chunk.capacity() == CHUNK)
        );
    }

    #[test]
    fn one_long_string_is_one_chunk() {
        let long = "x".repeat(3 * CHUNK);
        let mut text = Chunks::from("a".to_owned());
        text.push_str(&long);
        text.push_str("b");
        assert_eq!(lengths(&text), [1, 3 * CHUNK, 1]);
    }

    #[test]
    fn a_late_text_goes_out_in_its_place() {
        let mut text = Chunks::from("[".to_owned());
        text.append(Late::new(|output| output.write_all(b"late")).into());
        text.push_str("]");
        assert_eq!(text.len(), 6);
        assert_eq!(text.whole(), b"[late]");
    }

    fn lengths(text: &Chunks) -> Vec<usize> {
        let pieces = text.clone().into_pieces();
        let lengths = pieces.iter().map(|piece| match piece {
            Piece::Chunk(chunk) => chunk.len(),
            Piece::Late(late) => late.len(),
        });
        lengths.collect()
    }
}
