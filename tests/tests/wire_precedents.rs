//! How others did it, over the wire: counts in hovers and completions, an action that leads to examples, progress while
//! a library is read.

use std::path::PathBuf;
use std::thread;
use std::time::{Duration, Instant};

use acceptance::client::{Client, TIMEOUT, all_capabilities};
use acceptance::outside::files_below;
use acceptance::yard::Yard;
use serde_json::{Value, json};

const DIALECT: &str = r#"
[dialect]
name = "ferry"
format = 1

[[document]]
name = "ferry"
root = "ferry"

[element."/ferry"]
children = ["ramp*"]

[element.ramp.attributes]
angle = { type = "number", doc = "How steep it is." }
rope = { type = "word", words = ["hemp", "wire"] }
"#;

/// A mod with one ferry, and the mods of others beside it.
struct Quay(Yard);

impl Quay {
    fn new(settings: &str) -> Self {
        let quay = Self(Yard::empty());
        quay.write("own/trunnion.toml", settings);
        quay.write("own/ferry.dialect.toml", DIALECT);
        for (at, ramp) in [
            "<ramp angle='12' rope='wire'/>",
            "<ramp angle='12' rope='wire'/>\n<ramp/>",
            "<ramp angle='15' rope='hemp'/>",
        ]
        .iter()
        .enumerate()
        {
            quay.write(
                &format!("others/{at}/ferry.xml"),
                &format!("<ferry>\n{ramp}</ferry>\n"),
            );
        }
        quay
    }

    fn write(&self, file: &str, text: &str) {
        self.0.write(file, text);
    }

    fn uri(&self, file: &str) -> String {
        self.0.uri(file)
    }

    fn client(&self, capabilities: &Value) -> Client {
        let mut client = self.spawn();
        client.initialize(capabilities);
        client
    }

    /// A server that nobody has spoken with yet.
    fn spawn(&self) -> Client {
        let mut command = self.0.command(&["serve"]);
        Client::spawn(command.env("XDG_CACHE_HOME", self.0.join("caches")))
    }

    fn caches(&self) -> Vec<PathBuf> {
        files_below(&self.0.join("caches"), &[""])
    }
}

const SETTINGS: &str = "dialects = [\"ferry.dialect.toml\"]\nlibrary = [\"../others\"]\n";
const OWN: &str = "<ferry>\n  <ramp angle='9'/>\n</ferry>\n";

/// What is said about the `angle` of the own ferry.
fn hover(client: &mut Client, uri: &str) -> String {
    let at = json!({"textDocument": {"uri": uri}, "position": {"line": 1, "character": 9}});
    let found = client.request("textDocument/hover", at).unwrap();
    found["contents"]["value"]
        .as_str()
        .unwrap_or_default()
        .to_owned()
}

/// Waits until the library is there.
fn hover_with_library(client: &mut Client, uri: &str, wanted: &str) -> String {
    let deadline = Instant::now() + TIMEOUT;
    loop {
        let text = hover(client, uri);
        if text.contains(wanted) {
            return text;
        }
        assert!(Instant::now() < deadline, "never `{wanted}`: {text}");
        thread::sleep(Duration::from_millis(10));
    }
}

fn actions(client: &mut Client, uri: &str, only: Value) -> Vec<Value> {
    let at = json!({"line": 1, "character": 4});
    let params = json!({"textDocument": {"uri": uri}, "range": {"start": at, "end": at},
        "context": {"diagnostics": [], "only": only}});
    let mut params = params;
    if params["context"]["only"].is_null() {
        params["context"].as_object_mut().unwrap().remove("only");
    }
    let found = client.request("textDocument/codeAction", params).unwrap();
    let found = found.as_array().cloned().unwrap_or_default();
    let is_ours = |action: &Value| action["command"]["command"] == "trunnion.precedents";
    found.into_iter().filter(is_ours).collect()
}

fn with_window(window: Value) -> Value {
    let mut capabilities = all_capabilities();
    capabilities["window"] = window;
    capabilities
}

