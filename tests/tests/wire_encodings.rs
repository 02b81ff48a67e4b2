//! What columns count, as agreed with each client.

use acceptance::client::Client;
use serde_json::{Value, json};

const URI: &str = "file:///quay/a.xml";

/// Opens `text`, edits it at `edit`, and gives the columns of the one finding's range.
fn columns(encodings: Value, edit: Value) -> (Value, [u64; 2]) {
    let mut client = Client::start();
    let general = json!({"positionEncodings": encodings});
    let capabilities =
        client.initialize(&json!({"general": general, "textDocument": {"diagnostic": {}}}));
    client.open(URI, 1, "<a>ö😀?</a>\r\n");
    client.change(URI, 2, json!([{"range": edit, "text": " & "}]));
    let diagnostics = client.pulled_diagnostics(URI).unwrap();
    let [finding] = &diagnostics[..] else {
        panic!("one finding: {diagnostics:?}")
    };
    assert_eq!(client.finish(), 0);
    let column = |end: &str| finding["range"][end]["character"].as_u64().unwrap();
    (
        capabilities["positionEncoding"].clone(),
        [column("start"), column("end")],
    )
}

/// The range of the `?` with these columns.
fn question_mark(from: u32, to: u32) -> Value {
    json!({"start": {"line": 0, "character": from}, "end": {"line": 0, "character": to}})
}

#[test]
fn utf_8_is_preferred() {
    let (encoding, columns) = columns(json!(["utf-16", "utf-8"]), question_mark(9, 10));
    assert_eq!((encoding, columns), (json!("utf-8"), [10, 11]));
}

#[test]
fn utf_16_without_a_word() {
    let (encoding, columns) = columns(Value::Null, question_mark(6, 7));
    assert_eq!((encoding, columns), (json!("utf-16"), [7, 8]));
}

#[test]
fn utf_32_if_the_client_prefers_it() {
    let (encoding, columns) = columns(json!(["utf-32", "utf-16"]), question_mark(5, 6));
    assert_eq!((encoding, columns), (json!("utf-32"), [6, 7]));
}
