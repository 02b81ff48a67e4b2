//! Changes that cannot have been meant for the text that the server has: told, and never guessed at.

use acceptance::client::{Client, all_capabilities, push_capabilities};
use acceptance::desk::Desk;
use serde_json::{Value, json};

const URI: &str = "file:///quay/a.xml";
/// Three lines; the emoji takes 4 bytes, and 2 units of UTF-16.
const TEXT: &str = "<a>\n & 😀 x\n</a>";

fn replace(from: [i64; 2], to: [i64; 2], text: &str) -> Value {
    json!({
        "range": {
            "start": {"line": from[0], "character": from[1]},
            "end": {"line": to[0], "character": to[1]},
        },
        "text": text,
    })
}

fn change(version: Value, changes: Value) -> Value {
    json!({"textDocument": {"uri": URI, "version": version}, "contentChanges": changes})
}

/// What a client may do wrong with a document of version 5, and what is said about it.
fn mistakes() -> Vec<(Value, &'static str)> {
    let next = || json!(6);
    let fits = replace([0, 0], [0, 0], "");
    vec![
        (
            change(next(), json!([replace([4, 0], [4, 0], "x")])),
            "there is no line 5 in a text of 3 lines",
        ),
        (
            change(next(), json!([replace([1, 0], [900, 0], "x")])),
            "there is no line 901",
        ),
        (
            change(next(), json!([replace([1, 2], [1, 1], "x")])),
            "ends at 1:1, before it starts at 1:2",
        ),
        (
            change(next(), json!([replace([2, 0], [1, 0], "x")])),
            "before it starts",
        ),
        (
            change(next(), json!([replace([1, 5], [1, 7], "x")])),
            "1:5 is in the middle of a character",
        ),
        (
            // The first fits, the second does not fit what the first left.
            change(
                next(),
                json!([replace([0, 3], [2, 0], ""), replace([2, 0], [2, 0], "x")]),
            ),
            "there is no line 3 in a text of 1 lines",
        ),
        (
            change(json!(4), json!([fits])),
            "version 4 comes after version 5",
        ),
        (
            change(next(), json!([replace([-1, 0], [0, 0], "x")])),
            "cannot be read",
        ),
        (
            change(next(), json!([{"range": fits["range"]}])),
            "missing field `text`",
        ),
        (change(next(), Value::Null), "cannot be read"),
        (change(Value::Null, json!([fits])), "cannot be read"),
        (change(json!(1_u64 << 40), json!([fits])), "cannot be read"),
        (
            json!({"textDocument": {"version": 6}, "contentChanges": [fits]}),
            "not even for which document",
        ),
    ]
}

/// Questions about the document, each with its parameters.
fn questions() -> Vec<(&'static str, Value)> {
    let at = json!({"line": 0, "character": 1});
    let document = json!({"uri": URI});
    let place = json!({"textDocument": document, "position": at});
    let mut renamed = place.clone();
    renamed["newName"] = json!("b");
    let mut referred = place.clone();
    referred["context"] = json!({"includeDeclaration": true});
    let mut typed = place.clone();
    typed["ch"] = json!(">");
    typed["options"] = json!({"tabSize": 2, "insertSpaces": true});
    let range = json!({"start": at, "end": at});
    let data = json!({
        "uri": URI, "version": 5, "assist": "x", "from": 0, "to": 0, "choice": "", "title": "t", "confirm": false,
    });
    vec![
        ("textDocument/diagnostic", json!({"textDocument": document})),
        ("textDocument/hover", place.clone()),
        ("textDocument/definition", place.clone()),
        ("textDocument/implementation", place.clone()),
        ("textDocument/documentHighlight", place.clone()),
        ("textDocument/linkedEditingRange", place.clone()),
        ("textDocument/prepareRename", place.clone()),
        ("textDocument/completion", place),
        ("textDocument/rename", renamed),
        ("textDocument/references", referred),
        ("textDocument/onTypeFormatting", typed),
        (
            "textDocument/documentSymbol",
            json!({"textDocument": document}),
        ),
        (
            "textDocument/foldingRange",
            json!({"textDocument": document}),
        ),
        (
            "textDocument/documentLink",
            json!({"textDocument": document}),
        ),
        (
            "textDocument/selectionRange",
            json!({"textDocument": document, "positions": [at]}),
        ),
        (
            "textDocument/codeAction",
            json!({"textDocument": document, "range": range, "context": {"diagnostics": []}}),
        ),
        (
            "completionItem/resolve",
            json!({"label": "x", "data": {"uri": URI, "about": {"node": [0]}}}),
        ),
        ("codeAction/resolve", json!({"title": "t", "data": data})),
    ]
}

