//! Which files are ours, for a client that has them open as something else.

use acceptance::client::{Client, all_capabilities};
use acceptance::desk::corpus;
use serde_json::{Value, json};

fn kind(client: &mut Client, file: &str, beginning: &str) -> Value {
    let uri = format!("file://{}", corpus().join(file).display());
    let argument = json!({"uri": uri, "beginning": beginning});
    let params = json!({"command": "trunnion.recognise", "arguments": [argument]});
    client.request("workspace/executeCommand", params).unwrap()
}

#[test]
fn files_are_known_by_the_dialects_beside_them() {
    let mut client = Client::with(&all_capabilities());
    for (file, beginning, known) in [
        ("ternholt/machines/new.machine.xml", "", json!("machine")),
        ("ternholt/mod.xml", "<mod", json!("mod")),
        (
            "ternholt/odd.xml",
            "<machine xmlns=\"urn:trunnion:machine:1\"><al",
            json!("machine"),
        ),
        ("ternholt/page.xml", "<page/>", Value::Null),
        ("ternholt/page.xml", "no XML <<", Value::Null),
        ("dialects/yard/rigs/new.rig.xml", "<?xml ", json!("rig")),
        ("dialects/yard/load.xml", "<load>", json!("load")),
        ("dialects/yard/page.xml", "<page/>", Value::Null),
        // The yard's dialect is nobody's but the yard's.
        ("ternholt/new.rig.xml", "", Value::Null),
        ("dialects/slip/cards/new.card", "", json!("card")),
    ] {
        assert_eq!(kind(&mut client, file, beginning), known, "{file}");
    }
    let odd = json!({"command": "trunnion.recognise", "arguments": [{"uri": "untitled:one"}]});
    assert!(client.request("workspace/executeCommand", odd).is_err());
    let untitled =
        json!([{"uri": "untitled:one", "beginning": "<machine xmlns='urn:trunnion:machine:1'>"}]);
    let params = json!({"command": "trunnion.recognise", "arguments": untitled});
    let answer = client.request("workspace/executeCommand", params);
    assert_eq!(answer.unwrap(), json!("machine"));
    assert_eq!(client.finish(), 0);
}
