//! The body of a message, taken in as it arrives.

use project::HEAD_LENGTH;
use tower_lsp::jsonrpc::Request;

use super::json_text::{self, Piece};
use super::opened;

/// In bytes. What a smaller message takes is not worth a way of its own.
const LARGE: usize = 64 << 10;

/// Memory for more is taken only as the bytes come.
const RESERVED_AT_ONCE: usize = 16 << 20;

/// A body, or what has come of it. The text of a large document that is opened is read in the time in which the client
/// writes on, and held once.
#[derive(Debug, PartialEq)]
pub(crate) struct Body {
    /// In bytes, as its header has it.
    length: usize,
    came: usize,
    /// What has come, but for what `text` and `pending` have.
    kept: Vec<u8>,
    state: State,
    text: String,
    /// Where `text` belongs in `kept`.
    at: usize,
    /// The beginning of something that means a part of the text.
    pending: Vec<u8>,
    /// To read the text in.
    room: Vec<u8>,
    is_told: bool,
}

/// A large document that is about to be opened.
#[derive(Debug, PartialEq)]
pub(crate) struct Opening<'b> {
    pub(crate) uri: String,
    /// What has come of its text: [`HEAD_LENGTH`] or more.
    pub(crate) text: &'b str,
}

#[derive(Debug, PartialEq, Clone, Copy)]
enum State {
    /// All is kept, and a text that is read may still begin.
    Before,
    Within,
    /// The rest is kept.
    After,
    /// All is kept.
    General,
}

impl Body {
    pub(crate) fn new(length: usize) -> Self {
        Self {
            length,
            came: 0,
            kept: Vec::new(),
            state: if length < LARGE {
                State::General
            } else {
                State::Before
            },
            text: String::new(),
            at: 0,
            pending: Vec::new(),
            room: Vec::new(),
            is_told: false,
        }
    }

    /// In bytes.
    pub(crate) fn len(&self) -> usize {
        self.length
    }

    /// In bytes.
    pub(crate) fn missing(&self) -> usize {
        self.length - self.came
    }

    /// Takes what comes next, not more than is missing.
    pub(crate) fn push(&mut self, bytes: &[u8]) {
        self.came += bytes.len();
        match self.state {
            State::Before => {
                self.kept.extend_from_slice(bytes);
                self.begin();
            }
            State::Within => self.read(bytes),
            State::After | State::General => {
                let share = share(bytes.len() + self.missing(), self.kept.len());
                if self.kept.capacity() - self.kept.len() < bytes.len() {
                    self.kept.reserve_exact(share);
                }
                self.kept.extend_from_slice(bytes);
            }
        }
    }

    /// What this opens, as soon as that can be told; once.
    pub(crate) fn opening(&mut self) -> Option<Opening<'_>> {
        if self.is_told || self.state != State::Within || self.text.len() < HEAD_LENGTH {
            return None;
        }
        self.is_told = true;
        let uri = opened::uri(&self.kept)?;
        let text = &self.text;
        Some(Opening { uri, text })
    }

    /// The notification that this is, if it opens a large document and is written as usual; else the whole body.
    pub(crate) fn finish(self) -> Result<Request, Vec<u8>> {
        if self.state == State::After
            && let Some(opened) = opened::Message::read(&self.kept)
        {
            return Ok(opened.with_text(self.text));
        }
        Err(self.into_whole())
    }

    /// The body as it came, but that a text in it may be written in another way.
    pub(crate) fn into_whole(mut self) -> Vec<u8> {
        if matches!(self.state, State::Within | State::After) {
            self.put_back();
        }
        self.kept
    }

    fn begin(&mut self) {
        match opened::start_of_text(&self.kept) {
            Some(at) => {
                (self.at, self.state) = (at, State::Within);
                let begun = self.kept.split_off(at);
                self.read(&begun);
            }
            None if self.kept.len() >= LARGE => self.state = State::General,
            None => {}
        }
    }

    fn read(&mut self, bytes: &[u8]) {
        self.pending.extend_from_slice(bytes);
        let room = self.text.capacity() - self.text.len();
        if room < self.pending.len() {
            let share = share(self.pending.len() + self.missing(), self.text.len());
            self.text.reserve_exact(share);
        }
        match json_text::read(&self.pending, &mut self.room, &mut self.text) {
            Some(Piece { taken, ended }) => {
                self.pending.drain(..taken);
                if ended {
                    self.state = State::After;
                    self.kept.append(&mut self.pending);
                }
            }
            None => self.put_back(),
        }
    }

    /// Goes on the general way.
    fn put_back(&mut self) {
        let text = std::mem::take(&mut self.text);
        let written = json_text::written(&text).into_bytes();
        let pending = std::mem::take(&mut self.pending);
        self.kept
            .splice(self.at..self.at, written.into_iter().chain(pending));
        self.state = State::General;
    }
}

/// How much room to take for what is missing, where so much is there: as much again, but not more than will come.
fn share(missing: usize, have: usize) -> usize {
    missing.min(RESERVED_AT_ONCE.max(have))
}

#[cfg(test)]
mod tests;
