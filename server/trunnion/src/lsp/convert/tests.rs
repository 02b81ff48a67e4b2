use ide::Severity;
use serde_json::{Value, json};

use super::*;

fn client(capabilities: Value) -> ClientSupport {
    let params = json!({"processId": null, "rootUri": null, "capabilities": capabilities});
    ClientSupport::of(&serde_json::from_value(params).unwrap())
}

fn json_of(value: impl serde::Serialize) -> Value {
    serde_json::to_value(value).unwrap()
}

fn range(line: u32, from: u32, to: u32) -> lsp::Range {
    lsp::Range::new(lsp::Position::new(line, from), lsp::Position::new(line, to))
}

fn quay() -> Url {
    Url::parse("file:///quay/bram-6.machine.xml").unwrap()
}

#[test]
fn related_places_go_out_only_where_the_client_can_show_them() {
    let text = "<a/>\n<b/>";
    let lines = LineIndex::new(text);
    let places = Places {
        text: &text.to_owned(),
        lines: &lines,
        encoding: Encoding::Utf8,
        is_on_disk: false,
    };
    let finding = Finding::new(
        "extra-root",
        Severity::Error,
        TextRange::new(5.into(), 9.into()),
        "Second root.",
    )
    .see(
        TextRange::new(0.into(), 4.into()),
        "The first root is here.",
    )
    .see_in(Some("/gone.xml".into()), TextRange::default(), "Lost.");
    let convert = |client: &ClientSupport| {
        json_of(diagnostic(&finding, places, &quay(), client, |_, _| None))
    };
    let plain = json!({
        "range": range(1, 0, 4), "severity": 1, "code": "extra-root", "source": "trunnion", "message": "Second root.",
    });
    assert_eq!(convert(&client(json!({}))), plain);
    let able =
        client(json!({"textDocument": {"publishDiagnostics": {"relatedInformation": true}}}));
    assert_eq!(
        convert(&able)["relatedInformation"],
        json!([{"location": {"uri": quay(), "range": range(0, 0, 4)}, "message": "The first root is here."}])
    );
}

#[test]
fn workspace_edits_carry_versions_where_the_client_checks_them() {
    let file = FileEdits {
        uri: quay(),
        version: Some(7),
        edits: vec![lsp::TextEdit::new(range(0, 1, 2), "x".to_owned())],
    };
    let edit = json!({"range": range(0, 1, 2), "newText": "x"});
    assert_eq!(
        json_of(workspace_edit(vec![file.clone()], &client(json!({})))),
        json!({"changes": {quay().as_str(): [edit]}})
    );
    let able = client(json!({"workspace": {"workspaceEdit": {"documentChanges": true}}}));
    assert_eq!(
        json_of(workspace_edit(vec![file], &able)),
        json!({"documentChanges": [{"textDocument": {"uri": quay(), "version": 7}, "edits": [edit]}]})
    );
}

#[test]
fn definitions_are_links_where_the_client_knows_them() {
    let target = || {
        vec![Target {
            uri: quay(),
            range: range(3, 0, 20),
            name: range(3, 5, 9),
        }]
    };
    assert_eq!(
        json_of(definition(range(0, 0, 1), target(), false)),
        json!([{"uri": quay(), "range": range(3, 5, 9)}])
    );
    assert_eq!(
        json_of(definition(range(0, 0, 1), target(), true)),
        json!([{
            "originSelectionRange": range(0, 0, 1), "targetUri": quay(),
            "targetRange": range(3, 0, 20), "targetSelectionRange": range(3, 5, 9),
        }])
    );
}

#[test]
fn a_completion_replaces_the_word_unless_the_client_asks_the_user() {
    let edit = |client: &ClientSupport| {
        json_of(completion_edit(
            range(0, 2, 4),
            range(0, 2, 9),
            "wheel".to_owned(),
            client,
        ))
    };
    assert_eq!(
        edit(&client(json!({}))),
        json!({"range": range(0, 2, 9), "newText": "wheel"})
    );
    let able = client(
        json!({"textDocument": {"completion": {"completionItem": {"insertReplaceSupport": true}}}}),
    );
    assert_eq!(
        edit(&able),
        json!({"insert": range(0, 2, 4), "replace": range(0, 2, 9), "newText": "wheel"})
    );
}

#[test]
fn snippets_are_made_plain_for_a_client_without_them() {
    let able = client(
        json!({"textDocument": {"completion": {"completionItem": {"snippetSupport": true}}}}),
    );
    let draft = Template::new().text("a").end();
    assert_eq!(
        template(&draft, &able),
        ("a$0".to_owned(), lsp::InsertTextFormat::SNIPPET)
    );
    assert_eq!(
        template(&draft, &client(json!({}))),
        ("a".to_owned(), lsp::InsertTextFormat::PLAIN_TEXT)
    );
    assert_eq!(
        template(&"a$0".into(), &able),
        ("a$0".to_owned(), lsp::InsertTextFormat::PLAIN_TEXT)
    );
}

#[test]
fn an_edit_is_to_be_confirmed_where_the_client_can_ask() {
    let edits = FileEdits {
        uri: quay(),
        version: Some(3),
        edits: vec![lsp::TextEdit::new(range(0, 1, 2), "x".to_owned())],
    };
    let made = |edits_support: Value| {
        let client = client(json!({"workspace": {"workspaceEdit": edits_support}}));
        json_of(to_be_confirmed(
            workspace_edit(vec![edits.clone()], &client),
            "Extract",
            &client,
        ))
    };
    let asked = made(json!({"documentChanges": true, "changeAnnotationSupport": {}}));
    let annotation = json!({"label": "Extract", "needsConfirmation": true});
    assert_eq!(asked["changeAnnotations"]["confirm"], annotation);
    assert_eq!(
        asked["documentChanges"][0]["edits"][0]["annotationId"],
        "confirm"
    );
    for cannot in [
        json!({"documentChanges": true}),
        json!({"changeAnnotationSupport": {}}),
    ] {
        let plain = made(cannot);
        assert_eq!(plain.get("changeAnnotations"), None, "{plain}");
        assert!(!plain.to_string().contains("annotationId"), "{plain}");
    }
}
