//! `trunnion.pack`: packing the mod of an open document.

use acceptance::client::{Client, all_capabilities};
use acceptance::yard::Yard;
use serde_json::{Value, json};

const MACHINE: &str = "quay/machines/bram-6.machine.xml";

fn pack(client: &mut Client, argument: Value) -> Result<Value, String> {
    let params = json!({"command": "trunnion.pack", "arguments": [argument]});
    let answer = client.request("workspace/executeCommand", params);
    answer.map_err(|error| error.message)
}

#[test]
fn the_mod_of_a_document_is_packed_once_all_is_saved() {
    let yard = Yard::with_demo();
    let uri = yard.uri(MACHINE);
    let text = String::from_utf8(yard.read(MACHINE)).unwrap();
    let mut client = Client::with(&all_capabilities());
    client.open(&uri, 1, &text);
    let packed = pack(&mut client, json!({"uri": uri})).unwrap();
    assert_eq!(packed["archive"], json!(yard.join("quay.zip")));
    assert_eq!(packed["files"], 13);
    let findings = packed["findings"].as_array().unwrap();
    assert!(
        findings
            .iter()
            .any(|one| one["code"] == "wheel-left-behind"),
        "{findings:?}"
    );
    let told = client.wait_for_notification("window/showMessage");
    assert!(
        told["message"]
            .as_str()
            .unwrap()
            .contains("Packed 13 files"),
        "{told}"
    );
    let archive = yard.read("quay.zip");

    // What the editor has otherwise is not packed, and it is said what that is.
    let typed = text.replace("Raise mast", "Lift mast");
    client.change(&uri, 2, json!([{"text": typed}]));
    let refused = pack(&mut client, json!({"uri": uri})).unwrap_err();
    assert!(
        refused.contains("not saved") && refused.contains("bram-6"),
        "{refused}"
    );
    assert_eq!(yard.read("quay.zip"), archive);
    yard.write(MACHINE, &typed);
    let manifest = yard.uri("quay/mod.xml");
    client.open(&manifest, 1, &yard.text("quay/mod.xml"));
    let is_out_of_step = |client: &mut Client| {
        let found = client.pulled_diagnostics(&manifest).unwrap();
        found
            .iter()
            .any(|one| one["code"] == "archive-shadows-folder")
    };
    assert!(is_out_of_step(&mut client));
    let packed = pack(&mut client, json!({"uri": uri})).unwrap();
    assert!(!is_out_of_step(&mut client), "where no editor watches");
    assert_eq!(packed["backup"], json!(yard.join("quay.zip.~1~")));
    assert_eq!(yard.read("quay.zip.~1~"), archive);
    assert_ne!(yard.read("quay.zip"), archive);

    // Errors stop it, unless it is asked for.
    let broken = text.replace("path=\"0/0/0\"", "path=\"0/0/99\"");
    assert_ne!(broken, text);
    client.change(&uri, 3, json!([{"text": broken}]));
    yard.write(MACHINE, &broken);
    let refused = pack(&mut client, json!({"uri": uri})).unwrap_err();
    assert!(refused.contains("errors"), "{refused}");
    let other = yard.join("other.zip");
    let asked = json!({"uri": uri, "archive": other, "despiteErrors": true});
    pack(&mut client, asked).unwrap();
    assert!(other.is_file());

    // So does what is named outside of the mod's folder.
    yard.write("pump.ogg", "OggS");
    let outside = text.replace("sounds/pump.ogg", "../../pump.ogg");
    assert_ne!(outside, text);
    client.change(&uri, 4, json!([{"text": outside}]));
    yard.write(MACHINE, &outside);
    let refused = pack(&mut client, json!({"uri": uri})).unwrap_err();
    assert!(
        refused.contains("`../../pump.ogg`, which lies outside"),
        "{refused}"
    );

    for wrong in [
        json!({}),
        json!({"uri": uri, "archiv": "x"}),
        json!({"uri": uri, "archive": "x.zip"}),
    ] {
        assert!(pack(&mut client, wrong.clone()).is_err(), "{wrong}");
    }
    assert_eq!(client.finish(), 0);
}

#[test]
fn in_a_workspace_that_is_not_trusted_packing_reads_no_dialect_elsewhere() {
    let yard = Yard::with_demo();
    yard.write("elsewhere.dialect.toml", "this is no dialect");
    yard.write(
        "quay/trunnion.toml",
        "dialects = [\"../elsewhere.dialect.toml\"]\n",
    );
    let uri = yard.uri(MACHINE);
    let text = String::from_utf8(yard.read(MACHINE)).unwrap();
    for is_trusted in [true, false] {
        let mut client = Client::start();
        client.initialize_with(&all_capabilities(), json!({"trusted": is_trusted}));
        client.open(&uri, 1, &text);
        let packed = pack(&mut client, json!({"uri": uri, "despiteErrors": true})).unwrap();
        let findings = packed["findings"].to_string();
        assert_eq!(
            findings.contains("dialect-problem"),
            is_trusted,
            "{findings}"
        );
        assert_eq!(client.finish(), 0);
    }
}
