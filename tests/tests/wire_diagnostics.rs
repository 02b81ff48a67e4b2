//! Diagnostics go out by one channel, for the newest version only.

use acceptance::client::{Client, all_capabilities, push_capabilities};
use acceptance::yard::Yard;
use serde_json::{Value, json};

const URI: &str = "file:///quay/a.xml";

#[test]
fn a_client_that_pulls_is_not_pushed_to() {
    let mut client = Client::with(&all_capabilities());
    client.open(URI, 1, "<a> & </a>");
    assert_eq!(client.pulled_diagnostics(URI).unwrap().len(), 1);
    client.close(URI);
    assert!(client.pulled_diagnostics(URI).is_err());
    assert!(
        !client
            .heard
            .iter()
            .any(|method| method == "textDocument/publishDiagnostics")
    );
    assert_eq!(client.finish(), 0);
}

#[test]
fn an_equal_result_is_not_sent_twice() {
    let mut client = Client::with(&all_capabilities());
    let pull = |client: &mut Client, previous: Option<&Value>| {
        let params = json!({"textDocument": {"uri": URI}, "previousResultId": previous});
        client.request("textDocument/diagnostic", params).unwrap()
    };
    client.open(URI, 1, "<a> & </a>");
    let first = pull(&mut client, None);
    assert_eq!(first["kind"], "full");
    client.change(URI, 2, json!([{"text": "<a> & </a >"}]));
    let second = pull(&mut client, first.get("resultId"));
    assert_eq!(
        (&second["kind"], &second["resultId"]),
        (&json!("unchanged"), &first["resultId"])
    );
    client.change(URI, 3, json!([{"text": "<a>  & </a>"}]));
    let third = pull(&mut client, second.get("resultId"));
    assert_eq!(third["kind"], "full");
    assert_ne!(third["resultId"], first["resultId"]);
    assert_eq!(client.finish(), 0);
}

#[test]
fn pushed_diagnostics_follow_the_document() {
    let mut client = Client::with(&push_capabilities());
    client.open(URI, 1, "<a> & </a>");
    let [finding] = &client.pushed_diagnostics(URI, 1)[..] else {
        panic!("one finding")
    };
    assert_eq!(finding["source"], "trunnion");
    assert_eq!(
        finding["range"]["start"],
        json!({"line": 0, "character": 4})
    );
    client.change(URI, 2, json!([{"text": "<a/>"}]));
    assert_eq!(client.pushed_diagnostics(URI, 2), Vec::<Value>::new());
    assert_eq!(client.finish(), 0);
}

#[test]
fn a_closed_document_has_no_diagnostics() {
    let mut client = Client::with(&push_capabilities());
    client.open(URI, 1, "<a> & </a>");
    client.pushed_diagnostics(URI, 1);
    client.close(URI);
    let params = client.wait_for_notification("textDocument/publishDiagnostics");
    assert_eq!(params, json!({"uri": URI, "diagnostics": []}));
    assert_eq!(client.finish(), 0);
}

#[test]
fn versions_only_go_up_and_the_newest_comes() {
    let mut client = Client::with(&push_capabilities());
    client.open(URI, 1, "<a/>");
    for version in 2..=300 {
        let text = if version % 2 == 0 {
            "<a> & </a>"
        } else {
            "<a/>"
        };
        client.change(URI, version, json!([{"text": text}]));
    }
    assert_eq!(client.pushed_diagnostics(URI, 300).len(), 1);
    let versions: Vec<i64> = client
        .messages
        .iter()
        .filter(|message| message["method"] == "textDocument/publishDiagnostics")
        .map(|message| message["params"]["version"].as_i64().unwrap())
        .collect();
    assert!(
        versions.is_sorted_by(|before, after| before < after),
        "{versions:?}"
    );
    assert_eq!(client.finish(), 0);
}

#[test]
fn the_version_is_told_only_to_clients_that_take_it() {
    let mut client = Client::with(&json!({"textDocument": {"publishDiagnostics": {}}}));
    client.open(URI, 7, "<a> & </a>");
    let params = client.wait_for_notification("textDocument/publishDiagnostics");
    assert_eq!(params.get("version"), None, "{params}");
    assert_eq!(params["diagnostics"].as_array().unwrap().len(), 1);
    assert_eq!(client.finish(), 0);
}

#[test]
fn files_that_changed_on_disk_are_looked_at_again() {
    let changes = json!({"changes": [{"uri": "file:///quay/a.gltf", "type": 2}]});
    let mut client = Client::with(&push_capabilities());
    client.open(URI, 1, "<a> & </a>");
    client.pushed_diagnostics(URI, 1);
    client.notify("workspace/didChangeWatchedFiles", changes.clone());
    assert_eq!(client.pushed_diagnostics(URI, 1).len(), 1);
    assert_eq!(client.finish(), 0);

    let mut client = Client::with(&all_capabilities());
    client.open(URI, 1, "<a/>");
    client.notify("workspace/didChangeWatchedFiles", changes);
    client.wait_for("a refresh", |message| {
        message["method"] == "workspace/diagnostic/refresh"
    });
    assert_eq!(client.finish(), 0);
}

#[test]
fn what_a_version_control_keeps_for_itself_has_nothing_looked_at_again() {
    let changed = |uri: &str| json!({"changes": [{"uri": uri, "type": 2}]});
    let mut client = Client::with(&all_capabilities());
    client.open(URI, 1, "<a/>");
    let method = "workspace/didChangeWatchedFiles";
    client.notify(method, changed("file:///quay/.git/index"));
    client.notify(method, changed("file:///quay/.games/a.gltf"));
    let is_refresh = |message: &Value| message["method"] == "workspace/diagnostic/refresh";
    client.wait_for("a refresh", is_refresh);
    assert_eq!(client.finish(), 0);
}

#[test]
fn file_watching_is_asked_for_only_where_it_can_be() {
    let mut client = Client::with(&all_capabilities());
    let registration = client.wait_for("a registration", |message| {
        message["method"] == "client/registerCapability"
    });
    assert_eq!(
        registration["params"]["registrations"][0]["method"],
        "workspace/didChangeWatchedFiles"
    );
    assert_eq!(client.finish(), 0);

    let mut client = Client::with(&json!({}));
    client.open(URI, 1, "<a/>");
    client.wait_for_notification("textDocument/publishDiagnostics");
    assert!(
        !client
            .heard
            .iter()
            .any(|method| method == "client/registerCapability")
    );
    assert_eq!(client.finish(), 0);
}

#[test]
fn mistakes_in_the_settings_are_told_at_the_documents_they_apply_to() {
    let yard = Yard::with(&[("trunnion.toml", "colour = 1\nsize = 2\n")]);
    let uri = yard.uri("a.xml");
    let mut client = Client::with(&all_capabilities());
    client.open(&uri, 1, "<a/>");
    let found = client.pulled_diagnostics(&uri).unwrap();
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0]["code"], "config-problem");
    let message = found[0]["message"].as_str().unwrap();
    assert!(
        message.contains("colour") && message.contains("one more mistake"),
        "{message}"
    );
    let there = &found[0]["relatedInformation"][0]["location"];
    assert!(there["uri"].as_str().unwrap().ends_with("/trunnion.toml"));
    assert_eq!(there["range"]["start"], json!({"line": 0, "character": 0}));

    yard.write("trunnion.toml", "dialects = []\n");
    client.notify(
        "textDocument/didSave",
        json!({"textDocument": {"uri": uri}}),
    );
    assert_eq!(
        client.pulled_diagnostics(&uri).unwrap(),
        Vec::<Value>::new()
    );
    assert_eq!(client.finish(), 0);
}
