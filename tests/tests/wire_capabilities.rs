//! Nothing is sent that the client did not say it can take. The client itself checks that of every message (see
//! `abilities.rs`); here a tour of all features is done by clients of many kinds.

use std::fs;

use acceptance::client::{all_capabilities, push_capabilities};
use acceptance::tour::{Tour, merge};
use serde_json::{Value, json};

/// Every ability that may make a difference to this server.
fn everything() -> Value {
    let mut all = all_capabilities();
    let more = json!({
        "general": {"markdown": {"parser": "p"}, "staleRequestSupport": {"cancel": true, "retryOnContentModified": []}},
        "window": {
            "workDoneProgress": true,
            "showDocument": {"support": true},
            "showMessage": {"messageActionItem": {"additionalPropertiesSupport": true}},
        },
        "workspace": {
            "configuration": true,
            "workspaceFolders": true,
            "workspaceEdit": {
                "changeAnnotationSupport": {"groupsOnLabel": true}, "normalizesLineEndings": true,
                "failureHandling": "transactional", "snippetEditSupport": true,
            },
            "symbol": {
                "symbolKind": {"valueSet": [1, 2, 3]}, "tagSupport": {"valueSet": [1]},
                "resolveSupport": {"properties": ["location.range"]},
            },
            "semanticTokens": {"refreshSupport": true},
            "inlayHint": {"refreshSupport": true},
            "codeLens": {"refreshSupport": true},
        },
        "textDocument": {
            "diagnostic": {"relatedDocumentSupport": true, "dynamicRegistration": true},
            "publishDiagnostics": {
                "codeDescriptionSupport": true, "dataSupport": true, "tagSupport": {"valueSet": [1, 2]},
            },
            "implementation": {"linkSupport": true},
            "documentSymbol": {"symbolKind": {"valueSet": [1, 2, 3]}, "tagSupport": {"valueSet": [1]}},
            "documentLink": {"tooltipSupport": true},
            "foldingRange": {
                "lineFoldingOnly": true, "foldingRange": {"collapsedText": true},
                "foldingRangeKind": {"valueSet": ["comment", "region"]}, "rangeLimit": 5000,
            },
            "rename": {"prepareSupportDefaultBehavior": 1, "honorsChangeAnnotations": true},
            "completion": {
                "completionItem": {
                    "commitCharactersSupport": true, "deprecatedSupport": true, "preselectSupport": true,
                    "tagSupport": {"valueSet": [1]}, "insertTextModeSupport": {"valueSet": [1, 2]},
                },
                "completionItemKind": {"valueSet": [1, 2, 3]},
                "completionList": {"itemDefaults": ["editRange", "insertTextFormat", "data"]},
                "contextSupport": true,
            },
            "codeAction": {"honorsChangeAnnotations": true},
        },
    });
    merge(&mut all, more);
    all
}

/// The ways to everything that stands in `value`, at any depth.
fn ways(value: &Value) -> Vec<Vec<String>> {
    let mut all = Vec::new();
    for (name, inner) in value.as_object().into_iter().flatten() {
        all.push(vec![name.clone()]);
        for mut way in ways(inner) {
            way.insert(0, name.clone());
            all.push(way);
        }
    }
    all
}

fn without(way: &[String]) -> Value {
    let mut all = everything();
    let (last, before) = way.split_last().unwrap();
    let holder = before
        .iter()
        .fold(&mut all, |place, step| &mut place[step.as_str()]);
    holder.as_object_mut().unwrap().remove(last);
    all
}

#[test]
fn a_client_that_can_everything_gets_an_answer_to_every_question() {
    let mut answered = Tour::of(&everything());
    answered.sort();
    answered.dedup();
    assert_eq!(
        answered,
        [
            "codeAction/resolve",
            "completionItem/resolve",
            "textDocument/codeAction",
            "textDocument/codeLens",
            "textDocument/completion",
            "textDocument/definition",
            "textDocument/diagnostic",
            "textDocument/documentHighlight",
            "textDocument/documentLink",
            "textDocument/documentSymbol",
            "textDocument/foldingRange",
            "textDocument/hover",
            "textDocument/implementation",
            "textDocument/inlayHint",
            "textDocument/linkedEditingRange",
            "textDocument/prepareRename",
            "textDocument/references",
            "textDocument/rename",
            "textDocument/selectionRange",
            "textDocument/semanticTokens/full",
            "textDocument/semanticTokens/full/delta",
            "textDocument/semanticTokens/range",
            "textDocument/signatureHelp",
            "workspace/symbol",
            "workspace/willRenameFiles",
        ]
    );
}

#[test]
fn a_client_that_says_nothing_is_sent_the_plain_forms() {
    let answered = Tour::of(&json!({}));
    for method in ["hover", "definition", "rename", "documentSymbol"] {
        let method = format!("textDocument/{method}");
        assert!(answered.contains(&method), "{method}");
    }
}

#[test]
fn clients_that_pull_and_clients_that_are_pushed_to() {
    for capabilities in [
        all_capabilities(),
        push_capabilities(),
        json!({"textDocument": {"diagnostic": {}}}),
        json!({"textDocument": {"publishDiagnostics": {}}}),
        json!({"textDocument": {"publishDiagnostics": {"relatedInformation": true}}}),
    ] {
        Tour::of(&capabilities);
    }
}

/// What these editors send, recorded from them.
#[test]
fn real_editors() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/capabilities");
    let mut editors = 0;
    for entry in fs::read_dir(folder).unwrap() {
        let text = fs::read_to_string(entry.unwrap().path()).unwrap();
        Tour::of(&serde_json::from_str(&text).unwrap());
        editors += 1;
    }
    assert_eq!(editors, 2);
}

#[test]
fn each_ability_missing_by_itself() {
    for way in ways(&everything()) {
        let answered = Tour::to(4, &without(&way));
        assert!(answered.len() > 30, "{way:?}: {}", answered.len());
    }
}
