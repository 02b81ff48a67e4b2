//! Colours of words and the help with attributes over the real wire.

use acceptance::client::{Client, all_capabilities};
use acceptance::desk::{BRAM, Desk, list, offset, without};
use acceptance::yard::Yard;
use serde_json::{Value, json};

/// The colour of a lamp is shown, and another one is written as the first was.
#[test]
fn colours_are_shown_and_chosen() {
    let dialect = "[dialect]\nname = \"pier\"\nformat = 1\n[[document]]\nname = \"pier\"\nroot = \"pier\"\n\
                   [element.pier.attributes]\nglow = \"colour\"\nat = \"vector\"\n";
    let yard = Yard::with(&[
        ("pier.dialect.toml", dialect),
        ("trunnion.toml", "dialects = [\"pier.dialect.toml\"]\n"),
        ("a.xml", "<pier at='1 0 0'\n glow='#FF0000'/>\n"),
    ]);
    let file = yard.join("a.xml");
    let mut desk = Desk::with(file.to_str().unwrap(), &all_capabilities());
    let found = desk.ask_all("textDocument/documentColor", json!({}));
    assert_eq!(list(&found).len(), 1, "{found}");
    assert_eq!(desk.slice(&found[0]["range"]), "#FF0000");
    let red = json!({"red": 1.0, "green": 0.0, "blue": 0.0, "alpha": 1.0});
    assert_eq!(found[0]["color"], red);
    let blue = json!({"red": 0.0, "green": 0.0, "blue": 1.0, "alpha": 0.5});
    let more = json!({"color": blue, "range": found[0]["range"]});
    let chosen = desk.ask_all("textDocument/colorPresentation", more);
    assert_eq!(chosen[0]["label"], "#0000FF80");
    assert_eq!(chosen[0]["textEdit"]["newText"], "#0000FF80");
    assert_eq!(chosen[0]["textEdit"]["range"], found[0]["range"]);
    desk.finish();
}

fn numbers(data: &Value) -> Vec<u64> {
    let numbers = list(data).iter();
    numbers.map(|number| number.as_u64().unwrap()).collect()
}

/// The words with their types and modifiers by name, as a client puts them together.
fn words(text: &str, data: &[u64], legend: &Value) -> Vec<String> {
    assert_eq!(data.len() % 5, 0);
    let (mut line, mut start) = (0, 0);
    let mut words = Vec::new();
    for word in data.chunks(5) {
        start = if word[0] == 0 {
            start + word[1]
        } else {
            word[1]
        };
        line += word[0];
        let from = offset(text, &json!({"line": line, "character": start}));
        let kind = &legend["tokenTypes"][usize::try_from(word[3]).unwrap()];
        let modifiers = list(&legend["tokenModifiers"]).iter().enumerate();
        let modifiers = modifiers.filter(|(bit, _)| word[4] >> bit & 1 == 1);
        let modifiers: String = modifiers
            .map(|(_, name)| format!(".{}", name.as_str().unwrap()))
            .collect();
        let end = from + usize::try_from(word[2]).unwrap();
        words.push(format!(
            "{}{modifiers} {}",
            kind.as_str().unwrap(),
            &text[from..end]
        ));
    }
    words
}

fn legend(capabilities: &Value) -> Value {
    let mut client = Client::start();
    let server = client.initialize(capabilities);
    assert_eq!(client.finish(), 0);
    server["semanticTokensProvider"]["legend"].clone()
}

#[test]
fn words_are_told_with_what_they_are() {
    let legend = legend(&all_capabilities());
    let mut desk = Desk::bram();
    desk.type_over("target=\"mast\"", "target=\"mats\"");
    let all = desk.ask_all("textDocument/semanticTokens/full", json!({}));
    let words = words(&desk.text, &numbers(&all["data"]), &legend);
    let has = |word: &str| words.iter().any(|known| known == word);
    for word in [
        "type alias",
        "variable.declaration leg.left",
        "variable leg.left",
        "namespace 0/0/0",
        "variable.unresolved mats",
        "function.declaration mast.raise",
        "function mast.raise",
        "number 0.62",
        "enumMember translation",
        "event button.raise",
        "string sounds/pump.ogg",
    ] {
        assert!(has(word), "{word} in {words:#?}");
    }
    assert!(!has("variable.unresolved leg.left"));
    desk.finish();
}

