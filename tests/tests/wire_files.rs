//! Files that a client creates, renames and deletes, in a copy of the demo.

use std::collections::BTreeMap;
use std::fs;
use std::path::PathBuf;

use acceptance::client::{Client, all_capabilities};
use acceptance::desk::{corpus, list, offset, without};
use acceptance::yard::Yard;
use serde_json::{Value, json};

/// A copy of the demo mod, in a folder whose name has a blank in it.
struct Quay(Yard);

impl Quay {
    fn new() -> Self {
        let yard = Yard::empty();
        yard.copy(&corpus().join("ternholt"), "the quay");
        Self(yard)
    }

    fn at(&self, file: &str) -> PathBuf {
        self.0.join("the quay").join(file)
    }

    fn uri(&self, file: &str) -> String {
        self.0.uri(&format!("the quay/{file}"))
    }

    fn open(&self, client: &mut Client, file: &str) -> String {
        let text = fs::read_to_string(self.at(file)).unwrap();
        client.open(&self.uri(file), 1, &text);
        text
    }

    /// What stands in the place of what in which file, for files renamed below the mod.
    fn renamed(
        &self,
        client: &mut Client,
        renames: &[(&str, &str)],
    ) -> BTreeMap<String, Vec<String>> {
        let files: Vec<Value> = renames
            .iter()
            .map(|(from, to)| json!({"oldUri": self.uri(from), "newUri": self.uri(to)}))
            .collect();
        let edit = client.request("workspace/willRenameFiles", json!({"files": files}));
        let edit = edit.unwrap();
        let changes = list(&edit["documentChanges"]).iter().map(|change| {
            let uri = change["textDocument"]["uri"].as_str().unwrap();
            let file = uri.strip_prefix(&self.uri("")).unwrap().to_owned();
            let text = fs::read_to_string(self.at(&file)).unwrap();
            let edits = list(&change["edits"]).iter().map(|edit| {
                let range = &edit["range"];
                let before = &text[offset(&text, &range["start"])..offset(&text, &range["end"])];
                format!("{before} -> {}", edit["newText"].as_str().unwrap())
            });
            (file, edits.collect())
        });
        changes.collect()
    }
}

#[test]
fn a_renamed_sound_is_named_anew_in_all_machines_open_or_not() {
    let quay = Quay::new();
    let mut client = Client::with(&all_capabilities());
    quay.open(&mut client, "machines/bram-6.machine.xml");
    let edits = quay.renamed(
        &mut client,
        &[("machines/sounds/pump.ogg", "machines/sounds/pump two.ogg")],
    );
    let expected = [
        (
            "machines/bram-6.machine.xml",
            "sounds/pump.ogg -> sounds/pump two.ogg",
        ),
        (
            "machines/ostrel-12.machine.xml",
            "sounds/pump.ogg -> sounds/pump two.ogg",
        ),
        (
            "machines/quarl-30/quarl-30.machine.xml",
            "../sounds/pump.ogg -> ../sounds/pump two.ogg",
        ),
    ];
    let expected = expected.map(|(file, edit)| (file.to_owned(), vec![edit.to_owned()]));
    assert_eq!(edits, BTreeMap::from(expected));
    assert_eq!(client.finish(), 0);
}

#[test]
fn a_moved_machine_keeps_what_it_names_and_is_still_listed() {
    let quay = Quay::new();
    let mut client = Client::with(&all_capabilities());
    let edits = quay.renamed(&mut client, &[("machines/quarl-30", "quarl")]);
    assert_eq!(
        edits["mod.xml"],
        ["machines/quarl-30/quarl-30.machine.xml -> quarl/quarl-30.machine.xml"]
    );
    let machine = &edits["machines/quarl-30/quarl-30.machine.xml"];
    assert!(
        machine.contains(&"../sounds/pump.ogg -> ../machines/sounds/pump.ogg".to_owned()),
        "{machine:?}"
    );
    assert!(
        !machine.iter().any(|edit| edit.contains("glb")),
        "{machine:?}"
    );
    assert_eq!(edits.len(), 2);
    assert_eq!(client.finish(), 0);
}

