//! The bytes of a file as text.
//!
//! - A byte order mark decides alone (RFC 7303, 3.3), whatever the XML declaration says. It stays in the text as
//!   U+FEFF, so that offsets into the text and into a UTF-8 file are the same.
//! - Without one the file is read as UTF-8. A declaration of `UTF-8`, `US-ASCII` or `UTF-16` does no harm there: the
//!   first two are (a part of) UTF-8, and a file whose declaration can be read byte by byte is not UTF-16.
//! - A declaration of any other encoding is believed where it matters. A file of ASCII characters only reads the
//!   same in all of them (but for the few that give ASCII bytes a second meaning), so it is
//!   taken; any other is refused rather than read wrongly.

use std::fmt;

/// Why a file cannot be read as text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DecodeError {
    /// Byte offset of the first byte that cannot be read.
    pub offset: usize,
    /// What is wrong and what to do, as sentences.
    pub reason: String,
}

impl fmt::Display for DecodeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "byte {}: {}", self.offset, self.reason)
    }
}

impl std::error::Error for DecodeError {}

const SAVE_AS_UTF_8: &str = "Save the file as UTF-8 in your editor.";

/// The text of a file: UTF-8 with or without a byte order mark, or UTF-16 with one.
///
/// # Errors
/// Any other encoding, bytes that do not fit the encoding, and files of 4 GiB and more.
pub fn bytes(bytes: &[u8]) -> Result<String, DecodeError> {
    if u32::try_from(bytes.len()).is_err() {
        let reason = "The file is larger than 4 GiB, which is too large to be read.".to_owned();
        return Err(DecodeError {
            offset: u32::MAX as usize,
            reason,
        });
    }
    match bytes {
        [0xFF, 0xFE, 0, 0, ..] | [0, 0, 0xFE, 0xFF, ..] => Err(refused(
            0,
            "The file is UTF-32, which cannot be read.",
            SAVE_AS_UTF_8,
        )),
        [0xFF, 0xFE, ..] => utf_16(bytes, u16::from_le_bytes),
        [0xFE, 0xFF, ..] => utf_16(bytes, u16::from_be_bytes),
        [b'<', 0, ..] | [0, b'<', ..] => Err(refused(
            0,
            "The file looks like UTF-16 but has no byte order mark, so it cannot be read for sure.",
            SAVE_AS_UTF_8,
        )),
        [0xEF, 0xBB, 0xBF, ..] => utf_8(bytes, None),
        _ => {
            let declared = declared_encoding(bytes).filter(|name| !is_read_as_utf_8(name));
            utf_8(bytes, declared.as_deref())
        }
    }
}

/// `other_encoding`: the declared encoding if it is none that may be read as UTF-8.
fn utf_8(bytes: &[u8], other_encoding: Option<&str>) -> Result<String, DecodeError> {
    if let Some(name) = other_encoding {
        let second_meaning = gives_ascii_a_second_meaning(name).then_some(0);
        let first_other = bytes.iter().position(|byte| !byte.is_ascii());
        if let Some(offset) = second_meaning.or(first_other) {
            return Err(refused(
                offset,
                &format!(
                    "The XML declaration says the file is {name}; only UTF-8 and UTF-16 can be read."
                ),
                "Save the file as UTF-8 in your editor and write encoding=\"UTF-8\" in its first line.",
            ));
        }
    }
    match std::str::from_utf8(bytes) {
        Ok(text) => Ok(text.to_owned()),
        Err(error) => {
            let offset = error.valid_up_to();
            let byte = bytes.get(offset).copied().unwrap_or_default();
            Err(refused(
                offset,
                &format!("The byte {byte:02X} does not belong in UTF-8 here."),
                SAVE_AS_UTF_8,
            ))
        }
    }
}

fn utf_16(bytes: &[u8], unit: fn([u8; 2]) -> u16) -> Result<String, DecodeError> {
    let pairs = bytes.chunks_exact(2);
    if !pairs.remainder().is_empty() {
        return Err(refused(
            bytes.len() - 1,
            "The file is UTF-16 but ends in the middle of a character.",
            SAVE_AS_UTF_8,
        ));
    }
    let mut text = String::with_capacity(bytes.len() / 2);
    let mut offset = 0;
    for decoded in char::decode_utf16(pairs.map(|pair| unit([pair[0], pair[1]]))) {
        let Ok(character) = decoded else {
            return Err(refused(
                offset,
                "The file is UTF-16 but holds half of a character here.",
                SAVE_AS_UTF_8,
            ));
        };
        text.push(character);
        offset += 2 * character.len_utf16();
    }
    Ok(text)
}

fn refused(offset: usize, what: &str, remedy: &str) -> DecodeError {
    DecodeError {
        offset,
        reason: format!("{what} {remedy}"),
    }
}

fn is_read_as_utf_8(name: &str) -> bool {
    [
        "UTF-8", "UTF8", "US-ASCII", "ASCII", "UTF-16", "UTF-16LE", "UTF-16BE",
    ]
    .iter()
    .any(|known| known.eq_ignore_ascii_case(name))
}

/// Encodings that write other characters with ASCII bytes alone (RFC 2152, RFC 1468, RFC 1922, RFC 1843).
fn gives_ascii_a_second_meaning(name: &str) -> bool {
    let name = name.to_ascii_uppercase();
    ["UTF-7", "UTF7", "ISO-2022", "HZ-"]
        .iter()
        .any(|start| name.starts_with(start))
}

