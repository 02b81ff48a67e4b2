//! What a client said that it can take, and whether a message of the server keeps to it. The rules are those that LSP
//! 3.17 states beside each capability.

use serde_json::{Map, Value, json};

use crate::metamodel::Metamodel;

/// Read from the capabilities of `initialize`.
#[derive(Clone, Debug)]
pub struct Abilities(Value);

type Verdict = Result<(), String>;

/// Messages that every client takes: they have no capability, or had none for years. (Diagnostics are pushed to clients
/// that do not speak of them at all; what the notification holds is bound by what they say.)
const ALWAYS: [&str; 4] = [
    "textDocument/publishDiagnostics",
    "window/logMessage",
    "window/showMessage",
    "telemetry/event",
];

/// `SymbolKind` and `CompletionItemKind`: what a client knows that names no set.
const FIRST_KINDS: std::ops::RangeInclusive<u64> = 1..=18;

impl Abilities {
    pub fn of(capabilities: &Value) -> Self {
        Self(capabilities.clone())
    }

    /// A request or a notification of the server.
    ///
    /// # Errors
    /// What the client did not say that it can take.
    pub fn check_message(&self, method: &str, params: &Value) -> Verdict {
        if method != "client/registerCapability" && !ALWAYS.contains(&method) {
            let model = Metamodel::get();
            if let Some(capability) = model.and_then(|model| model.client_capability(method)) {
                self.needs(capability, method)?;
            }
        }
        match method {
            "textDocument/publishDiagnostics" => {
                if self.says("textDocument.diagnostic") {
                    return Err("diagnostics pushed to a client that pulls".to_owned());
                }
                if params.get("version").is_some() {
                    self.needs("textDocument.publishDiagnostics.versionSupport", "version")?;
                }
                self.diagnostics(&params["diagnostics"], "textDocument.publishDiagnostics")
            }
            "client/registerCapability" => each(&params["registrations"], |registration| {
                let registered = string(registration, "method");
                let model = Metamodel::get();
                match model.and_then(|model| model.client_capability(registered)) {
                    Some(capability) => self.needs(
                        &format!("{capability}.dynamicRegistration"),
                        &format!("the registration of {registered}"),
                    ),
                    None => Ok(()),
                }
            }),
            "workspace/applyEdit" => self.workspace_edit(&params["edit"]),
            // The server asks for a token before it begins; LSP 3.17, "Server Initiated Progress".
            "$/progress" => self.needs("window.workDoneProgress", "progress"),
            "window/showDocument" => {
                self.needs("window.showDocument.support", "a document to show")
            }
            // Every client takes the message; that it can be answered is what this capability is about.
            "window/showMessageRequest" => self.needs("window.showMessage", "a question"),
            _ => Ok(()),
        }
    }