/// Sends the mistake; every question is then refused.
fn err(client: &mut Client, mistake: &Value, said: &str) {
    client.notify("textDocument/didChange", mistake.clone());
    let logged = client.wait_for_notification("window/logMessage");
    assert_eq!(logged["type"], 1);
    let logged = logged["message"].as_str().unwrap();
    assert!(logged.contains(said), "{logged}");
    let shown = client.wait_for_notification("window/showMessage");
    let shown = shown["message"].as_str().unwrap();
    assert!(
        shown.starts_with("a.xml: ") && shown.contains("open it again"),
        "{shown}"
    );
    for (method, params) in questions() {
        let error = client.request(method, params).expect_err(method);
        assert!(error.message.contains("out of step"), "{method}: {error:?}");
    }
    let found = client.request("workspace/symbol", json!({"query": ""}));
    assert_eq!(found, Ok(json!([])));
}

fn is_well(client: &mut Client) {
    let found = client.pulled_diagnostics(URI).unwrap();
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0]["code"], "bad-reference");
}

#[test]
fn every_feature_is_refused_until_the_document_is_opened_again_or_its_whole_text_comes() {
    let mut client = Client::with(&all_capabilities());
    for (mistake, said) in mistakes() {
        client.open(URI, 5, TEXT);
        is_well(&mut client);
        err(&mut client, &mistake, said);
        // What would fit comes too late.
        client.change(URI, 7, json!([replace([0, 0], [0, 0], " ")]));
        assert!(client.pulled_diagnostics(URI).is_err());

        client.close(URI);
        client.open(URI, 5, TEXT);
        is_well(&mut client);
        err(&mut client, &mistake, said);
        // The whole text is the whole text, whatever its version.
        client.change(URI, 2, json!([{"text": TEXT}]));
        is_well(&mut client);
        client.change(URI, 3, json!([replace([1, 1], [1, 2], "")]));
        assert_eq!(client.pulled_diagnostics(URI), Ok(Vec::new()));
        client.close(URI);
    }
    let told = |method: &str| client.heard.iter().filter(|it| *it == method).count();
    assert_eq!(told("window/logMessage"), 2 * mistakes().len(), "each once");
    assert_eq!(told("window/showMessage"), 2 * mistakes().len());
    assert_eq!(client.finish(), 0);
}

#[test]
fn pushed_diagnostics_say_it_and_nothing_else() {
    let mut client = Client::with(&push_capabilities());
    for (mistake, _) in mistakes() {
        client.open(URI, 5, TEXT);
        assert_eq!(client.pushed_diagnostics(URI, 5).len(), 1);
        client.notify("textDocument/didChange", mistake);
        let params = client.wait_for_notification("textDocument/publishDiagnostics");
        let [only] = &params["diagnostics"].as_array().unwrap()[..] else {
            panic!("{params}")
        };
        assert_eq!(only["code"], "out-of-step");
        let start = json!({"line": 0, "character": 0});
        assert_eq!(only["range"], json!({"start": start, "end": start}));
        client.change(URI, 8, json!([{"text": "<a/>"}]));
        assert_eq!(client.pushed_diagnostics(URI, 8), Vec::<Value>::new());
        client.close(URI);
        client.wait_for_notification("textDocument/publishDiagnostics");
    }
    assert_eq!(client.finish(), 0);
}

#[test]
fn other_documents_go_on() {
    let mut client = Client::with(&all_capabilities());
    let other = "file:///quay/b.xml";
    client.open(URI, 1, TEXT);
    client.open(other, 1, TEXT);
    client.change(URI, 2, json!([replace([9, 0], [9, 0], "x")]));
    assert!(client.pulled_diagnostics(URI).is_err());
    client.change(other, 2, json!([replace([1, 1], [1, 2], "")]));
    assert_eq!(client.pulled_diagnostics(other), Ok(Vec::new()));
    // Unless nobody knows which one was meant.
    client.notify("textDocument/didChange", json!({"contentChanges": []}));
    assert!(client.pulled_diagnostics(other).is_err());
    assert_eq!(client.finish(), 0);
}

