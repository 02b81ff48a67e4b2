//! Each editor feature once over the real wire, on the demo, for clients of different abilities.

use acceptance::client::{Client, all_capabilities};
use serde_json::{Value, json};
use std::fs;
use std::path::{Path, PathBuf};

/// An open document of the corpus and the client that has it.
struct Desk {
    client: Client,
    uri: String,
    text: String,
    version: i64,
}

fn corpus() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../corpus")
        .canonicalize()
        .unwrap()
}

impl Desk {
    /// The straddle carrier of the demo, for a client that can all.
    fn bram() -> Self {
        Self::with("ternholt/machines/bram-6.machine.xml", &all_capabilities())
    }

    fn with(file: &str, capabilities: &Value) -> Self {
        let path = corpus().join(file);
        let text = fs::read_to_string(&path).unwrap();
        let uri = format!("file://{}", path.display());
        let mut client = Client::with(capabilities);
        client.open(&uri, 1, &text);
        Self {
            client,
            uri,
            text,
            version: 1,
        }
    }

    /// The position of `offset` bytes into the first place of `needle`. The demo is ASCII there.
    fn at(&self, needle: &str, offset: usize) -> Value {
        let start = self
            .text
            .find(needle)
            .unwrap_or_else(|| panic!("{needle} is not there"));
        position(&self.text, start + offset)
    }

    fn ask(&mut self, method: &str, at: &Value, more: Value) -> Value {
        self.try_ask(method, at, more)
            .unwrap_or_else(|error| panic!("{method}: {error:?}"))
    }

    fn try_ask(&mut self, method: &str, at: &Value, more: Value) -> Result<Value, String> {
        let mut params = json!({"textDocument": {"uri": self.uri}, "position": at});
        for (name, value) in more.as_object().into_iter().flatten() {
            params[name] = value.clone();
        }
        self.client
            .request(method, params)
            .map_err(|error| error.message)
    }

    /// A question about the whole document.
    fn ask_all(&mut self, method: &str, more: Value) -> Value {
        let mut params = json!({"textDocument": {"uri": self.uri}});
        for (name, value) in more.as_object().into_iter().flatten() {
            params[name] = value.clone();
        }
        self.client
            .request(method, params)
            .unwrap_or_else(|error| panic!("{method}: {error:?}"))
    }

    /// Types text over a place of the document.
    fn type_over(&mut self, needle: &str, typed: &str) {
        let start = self.text.find(needle).unwrap();
        let (from, to) = (
            position(&self.text, start),
            position(&self.text, start + needle.len()),
        );
        self.version += 1;
        self.client.change(
            &self.uri,
            self.version,
            json!([{"range": {"start": from, "end": to}, "text": typed}]),
        );
        self.text.replace_range(start..start + needle.len(), typed);
    }

    fn slice(&self, range: &Value) -> &str {
        &self.text[offset(&self.text, &range["start"])..offset(&self.text, &range["end"])]
    }

    fn finish(self) {
        assert_eq!(self.client.finish(), 0);
    }
}

fn position(text: &str, offset: usize) -> Value {
    let before = &text[..offset];
    let line_start = before.rfind('\n').map_or(0, |at| at + 1);
    json!({"line": before.matches('\n').count(), "character": offset - line_start})
}

fn offset(text: &str, position: &Value) -> usize {
    let line = usize::try_from(position["line"].as_u64().unwrap()).unwrap();
    let start: usize = text.split_inclusive('\n').take(line).map(str::len).sum();
    start + usize::try_from(position["character"].as_u64().unwrap()).unwrap()
}

/// The text in a range of a file.
fn in_file(uri: &Value, range: &Value) -> String {
    let path = uri.as_str().unwrap().strip_prefix("file://").unwrap();
    let text = fs::read_to_string(path).unwrap();
    text[offset(&text, &range["start"])..offset(&text, &range["end"])].to_owned()
}

