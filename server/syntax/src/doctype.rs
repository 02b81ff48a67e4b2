//! The DOCTYPE declaration.

use memchr::memchr;

use crate::chars;
use crate::error::{FormCode, FormError};
use crate::tag::range;

/// The end of the DOCTYPE declaration at `start`, and an error if it has none.
pub(crate) fn extent(text: &str, start: usize) -> (usize, Option<FormError>) {
    let bytes = text.as_bytes();
    let mut at = start + 9;
    let mut in_subset = false;
    while at < bytes.len() {
        match bytes[at] {
            quote @ (b'"' | b'\'') => match memchr(quote, &bytes[at + 1..]) {
                Some(found) => at += found + 1,
                None => break,
            },
            b'<' if bytes[at..].starts_with(b"<!--") => {
                match memchr::memmem::find(&bytes[at + 4..], b"-->") {
                    Some(found) => at += 4 + found + 2,
                    None => break,
                }
            }
            b'<' if bytes[at..].starts_with(b"<?") => {
                match memchr::memmem::find(&bytes[at + 2..], b"?>") {
                    Some(found) => at += 2 + found + 1,
                    None => break,
                }
            }
            b'<' if !in_subset => break,
            b'[' => in_subset = true,
            b']' => in_subset = false,
            b'>' if !in_subset => return (at + 1, None),
            _ => {}
        }
        at += 1;
    }
    let end = chars::trim_end(bytes, start, chars::line_end(bytes, start));
    let error = FormError::new(
        FormCode::BadDoctype,
        range(start, end),
        "The DOCTYPE declaration is not closed. Write `>` where it ends",
    );
    (end, Some(error))
}