#[test]
fn what_the_protocol_allows_is_no_mistake() {
    let mut client = Client::with(&all_capabilities());
    client.open(URI, 5, TEXT);
    for (changes, findings) in [
        // The same version again: the order of arrival counts.
        (json!([]), 1),
        // Columns past the end of a line mean its end (LSP 3.17, "Position").
        (json!([replace([1, 999], [1, 2_147_483_647], " &")]), 2),
        // The line after the last means the end of the text.
        (json!([replace([2, 4], [3, 0], "\n")]), 2),
        (json!([replace([3, 0], [4, 0], "")]), 2),
        // Both sides of the emoji, in bytes.
        (json!([replace([1, 3], [1, 7], "&")]), 3),
    ] {
        client.change(URI, 5, changes.clone());
        let found = client.pulled_diagnostics(URI);
        assert_eq!(found.map(|found| found.len()), Ok(findings), "{changes}");
    }
    assert!(!client.heard.contains(&"window/logMessage".to_owned()));
    assert_eq!(client.finish(), 0);
}

#[test]
fn half_of_a_surrogate_pair_is_the_middle_of_a_character() {
    let mut client = Client::with(&json!({"textDocument": {"diagnostic": {}}}));
    client.open(URI, 1, TEXT);
    client.change(URI, 2, json!([replace([1, 3], [1, 5], "")]));
    is_well(&mut client);
    client.open(URI, 1, TEXT);
    client.change(URI, 2, json!([replace([1, 4], [1, 5], "")]));
    let logged = client.wait_for_notification("window/logMessage");
    assert!(
        logged["message"]
            .as_str()
            .unwrap()
            .contains("1:4 is in the middle"),
        "{logged}"
    );
    assert!(client.pulled_diagnostics(URI).is_err());
    assert_eq!(client.finish(), 0);
}

/// JavaScript's texts can be cut in the middle of a pair, and its JSON writes what is left.
#[test]
fn a_change_that_is_no_json_may_have_been_for_any_document() {
    let mut client = Client::with(&all_capabilities());
    client.open(URI, 1, TEXT);
    let change = change(json!(2), json!([replace([1, 1], [1, 1], "HALF")]));
    let body = json!({"jsonrpc": "2.0", "method": "textDocument/didChange", "params": change});
    let body = body.to_string().replace("HALF", "\\ud83d");
    client.send_raw(format!("Content-Length: {}\r\n\r\n{body}", body.len()).as_bytes());
    assert_eq!(client.answer(Value::Null).unwrap_err().code, -32700);
    let logged = client.wait_for_notification("window/logMessage");
    assert!(
        logged["message"].as_str().unwrap().contains("no JSON"),
        "{logged}"
    );
    assert!(client.pulled_diagnostics(URI).is_err());
    client.change(URI, 3, json!([{"text": TEXT}]));
    is_well(&mut client);
    assert_eq!(client.finish(), 0);
}

#[test]
fn an_opening_that_cannot_be_read_is_told() {
    let mut client = Client::with(&all_capabilities());
    client.notify(
        "textDocument/didOpen",
        json!({"textDocument": {"uri": URI, "version": 1}}),
    );
    let logged = client.wait_for_notification("window/logMessage");
    assert!(
        logged["message"].as_str().unwrap().contains(URI),
        "{logged}"
    );
    let error = client.pulled_diagnostics(URI).unwrap_err();
    assert!(error.message.contains("not open"), "{error:?}");
    assert!(!client.heard.contains(&"window/showMessage".to_owned()));
    client.close("file:///quay/never-opened.xml");
    assert_eq!(client.finish(), 0);
}

/// Some editors ask about more than a document has, and mean all of it.
#[test]
fn a_range_that_only_asks_is_cut_at_the_end() {
    let mut desk = Desk::bram();
    let range = |line: u64, character: u64| {
        json!({
            "range": {"start": {"line": 0, "character": 0}, "end": {"line": line, "character": character}},
            "context": {"diagnostics": []},
        })
    };
    let lines = desk.text.lines().count() as u64;
    for method in [
        "textDocument/inlayHint",
        "textDocument/semanticTokens/range",
        "textDocument/codeAction",
    ] {
        let whole = desk.ask_all(method, range(lines, 0));
        assert!(!whole.is_null() && whole != json!([]), "{method}");
        for (line, character) in [
            (lines + 1, 0),
            (lines + 100, 7),
            (u64::from(u32::MAX), u64::from(u32::MAX)),
        ] {
            let more = desk.ask_all(method, range(line, character));
            assert_eq!(more, whole, "{method} to {line}:{character}");
        }
    }
    desk.finish();
}
