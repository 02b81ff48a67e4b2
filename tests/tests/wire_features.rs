//! Each editor feature once over the real wire, on the demo, for clients of different abilities.

use acceptance::client::{Client, all_capabilities};
use acceptance::desk::{BRAM, Desk, in_file, list, names, without};
use serde_json::{Value, json};

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
        let mut desk = Desk::with(BRAM, &capabilities);
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
fn a_node_of_a_scene_that_is_no_text_leads_to_the_file() {
    let machine = "ternholt/machines/quarl-30/quarl-30.machine.xml";
    let mut desk = Desk::with(machine, &all_capabilities());
    let at = desk.at("node=\"0/3/0/0\"", 7);
    let links = desk.ask("textDocument/definition", &at, json!({}));
    let [link] = list(&links) else {
        panic!("one link: {links}")
    };
    let uri = link["targetUri"].as_str().unwrap();
    assert!(uri.ends_with("/quarl-30.glb"), "{uri}");
    let start = json!({"line": 0, "character": 0});
    assert_eq!(link["targetRange"], json!({"start": start, "end": start}));
    desk.finish();
}

#[test]
fn a_client_without_links_gets_places() {
    let mut desk = Desk::with(
        BRAM,
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
        BRAM,
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
        BRAM,
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
fn names_are_found_in_open_documents_and_beside_them() {
    let mut desk = Desk::bram();
    // As the editor has it, not as it is saved.
    desk.type_over("name=\"hook.left\"", "name=\"hook.front.left\"");
    let found = desk
        .client
        .request("workspace/symbol", json!({"query": "FRONTleft"}))
        .unwrap();
    let found = list(&found).iter().map(|it| {
        let uri = it["location"]["uri"].as_str().unwrap();
        (
            it["name"].as_str().unwrap(),
            uri.rsplit('/').next().unwrap(),
        )
    });
    let found: Vec<_> = found.collect();
    let (bram, vennet) = ("bram-6.machine.xml", "vennet-24.machine.xml");
    for place in [
        ("hook.front.left", bram),
        ("front.left", bram),
        ("stanchion.front.left", vennet),
        ("front.left", vennet),
    ] {
        assert!(found.contains(&place), "{place:?} in {found:?}");
    }
    let found = desk.client.request(
        "workspace/symbol",
        json!({"query": "no such thing anywhere"}),
    );
    assert_eq!(found.unwrap(), json!([]));
    desk.finish();
}

#[test]
fn folds_with_columns_and_by_whole_lines() {
    let mut whole_lines = all_capabilities();
    whole_lines["textDocument"]["foldingRange"] = json!({"lineFoldingOnly": true});
    for (capabilities, has_columns) in [(all_capabilities(), true), (whole_lines, false)] {
        let mut desk = Desk::with(BRAM, &capabilities);
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

/// From the first line of the document to its last.
fn everything(desk: &Desk) -> Value {
    let end = acceptance::desk::position(&desk.text, desk.text.len());
    json!({"range": {"start": {"line": 0, "character": 0}, "end": end}})
}

#[test]
fn hints_tell_travels_times_and_track_widths() {
    let mut desk = Desk::bram();
    let range = everything(&desk);
    let hints = desk.ask_all("textDocument/inlayHint", range);
    let labels = names(&hints, "label");
    for label in [
        "leg.left",
        "1.8 m, 0.3 m/s",
        "45 deg, 30 deg/s",
        "6 s, track 2.6 m to 3.24 m",
        "1.875 s",
    ] {
        assert!(labels.contains(&label), "{label}: {labels:?}");
    }
    let first = &list(&hints)[0];
    let at = json!({"start": first["position"], "end": first["position"]});
    let line = first["position"]["line"].as_u64().unwrap() as usize;
    assert_eq!(desk.slice(&at), "");
    assert!(
        desk.text
            .lines()
            .nth(line)
            .unwrap()
            .contains("path=\"0/0/0\"")
    );
    desk.finish();
}

#[test]
fn hints_follow_unsaved_edits() {
    let mut desk = Desk::bram();
    desk.type_over("to=\"0 2.9 0\"", "to=\"0 4.1 0\"");
    let range = everything(&desk);
    let hints = desk.ask_all("textDocument/inlayHint", range);
    assert!(names(&hints, "label").contains(&"3 m, 0.5 m/s"), "{hints}");
    desk.finish();
}

#[test]
fn lenses_count_uses_and_lead_to_them() {
    let mut desk = Desk::bram();
    let lenses = desk.ask_all("textDocument/codeLens", json!({}));
    let told = |name: &str| -> Vec<&str> {
        let here = list(&lenses)
            .iter()
            .filter(|lens| desk.slice(&lens["range"]) == name);
        here.map(|lens| lens["command"]["title"].as_str().unwrap())
            .collect()
    };
    assert_eq!(told("leg.left"), ["used once"]);
    assert_eq!(told("mast.raise"), ["used once", "play", "play"]);
    let play = list(&lenses)
        .iter()
        .find(|lens| lens["command"]["title"] == "play")
        .unwrap();
    assert_eq!(play["command"]["command"], "trunnion.preview");
    assert_eq!(
        play["command"]["arguments"],
        json!([{"uri": desk.uri, "animation": "mast.raise"}])
    );
    let uses = list(&lenses)
        .iter()
        .find(|lens| desk.slice(&lens["range"]) == "leg.left")
        .unwrap();
    let command = uses["command"].clone();
    desk.client
        .request(
            "workspace/executeCommand",
            json!({"command": command["command"], "arguments": command["arguments"]}),
        )
        .unwrap();
    let shown = desk.client.wait_for_notification("window/showMessage");
    let message = shown["message"].as_str().unwrap();
    assert!(
        message.starts_with("This name is used once.\n") && message.contains("bram-6.machine.xml:"),
        "{message}"
    );
    desk.finish();
}

#[test]
fn of_many_uses_the_first_are_offered_with_their_lines_whatever_ends_these() {
    let mut abilities = all_capabilities();
    abilities["window"] = json!({"showDocument": {"support": true}, "showMessage": {}});
    let mut client = Client::with(&abilities);
    for (count, told) in [(20, "20 times."), (21, "21 times; these are the first 20.")] {
        let uses = "\r<body node='a' mass='1'/>".repeat(count);
        let text = format!(
            "<machine xmlns='urn:trunnion:machine:1' id='m' scene='m.gltf'>\r<aliases><alias name='a' path='0'/></aliases><bodies>{uses}</bodies></machine>"
        );
        let uri = format!("file:///quay/{count}.machine.xml");
        client.open(&uri, 1, &text);
        let document = json!({"textDocument": {"uri": uri}});
        let lenses = client.request("textDocument/codeLens", document).unwrap();
        let is_it = |lens: &&Value| lens["command"]["title"] == format!("used {count} times");
        let lens = &list(&lenses).iter().find(is_it).unwrap()["command"];
        let command = json!({"command": lens["command"], "arguments": lens["arguments"]});
        client.request("workspace/executeCommand", command).unwrap();
        let asked = client.wait_for_notification("window/showMessageRequest");
        assert_eq!(asked["message"], format!("This name is used {told}"));
        let offered = names(&asked["actions"], "title");
        assert_eq!(offered.len(), 20);
        let last = format!("{count}.machine.xml:22: <body node='a' mass='1'/>");
        assert_eq!(
            offered[19],
            format!(
                "{last}{}",
                if count == 20 {
                    "</bodies></machine>"
                } else {
                    ""
                }
            )
        );
    }
    client.finish();
}

#[test]
fn a_client_that_shows_no_lenses_gets_none() {
    let mut desk = Desk::with(BRAM, &without(&["textDocument", "codeLens"]));
    let lenses = desk.ask_all("textDocument/codeLens", json!({}));
    assert_eq!(lenses, Value::Null);
    desk.finish();
}