    /// An answer of the server. `asked`: the parameters of the request.
    ///
    /// # Errors
    /// What the client did not say that it can take, or a method that this check does not know.
    pub fn check_result(&self, method: &str, asked: &Value, result: &Value) -> Verdict {
        match method {
            "initialize" => self.server_capabilities(&result["capabilities"]),
            "textDocument/hover" => {
                self.markup(&result["contents"], "textDocument.hover.contentFormat")
            }
            "textDocument/definition" => self.links(result, "textDocument.definition.linkSupport"),
            "textDocument/implementation" => {
                self.links(result, "textDocument.implementation.linkSupport")
            }
            "textDocument/documentSymbol" => self.symbols(result, "textDocument.documentSymbol"),
            "workspace/symbol" => self.symbols(result, "workspace.symbol"),
            "textDocument/completion" => self.completion(result),
            "completionItem/resolve" => {
                self.completion_item(result)?;
                let list = "textDocument.completion.completionItem.resolveSupport.properties";
                let lazy = match self.says(list) {
                    true => self.list(list),
                    false => vec!["documentation", "detail"],
                };
                only_these_changed(asked, result, &lazy)
            }
            "textDocument/codeAction" => each(result, |action| self.code_action(action)),
            "codeAction/resolve" => {
                self.code_action(result)?;
                let lazy = self.list("textDocument.codeAction.resolveSupport.properties");
                only_these_changed(asked, result, &lazy)
            }
            "textDocument/rename" | "workspace/willRenameFiles" => self.workspace_edit(result),
            "textDocument/prepareRename" => self.gate(
                result,
                "defaultBehavior",
                "textDocument.rename.prepareSupportDefaultBehavior",
            ),
            "textDocument/foldingRange" => each(result, |fold| self.fold(fold)),
            "textDocument/documentLink" => each(result, |link| {
                self.gate(link, "tooltip", "textDocument.documentLink.tooltipSupport")
            }),
            "textDocument/diagnostic" => {
                self.gate(
                    result,
                    "relatedDocuments",
                    "textDocument.diagnostic.relatedDocumentSupport",
                )?;
                self.diagnostics(&result["items"], "textDocument.diagnostic")
            }
            // A lens without a command would have to be resolved. Its command is sent back by whoever shows lenses.
            "textDocument/codeLens" => {
                each(result, |_| self.needs("textDocument.codeLens", "a lens"))
            }
            "textDocument/documentColor" | "textDocument/colorPresentation" => {
                self.needs("textDocument.colorProvider", "colours")
            }
            "textDocument/inlayHint" => each(result, |hint| {
                self.gate(hint, "data", "textDocument.inlayHint.resolveSupport")
            }),
            "textDocument/signatureHelp" => self.signature(result),
            // The legend was looked at when it was told; the places are numbers.
            "textDocument/semanticTokens/full" | "textDocument/semanticTokens/full/delta" => {
                self.needs("textDocument.semanticTokens.requests.full", "colours")
            }
            "textDocument/semanticTokens/range" => {
                self.needs("textDocument.semanticTokens.requests.range", "colours")
            }
            // Nothing in these depends on the client.
            "textDocument/references"
            | "textDocument/documentHighlight"
            | "textDocument/selectionRange"
            | "textDocument/linkedEditingRange"
            | "textDocument/onTypeFormatting"
            | "workspace/executeCommand"
            | "shutdown" => Ok(()),
            other => Err(format!(
                "no rules are known for the answer to {other}: add them to abilities.rs"
            )),
        }
    }

    fn server_capabilities(&self, server: &Value) -> Verdict {
        let encodings = match self.list("general.positionEncodings") {
            none if none.is_empty() => vec!["utf-16"],
            some => some,
        };
        let encoding = server.get("positionEncoding").and_then(Value::as_str);
        if !encodings.contains(&encoding.unwrap_or("utf-16")) {
            return Err(format!(
                "the encoding {encoding:?} out of those offered, {encodings:?}"
            ));
        }
        self.gate(server, "diagnosticProvider", "textDocument.diagnostic")?;
        self.gate(server, "inlayHintProvider", "textDocument.inlayHint")?;
        self.gate(server, "codeLensProvider", "textDocument.codeLens")?;
        self.gate(server, "colorProvider", "textDocument.colorProvider")?;
        self.gate(
            server,
            "signatureHelpProvider",
            "textDocument.signatureHelp",
        )?;
        self.gate(
            server,
            "semanticTokensProvider",
            "textDocument.semanticTokens",
        )?;
        self.colours(&server["semanticTokensProvider"])?;
        let workspace = &server["workspace"];
        self.gate(workspace, "workspaceFolders", "workspace.workspaceFolders")?;
        let operations = &workspace["fileOperations"];
        for operation in ["willRename", "didCreate", "didRename", "didDelete"] {
            let capability = format!("workspace.fileOperations.{operation}");
            self.gate(operations, operation, &capability)?;
        }
        if server["codeActionProvider"].is_object() {
            self.needs(
                "textDocument.codeAction.codeActionLiteralSupport",
                "options for code actions",
            )?;
            if server["codeActionProvider"]["resolveProvider"] == true {
                self.needs(
                    "textDocument.codeAction.resolveSupport",
                    "code actions to resolve",
                )?;
            }
        }
        if server["renameProvider"].is_object() {
            self.needs("textDocument.rename.prepareSupport", "options for renaming")?;
        }
        Ok(())
    }