#[test]
fn hovers_and_completions_count_what_others_write() {
    let quay = Quay::new(SETTINGS);
    let uri = quay.uri("own/ferry.xml");
    let mut client = quay.client(&all_capabilities());
    client.open(&uri, 1, OWN);
    let text = hover_with_library(&mut client, &uri, "In the library");
    assert!(text.contains("`12` in 2 of 3 machines"), "{text}");
    client.change(
        &uri,
        2,
        json!([{"text": "<ferry>\n  <ramp rope=''/>\n</ferry>\n"}]),
    );
    let at = json!({"textDocument": {"uri": uri}, "position": {"line": 1, "character": 14}});
    let found = client.request("textDocument/completion", at).unwrap();
    let items: Vec<(&str, &str)> = found["items"]
        .as_array()
        .unwrap()
        .iter()
        .map(|item| {
            let detail = &item["labelDetails"]["description"];
            (item["label"].as_str().unwrap(), detail.as_str().unwrap())
        })
        .collect();
    assert_eq!(
        items,
        [("wire", "2 of 3 machines"), ("hemp", "1 of 3 machines")]
    );
    // What changes in the library is known soon after.
    quay.write("others/3/ferry.xml", "<ferry><ramp angle='12'/></ferry>");
    let changes = json!([{"uri": quay.uri("others/3/ferry.xml"), "type": 1}]);
    client.notify(
        "workspace/didChangeWatchedFiles",
        json!({"changes": changes}),
    );
    client.change(&uri, 3, json!([{"text": OWN}]));
    hover_with_library(&mut client, &uri, "`12` in 3 of 4 machines");
    assert_eq!(client.finish(), 0);
    let kept = quay.caches();
    assert!(
        kept.iter()
            .any(|file| file.extension().is_some_and(|it| it == "index")),
        "{kept:?}"
    );
}

#[test]
fn another_limit_for_documents_reaches_the_library_at_once() {
    let quay = Quay::new(&format!("{SETTINGS}largest-document = 1\n"));
    let large = format!("<ferry><ramp angle='12'/>{}</ferry>", " ".repeat(2 << 20));
    quay.write("others/3/ferry.xml", &large);
    let uri = quay.uri("own/ferry.xml");
    let mut client = quay.client(&all_capabilities());
    client.open(&uri, 1, OWN);
    hover_with_library(&mut client, &uri, "`12` in 2 of 3 machines");
    quay.write("own/trunnion.toml", SETTINGS);
    let changes = json!([{"uri": quay.uri("own/trunnion.toml"), "type": 2}]);
    client.notify(
        "workspace/didChangeWatchedFiles",
        json!({"changes": changes}),
    );
    hover_with_library(&mut client, &uri, "`12` in 3 of 4 machines");
    assert_eq!(client.finish(), 0);
}

#[test]
fn without_a_library_nothing_is_said_and_nothing_is_kept() {
    let quay = Quay::new("dialects = [\"ferry.dialect.toml\"]\n");
    let uri = quay.uri("own/ferry.xml");
    let mut client = quay.client(&with_window(json!({"showDocument": {"support": true}})));
    client.open(&uri, 1, OWN);
    let text = hover(&mut client, &uri);
    assert!(
        text.contains("How steep") && !text.contains("library"),
        "{text}"
    );
    assert_eq!(actions(&mut client, &uri, Value::Null), [Value::Null; 0]);
    assert_eq!(client.finish(), 0);
    assert_eq!(quay.caches(), [""; 0].map(PathBuf::from));
}

#[test]
fn the_action_leads_to_the_example_that_is_chosen() {
    let quay = Quay::new(SETTINGS);
    let uri = quay.uri("own/ferry.xml");
    let window = json!({"showDocument": {"support": true}, "showMessage": {}});
    let mut client = quay.client(&with_window(window));
    client.open(&uri, 1, OWN);
    hover_with_library(&mut client, &uri, "In the library");
    let found = actions(&mut client, &uri, Value::Null);
    let [action] = &found[..] else {
        panic!("one action: {found:?}")
    };
    assert_eq!(
        action["title"],
        "How others do this: <ramp> (3 machines have it)"
    );
    let command = json!({"command": action["command"]["command"], "arguments": action["command"]["arguments"]});
    assert_eq!(
        client.request("workspace/executeCommand", command),
        Ok(Value::Null)
    );
    let asked = client.wait_for_notification("window/showMessageRequest");
    let offered = asked["actions"].as_array().unwrap();
    assert_eq!(
        offered.len(),
        3,
        "two shapes, and other values: {offered:?}"
    );
    assert_eq!(offered[0]["title"], "0/ferry.xml:2 (3 alike)");
    let shown = client.wait_for_notification("window/showDocument");
    assert_eq!(shown["uri"], quay.uri("others/0/ferry.xml"));
    assert_eq!(
        shown["selection"]["start"],
        json!({"line": 1, "character": 0})
    );
    // It repairs nothing and changes nothing.
    assert_eq!(
        actions(&mut client, &uri, json!(["quickfix"])),
        [Value::Null; 0]
    );
    assert_eq!(client.finish(), 0);
}