/// Capabilities without one of them; `way` leads to it.
fn without(way: &[&str]) -> Value {
    let mut capabilities = all_capabilities();
    let (last, before) = way.split_last().unwrap();
    let place = before
        .iter()
        .fold(&mut capabilities, |place, step| &mut place[*step]);
    place
        .as_object_mut()
        .unwrap()
        .remove(*last)
        .unwrap_or_else(|| panic!("{way:?} is not there"));
    capabilities
}

fn list(value: &Value) -> &[Value] {
    value.as_array().map_or(&[], Vec::as_slice)
}

fn names<'v>(items: &'v Value, property: &str) -> Vec<&'v str> {
    list(items)
        .iter()
        .map(|item| item[property].as_str().unwrap())
        .collect()
}

#[test]
fn hover_in_markdown_and_in_plain_text() {
    for (capabilities, kind, bullet) in [
        (all_capabilities(), "markdown", "- Index path: `0/1`"),
        (
            without(&["textDocument", "hover", "contentFormat"]),
            "plaintext",
            "• Index path: 0/1",
        ),
    ] {
        let mut desk = Desk::with("ternholt/machines/bram-6.machine.xml", &capabilities);
        let at = desk.at("target=\"mast\"", 9);
        let hover = desk.ask("textDocument/hover", &at, json!({}));
        assert_eq!(hover["contents"]["kind"], kind);
        let text = hover["contents"]["value"].as_str().unwrap();
        assert!(
            text.contains(bullet) && text.contains("bram-6/mast"),
            "{text}"
        );
        assert_eq!(desk.slice(&hover["range"]), "mast");
        desk.finish();
    }
}