    /// Modifiers may be a server's own: whoever does not know them leaves them out. Types may too, but then nothing is
    /// coloured, so ours are all known.
    fn colours(&self, provider: &Value) -> Verdict {
        const TOKENS: &str = "textDocument.semanticTokens";
        for (offer, request) in [("range", "range"), ("full", "full")] {
            if provider[offer] == true || provider[offer].is_object() {
                self.needs(&format!("{TOKENS}.requests.{request}"), offer)?;
            }
        }
        if provider["full"]["delta"] == true {
            self.needs(
                &format!("{TOKENS}.requests.full.delta"),
                "changes of colours",
            )?;
        }
        let known = self.list(&format!("{TOKENS}.tokenTypes"));
        each(&provider["legend"]["tokenTypes"], |kind| {
            match kind.as_str().is_some_and(|kind| known.contains(&kind)) {
                true => Ok(()),
                false => Err(format!("the token type {kind}")),
            }
        })
    }

    fn signature(&self, result: &Value) -> Verdict {
        const INFORMATION: &str = "textDocument.signatureHelp.signatureInformation";
        let formats = format!("{INFORMATION}.documentationFormat");
        each(&result["signatures"], |signature| {
            self.markup(&signature["documentation"], &formats)?;
            self.gate(
                signature,
                "activeParameter",
                &format!("{INFORMATION}.activeParameterSupport"),
            )?;
            each(&signature["parameters"], |parameter| {
                self.markup(&parameter["documentation"], &formats)?;
                match parameter["label"].is_array() {
                    true => self.needs(
                        &format!("{INFORMATION}.parameterInformation.labelOffsetSupport"),
                        "offsets in a label",
                    ),
                    false => Ok(()),
                }
            })
        })
    }

    /// `own`: the capability of the channel. What it does not say may be said for pushed diagnostics (LSP 3.17 has
    /// these flags there only, 3.18 at both places).
    fn diagnostics(&self, diagnostics: &Value, own: &str) -> Verdict {
        const PUSH: &str = "textDocument.publishDiagnostics";
        let says = |flag: &str| {
            self.says(&format!("{own}.{flag}")) || self.says(&format!("{PUSH}.{flag}"))
        };
        let tags: Vec<u64> = [own, PUSH]
            .iter()
            .flat_map(|channel| self.numbers(&format!("{channel}.tagSupport.valueSet")))
            .collect();
        each(diagnostics, |diagnostic| {
            for (property, flag) in [
                ("relatedInformation", "relatedInformation"),
                ("codeDescription", "codeDescriptionSupport"),
                ("data", "dataSupport"),
                ("tags", "tagSupport"),
            ] {
                if diagnostic.get(property).is_some() && !says(flag) {
                    return Err(format!("a diagnostic with {property} without {flag}"));
                }
            }
            each(&diagnostic["tags"], |tag| {
                known(tag, &tags, "a diagnostic's tag")
            })
        })
    }

    fn markup(&self, content: &Value, formats: &str) -> Verdict {
        if content["kind"] == "markdown" && !self.list(formats).contains(&"markdown") {
            return Err(format!("Markdown, which {formats} does not name"));
        }
        Ok(())
    }

    fn links(&self, result: &Value, capability: &str) -> Verdict {
        let one = std::slice::from_ref(result);
        let targets = result.as_array().map_or(one, Vec::as_slice);
        match targets
            .iter()
            .any(|target| target.get("targetUri").is_some())
        {
            true => self.needs(capability, "a link"),
            false => Ok(()),
        }
    }

