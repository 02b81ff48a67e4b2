//! Documents as the editor changes them, and requests that follow at once.

use acceptance::client::{Client, all_capabilities, push_capabilities};
use serde_json::{Value, json};

const URI: &str = "file:///quay/a.xml";

fn replace(from: [u32; 2], to: [u32; 2], text: &str) -> Value {
    json!({
        "range": {
            "start": {"line": from[0], "character": from[1]},
            "end": {"line": to[0], "character": to[1]},
        },
        "text": text,
    })
}

fn lines(diagnostics: &[Value]) -> Vec<u64> {
    diagnostics
        .iter()
        .map(|diagnostic| diagnostic["range"]["start"]["line"].as_u64().unwrap())
        .collect()
}

#[test]
fn a_request_sees_the_change_just_before_it_and_no_later_one() {
    let mut client = Client::with(&all_capabilities());
    client.open(URI, 1, "<a>\n\n</a>");
    let mut asked = Vec::new();
    for round in 0..200 {
        client.change(URI, 2 * round + 2, json!([replace([1, 0], [1, 0], " & ")]));
        asked.push((
            1,
            client.ask(
                "textDocument/diagnostic",
                json!({"textDocument": {"uri": URI}}),
            ),
        ));
        client.change(URI, 2 * round + 3, json!([replace([1, 0], [1, 3], "")]));
        asked.push((
            0,
            client.ask(
                "textDocument/diagnostic",
                json!({"textDocument": {"uri": URI}}),
            ),
        ));
    }
    for (findings, id) in asked {
        let report = client.answer(id).unwrap();
        assert_eq!(
            report["items"].as_array().unwrap().len(),
            findings,
            "request {id}"
        );
    }
    assert_eq!(client.finish(), 0);
}

#[test]
fn changes_of_one_notification_follow_each_other() {
    let mut client = Client::with(&all_capabilities());
    client.open(URI, 1, "<a></a>");
    let changes = json!([
        replace([0, 3], [0, 3], "\n\n"),
        replace([2, 0], [2, 0], " & "),
        replace([0, 3], [1, 0], ""),
    ]);
    client.change(URI, 2, changes);
    assert_eq!(lines(&client.pulled_diagnostics(URI).unwrap()), [1]);
    assert_eq!(client.finish(), 0);
}

#[test]
fn a_change_to_the_line_after_the_last_reaches_the_end() {
    let mut client = Client::with(&all_capabilities());
    client.open(URI, 1, "<a>\n & ");
    client.change(URI, 2, json!([replace([0, 0], [2, 0], "<a> & </a>")]));
    assert_eq!(lines(&client.pulled_diagnostics(URI).unwrap()), [0]);
    assert_eq!(client.finish(), 0);
}

#[test]
fn an_impossible_change_is_told_and_the_document_waits_to_be_opened_again() {
    let mut client = Client::with(&all_capabilities());
    client.open(URI, 1, "<a/>");
    client.change(URI, 2, json!([replace([7, 0], [7, 1], "x")]));
    let logged = client.wait_for_notification("window/logMessage");
    let message = logged["message"].as_str().unwrap();
    assert!(
        message.contains(URI) && message.contains("no line 8 in a text of 1 lines"),
        "{message}"
    );
    let error = client.pulled_diagnostics(URI).unwrap_err();
    assert!(error.message.contains("out of step"), "{error:?}");
    client.change(URI, 3, json!([replace([0, 0], [0, 0], "x")]));
    assert!(
        client.pulled_diagnostics(URI).is_err(),
        "a change that would fit comes too late"
    );

    client.close(URI);
    client.open(URI, 1, "<a> & </a>");
    assert_eq!(lines(&client.pulled_diagnostics(URI).unwrap()), [0]);
    assert_eq!(
        client
            .heard
            .iter()
            .filter(|method| *method == "window/logMessage")
            .count(),
        1,
        "told once"
    );
    assert_eq!(client.finish(), 0);
}

#[test]
fn the_whole_text_brings_a_document_back() {
    let mut client = Client::with(&all_capabilities());
    client.open(URI, 1, "<a/>");
    client.change(URI, 2, json!([replace([0, 3], [0, 1], "x")]));
    assert!(client.pulled_diagnostics(URI).is_err());
    client.change(URI, 3, json!([{"text": "<a> & </a>"}]));
    assert_eq!(lines(&client.pulled_diagnostics(URI).unwrap()), [0]);
    assert_eq!(client.finish(), 0);
}

#[test]
fn a_document_is_the_same_however_its_uri_is_written() {
    let mut client = Client::with(&all_capabilities());
    client.open("file:///qu%61y/a.xml", 1, "<a> & </a>");
    assert_eq!(client.pulled_diagnostics(URI).unwrap().len(), 1);
    client.close(URI);
    assert!(client.pulled_diagnostics("file:///qu%61y/a.xml").is_err());
    assert_eq!(client.finish(), 0);
}

#[test]
fn a_document_that_is_not_on_disk() {
    let mut client = Client::with(&push_capabilities());
    client.open("untitled:Untitled-1", 1, "<a> & </a>");
    assert_eq!(client.pushed_diagnostics("untitled:Untitled-1", 1).len(), 1);
    assert_eq!(client.finish(), 0);
}

#[test]
fn a_change_of_a_document_that_is_not_open_is_told() {
    let mut client = Client::with(&all_capabilities());
    client.change(URI, 2, json!([{"text": "<a/>"}]));
    let logged = client.wait_for_notification("window/logMessage");
    assert!(
        logged["message"].as_str().unwrap().contains("not open"),
        "{logged}"
    );
    assert_eq!(client.finish(), 0);
}