#[test]
fn a_renamed_dialect_is_named_anew_in_the_settings() {
    let quay = Quay::new();
    let settings = "dialects = [\"own.dialect.toml\"]\n";
    fs::write(quay.at("trunnion.toml"), settings).unwrap();
    fs::write(quay.at("own.dialect.toml"), "").unwrap();
    let mut client = Client::with(&all_capabilities());
    let edits = quay.renamed(&mut client, &[("own.dialect.toml", "quay.dialect.toml")]);
    let expected = "\"own.dialect.toml\" -> \"quay.dialect.toml\"".to_owned();
    assert_eq!(
        edits,
        BTreeMap::from([("trunnion.toml".to_owned(), vec![expected])])
    );
    assert_eq!(client.finish(), 0);
}

#[test]
fn what_nobody_names_is_renamed_without_a_word() {
    let quay = Quay::new();
    let mut client = Client::with(&all_capabilities());
    assert_eq!(
        quay.renamed(&mut client, &[("notes.txt", "notes.md")]),
        BTreeMap::new()
    );
    let strange = json!({"files": [{"oldUri": "untitled:a", "newUri": "not a uri"}]});
    let answer = client.request("workspace/willRenameFiles", strange);
    assert_eq!(answer.unwrap(), Value::Null);
    assert_eq!(client.finish(), 0);
}

#[test]
fn documents_that_cannot_be_read_are_told_when_a_file_gets_another_name() {
    let quay = Quay::new();
    let mut client = Client::with(&all_capabilities());
    let broken = b"<machine xmlns='urn:trunnion:machine:1'>\xE9</machine>";
    fs::write(quay.at("machines/old.machine.xml"), broken).unwrap();
    let moved = [("machines/sounds/pump.ogg", "machines/sounds/pump two.ogg")];
    assert_eq!(quay.renamed(&mut client, &moved).len(), 3);
    let told = client.wait_for_notification("window/showMessage");
    let message = told["message"].as_str().unwrap();
    assert!(message.contains("machines/old.machine.xml: "), "{message}");
    assert_eq!(client.finish(), 0);
}

#[test]
fn a_deleted_file_is_missed_and_a_created_one_is_found() {
    let quay = Quay::new();
    let mut client = Client::with(&all_capabilities());
    let (machine, sound) = ("machines/bram-6.machine.xml", "machines/sounds/pump.ogg");
    quay.open(&mut client, machine);
    let missing = |client: &mut Client| {
        let found = client.pulled_diagnostics(&quay.uri(machine)).unwrap();
        found.iter().any(|one| one["code"] == "file-missing")
    };
    assert!(!missing(&mut client));
    let bytes = fs::read(quay.at(sound)).unwrap();
    let files = json!({"files": [{"uri": quay.uri(sound)}]});
    fs::remove_file(quay.at(sound)).unwrap();
    client.notify("workspace/didDeleteFiles", files.clone());
    assert!(missing(&mut client));
    fs::write(quay.at(sound), bytes).unwrap();
    client.notify("workspace/didCreateFiles", files);
    assert!(!missing(&mut client));
    assert_eq!(client.finish(), 0);
}

#[test]
fn two_mods_open_at_once_keep_to_themselves() {
    let (one, other) = (Quay::new(), Quay::new());
    let mut client = Client::with(&all_capabilities());
    one.open(&mut client, "machines/bram-6.machine.xml");
    other.open(&mut client, "machines/bram-6.machine.xml");
    let (from, to) = ("machines/sounds/pump.ogg", "machines/sounds/hum.ogg");
    assert_eq!(one.renamed(&mut client, &[(from, to)]).len(), 3);
    fs::remove_file(other.at(from)).unwrap();
    client.notify(
        "workspace/didDeleteFiles",
        json!({"files": [{"uri": other.uri(from)}]}),
    );
    let mut count = |quay: &Quay| {
        let uri = quay.uri("machines/bram-6.machine.xml");
        let found = client.pulled_diagnostics(&uri).unwrap();
        found
            .iter()
            .filter(|one| one["code"] == "file-missing")
            .count()
    };
    assert_eq!((count(&one), count(&other)), (0, 1));
    assert_eq!(client.finish(), 0);
}

