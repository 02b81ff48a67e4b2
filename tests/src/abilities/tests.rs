use super::*;

/// The same answer for a client that can and for one that says nothing.
fn allowed_only_with(capabilities: Value, method: &str, result: Value) {
    let check = |capabilities: &Value| {
        Abilities::of(capabilities).check_result(method, &Value::Null, &result)
    };
    assert_eq!(check(&capabilities), Ok(()), "{method} {result}");
    assert!(check(&json!({})).is_err(), "{method} {result}");
}

fn in_document(feature: &str, capability: Value) -> Value {
    json!({"textDocument": {feature: capability}})
}

#[test]
fn versions_of_diagnostics() {
    let params = json!({"uri": "file:///a", "version": 1, "diagnostics": []});
    let check = |capabilities: Value| {
        Abilities::of(&capabilities).check_message("textDocument/publishDiagnostics", &params)
    };
    let with = in_document("publishDiagnostics", json!({"versionSupport": true}));
    assert_eq!(check(with), Ok(()));
    assert!(check(json!({})).is_err());
    assert!(
        check(in_document(
            "publishDiagnostics",
            json!({"versionSupport": false})
        ))
        .is_err()
    );
}

#[test]
fn parts_of_diagnostics() {
    for (property, value, support) in [
        (
            "relatedInformation",
            json!([]),
            json!({"relatedInformation": true}),
        ),
        (
            "codeDescription",
            json!({}),
            json!({"codeDescriptionSupport": true}),
        ),
        ("data", json!(1), json!({"dataSupport": true})),
        (
            "tags",
            json!([2]),
            json!({"tagSupport": {"valueSet": [1, 2]}}),
        ),
    ] {
        allowed_only_with(
            in_document("publishDiagnostics", support),
            "textDocument/diagnostic",
            json!({"items": [{property: value}]}),
        );
    }
    let one_tag = in_document(
        "publishDiagnostics",
        json!({"tagSupport": {"valueSet": [1]}}),
    );
    let other = json!({"items": [{"tags": [2]}]});
    let check = Abilities::of(&one_tag).check_result("textDocument/diagnostic", &json!({}), &other);
    assert!(check.is_err());
}

#[test]
fn requests_and_registrations_of_the_server() {
    if Metamodel::get().is_none() {
        return;
    }
    let check = |capabilities: &Value, method: &str, params: Value| {
        Abilities::of(capabilities).check_message(method, &params)
    };
    let refresh = json!({"workspace": {"diagnostics": {"refreshSupport": true}}});
    assert_eq!(
        check(&refresh, "workspace/diagnostic/refresh", Value::Null),
        Ok(())
    );
    assert!(check(&json!({}), "workspace/diagnostic/refresh", Value::Null).is_err());
    assert!(check(&json!({}), "workspace/configuration", json!({"items": []})).is_err());
    let watching = json!({"registrations": [{"method": "workspace/didChangeWatchedFiles"}]});
    let can = json!({"workspace": {"didChangeWatchedFiles": {"dynamicRegistration": true}}});
    assert_eq!(
        check(&can, "client/registerCapability", watching.clone()),
        Ok(())
    );
    assert!(check(&json!({}), "client/registerCapability", watching).is_err());
}

#[test]
fn forms_of_answers() {
    let markdown = json!(["markdown"]);
    let content = json!({"kind": "markdown", "value": "v"});
    allowed_only_with(
        in_document("hover", json!({"contentFormat": markdown})),
        "textDocument/hover",
        json!({"contents": content}),
    );
    for method in ["definition", "implementation"] {
        allowed_only_with(
            in_document(method, json!({"linkSupport": true})),
            &format!("textDocument/{method}"),
            json!([{"targetUri": "file:///a"}]),
        );
    }
    allowed_only_with(
        in_document(
            "documentSymbol",
            json!({"hierarchicalDocumentSymbolSupport": true}),
        ),
        "textDocument/documentSymbol",
        json!([{"kind": 2, "selectionRange": {}}]),
    );
    allowed_only_with(
        in_document("documentSymbol", json!({"symbolKind": {"valueSet": [26]}})),
        "textDocument/documentSymbol",
        json!([{"kind": 26}]),
    );
    allowed_only_with(
        json!({"workspace": {"workspaceEdit": {"documentChanges": true}}}),
        "textDocument/rename",
        json!({"documentChanges": []}),
    );
}

#[test]
fn forms_of_completion_items() {
    for (item, support) in [
        (
            json!({"insertTextFormat": 2}),
            json!({"snippetSupport": true}),
        ),
        (
            json!({"labelDetails": {}}),
            json!({"labelDetailsSupport": true}),
        ),
        (
            json!({"textEdit": {"insert": {}}}),
            json!({"insertReplaceSupport": true}),
        ),
        (
            json!({"insertTextMode": 2}),
            json!({"insertTextModeSupport": {"valueSet": [2]}}),
        ),
        (
            json!({"documentation": {"kind": "markdown"}}),
            json!({"documentationFormat": ["markdown"]}),
        ),
    ] {
        allowed_only_with(
            in_document("completion", json!({"completionItem": support})),
            "textDocument/completion",
            json!({"items": [item]}),
        );
    }
}

#[test]
fn forms_of_actions() {
    let literals = json!({"codeActionKind": {"valueSet": []}});
    for (property, flag) in [
        ("isPreferred", "isPreferredSupport"),
        ("disabled", "disabledSupport"),
        ("data", "dataSupport"),
    ] {
        let action = json!([{"title": "t", "edit": {}, property: {}}]);
        let mut support = json!({"codeActionLiteralSupport": literals});
        let check = |support: &Value| {
            Abilities::of(&in_document("codeAction", support.clone())).check_result(
                "textDocument/codeAction",
                &Value::Null,
                &action,
            )
        };
        assert!(check(&support).is_err(), "{property}");
        support[flag] = json!(true);
        assert_eq!(check(&support), Ok(()), "{property}");
    }
}

#[test]
fn what_is_resolved_changes_only_where_it_may() {
    let asked = json!({"label": "l", "data": 1});
    let check = |answer: Value| {
        Abilities::of(&json!({})).check_result("completionItem/resolve", &asked, &answer)
    };
    assert_eq!(
        check(json!({"label": "l", "data": 1, "documentation": "d"})),
        Ok(())
    );
    assert!(check(json!({"label": "other"})).is_err());
    assert!(check(json!({"label": "l", "additionalTextEdits": []})).is_err());
}

#[test]
fn an_answer_without_rules_is_not_passed_over() {
    let none = Abilities::of(&json!({}));
    assert!(
        none.check_result("textDocument/moniker", &Value::Null, &Value::Null)
            .is_err()
    );
}
