//! Proposals over the real wire, on the demo, for clients of different abilities.

use acceptance::client::all_capabilities;
use acceptance::desk::{BRAM, Desk, list, without};
use serde_json::{Value, json};

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
        let mut desk = Desk::with(BRAM, &capabilities);
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
    let mut desk = Desk::with(BRAM, &capabilities);
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
fn what_is_inserted_is_the_beginning_of_what_is_replaced() {
    let mut desk = Desk::bram();
    // Behind the end of the line, and so between CR and LF.
    desk.type_over("<aliases>", "<aliases>\r\n    <al\r\n");
    let mut at = desk.at("    <al\r", 7);
    at["character"] = json!(at["character"].as_u64().unwrap() + 1);
    let found = desk.ask("textDocument/completion", &at, json!({}));
    let edits = list(&found["items"]).iter().map(|item| &item["textEdit"]);
    let edits: Vec<&Value> = edits.collect();
    assert!(!edits.is_empty());
    for edit in edits {
        let end = &edit.get("replace").unwrap_or(&edit["range"])["end"];
        assert_eq!(
            edit.get("insert").map_or(end, |insert| &insert["end"]),
            end,
            "{edit}"
        );
    }
    desk.finish();
}