#[test]
fn a_client_that_tells_nothing_of_files_is_offered_nothing() {
    let mut client = Client::start();
    let server = client.initialize(&without(&["workspace", "fileOperations"]));
    assert_eq!(server["workspace"]["fileOperations"], Value::Null);
    assert_eq!(client.finish(), 0);

    let mut client = Client::start();
    let server = client.initialize(&without(&["workspace"]));
    assert_eq!(server["workspace"], Value::Null);
    assert_eq!(client.finish(), 0);
}

#[test]
fn settings_hold_as_soon_as_they_are_saved_and_unknown_ones_are_told() {
    let quay = Quay::new();
    let mut client = Client::with(&all_capabilities());
    let machine = "machines/bram-6.machine.xml";
    quay.open(&mut client, machine);
    let document = json!({"textDocument": {"uri": quay.uri(machine)}});
    let lenses = |client: &mut Client| {
        let lenses = client
            .request("textDocument/codeLens", document.clone())
            .unwrap();
        list(&lenses).len()
    };
    assert!(lenses(&mut client) > 0);
    let save = |client: &mut Client, text: &str| {
        fs::write(quay.at("trunnion.toml"), text).unwrap();
        let change = json!({"uri": quay.uri("trunnion.toml"), "type": 1});
        client.notify(
            "workspace/didChangeWatchedFiles",
            json!({"changes": [change]}),
        );
    };
    save(&mut client, "code-lenses = false\ncode-lens = 3\n");
    assert_eq!(lenses(&mut client), 0);
    let found = client.pulled_diagnostics(&quay.uri(machine)).unwrap();
    let told: Vec<&str> = found
        .iter()
        .filter_map(|one| one["message"].as_str())
        .collect();
    assert!(
        told.iter()
            .any(|message| message.contains("There is no setting `code-lens`")),
        "{told:?}"
    );
    save(&mut client, "");
    assert!(lenses(&mut client) > 0);
    assert_eq!(client.finish(), 0);
}

#[test]
fn a_document_that_is_not_saved_yet_has_its_features() {
    let mut client = Client::with(&all_capabilities());
    let uri = "untitled:Untitled-1";
    let text = "<machine xmlns=\"urn:trunnion:machine:1\" id=\"a\" scene=\"a.gltf\">\n<aliases>\n\
                <alias name=\"mast\" path=\"0/1\"/>\n</aliases>\n<lamps>\n<lamp id=\"top\" node=\"mast\" kind=\"work\"/>\n\
                <lamp id=\"low\" node=\"mats\" kind=\"work\"/>\n</lamps>\n</machine>\n";
    client.open(uri, 1, text);
    let found = client.pulled_diagnostics(uri).unwrap();
    let codes: Vec<&str> = found
        .iter()
        .filter_map(|one| one["code"].as_str())
        .collect();
    assert_eq!(codes, ["unknown-name"], "{found:?}");
    let at = json!({"textDocument": {"uri": uri}, "position": {"line": 5, "character": 22}});
    let place = client
        .request("textDocument/definition", at.clone())
        .unwrap();
    assert_eq!(place[0]["targetUri"], uri);
    let mut renaming = at;
    renaming["newName"] = json!("boom");
    let edit = client.request("textDocument/rename", renaming).unwrap();
    assert_eq!(edit["documentChanges"][0]["textDocument"]["uri"], uri);
    assert_eq!(list(&edit["documentChanges"][0]["edits"]).len(), 2);
    let document = json!({"textDocument": {"uri": uri}});
    let colours = client.request("textDocument/semanticTokens/full", document);
    assert!(!list(&colours.unwrap()["data"]).is_empty());
    let names = client.request("workspace/symbol", json!({"query": "mast"}));
    assert_eq!(list(&names.unwrap()).len(), 1);
    assert_eq!(client.finish(), 0);
}