    fn symbols(&self, symbols: &Value, capability: &str) -> Verdict {
        let mut open: Vec<&Value> = symbols.as_array().into_iter().flatten().collect();
        while let Some(symbol) = open.pop() {
            if symbol.get("selectionRange").is_some() {
                self.needs(
                    "textDocument.documentSymbol.hierarchicalDocumentSymbolSupport",
                    "a tree of symbols",
                )?;
            }
            self.gate(symbol, "tags", &format!("{capability}.tagSupport"))?;
            self.kind(
                &symbol["kind"],
                &format!("{capability}.symbolKind.valueSet"),
            )?;
            open.extend(symbol["children"].as_array().into_iter().flatten());
        }
        Ok(())
    }

    /// A client that names a set deals with others too; one that names none knows the first kinds only.
    fn kind(&self, kind: &Value, set: &str) -> Verdict {
        let first = kind.is_null()
            || kind
                .as_u64()
                .is_some_and(|kind| FIRST_KINDS.contains(&kind));
        match first || self.says(set) {
            true => Ok(()),
            false => Err(format!("the kind {kind} without {set}")),
        }
    }

    fn completion(&self, result: &Value) -> Verdict {
        let allowed = self.list("textDocument.completion.completionList.itemDefaults");
        let defaults = result["itemDefaults"].as_object().into_iter().flatten();
        for (property, _) in defaults {
            if !allowed.contains(&property.as_str()) {
                return Err(format!("a default {property} for all items"));
            }
        }
        let items = if result.is_array() {
            result
        } else {
            &result["items"]
        };
        each(items, |item| self.completion_item(item))
    }

    fn completion_item(&self, item: &Value) -> Verdict {
        const ITEM: &str = "textDocument.completion.completionItem";
        for (property, flag) in [
            ("labelDetails", "labelDetailsSupport"),
            ("commitCharacters", "commitCharactersSupport"),
            ("deprecated", "deprecatedSupport"),
            ("preselect", "preselectSupport"),
            ("tags", "tagSupport"),
        ] {
            self.gate(item, property, &format!("{ITEM}.{flag}"))?;
        }
        if item["insertTextFormat"] == 2 {
            self.needs(&format!("{ITEM}.snippetSupport"), "a snippet")?;
        }
        if item["textEdit"].get("insert").is_some() {
            self.needs(
                &format!("{ITEM}.insertReplaceSupport"),
                "an edit with two ranges",
            )?;
        }
        if item.get("insertTextMode").is_some() {
            let modes = self.numbers(&format!("{ITEM}.insertTextModeSupport.valueSet"));
            known(&item["insertTextMode"], &modes, "insertTextMode")?;
        }
        each(&item["tags"], |tag| {
            let tags = self.numbers(&format!("{ITEM}.tagSupport.valueSet"));
            known(tag, &tags, "an item's tag")
        })?;
        self.kind(
            &item["kind"],
            "textDocument.completion.completionItemKind.valueSet",
        )?;
        self.markup(
            &item["documentation"],
            &format!("{ITEM}.documentationFormat"),
        )
    }

    fn code_action(&self, action: &Value) -> Verdict {
        const ACTION: &str = "textDocument.codeAction";
        if action["command"].is_string() {
            return Ok(());
        }
        self.needs(&format!("{ACTION}.codeActionLiteralSupport"), "an action")?;
        for (property, flag) in [
            ("isPreferred", "isPreferredSupport"),
            ("disabled", "disabledSupport"),
            ("data", "dataSupport"),
            ("tags", "tagSupport"),
        ] {
            self.gate(action, property, &format!("{ACTION}.{flag}"))?;
        }
        let is_whole = action.get("edit").is_some()
            || action.get("command").is_some()
            || action.get("disabled").is_some();
        if !is_whole
            && !self
                .list(&format!("{ACTION}.resolveSupport.properties"))
                .contains(&"edit")
        {
            return Err("an action without an edit, which cannot be resolved".to_owned());
        }
        self.workspace_edit(&action["edit"])
    }

