//! A large document that is opened, read with one copy of its text.
//!
//! The general way scans such a text twice and holds it three times for a moment: in the message, while its escapes are
//! resolved, and as a value.

use std::borrow::Cow;

use serde::Deserialize;
use serde_json::{Map, Value};
use tower_lsp::jsonrpc::Request;

/// In bytes. What a smaller message takes is not worth a way of its own.
const LARGE: usize = 64 << 10;

/// In bytes. So that hardly any memory is touched for a text that soon turns out to be odd.
const MADE_AT_ONCE: usize = 64 << 10;

const METHOD: &str = "textDocument/didOpen";

/// The message without its text, as nearly all clients write it. Any other goes the general way.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Message<'a> {
    jsonrpc: &'a str,
    method: &'a str,
    #[serde(borrow)]
    params: Params<'a>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, rename_all = "camelCase")]
struct Params<'a> {
    #[serde(borrow)]
    text_document: Item<'a>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, rename_all = "camelCase")]
struct Item<'a> {
    uri: Cow<'a, str>,
    language_id: Cow<'a, str>,
    version: i32,
    /// Empty: it is taken out before.
    #[serde(rename = "text")]
    _text: &'a str,
}

/// The notification that a body is, if it is one that opens a large document. None: it is to be read the general way.
pub(crate) fn read(body: &[u8]) -> Option<Request> {
    if body.len() < LARGE {
        return None;
    }
    // Quotes within strings are escaped. So what follows here is the value of a member, or nothing that can be read.
    let name = br#""text":"#;
    let after = memchr::memmem::find(body, name)? + name.len();
    let value = body[after..].trim_ascii_start().strip_prefix(b"\"")?;
    let start = body.len() - value.len();
    let (text, length) = unescaped(value)?;
    let rest = [&body[..start], &body[start + length..]].concat();
    let message: Message<'_> = serde_json::from_slice(&rest).ok()?;
    let item = message.params.text_document;
    // With another member of that name, what is left cannot be read.
    if message.jsonrpc != "2.0" || message.method != METHOD {
        return None;
    }
    let item = Map::from_iter([
        ("uri".to_owned(), Value::from(item.uri)),
        ("languageId".to_owned(), Value::from(item.language_id)),
        ("version".to_owned(), Value::from(item.version)),
        ("text".to_owned(), Value::String(text)),
    ]);
    let params = Map::from_iter([("textDocument".to_owned(), Value::Object(item))]);
    Some(
        Request::build(METHOD)
            .params(Value::Object(params))
            .finish(),
    )
}

/// The text of a string up to its closing quote, and how many bytes it takes as it is written. None if it is not closed,
/// or if something is in it that is read the general way: characters by their number (which may be half of one), and
/// what JSON does not allow.
fn unescaped(written: &[u8]) -> Option<(String, usize)> {
    let mut text = Vec::with_capacity(written.len());
    let (mut from, mut to) = (0, 0);
    loop {
        // What is copied behind the first byte that means something is written over.
        while let Some(bytes) = written[from..].first_chunk::<8>() {
            if to + 8 > text.len() {
                text.resize(to + MADE_AT_ONCE, 0);
            }
            let plain = plain_at_start(u64::from_le_bytes(*bytes));
            text[to..to + 8].copy_from_slice(bytes);
            (from, to) = (from + plain, to + plain);
            if plain < 8 {
                break;
            }
        }
        let (byte, taken) = match *written.get(from)? {
            b'"' => break,
            b'\\' => (escaped(*written.get(from + 1)?)?, 2),
            ..0x20 => return None,
            byte => (byte, 1),
        };
        text[to] = byte;
        (from, to) = (from + taken, to + 1);
    }
    text.truncate(to);
    Some((String::from_utf8(text).ok()?, from))
}

/// How many of eight bytes, from the lowest on, come before the first quote, backslash or control character.
fn plain_at_start(bytes: u64) -> usize {
    const ONES: u64 = u64::MAX / 0xff;
    // The highest bit of each byte that is below, but for bytes after the first such one.
    let below = |bytes: u64, least: u8| bytes.wrapping_sub(ONES * u64::from(least)) & !bytes;
    let is = |byte: u8| below(bytes ^ (ONES * u64::from(byte)), 1);
    let found = (is(b'"') | is(b'\\') | below(bytes, 0x20)) & (ONES << 7);
    found.trailing_zeros() as usize / 8
}

/// What a backslash makes of the byte after it.
fn escaped(byte: u8) -> Option<u8> {
    Some(match byte {
        b'"' | b'\\' | b'/' => byte,
        b'n' => b'\n',
        b'r' => b'\r',
        b't' => b'\t',
        b'b' => 0x08,
        b'f' => 0x0c,
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use serde_json::json;

    use super::*;

    fn message(text: &str) -> Value {
        let document =
            json!({"uri": "file:///a%20b.xml", "languageId": "xml", "version": 3, "text": text});
        json!({"jsonrpc": "2.0", "method": METHOD, "params": {"textDocument": document}})
    }

    fn read_both_ways(body: &str) -> (Option<Request>, Request) {
        let general = serde_json::from_str(body).unwrap();
        (read(body.as_bytes()), general)
    }

    proptest! {
        #[test]
        fn it_is_what_the_general_way_reads(text in r#"([ -~\n\t\r\\"/ä€😀]|\\u[0-9]{1,4}){1,80}"#) {
            let text = text.repeat(1 + LARGE / text.len().max(1));
            let body = message(&text).to_string();
            let (here, general) = read_both_ways(&body);
            prop_assert!(here == Some(general));
        }
    }

    #[test]
    fn all_short_escapes_are_resolved() {
        let body = message(&"<a/>".repeat(LARGE)).to_string();
        let body = body.replacen("<a/>", r#"\"\\\/\b\f\n\r\t"#, 1);
        let (here, general) = read_both_ways(&body);
        assert_eq!(here, Some(general));
    }

    #[test]
    fn white_space_does_not_matter() {
        let body = serde_json::to_string_pretty(&message(&"<a/>\n".repeat(LARGE))).unwrap();
        let body = body.replace("\"text\": ", "\"text\":\n\t ");
        let (here, general) = read_both_ways(&body);
        assert_eq!(here, Some(general));
    }

    #[test]
    fn any_other_message_goes_the_general_way() {
        let usual = message(&"<a/>\n".repeat(LARGE)).to_string();
        assert!(read(usual.as_bytes()).is_some());
        for (part, other) in [
            ("\"2.0\"", "\"1.0\""),
            ("didOpen", "didChange"),
            ("\"version\":3", "\"version\":3,\"more\":4"),
            ("\"version\":3", "\"version\":3.5"),
            ("\"jsonrpc\"", "\"id\":1,\"jsonrpc\""),
            ("<a/>", r"\u00e4"),
            ("<a/>", r"\ud83d"),
            ("<a/>", r"\x"),
            ("<a/>", "\u{1}"),
            ("<a/>", "\n"),
            ("\"text\":", "\"text\":[1],\"text\":"),
            ("\"text\":", "\"text\":\"\",\"text\":"),
            ("\"text\":", "\"text\":1"),
            ("\"text\":", "\"other\":"),
        ] {
            let body = usual.replacen(part, other, 1);
            assert_eq!(read(body.as_bytes()), None, "{other}");
        }
        for cut in [3, 5, usual.len() / 2] {
            assert_eq!(read(&usual.as_bytes()[..usual.len() - cut]), None);
        }
        assert_eq!(read(message("<a/>").to_string().as_bytes()), None);
    }
}