#[test]
fn a_name_leads_to_its_alias_and_the_alias_to_its_node() {
    let mut desk = Desk::bram();
    let at = desk.at("target=\"leg.left\"", 9);
    let links = desk.ask("textDocument/definition", &at, json!({}));
    let [link] = list(&links) else {
        panic!("one link: {links}")
    };
    assert_eq!(link["targetUri"], desk.uri);
    assert_eq!(desk.slice(&link["originSelectionRange"]), "leg.left");
    assert_eq!(
        desk.slice(&link["targetRange"]),
        r#"<alias name="leg.left"   path="0/0/0"/>"#
    );
    assert_eq!(desk.slice(&link["targetSelectionRange"]), "leg.left");

    let at = desk.at("path=\"0/0/0\"", 7);
    let links = desk.ask("textDocument/definition", &at, json!({}));
    let node = in_file(&links[0]["targetUri"], &links[0]["targetRange"]);
    assert!(
        node.starts_with(r#"{"name": "leg.left""#) && node.ends_with('}'),
        "{node}"
    );
    assert!(
        links[0]["targetUri"]
            .as_str()
            .unwrap()
            .ends_with("/bram-6.gltf")
    );
    desk.finish();
}

#[test]
fn a_client_without_links_gets_places() {
    let mut desk = Desk::with(
        "ternholt/machines/bram-6.machine.xml",
        &without(&["textDocument", "definition", "linkSupport"]),
    );
    let at = desk.at("animation=\"mast.raise\"", 12);
    let places = desk.ask("textDocument/definition", &at, json!({}));
    assert_eq!(places[0]["uri"], desk.uri);
    assert_eq!(desk.slice(&places[0]["range"]), "mast.raise");
    desk.finish();
}

#[test]
fn the_implementation_of_a_name_is_the_node() {
    let mut desk = Desk::bram();
    let at = desk.at("target=\"mast\"", 9);
    let places = desk.ask("textDocument/implementation", &at, json!({}));
    assert!(
        in_file(&places[0]["uri"], &places[0]["range"]).starts_with(r#"{"name": "mast""#),
        "{places}"
    );
    desk.finish();
}

#[test]
fn references_with_and_without_where_the_name_is_given() {
    let mut desk = Desk::bram();
    let at = desk.at("sound=\"pump\"", 8);
    let ask = |desk: &mut Desk, declared: bool| {
        let context = json!({"context": {"includeDeclaration": declared}});
        let places = desk.ask("textDocument/references", &at, context);
        list(&places).len()
    };
    assert_eq!(ask(&mut desk, true), 2);
    assert_eq!(ask(&mut desk, false), 1);
    desk.finish();
}

#[test]
fn highlights_tell_giving_from_using() {
    let mut desk = Desk::bram();
    let at = desk.at("target=\"leg.left\"", 9);
    let lights = desk.ask("textDocument/documentHighlight", &at, json!({}));
    let kinds: Vec<&Value> = list(&lights).iter().map(|light| &light["kind"]).collect();
    assert_eq!(kinds, [&json!(3), &json!(2)], "written once, then read");
    desk.finish();
}

#[test]
fn a_rename_changes_all_places_of_a_version() {
    let mut desk = Desk::bram();
    let at = desk.at("target=\"beacon\"", 9);
    let prepared = desk.ask("textDocument/prepareRename", &at, json!({}));
    assert_eq!(prepared["placeholder"], "beacon");
    assert_eq!(desk.slice(&prepared["range"]), "beacon");
    let edit = desk.ask("textDocument/rename", &at, json!({"newName": "lamp & co"}));
    let change = &edit["documentChanges"][0];
    assert_eq!(
        change["textDocument"],
        json!({"uri": desk.uri, "version": 1})
    );
    let mut lines: Vec<&str> = Vec::new();
    for edit in list(&change["edits"]) {
        assert_eq!(desk.slice(&edit["range"]), "beacon");
        assert_eq!(edit["newText"], "lamp &amp; co");
        let line = usize::try_from(edit["range"]["start"]["line"].as_u64().unwrap()).unwrap();
        lines.extend(
            desk.text
                .lines()
                .nth(line)
                .and_then(|line| line.split_whitespace().next()),
        );
    }
    assert_eq!(
        lines,
        ["<alias", "<lamp", "<channel"],
        "the lamp's own name is another one"
    );
    desk.finish();
}

#[test]
fn a_rename_for_a_client_without_versioned_edits() {
    let mut desk = Desk::with(
        "ternholt/machines/bram-6.machine.xml",
        &without(&["workspace", "workspaceEdit", "documentChanges"]),
    );
    let at = desk.at("sound=\"pump\"", 8);
    let edit = desk.ask("textDocument/rename", &at, json!({"newName": "motor"}));
    assert_eq!(list(&edit["changes"][&desk.uri]).len(), 2);
    desk.finish();
}

#[test]
fn a_rename_that_would_collide_is_refused_with_both_places() {
    let mut desk = Desk::bram();
    let at = desk.at("target=\"mast\"", 9);
    let refusal = desk
        .try_ask("textDocument/rename", &at, json!({"newName": "beacon"}))
        .unwrap_err();
    assert!(
        refusal.contains("line 6") && refusal.contains("line 9"),
        "{refusal}"
    );
    let at = desk.at("node=\"0/2\"", 7);
    let refusal = desk
        .try_ask("textDocument/prepareRename", &at, json!({}))
        .unwrap_err();
    assert!(refusal.contains("index path"), "{refusal}");
    desk.finish();
}

#[test]
fn rename_is_offered_as_the_client_knows_it() {
    let provider = |capabilities: &Value| {
        let mut client = Client::start();
        let provider = client.initialize(capabilities)["renameProvider"].clone();
        assert_eq!(client.finish(), 0);
        provider
    };
    assert_eq!(
        provider(&all_capabilities()),
        json!({"prepareProvider": true})
    );
    assert_eq!(
        provider(&without(&["textDocument", "rename", "prepareSupport"])),
        json!(true)
    );
}

#[test]
fn the_outline_as_a_tree_and_as_a_list() {
    let mut desk = Desk::bram();
    let outline = desk.ask_all("textDocument/documentSymbol", json!({}));
    assert_eq!(names(&outline, "name"), ["machine"]);
    let sections = &outline[0]["children"];
    assert_eq!(
        names(sections, "name"),
        [
            "aliases",
            "bodies",
            "wheels",
            "couplings",
            "lamps",
            "sounds",
            "animations",
            "controls"
        ]
    );
    assert_eq!(
        names(&sections[6]["children"], "name"),
        ["mast.raise", "hooks.close", "beacon.turn"]
    );
    assert_eq!(
        names(&sections[6]["children"][0]["children"], "name"),
        ["mast", "leg.left", "leg.right"]
    );
    desk.finish();

    let mut desk = Desk::with(
        "ternholt/machines/bram-6.machine.xml",
        &without(&[
            "textDocument",
            "documentSymbol",
            "hierarchicalDocumentSymbolSupport",
        ]),
    );
    let list = desk.ask_all("textDocument/documentSymbol", json!({}));
    let list = list.as_array().unwrap();
    let raise = list
        .iter()
        .find(|symbol| symbol["name"] == "mast.raise")
        .unwrap();
    assert_eq!(raise["containerName"], "animations");
    assert!(
        desk.slice(&raise["location"]["range"])
            .starts_with("<animation id=\"mast.raise\"")
    );
    desk.finish();
}

#[test]
fn names_are_found_in_all_open_documents() {
    let mut desk = Desk::bram();
    let other = corpus().join("ternholt/machines/vennet-24.machine.xml");
    let uri = format!("file://{}", other.display());
    desk.client
        .open(&uri, 1, &fs::read_to_string(&other).unwrap());
    let found = desk
        .client
        .request("workspace/symbol", json!({"query": "FRONTleft"}))
        .unwrap();
    assert_eq!(
        names(&found, "name"),
        ["front.left", "stanchion.front.left", "front.left"]
    );
    let found = desk
        .client
        .request("workspace/symbol", json!({"query": "machine"}))
        .unwrap();
    let mut uris: Vec<&str> = list(&found)
        .iter()
        .map(|it| it["location"]["uri"].as_str().unwrap())
        .collect();
    uris.sort_unstable();
    assert_eq!(uris, [desk.uri.as_str(), uri.as_str()]);
    desk.finish();
}

#[test]
fn folds_with_columns_and_by_whole_lines() {
    let mut whole_lines = all_capabilities();
    whole_lines["textDocument"]["foldingRange"] = json!({"lineFoldingOnly": true});
    for (capabilities, has_columns) in [(all_capabilities(), true), (whole_lines, false)] {
        let mut desk = Desk::with("ternholt/machines/bram-6.machine.xml", &capabilities);
        let folds = desk.ask_all("textDocument/foldingRange", json!({}));
        let aliases = desk.at("<aliases>", 0)["line"].as_u64().unwrap();
        let fold = list(&folds)
            .iter()
            .find(|fold| fold["startLine"] == aliases)
            .unwrap();
        assert_eq!(fold["endLine"], aliases + 6, "the end tag stays in sight");
        assert_eq!(fold.get("startCharacter").is_some(), has_columns, "{fold}");
        desk.finish();
    }
}

#[test]
fn selections_grow_from_a_value_to_the_document() {
    let mut desk = Desk::bram();
    let at = desk.at("node=\"0/2\"", 7);
    let answer = desk.ask_all("textDocument/selectionRange", json!({"positions": [at]}));
    let mut steps = Vec::new();
    let mut step = &answer[0];
    while step.is_object() {
        steps.push(desk.slice(&step["range"]).to_owned());
        step = &step["parent"];
    }
    assert_eq!(
        &steps[..5],
        [
            "0",
            "0/2",
            "\"0/2\"",
            "node=\"0/2\"",
            r#"id="tow" node="0/2" kind="pin" reach="0.4""#
        ]
    );
    assert_eq!(steps.last(), Some(&desk.text));
    desk.finish();
}

#[test]
fn tag_names_are_edited_together() {
    let mut desk = Desk::bram();
    let at = desk.at("</lamps>", 4);
    let linked = desk.ask("textDocument/linkedEditingRange", &at, json!({}));
    let [start, end] = list(&linked["ranges"]) else {
        panic!("two ranges: {linked}")
    };
    assert_eq!((desk.slice(start), desk.slice(end)), ("lamps", "lamps"));
    assert_ne!(start, end);
    desk.finish();
}

#[test]
fn files_are_linked() {
    let mut desk = Desk::bram();
    let links = desk.ask_all("textDocument/documentLink", json!({}));
    let files: Vec<&str> = list(&links)
        .iter()
        .map(|link| desk.slice(&link["range"]))
        .collect();
    assert_eq!(
        files,
        ["bram-6.gltf", "sounds/pump.ogg", "sounds/clunk.ogg"]
    );
    assert!(
        links[1]["target"]
            .as_str()
            .unwrap()
            .ends_with("ternholt/machines/sounds/pump.ogg")
    );
    desk.finish();
}

#[test]
fn end_tags_write_themselves() {
    let mut desk = Desk::bram();
    let options = json!({"tabSize": 2, "insertSpaces": true});
    desk.type_over("<aliases>", "<aliases><alias>");
    let at = desk.at("<alias>", 7);
    let edits = desk.ask(
        "textDocument/onTypeFormatting",
        &at,
        json!({"ch": ">", "options": options}),
    );
    assert_eq!(
        edits,
        json!([{"range": {"start": at, "end": at}, "newText": "</alias>"}])
    );
    desk.type_over("<alias>", "<alias></");
    let at = desk.at("<alias></", 9);
    let edits = desk.ask(
        "textDocument/onTypeFormatting",
        &at,
        json!({"ch": "/", "options": options}),
    );
    assert_eq!(edits[0]["newText"], "alias>");
    let at = desk.at("<lamps>", 7);
    let edits = desk.ask(
        "textDocument/onTypeFormatting",
        &at,
        json!({"ch": ">", "options": options}),
    );
    assert_eq!(edits, Value::Null, "it is closed");
    desk.finish();
}

#[test]
fn an_element_is_proposed_as_a_snippet_or_plainly() {
    for (capabilities, format, text) in [
        (
            all_capabilities(),
            json!(2),
            r#"alias name="${1}" path="${2}"/>$0"#,
        ),
        (
            without(&[
                "textDocument",
                "completion",
                "completionItem",
                "snippetSupport",
            ]),
            Value::Null,
            r#"alias name="" path=""/>"#,
        ),
    ] {
        let mut desk = Desk::with("ternholt/machines/bram-6.machine.xml", &capabilities);
        desk.type_over("<aliases>", "<aliases>\n    <");
        let at = desk.at("<aliases>\n    <", 15);
        let found = desk.ask("textDocument/completion", &at, json!({}));
        assert_eq!(found["isIncomplete"], false);
        let item = &found["items"][0];
        assert_eq!(
            (&item["label"], &item["insertTextFormat"]),
            (&json!("alias"), &format)
        );
        assert_eq!(item["textEdit"]["newText"], text);
        assert!(
            item["documentation"]["value"]
                .as_str()
                .unwrap()
                .contains("friendly name"),
            "{item}"
        );
        desk.finish();
    }
}

#[test]
fn a_name_is_replaced_or_inserted_and_explained_later() {
    let mut desk = Desk::bram();
    let at = desk.at("target=\"leg.left\"", 12);
    let found = desk.ask("textDocument/completion", &at, json!({}));
    let item = list(&found["items"])
        .iter()
        .find(|item| item["label"] == "mast")
        .unwrap()
        .clone();
    assert_eq!(desk.slice(&item["textEdit"]["insert"]), "leg.");
    assert_eq!(desk.slice(&item["textEdit"]["replace"]), "leg.left");
    assert_eq!(item["labelDetails"]["description"], "alias");
    assert!(item.get("documentation").is_none(), "{item}");
    let resolved = desk.client.request("completionItem/resolve", item).unwrap();
    let text = resolved["documentation"]["value"].as_str().unwrap();
    assert!(text.contains("Index path: `0/1`"), "{text}");
    desk.finish();
}

#[test]
fn a_client_that_cannot_resolve_or_choose_gets_all_at_once() {
    let mut capabilities = all_capabilities();
    capabilities["textDocument"]["completion"] = json!({});
    let mut desk = Desk::with("ternholt/machines/bram-6.machine.xml", &capabilities);
    let at = desk.at("target=\"leg.left\"", 12);
    let found = desk.ask("textDocument/completion", &at, json!({}));
    let item = list(&found["items"])
        .iter()
        .find(|item| item["label"] == "mast")
        .unwrap();
    assert_eq!(desk.slice(&item["textEdit"]["range"]), "leg.left");
    assert_eq!(item["detail"], "alias");
    assert_eq!(item["documentation"]["kind"], "plaintext");
    assert!(
        item.get("data").is_none() && item.get("labelDetails").is_none(),
        "{item}"
    );
    desk.finish();
}

#[test]
fn a_blank_in_content_asks_for_nothing() {
    let mut desk = Desk::bram();
    let context = |trigger: Value| json!({"context": trigger});
    let at = desk.at("<aliases>", 9);
    let by_blank = context(json!({"triggerKind": 2, "triggerCharacter": " "}));
    assert_eq!(
        desk.ask("textDocument/completion", &at, by_blank),
        Value::Null
    );
    let by_hand = context(json!({"triggerKind": 1}));
    assert!(!list(&desk.ask("textDocument/completion", &at, by_hand)["items"]).is_empty());
    desk.finish();
}

#[test]
fn the_most_useful_proposal_comes_first_in_every_client() {
    let mut desk = Desk::bram();
    let at = desk.at("input=\"button.raise\"", 7);
    let found = desk.ask("textDocument/completion", &at, json!({}));
    let mut items = list(&found["items"]).to_vec();
    items.sort_by_key(|item| item["sortText"].as_str().unwrap().to_owned());
    assert_eq!(
        items,
        list(&found["items"]),
        "the order is the one of the sort texts"
    );
    let label = |item: &Value| item["label"].as_str().unwrap().to_owned();
    assert_eq!(
        items.last().map(label).as_deref(),
        Some("button.beacon"),
        "the taken one comes last"
    );
    desk.finish();
}

#[test]
fn a_dialect_beside_the_document_has_the_same_features() {
    let mut desk = Desk::with("dialects/yard/rigs/dorrik-9.rig.xml", &all_capabilities());
    let at = desk.at("<spot>forks</spot>", 8);
    let hover = desk.ask("textDocument/hover", &at, json!({}));
    let text = hover["contents"]["value"].as_str().unwrap();
    assert!(
        text.contains("**handle** `forks`") && text.contains("`#1:1.1.1`"),
        "{text}"
    );
    let links = desk.ask("textDocument/definition", &at, json!({}));
    assert_eq!(desk.slice(&links[0]["targetSelectionRange"]), "forks");
    assert!(desk.slice(&links[0]["targetRange"]).starts_with("<handle>"));
    let node = desk.ask("textDocument/implementation", &at, json!({}));
    assert!(
        in_file(&node[0]["uri"], &node[0]["range"]).starts_with('<'),
        "{node}"
    );
    let at = desk.at("<follows>3, 4</follows>", 13);
    let found = desk.ask("textDocument/completion", &at, json!({}));
    assert_eq!(
        names(&found["items"], "label"),
        ["1", "2", "4"],
        "3 is in the list"
    );
    let edit = desk.ask(
        "textDocument/rename",
        &desk.at("<call>lift</call>", 8),
        json!({"newName": "raise"}),
    );
    assert_eq!(list(&edit["documentChanges"][0]["edits"]).len(), 2);
    desk.finish();
}

#[test]
fn questions_about_nothing_are_answered_with_reasons() {
    let mut desk = Desk::bram();
    let past_the_end = json!({"line": 10_000, "character": 0});
    assert!(
        desk.try_ask("textDocument/hover", &past_the_end, json!({}))
            .is_err()
    );
    desk.uri = "file:///nowhere.xml".to_owned();
    let refusal = desk
        .try_ask(
            "textDocument/hover",
            &json!({"line": 0, "character": 0}),
            json!({}),
        )
        .unwrap_err();
    assert!(refusal.contains("not open"), "{refusal}");
    desk.finish();
}
