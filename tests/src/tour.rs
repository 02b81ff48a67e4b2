//! A session that asks everything there is to ask about one document.

use std::fs;

use serde_json::{Value, json};

use crate::client::Client;
use crate::desk::{BRAM, corpus, list, position};

/// Texts to ask at, and how many bytes into them. The first lead to answers of all forms.
pub const PLACES: [(&str, usize); 12] = [
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
#[derive(Debug)]
pub struct Tour {
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
    /// The whole tour; the methods that were answered with something, as often as they were.
    pub fn of(capabilities: &Value) -> Vec<String> {
        Self::with(Client::start(), PLACES.len(), capabilities)
    }

    /// The tour to the first places only.
    pub fn to(places: usize, capabilities: &Value) -> Vec<String> {
        Self::with(Client::start(), places, capabilities)
    }

    /// The tour with a server that has just started; it ends with the tour.
    ///
    /// # Panics
    /// The server does something wrong.
    pub fn with(mut client: Client, places: usize, capabilities: &Value) -> Vec<String> {
        let path = corpus().join(BRAM);
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
        if self.server["signatureHelpProvider"].is_object() {
            self.ask("textDocument/signatureHelp", at.clone());
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
        if self.server["codeLensProvider"].is_object() {
            self.ask("textDocument/codeLens", document.clone());
        }
        if self.server["inlayHintProvider"] == true {
            let end = position(&self.text, self.text.len());
            let range = json!({"start": {"line": 0, "character": 0}, "end": end});
            let params = json!({"textDocument": document["textDocument"], "range": range});
            self.ask("textDocument/inlayHint", params);
        }
        self.colours(&document["textDocument"]);
        if self.server["workspace"]["fileOperations"]["willRename"].is_object() {
            let scene = self.uri.replace(".machine.xml", ".gltf");
            let files = json!([{"oldUri": scene, "newUri": scene.replace("bram", "bramble")}]);
            self.ask("workspace/willRenameFiles", json!({"files": files}));
        }
        self.ask("workspace/symbol", json!({"query": ""}));
    }

    /// As far as the server offers them to this client.
    fn colours(&mut self, document: &Value) {
        let offered = self.server["semanticTokensProvider"].clone();
        if offered["range"] == true {
            let range =
                json!({"start": {"line": 2, "character": 0}, "end": {"line": 9, "character": 0}});
            let params = json!({"textDocument": document, "range": range});
            self.ask("textDocument/semanticTokens/range", params);
        }
        if offered["full"] == true || offered["full"].is_object() {
            let params = json!({"textDocument": document});
            let all = self.ask("textDocument/semanticTokens/full", params);
            if offered["full"]["delta"] == true {
                let params = json!({"textDocument": document, "previousResultId": all["resultId"]});
                self.ask("textDocument/semanticTokens/full/delta", params);
            }
        }
    }
}

/// Puts `more` into a value, object by object.
pub fn merge(into: &mut Value, more: Value) {
    match (into, more) {
        (Value::Object(into), Value::Object(more)) => {
            for (name, value) in more {
                merge(into.entry(name).or_insert(Value::Null), value);
            }
        }
        (into, more) => *into = more,
    }
}
