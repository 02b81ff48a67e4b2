//! Input that is no message: it is answered, and what follows it is read.

use acceptance::client::{Client, all_capabilities};
use acceptance::numbers::Numbers;
use serde_json::{Value, json};

const PARSE_ERROR: i64 = -32700;
const INVALID_REQUEST: i64 = -32600;

/// Sends `bytes` to a server at work; the code of the error that comes back. Then the server must still be well.
fn answer_to(bytes: &[u8], id: Value) -> i64 {
    let mut client = Client::with(&all_capabilities());
    client.send_raw(bytes);
    if !id.is_null() {
        client.expect_answer(id.clone(), "");
    }
    let code = client.answer(id).unwrap_err().code;
    client.open("file:///a.xml", 1, "<a> & </a>");
    assert_eq!(client.pulled_diagnostics("file:///a.xml").unwrap().len(), 1);
    assert_eq!(client.finish(), 0);
    code
}

fn framed(body: &str) -> Vec<u8> {
    format!("Content-Length: {}\r\n\r\n{body}", body.len()).into_bytes()
}

#[test]
fn bodies_that_are_no_json() {
    for body in [
        "",
        "{",
        "not json",
        "{\"jsonrpc\":\"2.0\",}",
        "\u{0}",
        "[1] 2",
    ] {
        assert_eq!(
            answer_to(&framed(body), Value::Null),
            PARSE_ERROR,
            "{body:?}"
        );
    }
}

#[test]
fn a_body_that_is_no_utf_8() {
    assert_eq!(
        answer_to(b"Content-Length: 4\r\n\r\n\"\xFF\xFE\"", Value::Null),
        PARSE_ERROR
    );
}

#[test]
fn a_body_nested_beyond_reason() {
    let body = format!("{}{}", "[".repeat(100_000), "]".repeat(100_000));
    assert_eq!(answer_to(&framed(&body), Value::Null), PARSE_ERROR);
}

#[test]
fn json_that_is_no_message() {
    for body in [
        "null",
        "7",
        "[]",
        "{}",
        r#"{"jsonrpc":"2.0"}"#,
        r#"[{"jsonrpc":"2.0","method":"a"}]"#,
    ] {
        assert_eq!(
            answer_to(&framed(body), Value::Null),
            INVALID_REQUEST,
            "{body}"
        );
    }
}

#[test]
fn a_message_with_an_id_gets_its_answer_under_that_id() {
    for body in [
        r#"{"jsonrpc":"2.0","id":77}"#,
        r#"{"jsonrpc":"1.0","id":77,"method":"shutdown"}"#,
        r#"{"jsonrpc":"2.0","id":77,"method":5}"#,
    ] {
        assert_eq!(
            answer_to(&framed(body), json!(77)),
            INVALID_REQUEST,
            "{body}"
        );
    }
}

#[test]
fn headers_that_are_none() {
    for bytes in [
        "garbage\r\n\r\n",
        "Content-Length: many\r\n\r\n{}",
        "Content-Length: -5\r\n\r\n",
        "Content-Length: 999999999999999\r\n\r\n",
        "Content-Type: text/x\r\n\r\n",
        "\r\n",
        "GET / HTTP/1.1\r\nHost: x\r\n\r\n",
    ] {
        assert_eq!(
            answer_to(bytes.as_bytes(), Value::Null),
            PARSE_ERROR,
            "{bytes:?}"
        );
    }
}

#[test]
fn a_message_that_is_too_large_is_told_with_the_limit() {
    let mut client = Client::with(&all_capabilities());
    // What is there of it is passed over, up to the next header.
    client.send_raw(b"Content-Length: 1073741825\r\n\r\n{\"jsonrpc\":\"2.0\",\n");
    let error = client.answer(Value::Null).unwrap_err();
    assert_eq!(error.code, PARSE_ERROR);
    assert!(error.message.contains("up to 1024 MB"), "{error:?}");
    assert_eq!(client.finish(), 0);
}