#[test]
fn paths_that_a_new_export_left_behind_say_where_their_nodes_are_until_they_are_repaired() {
    let quay = Quay::new();
    let mut client = Client::with(&all_capabilities());
    let (machine, scene) = ("machines/bram-6.machine.xml", "machines/bram-6.gltf");
    let text = quay.open(&mut client, machine);
    let uri = quay.uri(machine);
    let stale = |client: &mut Client| -> Vec<Value> {
        let found = client.pulled_diagnostics(&uri).unwrap();
        found
            .into_iter()
            .filter(|one| {
                let message = one["message"].as_str().unwrap_or_default();
                message.contains("Before the scene changed, it led to")
            })
            .collect()
    };
    assert_eq!(stale(&mut client), [json!(null); 0]);
    // Whatever hangs on the root hangs there in another order.
    let mut gltf: Value = serde_json::from_slice(&fs::read(quay.at(scene)).unwrap()).unwrap();
    let root = gltf["scenes"][0]["nodes"][0].as_u64().unwrap() as usize;
    gltf["nodes"][root]["children"]
        .as_array_mut()
        .unwrap()
        .reverse();
    fs::write(quay.at(scene), gltf.to_string()).unwrap();
    let change = json!({"uri": quay.uri(scene), "type": 2});
    client.notify(
        "workspace/didChangeWatchedFiles",
        json!({"changes": [change]}),
    );
    let found = stale(&mut client);
    let wheel = found.iter().find(|one| {
        let line = one["range"]["start"]["line"].as_u64().unwrap() as usize;
        text.lines().nth(line).unwrap().contains("<wheel ")
    });
    let wheel = wheel.expect("a wheel's path is no alias's");
    let at = wheel["range"].clone();
    let asked =
        json!({"textDocument": {"uri": uri}, "range": at, "context": {"diagnostics": [wheel]}});
    let actions = client.request("textDocument/codeAction", asked).unwrap();
    let follow = list(&actions).iter().find(|one| {
        let title = one["title"].as_str().unwrap_or_default();
        title.contains("Follow all nodes from the scene as it was")
    });
    let resolved = client
        .request("codeAction/resolve", follow.unwrap().clone())
        .unwrap();
    let edits = list(&resolved["edit"]["documentChanges"][0]["edits"]).to_vec();
    assert!(edits.len() >= found.len());
    let changes: Vec<Value> = edits
        .iter()
        .rev()
        .map(|edit| json!({"range": edit["range"], "text": edit["newText"]}))
        .collect();
    client.change(&uri, 2, json!(changes));
    assert_eq!(stale(&mut client), [json!(null); 0]);
    assert_eq!(client.finish(), 0);
}

