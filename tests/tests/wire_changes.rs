//! What changed since the original, asked for over the wire.

use std::fs;

use acceptance::client::{Client, all_capabilities};
use acceptance::desk::{corpus, list};
use acceptance::yard::Yard;
use serde_json::{Value, json};

const OLD: &str = "<machine xmlns=\"urn:trunnion:machine:1\" id=\"a\" scene=\"a.gltf\">\n<aliases>\n\
                   <alias name=\"mast\" path=\"0/1\"/>\n</aliases>\n</machine>\n";

/// A folder with an original in it.
fn quay() -> Yard {
    Yard::with(&[("old.machine.xml", OLD)])
}

fn ask(client: &mut Client, argument: Value) -> Result<Value, String> {
    let params = json!({"command": "trunnion.changes", "arguments": [argument]});
    let answer = client.request("workspace/executeCommand", params);
    answer.map_err(|error| error.message)
}

#[test]
fn an_open_document_is_compared_as_the_editor_has_it() {
    let quay = quay();
    let mut client = Client::with(&all_capabilities());
    let (uri, original) = (quay.uri("new.machine.xml"), quay.join("old.machine.xml"));
    client.open(&uri, 1, &OLD.replace("path=\"0/1\"", "path=\"0/2\""));
    let answer = ask(&mut client, json!({"uri": uri, "original": original})).unwrap();
    let changes = list(&answer["changes"]);
    assert_eq!(changes.len(), 1, "{answer}");
    let message = changes[0]["message"].as_str().unwrap();
    assert!(
        message.contains("0/1") && message.contains("0/2"),
        "{message}"
    );
    assert_eq!(
        (&changes[0]["oldLine"], &changes[0]["newLine"]),
        (&json!(3), &json!(3))
    );
    let shown = client.wait_for_notification("window/showMessage");
    assert!(
        shown["message"].as_str().unwrap().contains(message),
        "{shown}"
    );

    client.change(&uri, 2, json!([{"text": OLD}]));
    let answer = ask(&mut client, json!({"uri": uri, "original": original})).unwrap();
    assert_eq!(answer["changes"], json!([]));
    assert_eq!(client.finish(), 0);
}

/// Editors keep it to themselves, and write it again.
#[test]
fn a_byte_order_mark_of_the_original_is_no_change() {
    let quay = quay();
    let utf_16 = format!("\u{feff}{OLD}");
    let utf_16: Vec<u8> = utf_16.encode_utf16().flat_map(u16::to_le_bytes).collect();
    quay.write("old.machine.xml", format!("\u{feff}{OLD}"));
    quay.write("wide.machine.xml", utf_16);
    let mut client = Client::with(&all_capabilities());
    let uri = quay.uri("new.machine.xml");
    client.open(&uri, 1, OLD);
    for original in ["old.machine.xml", "wide.machine.xml"] {
        let asked = json!({"uri": uri, "original": quay.join(original)});
        let answer = ask(&mut client, asked).unwrap();
        assert_eq!(answer["changes"], json!([]), "{original}");
    }
    assert_eq!(client.finish(), 0);
}

#[test]
fn the_demo_is_compared_with_the_archive_beside_it() {
    let quay = quay();
    let demo = corpus().join("ternholt");
    quay.ends_with(0, &["pack", demo.to_str().unwrap(), "-o", "ternholt.zip"]);
    fs::create_dir_all(quay.join("ternholt/machines")).unwrap();
    quay.copy(&demo.join("mod.xml"), "ternholt/mod.xml");
    let text = fs::read_to_string(corpus().join("ternholt/machines/bram-6.machine.xml")).unwrap();
    let uri = quay.uri("ternholt/machines/bram-6.machine.xml");
    let mut client = Client::with(&all_capabilities());
    client.open(&uri, 1, &text.replace("radius=\"0.62\"", "radius=\"0.6\""));
    let answer = ask(&mut client, json!({"uri": uri})).unwrap();
    assert_eq!(
        list(&answer["changes"]).len(),
        text.matches("radius=\"0.62\"").count()
    );
    assert_eq!(client.finish(), 0);
}

/// It lies where no editor watches.
#[test]
fn an_archive_that_was_made_meanwhile_is_found() {
    let yard = Yard::with_demo();
    let machine = "quay/machines/bram-6.machine.xml";
    let uri = yard.uri(machine);
    let mut client = Client::with(&all_capabilities());
    client.open(&uri, 1, &yard.text(machine));
    let refused = ask(&mut client, json!({"uri": uri})).unwrap_err();
    assert!(refused.contains("no original"), "{refused}");
    yard.ends_with(0, &["pack", "quay"]);
    let answer = ask(&mut client, json!({"uri": uri})).unwrap();
    assert_eq!(answer["changes"], json!([]));
    assert_eq!(client.finish(), 0);
}

#[test]
fn what_cannot_be_compared_is_refused_with_the_reason() {
    let quay = quay();
    let mut client = Client::with(&all_capabilities());
    let uri = quay.uri("new.machine.xml");
    client.open(&uri, 1, "<machine>");
    let (original, latin) = (quay.join("old.machine.xml"), quay.join("latin.xml"));
    quay.write("latin.xml", b"<a>\xF6</a>");
    for (argument, reason) in [
        (json!({"uri": uri}), "no original"),
        (json!({"uri": uri, "original": original}), "not well-formed"),
        (
            json!({"uri": uri, "original": quay.join("gone.xml")}),
            "cannot be read",
        ),
        (json!({"uri": uri, "original": latin}), "in your editor."),
        (json!({"uri": quay.uri("closed.xml")}), "not open"),
        (json!({"uri": uri, "colour": 1}), "trunnion.changes"),
    ] {
        let refused = ask(&mut client, argument).unwrap_err();
        assert!(refused.contains(reason), "{reason}: {refused}");
        assert!(!refused.ends_with(".."), "{refused}");
    }
    assert_eq!(client.finish(), 0);
}
