//! The frames of the protocol's base layer: header lines, a blank line, a body of JSON.
//!
//! Nothing that arrives here ends the server. After garbage the reader looks for the next `Content-Length`, wherever
//! in a line it stands, and goes on from there.

use std::io::{self, BufRead, BufReader, Read};

use memchr::memchr;

use super::body::{Body, Opening};

const LENGTH: &[u8] = b"content-length:";
/// Longer lines are taken in pieces; no header comes near.
const LINE_LIMIT: u64 = 8 * 1024;
/// No document comes near; a length above is a mistake, and to wait for the bytes would be to hang.
const BODY_LIMIT: u64 = 1 << 30;

#[derive(Debug, PartialEq)]
pub(crate) enum Frame {
    Body(Body),
    /// Something that is no frame, and why; told once until the next good frame.
    Garbage(String),
}

/// For a single buffer of the pipe and a single call of the system.
const READ_AT_ONCE: usize = 64 * 1024;

#[derive(Debug)]
pub(crate) struct FrameReader<R> {
    input: BufReader<R>,
    length: Option<u64>,
    /// Garbage was told of and no good frame has followed.
    searching: bool,
}

impl<R: Read> FrameReader<R> {
    pub(crate) fn new(input: R) -> Self {
        Self {
            input: BufReader::with_capacity(READ_AT_ONCE, input),
            length: None,
            searching: false,
        }
    }

