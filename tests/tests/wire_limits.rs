//! What is too large to be read: said, not analysed, and a matter of the settings.

use acceptance::client::{Client, all_capabilities, push_capabilities};
use acceptance::program::stdout;
use acceptance::yard::Yard;
use serde_json::{Value, json};

/// A folder with settings.
fn with(settings: &str) -> Yard {
    Yard::with(&[("trunnion.toml", settings)])
}

/// A text of this many bytes with one mistake, in its first line.
fn text(bytes: usize) -> String {
    let mut text = "<a> & \n".to_owned();
    text.push_str(&"x".repeat(bytes - text.len() - "</a>".len()));
    text + "</a>"
}

fn only_code(found: &[Value]) -> &str {
    let [finding] = found else {
        panic!("one finding: {found:?}")
    };
    finding["code"].as_str().unwrap()
}

const MEGABYTE: usize = 1 << 20;

#[test]
fn a_document_that_is_too_large_is_read_again_once_it_is_smaller() {
    let yard = with("largest-document = 1\n");
    let uri = yard.uri("a.xml");
    let mut client = Client::with(&all_capabilities());
    client.open(&uri, 1, &text(MEGABYTE));
    let found = client.pulled_diagnostics(&uri).unwrap();
    assert_eq!(only_code(&found), "bad-reference", "just not too large");

    let end = json!({"line": 1, "character": 0});
    let more = json!([{"range": {"start": end, "end": end}, "text": "y"}]);
    client.change(&uri, 2, more);
    let found = client.pulled_diagnostics(&uri).unwrap();
    assert_eq!(only_code(&found), "too-large");
    let message = found[0]["message"].as_str().unwrap();
    assert!(
        message.contains("over 1 MB") && message.contains("`largest-document`"),
        "{message}"
    );
    let place = json!({"textDocument": {"uri": uri}, "position": end});
    let error = client.request("textDocument/hover", place).unwrap_err();
    assert!(error.message.contains("is not read"), "{error:?}");
    assert_eq!(
        client.request("workspace/symbol", json!({"query": ""})),
        Ok(json!([]))
    );

    let range = json!({"start": end, "end": {"line": 1, "character": 1}});
    client.change(&uri, 3, json!([{"range": range, "text": ""}]));
    let found = client.pulled_diagnostics(&uri).unwrap();
    assert_eq!(only_code(&found), "bad-reference");
    client.change(&uri, 4, json!([{"text": text(2 * MEGABYTE)}]));
    assert_eq!(
        only_code(&client.pulled_diagnostics(&uri).unwrap()),
        "too-large"
    );
    // Opened again, with other settings.
    yard.write("trunnion.toml", "largest-document = 2\n");
    client.close(&uri);
    client.open(&uri, 1, &text(2 * MEGABYTE));
    assert_eq!(
        only_code(&client.pulled_diagnostics(&uri).unwrap()),
        "bad-reference"
    );
    assert_eq!(client.finish(), 0);
}

#[test]
fn a_small_document_may_grow_too_large_and_that_is_pushed() {
    let yard = with("largest-document = 1\n");
    let uri = yard.uri("a.xml");
    let mut client = Client::with(&push_capabilities());
    client.open(&uri, 1, "<a> & \n</a>");
    assert_eq!(
        only_code(&client.pushed_diagnostics(&uri, 1)),
        "bad-reference"
    );
    let at = json!({"line": 1, "character": 0});
    let pasted = "z".repeat(MEGABYTE);
    client.change(
        &uri,
        2,
        json!([{"range": {"start": at, "end": at}, "text": pasted}]),
    );
    assert_eq!(only_code(&client.pushed_diagnostics(&uri, 2)), "too-large");
    let end = json!({"line": 1, "character": MEGABYTE});
    client.change(
        &uri,
        3,
        json!([{"range": {"start": at, "end": end}, "text": ""}]),
    );
    assert_eq!(
        only_code(&client.pushed_diagnostics(&uri, 3)),
        "bad-reference"
    );
    assert_eq!(client.finish(), 0);
}

fn scene_findings(yard: &Yard, scene: &str) -> Vec<(String, String)> {
    yard.write("s.gltf", scene);
    let uri = yard.uri("a.machine.xml");
    let mut client = Client::with(&all_capabilities());
    let machine = "<machine xmlns=\"urn:trunnion:machine:1\" id=\"m\" scene=\"s.gltf\"/>";
    client.open(&uri, 1, machine);
    let found = client.pulled_diagnostics(&uri).unwrap();
    assert_eq!(client.finish(), 0);
    let of = |finding: &Value, name: &str| finding[name].as_str().unwrap().to_owned();
    let found = found.iter();
    found
        .map(|it| (of(it, "code"), of(it, "message")))
        .collect()
}

fn nodes(count: usize) -> String {
    let nodes = vec!["{}"; count].join(",");
    format!("{{\"asset\":{{\"version\":\"2.0\"}},\"nodes\":[{nodes}]}}")
}

#[test]
fn a_scene_of_too_many_nodes() {
    let yard = with("most-nodes = 10\n");
    assert_eq!(scene_findings(&yard, &nodes(10)), []);
    let found = scene_findings(&yard, &nodes(11));
    let [(code, message)] = &found[..] else {
        panic!("{found:?}")
    };
    assert_eq!(code, "scene-unreadable");
    assert!(message.contains("more than 10 nodes"), "{message}");
}

#[test]
fn a_scene_of_too_many_bytes() {
    let yard = with("largest-scene = 1\n");
    let scene = nodes(1) + &" ".repeat(MEGABYTE);
    let found = scene_findings(&yard, &scene);
    let [(code, message)] = &found[..] else {
        panic!("{found:?}")
    };
    assert_eq!(code, "scene-unreadable");
    assert!(
        message.contains("over 1 MB") && message.contains("`largest-scene`"),
        "{message}"
    );
}

#[test]
fn the_command_line_keeps_to_the_same_limit() {
    let yard = with("largest-document = 1\n");
    let check = || stdout(&yard.run(&["check", "a.machine.xml"]));
    yard.write("a.machine.xml", text(MEGABYTE + 1));
    let said = check();
    assert!(said.contains("too-large"), "{said}");
    yard.write("a.machine.xml", text(MEGABYTE));
    let said = check();
    assert!(
        !said.contains("too-large") && said.contains("bad-reference"),
        "{said}"
    );
}