#[test]
fn a_client_that_opens_nothing_is_told_the_places() {
    let quay = Quay::new(SETTINGS);
    let uri = quay.uri("own/ferry.xml");
    let mut client = quay.client(&all_capabilities());
    client.open(&uri, 1, OWN);
    hover_with_library(&mut client, &uri, "In the library");
    let action = actions(&mut client, &uri, Value::Null).remove(0);
    let command = json!({"command": action["command"]["command"], "arguments": action["command"]["arguments"]});
    client.request("workspace/executeCommand", command).unwrap();
    let told = client.wait_for_notification("window/showMessage");
    let place = format!("{}:2", quay.0.join("others/0/ferry.xml").display());
    assert!(told["message"].as_str().unwrap().contains(&place), "{told}");
    for wrong in [
        json!({"command": "nothing"}),
        json!({"command": "trunnion.precedents", "arguments": [7]}),
    ] {
        let error = client
            .request("workspace/executeCommand", wrong)
            .unwrap_err();
        assert_eq!(error.code, -32602, "{error:?}");
    }
    assert_eq!(client.finish(), 0);
}

#[test]
fn progress_is_shown_while_many_files_are_read() {
    let quay = Quay::new(SETTINGS);
    let ramps: String = (0..60)
        .map(|at| format!("<ramp angle='{at}'/>\n"))
        .collect();
    for at in 0..1500 {
        quay.write(
            &format!("others/many/{at}.xml"),
            &format!("<ferry id='{at}'>{ramps}</ferry>"),
        );
    }
    let uri = quay.uri("own/ferry.xml");
    let mut client = quay.client(&with_window(json!({"workDoneProgress": true})));
    client.open(&uri, 1, OWN);
    // While it is read, questions are answered.
    assert!(hover(&mut client, &uri).contains("How steep"));
    let token = client.wait_for_notification("window/workDoneProgress/create")["token"].clone();
    let begun = client.wait_for_notification("$/progress");
    assert_eq!(
        (&begun["token"], &begun["value"]["kind"]),
        (&token, &json!("begin"))
    );
    let mut last = begun;
    while last["value"]["kind"] != "end" {
        last = client.wait_for_notification("$/progress");
        assert_eq!(last["token"], token);
    }
    hover_with_library(&mut client, &uri, "1503 machines");
    assert_eq!(client.finish(), 0);
}

#[test]
fn in_a_workspace_that_is_not_trusted_no_library_is_read() {
    let settings = format!("{SETTINGS}cache-folder = \"../kept\"\n");
    let quay = Quay::new(&settings);
    let uri = quay.uri("own/ferry.xml");
    let mut client = quay.spawn();
    client.initialize_with(&all_capabilities(), json!({"trusted": false}));
    let told = client.wait_for_notification("window/logMessage");
    let told = told["message"].as_str().unwrap();
    assert!(
        told.contains("not trusted") && told.contains("cache-folder"),
        "{told}"
    );
    client.open(&uri, 1, OWN);
    // The dialect in the folder counts.
    assert!(hover(&mut client, &uri).contains("How steep it is."));
    thread::sleep(Duration::from_millis(500));
    assert!(!hover(&mut client, &uri).contains("In the library"));
    assert_eq!(actions(&mut client, &uri, Value::Null), [Value::Null; 0]);
    let logged = client
        .heard
        .iter()
        .filter(|method| *method == "window/logMessage");
    assert_eq!(logged.count(), 1);
    assert_eq!(client.finish(), 0);
    assert!(files_below(&quay.0.join("kept"), &[""]).is_empty());
    assert!(quay.caches().is_empty());

    // Trusted, the same folder has its library and keeps what is known of it.
    let mut client = quay.spawn();
    client.initialize_with(&all_capabilities(), json!({"trusted": true}));
    client.open(&uri, 1, OWN);
    hover_with_library(&mut client, &uri, "In the library");
    assert_eq!(client.finish(), 0);
    assert!(!files_below(&quay.0.join("kept"), &[""]).is_empty());
}

