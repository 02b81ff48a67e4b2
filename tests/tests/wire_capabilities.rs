//! Nothing is sent that the client did not say it can take. The client itself checks that of every message (see
//! `abilities.rs`); here a tour of all features is done by clients of many kinds.

use std::fs;

use acceptance::client::{Client, all_capabilities, push_capabilities};
use acceptance::desk::{BRAM, corpus, list, position};
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

fn merge(into: &mut Value, more: Value) {
    match (into, more) {
        (Value::Object(into), Value::Object(more)) => {
            for (name, value) in more {
                merge(into.entry(name).or_insert(Value::Null), value);
            }
        }
        (into, more) => *into = more,
    }
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

/// Texts to ask at, and how many bytes into them. The first lead to answers of all forms.
const PLACES: [(&str, usize); 12] = [
    ("leg.left", 3),
    ("<cue ", 5),
    ("horn", 2),
    ("path=\"0/1\"", 7),
    ("<machine", 4),
    ("</aliases>", 4),
    ("easing=\"", 8),
    ("property=\"", 12),
    ("<channel", 1),
    ("scene=\"", 9),
    ("id=\"front.left\"", 6),
    ("<aliases>", 9),
];

/// A definition with faults of many kinds, opened by one client, and every question asked about it.
struct Tour {
    client: Client,
    server: Value,
    uri: String,
    text: String,
    /// How many of the places are asked about.
    places: usize,
    /// The methods that were answered with something.
    answered: Vec<String>,
}

impl Tour {
    fn of(capabilities: &Value) -> Vec<String> {
        Self::to(PLACES.len(), capabilities)
    }

    fn to(places: usize, capabilities: &Value) -> Vec<String> {
        let path = corpus().join(BRAM);
        let mut client = Client::start();
        let server = client.initialize(capabilities);
        let mut tour = Self {
            client,
            server,
            uri: format!("file://{}", path.display()),
            text: fs::read_to_string(path).unwrap(),
            places,
            answered: Vec::new(),
        };
        tour.documents();
        tour.places();
        tour.whole();
        let changes = json!({"changes": [{"uri": tour.uri, "type": 2}]});
        tour.client
            .notify("workspace/didChangeWatchedFiles", changes);
        tour.diagnostics();
        tour.client.close(&tour.uri);
        assert_eq!(tour.client.finish(), 0);
        tour.answered
    }

    fn documents(&mut self) {
        self.client.open(&self.uri, 1, &self.text);
        self.diagnostics();
        // A name twice, a name that is nowhere, an unfinished tag, a path that leads out of the scene.
        self.text = self
            .text
            .replace("name=\"mast\"", "name=\"leg.left\"")
            .replace("<cue sound=\"pump\"/>", "<cue sound=\"horn\"/><cue ")
            .replacen("path=\"0/0/1\"", "path=\"0/0/99\"", 1);
        self.client
            .change(&self.uri, 2, json!([{"text": self.text}]));
        self.diagnostics();
        // One that no client can mean, and the way back.
        let far = json!({"line": 99_999, "character": 0});
        let change = json!([{"range": {"start": far, "end": far}, "text": "x"}]);
        self.client.change(&self.uri, 3, change);
        self.diagnostics();
        self.client
            .change(&self.uri, 4, json!([{"text": self.text}]));
        self.diagnostics();
    }

    fn diagnostics(&mut self) {
        if self.server.get("diagnosticProvider").is_some() {
            let params = json!({"textDocument": {"uri": self.uri}});
            self.ask("textDocument/diagnostic", params);
        } else {
            let params = self
                .client
                .wait_for_notification("textDocument/publishDiagnostics");
            assert_eq!(params["uri"], self.uri);
        }
    }

    /// The answer; null where it is refused.
    fn ask(&mut self, method: &str, params: Value) -> Value {
        let answer = self.client.request(method, params).unwrap_or_default();
        if !answer.is_null() && answer != json!([]) {
            self.answered.push(method.to_owned());
        }
        answer
    }

    fn places(&mut self) {
        for (needle, offset) in &PLACES[..self.places] {
            let offset = self.text.find(needle).expect(needle) + *offset;
            let at = json!({"textDocument": {"uri": self.uri}, "position": position(&self.text, offset)});
            self.place(&at);
        }
    }

    fn place(&mut self, at: &Value) {
        let with = |more: Value| {
            let mut params = at.clone();
            merge(&mut params, more);
            params
        };
        for method in [
            "hover",
            "definition",
            "implementation",
            "documentHighlight",
            "linkedEditingRange",
        ] {
            self.ask(&format!("textDocument/{method}"), at.clone());
        }
        let context = json!({"context": {"includeDeclaration": true}});
        self.ask("textDocument/references", with(context));
        if self.server["renameProvider"]["prepareProvider"] == true {
            self.ask("textDocument/prepareRename", at.clone());
        }
        self.ask("textDocument/rename", with(json!({"newName": "other"})));
        let typed = json!({"ch": ">", "options": {"tabSize": 2, "insertSpaces": true}});
        self.ask("textDocument/onTypeFormatting", with(typed));
        let document = &at["textDocument"];
        let positions = json!({"textDocument": document, "positions": [at["position"]]});
        self.ask("textDocument/selectionRange", positions);

        let proposals = self.ask("textDocument/completion", at.clone());
        for item in list(&proposals["items"]).iter().take(3) {
            self.ask("completionItem/resolve", item.clone());
        }
        let range = json!({"start": at["position"], "end": at["position"]});
        let params =
            json!({"textDocument": document, "range": range, "context": {"diagnostics": []}});
        let actions = self.ask("textDocument/codeAction", params);
        for action in list(&actions)
            .iter()
            .filter(|action| action.get("data").is_some())
        {
            self.ask("codeAction/resolve", action.clone());
        }
    }

    fn whole(&mut self) {
        let document = json!({"textDocument": {"uri": self.uri}});
        for method in ["documentSymbol", "foldingRange", "documentLink"] {
            self.ask(&format!("textDocument/{method}"), document.clone());
        }
        self.ask("workspace/symbol", json!({"query": ""}));
    }
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
            "textDocument/completion",
            "textDocument/definition",
            "textDocument/diagnostic",
            "textDocument/documentHighlight",
            "textDocument/documentLink",
            "textDocument/documentSymbol",
            "textDocument/foldingRange",
            "textDocument/hover",
            "textDocument/implementation",
            "textDocument/linkedEditingRange",
            "textDocument/prepareRename",
            "textDocument/references",
            "textDocument/rename",
            "textDocument/selectionRange",
            "workspace/symbol",
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