    fn workspace_edit(&self, edit: &Value) -> Verdict {
        const EDIT: &str = "workspace.workspaceEdit";
        self.gate(edit, "documentChanges", &format!("{EDIT}.documentChanges"))?;
        let annotations = format!("{EDIT}.changeAnnotationSupport");
        self.gate(edit, "changeAnnotations", &annotations)?;
        each(&edit["documentChanges"], |change| {
            if let Some(operation) = change.get("kind").and_then(Value::as_str)
                && !self
                    .list(&format!("{EDIT}.resourceOperations"))
                    .contains(&operation)
            {
                return Err(format!("the operation {operation}"));
            }
            each(&change["edits"], |edit| {
                self.gate(edit, "annotationId", &annotations)?;
                self.gate(edit, "snippet", &format!("{EDIT}.snippetEditSupport"))
            })
        })
    }

    fn fold(&self, fold: &Value) -> Verdict {
        const FOLD: &str = "textDocument.foldingRange";
        if self.says(&format!("{FOLD}.lineFoldingOnly"))
            && (fold.get("startCharacter").is_some() || fold.get("endCharacter").is_some())
        {
            return Err("columns for a client that folds whole lines".to_owned());
        }
        self.gate(
            fold,
            "collapsedText",
            &format!("{FOLD}.foldingRange.collapsedText"),
        )
    }

    fn gate(&self, holder: &Value, property: &str, capability: &str) -> Verdict {
        match holder.get(property) {
            Some(_) => self.needs(capability, property),
            None => Ok(()),
        }
    }

    fn needs(&self, capability: &str, what: &str) -> Verdict {
        match self.says(capability) {
            true => Ok(()),
            false => Err(format!("{what} without {capability}")),
        }
    }

    /// Whether something other than `false` and `null` stands there.
    fn says(&self, capability: &str) -> bool {
        !matches!(self.at(capability), Value::Null | Value::Bool(false))
    }

    fn list(&self, capability: &str) -> Vec<&str> {
        let list = self.at(capability).as_array().into_iter().flatten();
        list.filter_map(Value::as_str).collect()
    }

    fn numbers(&self, capability: &str) -> Vec<u64> {
        let list = self.at(capability).as_array().into_iter().flatten();
        list.filter_map(Value::as_u64).collect()
    }

    fn at(&self, capability: &str) -> &Value {
        let steps = capability.split('.');
        steps.fold(&self.0, |place, step| {
            place.get(step).unwrap_or(&Value::Null)
        })
    }
}

fn each(list: &Value, check: impl FnMut(&Value) -> Verdict) -> Verdict {
    list.as_array().into_iter().flatten().try_for_each(check)
}

fn known(value: &Value, set: &[u64], what: &str) -> Verdict {
    match value.as_u64().is_some_and(|value| set.contains(&value)) {
        true => Ok(()),
        false => Err(format!("{what} {value}, which is not among {set:?}")),
    }
}

fn string<'v>(holder: &'v Value, property: &str) -> &'v str {
    holder[property].as_str().unwrap_or_default()
}

/// What is resolved gains nothing but what may come late.
fn only_these_changed(asked: &Value, answer: &Value, lazy: &[&str]) -> Verdict {
    let none = Map::new();
    let mut properties = answer.as_object().unwrap_or(&none).iter();
    let changed = properties
        .find(|(name, value)| asked.get(name) != Some(value) && !lazy.contains(&name.as_str()));
    match changed {
        Some((name, _)) => Err(format!("{name} came late; only {} may", json!(lazy))),
        None => Ok(()),
    }
}

#[cfg(test)]
mod tests;
