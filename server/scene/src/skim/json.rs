//! A glTF file as text: JSON without long stretches of blanks, and without the bytes of what it carries in itself as
//! `data:` (glTF 2.0, sections 3.6.1.1 and 3.9).

use std::io::{self, Read};

use memchr::{memchr, memchr2};

use super::{Gaps, Skimmed};

/// So much is read at a time, in bytes.
const AT_ONCE: usize = 256 * 1024;

/// A stretch of blanks, or data, longer than that is left out, but for as much.
const KEPT: usize = 256;

const DATA: &[u8] = b"data:";
const MARK: &[u8] = b"\xEF\xBB\xBF";

/// None if the file does not look like JSON; it has been read in part then. It is about so many bytes long.
pub(super) fn skim(mut file: impl Read, size: usize) -> io::Result<Option<Skimmed>> {
    let mut buffer = vec![0; AT_ONCE];
    let mut skimming = Skimming {
        // What is not written to takes no memory.
        bytes: Vec::with_capacity(size),
        ..Skimming::default()
    };
    let mut is_json = None;
    loop {
        let read = match file.read(&mut buffer) {
            Ok(0) => break,
            Ok(read) => &buffer[..read],
            Err(error) if error.kind() == io::ErrorKind::Interrupted => continue,
            Err(error) => return Err(error),
        };
        skimming.take(read);
        skimming.remember(read);
        if is_json.is_none() && skimming.bytes.len() >= MARK.len() {
            let text = skimming.bytes.strip_prefix(MARK).unwrap_or(&skimming.bytes);
            let first = text.trim_ascii_start().first();
            is_json = first.map(|first| matches!(first, b'{' | b'['));
            if is_json == Some(false) {
                return Ok(None);
            }
        }
    }
    Ok(Some(skimming.done()))
}

#[derive(Default)]
struct Skimming {
    bytes: Vec<u8>,
    gaps: Gaps,
    place: Place,
    /// The last bytes that were read, as many as the longest character has.
    last: Vec<u8>,
}

/// What the next byte goes on with.
#[derive(Clone, Copy)]
enum Place {
    /// Something that is no text, after so many blanks.
    Between { blanks: usize },
    /// A text that begins at this byte of those that are there.
    Text { start: usize },
    /// The same, after a `\`.
    Escaped { start: usize },
}

impl Default for Place {
    fn default() -> Self {
        Self::Between { blanks: 0 }
    }
}

impl Skimming {
    fn remember(&mut self, read: &[u8]) {
        self.last.extend(&read[read.len().saturating_sub(4)..]);
        let more = self.last.len().saturating_sub(4);
        self.last.drain(..more);
    }

    /// The last character of the file is there: what is wrong with a file that ends too early is told there.
    fn done(mut self) -> Skimmed {
        let at = self.bytes.len();
        let begin = self.last.iter().rposition(|byte| !is_inside(*byte));
        let character = &self.last[begin.unwrap_or_default()..];
        if self.gaps.right_before(at) >= character.len() {
            self.gaps.give_back(at, character.len());
            self.bytes.extend_from_slice(character);
        }
        Skimmed {
            bytes: self.bytes,
            gaps: self.gaps,
        }
    }

    fn take(&mut self, mut read: &[u8]) {
        while let Some(first) = read.first() {
            let (taken, next) = match self.place {
                Place::Between { blanks } => {
                    let end = memchr(b'"', read);
                    let blanks = self.between(blanks, &read[..end.unwrap_or(read.len())]);
                    match end {
                        Some(end) => {
                            self.bytes.push(b'"');
                            let start = self.bytes.len();
                            (end + 1, Place::Text { start })
                        }
                        None => (read.len(), Place::Between { blanks }),
                    }
                }
                Place::Text { start } => match memchr2(b'"', b'\\', read) {
                    Some(end) if read[end] == b'"' => {
                        self.text(start, &read[..end]);
                        self.bytes.push(b'"');
                        (end + 1, Place::default())
                    }
                    Some(end) => {
                        self.text(start, &read[..end]);
                        self.escape(start, b'\\');
                        (end + 1, Place::Escaped { start })
                    }
                    None => {
                        self.text(start, read);
                        (read.len(), Place::Text { start })
                    }
                },
                Place::Escaped { start } => {
                    self.escape(start, *first);
                    (1, Place::Text { start })
                }
            };
            self.place = next;
            read = &read[taken..];
        }
    }

    /// Gives back how many blanks it ends with.
    fn between(&mut self, mut blanks: usize, mut read: &[u8]) -> usize {
        // Mostly it is a few bytes.
        if blanks + read.len() <= KEPT {
            self.bytes.extend_from_slice(read);
            let last = read.iter().rposition(|byte| !byte.is_ascii_whitespace());
            return last.map_or(blanks + read.len(), |last| read.len() - 1 - last);
        }
        while !read.is_empty() {
            let stretch = blank(read);
            let kept = stretch.min(KEPT.saturating_sub(blanks));
            self.bytes.extend_from_slice(&read[..kept]);
            self.leave_out(stretch - kept);
            blanks += stretch;
            read = &read[stretch..];
            let others = read.iter().position(u8::is_ascii_whitespace);
            let others = others.unwrap_or(read.len());
            self.bytes.extend_from_slice(&read[..others]);
            if others > 0 {
                blanks = 0;
            }
            read = &read[others..];
        }
        blanks
    }

    /// The next bytes of a text.
    fn text(&mut self, start: usize, read: &[u8]) {
        let mut kept = 0;
        if !self.is_cut() {
            kept = (start + KEPT).saturating_sub(self.bytes.len());
            let rest = read.iter().skip(kept);
            kept += rest.take_while(|byte| is_inside(**byte)).count();
        }
        let (kept, rest) = read.split_at(kept.min(read.len()));
        self.bytes.extend_from_slice(kept);
        match self.is_data(start) {
            true => self.leave_out(rest.len()),
            false => self.bytes.extend_from_slice(rest),
        }
    }

    /// A byte of an escape, which is not to be cut apart. Data needs none.
    fn escape(&mut self, start: usize, byte: u8) {
        match self.is_data(start) {
            true => self.leave_out(1),
            false => self.bytes.push(byte),
        }
    }

    fn is_data(&self, start: usize) -> bool {
        self.bytes[start..].starts_with(DATA)
    }

    /// Whether the text that is being read was left out from here on.
    fn is_cut(&self) -> bool {
        self.gaps.right_before(self.bytes.len()) > 0
    }

    fn leave_out(&mut self, bytes: usize) {
        if bytes > 0 {
            self.gaps.add(self.bytes.len(), bytes);
        }
    }
}

/// Whether a byte is not the first of a character.
fn is_inside(byte: u8) -> bool {
    byte & 0xC0 == 0x80
}

/// How many blanks these bytes begin with.
fn blank(bytes: &[u8]) -> usize {
    const ROW: usize = 64;
    let Some(&first) = bytes.first().filter(|first| first.is_ascii_whitespace()) else {
        return 0;
    };
    let rows = bytes
        .chunks_exact(ROW)
        .take_while(|row| *row == [first; ROW]);
    let same = ROW * rows.count();
    let rest = bytes[same..]
        .iter()
        .position(|byte| !byte.is_ascii_whitespace());
    same + rest.unwrap_or(bytes.len() - same)
}