#[test]
fn changes_lead_to_what_all_would_be() {
    let mut desk = Desk::bram();
    let before = desk.ask_all("textDocument/semanticTokens/full", json!({}));
    desk.type_over(
        "target=\"mast\"",
        "target=\"not.there\" easing=\"step\"\n  ",
    );
    let params = json!({"previousResultId": before["resultId"]});
    let delta = desk.ask_all("textDocument/semanticTokens/full/delta", params);
    let mut data = numbers(&before["data"]);
    let edits = list(&delta["edits"]);
    assert_eq!(edits.len(), 1, "{delta}");
    let at = |name: &str| usize::try_from(edits[0][name].as_u64().unwrap()).unwrap();
    let (start, count) = (at("start"), at("deleteCount"));
    assert!(count < data.len() / 4, "{count} of {}", data.len());
    data.splice(start..start + count, numbers(&edits[0]["data"]));
    let now = desk.ask_all("textDocument/semanticTokens/full", json!({}));
    assert_eq!(data, numbers(&now["data"]));

    // Nothing has changed since.
    let params = json!({"previousResultId": now["resultId"]});
    let delta = desk.ask_all("textDocument/semanticTokens/full/delta", params);
    assert_eq!(delta["edits"], json!([]));
    // What the server does not know any more is answered with all.
    let params = json!({"previousResultId": before["resultId"]});
    let delta = desk.ask_all("textDocument/semanticTokens/full/delta", params);
    assert_eq!(numbers(&delta["data"]), data);
    desk.finish();
}

#[test]
fn a_range_has_its_words_only() {
    let legend = legend(&all_capabilities());
    let mut desk = Desk::bram();
    let (start, end) = (desk.at("<wheels>", 0), desk.at("</wheels>", 0));
    let range = json!({"range": {"start": start, "end": end}});
    let some = desk.ask_all("textDocument/semanticTokens/range", range);
    let words = words(&desk.text, &numbers(&some["data"]), &legend);
    assert_eq!(words[0], "type wheels");
    let wheels = words.iter().filter(|word| *word == "type wheel").count();
    assert_eq!(wheels, desk.text.matches("<wheel ").count());
    assert!(!words.iter().any(|word| word == "type alias"));
    desk.finish();
}

#[test]
fn a_client_that_colours_nothing_is_offered_nothing() {
    let capabilities = without(&["textDocument", "semanticTokens"]);
    assert_eq!(legend(&capabilities), Value::Null);
}

#[test]
fn attributes_are_shown_while_a_tag_is_typed() {
    let mut desk = Desk::bram();
    let at = desk.at("target=\"leg.left\"", 9);
    let help = desk.ask("textDocument/signatureHelp", &at, json!({}));
    let signature = &help["signatures"][0];
    let label = signature["label"].as_str().unwrap();
    assert_eq!(
        label,
        "<channel target property begin end from to [easing]>"
    );
    assert_eq!(help["activeParameter"], 0);
    let place = &signature["parameters"][0]["label"];
    assert_eq!((&place[0], &place[1]), (&json!(9), &json!(15)));
    let at = desk.at("<channel", 3);
    let help = desk.ask("textDocument/signatureHelp", &at, json!({}));
    assert_eq!(help, Value::Null);
    desk.finish();

    let path = ["textDocument", "signatureHelp", "signatureInformation"];
    let mut desk = Desk::with(BRAM, &without(&path));
    let at = desk.at("target=\"leg.left\"", 9);
    let help = desk.ask("textDocument/signatureHelp", &at, json!({}));
    assert_eq!(help["signatures"][0]["parameters"][0]["label"], "target");
    desk.finish();
}