#[test]
fn a_byte_order_mark_counts_only_where_the_client_has_it() {
    let yard = Yard::empty();
    let machine =
        "<machine xmlns='urn:trunnion:machine:1' id='a' scene='a.gltf'><aliases/></machine>";
    let marked = format!("\u{feff}{machine}");
    let mod_xml = "<mod xmlns='urn:trunnion:mod:1' title='t' version='1' author='a'><machine file='a.machine.xml'/></mod>";
    for (name, text) in [
        ("mod.xml", mod_xml),
        ("a.machine.xml", &marked),
        ("a.gltf", r#"{"asset": {"version": "2.0"}}"#),
    ] {
        yard.write(name, text);
    }
    let scene = json!({"files": [{"oldUri": yard.uri("a.gltf"), "newUri": yard.uri("b.gltf")}]});
    for encoding in ["utf-8", "utf-16"] {
        let mut abilities = all_capabilities();
        abilities["general"]["positionEncodings"] = json!([encoding]);
        let mut client = Client::with(&abilities);
        let start = |client: &mut Client| {
            let edit = client.request("workspace/willRenameFiles", scene.clone());
            let edit = &edit.unwrap()["documentChanges"][0]["edits"][0];
            edit["range"]["start"]["character"].as_u64().unwrap()
        };
        let without = machine.find("a.gltf").unwrap() as u64;
        assert_eq!(start(&mut client), without, "{encoding}, closed");
        client.open(&yard.uri("mod.xml"), 1, mod_xml);
        let found = client.request("workspace/symbol", json!({"query": "a"}));
        let found = found.unwrap();
        let of_machine = |symbol: &&Value| symbol["location"]["uri"] == yard.uri("a.machine.xml");
        let first = list(&found).iter().find(of_machine).unwrap();
        let place = &first["location"]["range"]["start"]["character"];
        assert_eq!(place, 0, "{encoding}, found in a closed file");
        client.open(&yard.uri("a.machine.xml"), 1, machine);
        assert_eq!(start(&mut client), without, "{encoding}, opened without it");
        client.close(&yard.uri("a.machine.xml"));
        client.open(&yard.uri("a.machine.xml"), 1, &marked);
        let mark = if encoding == "utf-8" { 3 } else { 1 };
        assert_eq!(
            start(&mut client),
            without + mark,
            "{encoding}, opened with it"
        );
        client.finish();
    }
}

#[test]
fn names_are_found_in_the_folders_that_the_client_works_in() {
    let quay = Quay::new();
    quay.0.copy(&corpus().join("ternholt"), "other");
    let mut client = Client::spawn(&mut quay.0.command(&["serve"]));
    let told = client.initialize_as(json!({
        "processId": null, "rootUri": quay.0.uri("other"), "capabilities": all_capabilities(),
        "workspaceFolders": [{"uri": quay.uri("machines"), "name": "quay"}],
    }));
    assert_eq!(told["workspace"]["workspaceFolders"]["supported"], true);
    let found = |client: &mut Client| {
        let names = client.request("workspace/symbol", json!({"query": "hooks.close"}));
        let names = names.unwrap();
        let uris = list(&names)
            .iter()
            .map(|one| one["location"]["uri"].to_string());
        let mut uris: Vec<String> = uris.collect();
        uris.sort();
        uris.dedup();
        uris
    };
    let bram = |folder: &str| {
        format!(
            "{:?}",
            quay.0.uri(&format!("{folder}/machines/bram-6.machine.xml"))
        )
    };
    assert_eq!(found(&mut client), [bram("the quay")]);
    let folder = |file: &str| json!([{"uri": quay.0.uri(file), "name": "it"}]);
    let event = json!({"added": folder("other"), "removed": []});
    let method = "workspace/didChangeWorkspaceFolders";
    client.notify(method, json!({"event": event}));
    assert_eq!(found(&mut client), [bram("other"), bram("the quay")]);
    // Once, though the mod's folder is around the client's.
    quay.open(&mut client, "machines/ostrel-12.machine.xml");
    assert_eq!(found(&mut client), [bram("other"), bram("the quay")]);
    let event = json!({"added": [], "removed": folder("other")});
    client.notify(method, json!({"event": event}));
    assert_eq!(found(&mut client), [bram("the quay")]);
    assert_eq!(client.finish(), 0);

    let mut client = Client::spawn(&mut quay.0.command(&["serve"]));
    let root = quay.0.uri("other");
    client.initialize_as(json!({"processId": null, "rootUri": root, "capabilities": {}}));
    assert_eq!(found(&mut client), [bram("other")]);
    assert_eq!(client.finish(), 0);
}

#[test]
fn a_file_of_settings_is_not_read_as_xml() {
    let quay = Quay::new();
    let settings = "library = [\"none\"]\n";
    fs::write(quay.at("trunnion.toml"), settings).unwrap();
    let mut client = Client::with(&all_capabilities());
    let found = |client: &mut Client, file: &str, text: &str| {
        client.open(&quay.uri(file), 1, text);
        let found = client.pulled_diagnostics(&quay.uri(file)).unwrap();
        let told = found.iter().map(|one| {
            let start = &one["range"]["start"];
            format!(
                "{} {} {}",
                one["code"].as_str().unwrap(),
                start["line"],
                start["character"]
            )
        });
        told.collect::<Vec<_>>().join(", ")
    };
    let own = found(&mut client, "trunnion.toml", settings);
    assert_eq!(own, "config-problem 0 11");
    // It is told as it was saved, where there is still something to point at.
    assert_eq!(found(&mut client, "trunnion.toml", ""), "");
    let other = found(&mut client, "other.dialect.toml", "a = [\n");
    assert_eq!(other, "config-problem 0 0");
    assert!(found(&mut client, "notes.xml", "a = 1").contains("extra-text"));
    assert_eq!(client.finish(), 0);
}