/// A machine of the house dialect with one lever.
fn with_a_lever(gain: &str) -> String {
    format!(
        "<machine xmlns='urn:trunnion:machine:1' id='own' scene='own.gltf'>\n<animations>\n<animation id='lift'/>\n</animations>\n\
         <controls>\n<lever animation='lift' input='stick.1.x' gain='{gain}'/>\n</controls>\n</machine>\n"
    )
}

/// What the lenses of a document are called that lead into the library.
fn lenses(client: &mut Client, uri: &str) -> Vec<Value> {
    let asked = json!({"textDocument": {"uri": uri}});
    let found = client.request("textDocument/codeLens", asked).unwrap();
    let found = found.as_array().cloned().unwrap_or_default();
    let is_ours = |lens: &Value| lens["command"]["command"] == "trunnion.precedents";
    found.into_iter().filter(is_ours).collect()
}

#[test]
fn lenses_above_animations_and_controls_lead_to_examples_once_the_library_is_there() {
    let quay = Quay::new("library = [\"../others\"]\n");
    quay.write("others/4/a.machine.xml", &with_a_lever("0.4"));
    quay.write("others/5/b.machine.xml", &with_a_lever("0.6"));
    let text = with_a_lever("1");
    let uri = quay.uri("own/own.machine.xml");
    let mut capabilities = with_window(json!({"showDocument": {"support": true}}));
    capabilities["workspace"]["codeLens"] = json!({"refreshSupport": true});
    let mut client = quay.client(&capabilities);
    client.open(&uri, 1, &text);
    lenses(&mut client, &uri);
    client.wait_for_notification("workspace/codeLens/refresh");
    let found = lenses(&mut client, &uri);
    let told: Vec<_> = found
        .iter()
        .map(|lens| (&lens["range"]["start"], &lens["command"]["title"]))
        .collect();
    let title = json!("How others do this (2 machines)");
    assert_eq!(
        told,
        [
            (&json!({"line": 2, "character": 1}), &title),
            (&json!({"line": 5, "character": 1}), &title)
        ]
    );
    let command = json!({"command": found[1]["command"]["command"], "arguments": found[1]["command"]["arguments"]});
    client.request("workspace/executeCommand", command).unwrap();
    let told = client.wait_for_notification("window/showMessage");
    let place = format!("{}:6", quay.0.join("others/4/a.machine.xml").display());
    assert!(told["message"].as_str().unwrap().contains(&place), "{told}");
    // Switched off, all of them are gone.
    quay.write(
        "own/trunnion.toml",
        "library = [\"../others\"]\ncode-lenses = false\n",
    );
    let changes = json!([{"uri": quay.uri("own/trunnion.toml"), "type": 2}]);
    client.notify(
        "workspace/didChangeWatchedFiles",
        json!({"changes": changes}),
    );
    assert_eq!(lenses(&mut client, &uri), [Value::Null; 0]);
    assert_eq!(client.finish(), 0);
}

#[test]
fn a_client_that_does_not_ask_again_is_not_told_to() {
    let quay = Quay::new("library = [\"../others\"]\n");
    quay.write("others/4/a.machine.xml", &with_a_lever("0.4"));
    let uri = quay.uri("own/own.machine.xml");
    let mut client = quay.client(&all_capabilities());
    client.open(&uri, 1, &with_a_lever("1"));
    let deadline = Instant::now() + TIMEOUT;
    while lenses(&mut client, &uri).is_empty() {
        assert!(Instant::now() < deadline, "never a lens");
        thread::sleep(Duration::from_millis(10));
    }
    // Of the server's requests that it did not say it can take, this client refuses any.
    assert_eq!(client.finish(), 0);
}