    /// The next frame; None at the end of the input. `expect` is told what a body opens while the rest of it arrives.
    pub(crate) fn next(&mut self, expect: &dyn Fn(Opening<'_>)) -> io::Result<Option<Frame>> {
        loop {
            let mut line = Vec::new();
            if (&mut self.input)
                .take(LINE_LIMIT)
                .read_until(b'\n', &mut line)?
                == 0
            {
                return Ok(None);
            }
            let found = match line.trim_ascii() {
                [] => match self.length.take() {
                    Some(length) => return self.body(length, expect),
                    None => Err("a header has no Content-Length".to_owned()),
                },
                header => self.header(header),
            };
            if let Err(reason) = found
                && !std::mem::replace(&mut self.searching, true)
            {
                return Ok(Some(Frame::Garbage(reason)));
            }
        }
    }

    /// Whether a frame that has come already is next, so that nobody has to wait for it.
    pub(crate) fn has_whole(&self) -> bool {
        let mut came = self.input.buffer();
        let mut known = None;
        // Lines as `next` reads them.
        while let Some(end) = memchr(b'\n', came) {
            let (line, rest) = (came[..end].trim_ascii(), &came[end + 1..]);
            if line.is_empty() {
                return known.is_some_and(|length| length <= rest.len() as u64);
            }
            if let Some((_, length)) = length(line) {
                known = length;
            }
            came = rest;
        }
        false
    }

    fn header(&mut self, line: &[u8]) -> Result<(), String> {
        let Some((at, length)) = length(line) else {
            let is_header = line
                .iter()
                .position(|&byte| byte == b':')
                .is_some_and(|colon| {
                    line[..colon]
                        .iter()
                        .all(|&byte| byte.is_ascii_alphanumeric() || byte == b'-')
                });
            return if is_header {
                Ok(())
            } else {
                Err(format!("this is no header line: {}", shown(line)))
            };
        };
        if let Some(length) = length.filter(|&length| length > BODY_LIMIT) {
            self.length = None;
            return Err(format!(
                "a message of {length} bytes is too large: up to {} MB are read",
                BODY_LIMIT >> 20
            ));
        }
        self.length = length;
        match (self.length, at) {
            (None, _) => Err(format!(
                "this is no length that can be read: {}",
                shown(line)
            )),
            (Some(_), 0) => Ok(()),
            (Some(_), _) => Err(format!("there is text before a header: {}", shown(line))),
        }
    }

    fn body(&mut self, length: u64, expect: &dyn Fn(Opening<'_>)) -> io::Result<Option<Frame>> {
        let mut body = Body::new(usize::try_from(length).map_err(io::Error::other)?);
        while body.missing() > 0 {
            let bytes = match self.input.fill_buf() {
                Err(error) if error.kind() == io::ErrorKind::Interrupted => continue,
                bytes => bytes?,
            };
            let bytes = &bytes[..bytes.len().min(body.missing())];
            if bytes.is_empty() {
                return Ok(None);
            }
            let taken = bytes.len();
            body.push(bytes);
            self.input.consume(taken);
            if let Some(opening) = body.opening() {
                expect(opening);
            }
        }
        self.searching = false;
        Ok(Some(Frame::Body(body)))
    }
}

/// Where in a header line its length stands, and what it is; that is None if it is no number.
fn length(line: &[u8]) -> Option<(usize, Option<u64>)> {
    let lower = line.to_ascii_lowercase();
    let at = lower
        .windows(LENGTH.len())
        .rposition(|window| window == LENGTH)?;
    let value = str::from_utf8(lower[at + LENGTH.len()..].trim_ascii()).ok();
    Some((at, value.and_then(|value| value.parse().ok())))
}

fn shown(line: &[u8]) -> String {
    String::from_utf8_lossy(&line[..line.len().min(60)]).into_owned()
}

/// What goes before a body of so many bytes.
pub(crate) fn header(length: usize) -> String {
    format!("Content-Length: {length}\r\n\r\n")
}

/// A body with its header.
pub(crate) fn framed(body: &[u8]) -> Vec<u8> {
    [header(body.len()).as_bytes(), body].concat()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn frames(input: &str) -> Vec<String> {
        let mut reader = FrameReader::new(input.as_bytes());
        let mut frames = Vec::new();
        while let Some(frame) = reader.next(&|_| ()).unwrap() {
            frames.push(match frame {
                Frame::Body(body) => String::from_utf8(body.into_whole()).unwrap(),
                Frame::Garbage(reason) => format!("! {reason}"),
            });
        }
        frames
    }

    #[test]
    fn frames_follow_each_other() {
        let input =
            "Content-Length: 2\r\n\r\n{}Content-Type: text/x\r\ncontent-length:3\r\n\r\n[1]";
        assert_eq!(frames(input), ["{}", "[1]"]);
    }

    #[test]
    fn what_is_written_is_read_back() {
        let wire = framed("\"ö\"".as_bytes());
        assert_eq!(frames(std::str::from_utf8(&wire).unwrap()), ["\"ö\""]);
    }

    #[test]
    fn what_has_come_is_known_before_it_is_read() {
        let whole = "Content-Length: 2\r\n\r\n{}";
        let after = |rest: &str| {
            let input = format!("{whole}{rest}");
            let mut reader = FrameReader::new(input.as_bytes());
            assert!(!reader.has_whole(), "nothing has come");
            reader.next(&|_| ()).unwrap();
            reader.has_whole()
        };
        assert!(after(whole));
        assert!(after("content-type: x\r\ncontent-length:1\r\n\r\n[]"));
        // Headers end as they are read, and the last length counts.
        assert!(after("Content-Length: 2\n\n{}"));
        assert!(after("Content-Length: 2\r\n \r\n{}"));
        assert!(after("Content-Length: 9\nContent-Length: 2\n\n{}"));
        assert!(!after("Content-Length: 2\n\n{"));
        for rest in ["", "Content-Length: 2\r\n", "Content-Length: 2\r\n\r\n{"] {
            assert!(!after(rest), "{rest:?}");
        }
        assert!(!after("Content-Length: two\r\n\r\n{}"));
        assert!(!after("\r\n\r\n"));
    }

    #[test]
    fn garbage_is_told_once_and_skipped() {
        let input =
            "what?\nis this\n\n{\"a\":1}Content-Length: 2\r\n\r\n{}Content-Length: 2\r\n\r\n[]";
        assert_eq!(
            frames(input),
            ["! this is no header line: what?", "{}", "[]"]
        );
    }

    #[test]
    fn a_body_after_a_bad_length_is_skipped() {
        for length in ["two", "-2", "99999999999999", ""] {
            let input = format!("Content-Length: {length}\r\n\r\n{{}}Content-Length: 2\r\n\r\n[]");
            let frames = frames(&input);
            let said = match length {
                "99999999999999" => {
                    "! a message of 99999999999999 bytes is too large: up to 1024 MB"
                }
                _ => "! this is no length",
            };
            assert!(frames[0].starts_with(said), "{frames:?}");
            assert_eq!(frames[1..], ["[]"]);
        }
    }

    #[test]
    fn a_header_without_a_length() {
        let input = "Content-Type: text/x\r\n\r\n{}Content-Length: 2\r\n\r\n[]";
        assert_eq!(frames(input), ["! a header has no Content-Length", "[]"]);
    }

    #[test]
    fn a_very_long_line_is_garbage() {
        let input = format!("{}\r\nContent-Length: 2\r\n\r\n{{}}", "x".repeat(100_000));
        let frames = frames(&input);
        assert!(frames[0].starts_with("! this is no header line: xxx"));
        assert_eq!(frames[1..], ["{}"]);
    }

    #[test]
    fn an_unfinished_body_is_the_end() {
        assert_eq!(frames("Content-Length: 20\r\n\r\n{}"), Vec::<String>::new());
    }
}
