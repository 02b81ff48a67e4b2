//! Fixes, and the form in which each client takes edits.

use acceptance::client::{Client, all_capabilities};
use serde_json::{Value, json};

const URI: &str = "file:///quay/a.xml";

fn fixes(client: &mut Client, context: Value) -> Vec<Value> {
    client.open(URI, 5, "<a>x</a>\n");
    client.change(URI, 6, json!([{"text": "<a>\n & </a>\n"}]));
    let at = json!({"line": 1, "character": 1});
    let params = json!({"textDocument": {"uri": URI}, "range": {"start": at, "end": at}, "context": context});
    let answer = client.request("textDocument/codeAction", params).unwrap();
    answer.as_array().cloned().unwrap_or_default()
}

#[test]
fn a_fix_names_the_version_it_is_for() {
    let mut client = Client::with(&all_capabilities());
    let actions = fixes(&mut client, json!({"diagnostics": []}));
    let [action] = &actions[..] else {
        panic!("one fix: {actions:?}")
    };
    assert_eq!(action["kind"], "quickfix");
    let change = &action["edit"]["documentChanges"][0];
    assert_eq!(change["textDocument"], json!({"uri": URI, "version": 6}));
    let [edit] = &change["edits"].as_array().unwrap()[..] else {
        panic!("one edit: {change}")
    };
    assert_eq!(edit["range"]["start"]["line"], 1);
    assert!(edit["newText"].as_str().unwrap().contains("amp;"), "{edit}");
    assert_eq!(client.finish(), 0);
}

#[test]
fn a_fix_says_which_diagnostic_it_solves() {
    let mut client = Client::with(&all_capabilities());
    client.open(URI, 1, "<a>\n & </a>\n");
    let shown = client.pulled_diagnostics(URI).unwrap();
    let actions = fixes(&mut client, json!({"diagnostics": shown}));
    assert_eq!(actions[0]["diagnostics"], json!(shown));
    assert_eq!(client.finish(), 0);
}

#[test]
fn a_client_without_versioned_edits_gets_plain_ones() {
    let mut capabilities = all_capabilities();
    capabilities["workspace"]["workspaceEdit"] = json!({});
    let mut client = Client::with(&capabilities);
    let actions = fixes(&mut client, json!({"diagnostics": []}));
    assert!(actions[0]["edit"]["changes"][URI].is_array(), "{actions:?}");
    assert!(actions[0]["edit"].get("documentChanges").is_none());
    assert_eq!(client.finish(), 0);
}

#[test]
fn only_what_was_asked_for() {
    let mut client = Client::with(&all_capabilities());
    assert_eq!(
        fixes(
            &mut client,
            json!({"diagnostics": [], "only": ["refactor"]})
        ),
        Vec::<Value>::new()
    );
    assert_eq!(
        fixes(
            &mut client,
            json!({"diagnostics": [], "only": ["quickfix"]})
        )
        .len(),
        1
    );
    assert_eq!(client.finish(), 0);
}

#[test]
fn a_client_that_takes_no_actions_gets_none() {
    let mut capabilities = all_capabilities();
    capabilities["textDocument"]["codeAction"] = json!({});
    let mut client = Client::start();
    assert_eq!(
        client.initialize(&capabilities).get("codeActionProvider"),
        None
    );
    assert_eq!(
        fixes(&mut client, json!({"diagnostics": []})),
        Vec::<Value>::new()
    );
    assert_eq!(client.finish(), 0);
}

#[test]
fn a_range_that_the_document_does_not_have_is_refused() {
    let mut client = Client::with(&all_capabilities());
    client.open(URI, 1, "<a/>");
    let at = json!({"line": 9, "character": 0});
    let range = json!({"start": at, "end": at});
    let params =
        json!({"textDocument": {"uri": URI}, "range": range, "context": {"diagnostics": []}});
    let error = client
        .request("textDocument/codeAction", params)
        .unwrap_err();
    assert_eq!(error.code, -32602, "{error:?}");
    assert_eq!(client.finish(), 0);
}

#[test]
fn an_element_that_must_be_there_is_added() {
    let mut client = Client::with(&all_capabilities());
    let uri = "file:///quay/mod.xml";
    let text = "<mod xmlns=\"urn:trunnion:mod:1\" title=\"Quay\" version=\"1.0\" author=\"The crew\">\n</mod>\n";
    client.open(uri, 1, text);
    let shown = client.pulled_diagnostics(uri).unwrap();
    let missing: Vec<&Value> = shown
        .iter()
        .filter(|shown| shown["code"] == "missing-child")
        .collect();
    let at = json!({"line": 0, "character": 2});
    let params = json!({"textDocument": {"uri": uri}, "range": {"start": at, "end": at}, "context": {"diagnostics": shown}});
    let found = client.request("textDocument/codeAction", params).unwrap();
    let action = found
        .as_array()
        .unwrap()
        .iter()
        .find(|action| {
            action["title"]
                .as_str()
                .unwrap()
                .starts_with("Add `<machine>`")
        })
        .unwrap_or_else(|| panic!("{found}"))
        .clone();
    assert_eq!(action["diagnostics"], json!(missing));
    let edit = &action["edit"]["documentChanges"][0]["edits"][0];
    assert_eq!(edit["newText"], "\n  <machine file=\"\"/>\n");
    assert_eq!(client.finish(), 0);
}
