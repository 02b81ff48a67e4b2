use proptest::prelude::*;
use serde_json::{Value, json};

use super::*;

fn message(text: &str) -> Value {
    let document =
        json!({"uri": "file:///a%20b.xml", "languageId": "xml", "version": 3, "text": text});
    json!({"jsonrpc": "2.0", "method": "textDocument/didOpen", "params": {"textDocument": document}})
}

/// What becomes of a body that comes in pieces of these sizes, again and again.
fn arrived(body: &[u8], sizes: &[usize]) -> Body {
    let mut arriving = Body::new(body.len());
    let mut sizes = sizes.iter().cycle();
    let mut rest = body;
    while let Some(&size) = sizes.next().filter(|_| !rest.is_empty()) {
        let (piece, after) = rest.split_at(size.min(rest.len()));
        arriving.push(piece);
        rest = after;
    }
    assert_eq!(arriving.missing(), 0);
    arriving
}

fn general(body: &str) -> Request {
    serde_json::from_str(body).unwrap()
}

proptest! {
    #[test]
    fn it_is_what_the_general_way_reads(
        text in r#"([ -~\n\t\r\\"/ä€😀]|\\u[0-9]{1,4}){1,80}"#,
        sizes in proptest::collection::vec(1usize..90, 1..9),
        late in 0usize..3,
    ) {
        let text = text.repeat(1 + LARGE / text.len().max(1));
        let usual = message(&text).to_string();
        // The members in another order.
        let document = r#"{"textDocument":{"text":TEXT,"version":3,"uri":"a:b","languageId":"xml"}}"#;
        let document = document.replacen("TEXT", &Value::from(&*text).to_string(), 1);
        let body = match late {
            0 => usual,
            1 => format!(r#"{{"params":{document},"method":"textDocument/didOpen","jsonrpc":"2.0"}}"#),
            _ => format!(r#"{{"jsonrpc":"2.0","method":"textDocument/didOpen","params":{document}}}"#),
        };
        let large: Vec<usize> = sizes.iter().map(|size| size * 1000).collect();
        for sizes in [sizes, large] {
            prop_assert_eq!(arrived(body.as_bytes(), &sizes).finish(), Ok(general(&body)));
        }
    }

    #[test]
    fn a_body_that_is_not_read_here_stays_what_it_is(
        text in r#"([ -~\n\t\r\\"/ä€😀]){1,80}"#,
        sizes in proptest::collection::vec(1usize..90_000, 1..9),
        odd in 0.0..1.0f64,
    ) {
        let text = text.repeat(1 + LARGE / text.len().max(1));
        let written = |text: &str| {
            let mut body = message(text);
            body["method"] = "other".into();
            body.to_string()
        };
        // A character by its number, which is read the general way, somewhere.
        let place = (text.chars().count() as f64 * odd) as usize;
        let (before, after) = text.split_at(text.char_indices().nth(place).map_or(0, |(at, _)| at));
        let marked = written(&format!("{before}\u{1}{after}"));
        let odd = marked.replacen("\\u0001", "\\ud83d\\ude00", 1);
        prop_assert_ne!(&odd, &marked);
        for body in [written(&text), odd] {
            let whole = arrived(body.as_bytes(), &sizes).finish().unwrap_err();
            prop_assert_eq!(general(std::str::from_utf8(&whole).unwrap()), general(&body));
        }
    }
}

#[test]
fn all_short_escapes_are_resolved() {
    let body = message(&"<a/>".repeat(LARGE)).to_string();
    let body = body.replacen("<a/>", r#"\"\\\/\b\f\n\r\t"#, 1);
    for size in [1, 2, 7, 65_536, body.len()] {
        assert_eq!(
            arrived(body.as_bytes(), &[size]).finish(),
            Ok(general(&body))
        );
    }
}

#[test]
fn white_space_does_not_matter() {
    let body = serde_json::to_string_pretty(&message(&"<a/>\n".repeat(LARGE))).unwrap();
    let body = body.replace("\"text\": ", "\"text\":\n\t ");
    assert_eq!(
        arrived(body.as_bytes(), &[65_536]).finish(),
        Ok(general(&body))
    );
}

#[test]
fn any_other_message_goes_the_general_way() {
    let usual = message(&"<a/>\n".repeat(LARGE)).to_string();
    assert!(arrived(usual.as_bytes(), &[65_536]).finish().is_ok());
    let is_left = |body: &[u8]| {
        for size in [999, 65_536] {
            let whole = arrived(body, &[size]).finish().unwrap_err();
            assert_eq!(
                String::from_utf8_lossy(&whole),
                String::from_utf8_lossy(body)
            );
        }
    };
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
        is_left(usual.replacen(part, other, 1).as_bytes());
    }
    for cut in [3, 5, usual.len() / 2] {
        is_left(&usual.as_bytes()[..usual.len() - cut]);
    }
    is_left(message("<a/>").to_string().as_bytes());
    let mut not_utf8 = usual.into_bytes();
    let middle = not_utf8.len() / 2;
    not_utf8[middle] = 0xe4;
    is_left(&not_utf8);
}

#[test]
fn what_it_opens_is_told_once_before_it_is_all_there() {
    let told = |body: &str, size: usize| {
        let mut arriving = Body::new(body.len());
        let mut told = Vec::new();
        for piece in body.as_bytes().chunks(size) {
            arriving.push(piece);
            if let Some(Opening { uri, text }) = arriving.opening() {
                told.push((uri, text.to_owned(), arriving.missing() > 0));
            }
        }
        assert!(arriving.finish().is_ok() || told.is_empty());
        told
    };
    // As clients write it; and with the text first.
    let members = r#""uri":"file:///a%20b.xml","languageId":"xml","version":3"#;
    let body = |document: &str| {
        format!(
            r#"{{"jsonrpc":"2.0","method":"textDocument/didOpen","params":{{"textDocument":{{{document}}}}}}}"#
        )
    };
    let text = "<a b=\"ä\"/>\n".repeat(LARGE);
    let written = Value::from(&*text).to_string();
    let usual = body(&format!(r#"{members},"text":{written}"#));
    for size in [100, 65_536] {
        let told = told(&usual, size);
        let [(uri, head, true)] = &told[..] else {
            panic!("{told:?}")
        };
        assert_eq!(uri, "file:///a%20b.xml");
        assert!(head.len() >= HEAD_LENGTH && text.starts_with(head));
    }
    assert_eq!(told(&usual.replace("didOpen", "didChange"), 100), []);
    let first = body(&format!(r#""text":{written},{members}"#));
    assert_eq!(told(&first, 65_536), []);
    let small = body(&format!(r#"{members},"text":"<a/>""#));
    assert_eq!(told(&small, 10), []);
}