/// The name in `<?xml … encoding="NAME" … ?>` at the very start of the file.
fn declared_encoding(bytes: &[u8]) -> Option<String> {
    // A declaration fits in far less; a missing `?>` must not make us search a whole file.
    let head = &bytes[..bytes.len().min(512)];
    let body = head.strip_prefix(b"<?xml")?;
    let end = body
        .windows(2)
        .position(|pair| pair == b"?>")
        .unwrap_or(body.len());
    let body = &body[..end];
    let at = body
        .windows(9)
        .position(|word| word[0].is_ascii_whitespace() && &word[1..] == b"encoding")?;
    let rest = body[at + 9..]
        .trim_ascii_start()
        .strip_prefix(b"=")?
        .trim_ascii_start();
    let (quote, rest) = rest
        .split_first()
        .filter(|(quote, _)| matches!(quote, b'"' | b'\''))?;
    let name = &rest[..rest.iter().position(|byte| byte == quote)?];
    Some(String::from_utf8_lossy(name).into_owned())
}

#[cfg(test)]
mod tests {
    use expect_test::{Expect, expect};
    use proptest::prelude::*;

    use super::*;

    fn refuses(input: &[u8], expected: Expect) {
        expected.assert_eq(&bytes(input).unwrap_err().to_string());
    }

    fn utf_16_bytes(text: &str, to_bytes: fn(u16) -> [u8; 2]) -> Vec<u8> {
        text.encode_utf16().flat_map(to_bytes).collect()
    }

    #[test]
    fn a_byte_order_mark_stays_in_the_text() {
        assert_eq!(bytes(b"\xEF\xBB\xBF<a/>").unwrap(), "\u{FEFF}<a/>");
    }

    #[test]
    fn a_byte_order_mark_outweighs_the_declaration() {
        let text = "\u{FEFF}<?xml version='1.0' encoding='ISO-8859-1'?><a>ö</a>";
        assert_eq!(bytes(text.as_bytes()).unwrap(), text);
        assert_eq!(bytes(&utf_16_bytes(text, u16::to_le_bytes)).unwrap(), text);
    }

    #[test]
    fn bytes_that_are_not_utf_8() {
        refuses(
            b"<a>\xF6</a>",
            expect![
                "byte 3: The byte F6 does not belong in UTF-8 here. Save the file as UTF-8 in your editor."
            ],
        );
    }

    #[test]
    fn a_file_that_ends_inside_a_character() {
        assert_eq!(bytes(b"<a>\xE2\x82").unwrap_err().offset, 3);
        assert_eq!(bytes(b"\xFF\xFE<\0a").unwrap_err().offset, 4);
    }

    #[test]
    fn half_of_a_surrogate_pair() {
        refuses(
            b"\xFE\xFF\0<\xD8\x3D\0a",
            expect![
                "byte 4: The file is UTF-16 but holds half of a character here. Save the file as UTF-8 in your editor."
            ],
        );
    }

    #[test]
    fn utf_16_without_a_byte_order_mark() {
        refuses(
            b"<\0a\0/\0>\0",
            expect![
                "byte 0: The file looks like UTF-16 but has no byte order mark, so it cannot be read for sure. Save the file as UTF-8 in your editor."
            ],
        );
        assert!(bytes(b"\0<\0a").is_err());
    }

    #[test]
    fn utf_32() {
        assert!(
            bytes(b"\xFF\xFE\0\0<\0\0\0")
                .unwrap_err()
                .reason
                .contains("UTF-32")
        );
        assert!(
            bytes(b"\0\0\xFE\xFF\0\0\0<")
                .unwrap_err()
                .reason
                .contains("UTF-32")
        );
    }

    #[test]
    fn another_declared_encoding_with_other_characters() {
        refuses(
            "<?xml version=\"1.0\" encoding = 'windows-1252' ?>\n<a>ö</a>".as_bytes(),
            expect![[
                r#"byte 52: The XML declaration says the file is windows-1252; only UTF-8 and UTF-16 can be read. Save the file as UTF-8 in your editor and write encoding="UTF-8" in its first line."#
            ]],
        );
    }

    #[test]
    fn another_declared_encoding_with_ascii_characters_only() {
        let text = "<?xml version='1.0' encoding='ISO-8859-1'?><a>o</a>";
        assert_eq!(bytes(text.as_bytes()).unwrap(), text);
    }

    #[test]
    fn a_declared_encoding_that_gives_ascii_a_second_meaning() {
        assert!(bytes(b"<?xml version='1.0' encoding='UTF-7'?><a/>").is_err());
    }

    #[test]
    fn declarations_that_do_no_harm() {
        for name in ["utf-8", "UTF-8", "us-ascii", "UTF-16"] {
            let text = format!("<?xml version='1.0' encoding='{name}'?><a>ö</a>");
            assert_eq!(bytes(text.as_bytes()).unwrap(), text);
        }
    }

    #[test]
    fn a_word_elsewhere_is_no_declaration() {
        for text in [
            "<a encoding='latin1'>ö</a>",
            "<?xml version='1.0'?><a encoding='latin1'>ö</a>",
            "<?xml encoding",
        ] {
            assert_eq!(bytes(text.as_bytes()).unwrap(), text);
        }
    }

    proptest! {
        #[test]
        fn text_comes_back_from_all_encodings(text in "\u{FEFF}\\PC{1,20}") {
            prop_assert_eq!(&bytes(text.as_bytes()).unwrap(), &text);
            prop_assert_eq!(&bytes(&utf_16_bytes(&text, u16::to_le_bytes)).unwrap(), &text);
            prop_assert_eq!(&bytes(&utf_16_bytes(&text, u16::to_be_bytes)).unwrap(), &text);
        }

        #[test]
        fn any_bytes_give_a_text_or_an_offset_within(input in prop::collection::vec(any::<u8>(), 0..40)) {
            match bytes(&input) {
                Ok(_) => {}
                Err(error) => prop_assert!(error.offset < input.len()),
            }
        }
    }
}