#[test]
fn the_input_may_end_anywhere_in_a_message() {
    let whole = framed(r#"{"jsonrpc":"2.0","id":"s","method":"shutdown"}"#);
    for length in [1, 14, 18, 20, 21, 40, whole.len() - 1] {
        let mut client = Client::with(&all_capabilities());
        client.send_raw(&whole[..length]);
        client.close_input();
        assert_eq!(client.exit_code(), 1, "{length}");
    }
}

#[test]
fn a_batch_is_refused_as_a_whole() {
    // LSP 3.17, "Base Protocol", has no batches; JSON-RPC 2.0 has.
    let batch =
        r#"[{"jsonrpc":"2.0","id":1,"method":"shutdown"},{"jsonrpc":"2.0","method":"exit"}]"#;
    assert_eq!(answer_to(&framed(batch), Value::Null), INVALID_REQUEST);
}

#[test]
fn of_two_lengths_the_last_counts() {
    let mut client = Client::with(&all_capabilities());
    let body = r#"{"jsonrpc":"2.0","id":"s","method":"shutdown"}"#;
    client.expect_answer("s", "shutdown");
    let header = format!("Content-Length: 3\r\nContent-Length: {}\r\n", body.len());
    client.send_raw(format!("{header}\r\n{body}").as_bytes());
    assert_eq!(client.answer("s"), Ok(Value::Null));
}

#[test]
fn a_response_that_nobody_waits_for_does_no_harm() {
    let mut client = Client::with(&all_capabilities());
    client.send(&json!({"jsonrpc": "2.0", "id": 999, "result": null}));
    client.send(
        &json!({"jsonrpc": "2.0", "id": "x", "error": {"code": 1, "message": "m", "more": 1}}),
    );
    client.send(&json!({"jsonrpc": "2.0", "id": null, "result": null}));
    assert_eq!(client.finish(), 0);
}

#[test]
fn other_headers_and_lower_case_are_read() {
    let mut client = Client::with(&all_capabilities());
    let body = r#"{"jsonrpc":"2.0","id":"s","method":"shutdown"}"#;
    let header = format!(
        "content-type: application/vscode-jsonrpc; charset=utf-8\r\ncontent-length: {}\r\n",
        body.len()
    );
    client.expect_answer("s", "shutdown");
    client.send_raw(format!("{header}\r\n{body}").as_bytes());
    assert_eq!(client.answer("s"), Ok(Value::Null));
}

#[test]
fn a_message_may_arrive_in_pieces() {
    let mut client = Client::with(&all_capabilities());
    client.expect_answer("s", "shutdown");
    for byte in framed(r#"{"jsonrpc":"2.0","id":"s","method":"shutdown"}"#) {
        client.send_raw(&[byte]);
    }
    assert_eq!(client.answer("s"), Ok(Value::Null));
}

const ODD: &[u8] = b"0123456789{}[]\",:\r\n";

#[test]
fn a_session_with_any_bytes_changed_ends_without_a_crash() {
    let document = json!({"uri": "file:///a.xml", "languageId": "xml", "version": 1, "text": "<a>\n & ö\n</a>"});
    let end = json!({"line": 1, "character": 2});
    let session: Vec<u8> = [
        json!({"jsonrpc": "2.0", "id": 1, "method": "initialize", "params": {"capabilities": {}}}),
        json!({"jsonrpc": "2.0", "method": "textDocument/didOpen", "params": {"textDocument": document}}),
        json!({"jsonrpc": "2.0", "method": "textDocument/didChange", "params": {
            "textDocument": {"uri": "file:///a.xml", "version": 2},
            "contentChanges": [{"range": {"start": end, "end": end}, "text": "é"}],
        }}),
        json!({"jsonrpc": "2.0", "id": 2, "method": "textDocument/diagnostic", "params": {
            "textDocument": {"uri": "file:///a.xml"},
        }}),
    ]
    .iter()
    .flat_map(|message| framed(&message.to_string()))
    .collect();
    for seed in 1..=60 {
        let (mut numbers, mut bytes) = (Numbers::from(seed), session.clone());
        for _ in 0..1 + numbers.below(4) {
            let at = numbers.below(bytes.len());
            match numbers.below(4) {
                0 => bytes[at] = numbers.below(256) as u8,
                1 => drop(bytes.drain(at..(at + numbers.below(40)).min(bytes.len()))),
                2 => bytes.insert(at, ODD[numbers.below(ODD.len())]),
                _ => bytes.extend_from_within(at..),
            }
        }
        let mut client = Client::start();
        client.expect_any_answer();
        client.send_raw(&bytes);
        client.close_input();
        assert_eq!(client.exit_code(), 1, "seed {seed}");
    }
}
