//! What the client can take, read once from `initialize`. What it does not say, it cannot.

use serde_json::Value;
use syntax::Encoding;
use tower_lsp::lsp_types::{
    ClientCapabilities, InitializeParams, InsertTextMode, MarkupKind, PositionEncodingKind,
    SemanticTokenModifier, SemanticTokenType, SemanticTokensClientCapabilities,
    SemanticTokensFullOptions,
};

#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct ClientSupport {
    /// What columns count on this wire.
    pub(crate) encoding: Encoding,
    pub(crate) diagnostics: Diagnostics,
    pub(crate) edits: Edits,
    pub(crate) code_actions: CodeActions,
    pub(crate) completion: Completion,
    pub(crate) hover_markdown: bool,
    pub(crate) signature: Signature,
    /// `LocationLink` as the answer to a definition request.
    pub(crate) definition_links: bool,
    /// The same for an implementation request.
    pub(crate) implementation_links: bool,
    /// A tree of symbols, not a flat list.
    pub(crate) symbol_tree: bool,
    pub(crate) rename_prepare: bool,
    /// Folding takes whole lines only.
    pub(crate) folding_whole_lines: bool,
    /// Watching files can be asked for at run time, the only way there is.
    pub(crate) watched_files: bool,
    /// It works in several folders, and tells which.
    pub(crate) workspace_folders: bool,
    pub(crate) file_operations: FileOperations,
    pub(crate) work_done_progress: bool,
    pub(crate) window: Window,
    pub(crate) inlay_hints: bool,
    pub(crate) colours: bool,
    /// It shows code lenses.
    pub(crate) lenses: bool,
    /// What of a document's words it can colour, if anything.
    pub(crate) tokens: Option<Tokens>,
    pub(crate) refresh: Refresh,
}

#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Tokens {
    /// The types it knows.
    pub(crate) types: Vec<SemanticTokenType>,
    pub(crate) modifiers: Vec<SemanticTokenModifier>,
    /// It asks for a part of a document.
    pub(crate) range: bool,
    /// It asks for all of a document.
    pub(crate) full: bool,
    /// It asks for what changed in all of a document.
    pub(crate) delta: bool,
}

#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Diagnostics {
    /// The client asks for diagnostics, so they are not pushed.
    pub(crate) pull: bool,
    /// Pushed diagnostics say the version that they belong to.
    pub(crate) version: bool,
    pub(crate) related_information: bool,
}

#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Edits {
    /// `documentChanges` with versions, not `changes`.
    pub(crate) document_changes: bool,
    pub(crate) change_annotations: bool,
}

#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct CodeActions {
    /// Actions, not only commands.
    pub(crate) literals: bool,
    /// An action's edit may come later, when the user chose it.
    pub(crate) resolve_edit: bool,
    pub(crate) is_preferred: bool,
    pub(crate) disabled: bool,
}

/// What it tells of files that it creates, renames and deletes.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct FileOperations {
    /// It asks before it renames.
    pub(crate) will_rename: bool,
    pub(crate) did_create: bool,
    pub(crate) did_rename: bool,
    pub(crate) did_delete: bool,
}

/// How it shows the attributes of a tag.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Signature {
    pub(crate) shown: bool,
    pub(crate) markdown: bool,
    /// Places in the label, not texts to be looked for in it.
    pub(crate) label_offsets: bool,
}

#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Completion {
    pub(crate) snippets: bool,
    pub(crate) insert_replace: bool,
    pub(crate) markdown: bool,
    pub(crate) label_details: bool,
    /// Lines after the first can be indented like it.
    pub(crate) adjust_indentation: bool,
    /// Documentation may come later, when an item is looked at.
    pub(crate) resolve_documentation: bool,
}

/// What the client shows when told to.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Window {
    /// It opens a document, with a place in it.
    pub(crate) show_document: bool,
    /// It lets the user choose among answers.
    pub(crate) asks: bool,
}

/// What the client asks for again when told that it went stale.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Refresh {
    pub(crate) diagnostics: bool,
    pub(crate) semantic_tokens: bool,
    pub(crate) inlay_hints: bool,
    pub(crate) code_lenses: bool,
}

/// Whether the client's user trusts what is in the workspace: `"trusted": false` among the options says no.
pub(crate) fn is_trusting(params: &InitializeParams) -> bool {
    let options = params.initialization_options.as_ref();
    options.and_then(|options| options.get("trusted")) != Some(&Value::Bool(false))
}

/// The parameters of `initialize` as the types of lsp-types 0.94 expect them: they call
/// `workspace.diagnostics` (LSP 3.17) `workspace.diagnostic`, and refuse all of it for one ability in a form that they
/// do not know. Such an ability counts as not there.
pub(crate) fn as_typed(mut params: Value) -> Value {
    if let Some(workspace) = params
        .pointer_mut("/capabilities/workspace")
        .and_then(Value::as_object_mut)
        && let Some(diagnostics) = workspace.remove("diagnostics")
    {
        workspace.insert("diagnostic".to_owned(), diagnostics);
    }
    let groups = params
        .get_mut("capabilities")
        .and_then(Value::as_object_mut);
    for (name, group) in groups.into_iter().flatten() {
        let can_be_read = |ability: Value| {
            let alone = Value::Object([(name.clone(), ability)].into_iter().collect());
            serde_json::from_value::<ClientCapabilities>(alone).is_ok()
        };
        if can_be_read(group.clone()) {
            continue;
        }
        match group.as_object_mut() {
            Some(abilities) => abilities.retain(|ability, value| {
                let alone = [(ability.clone(), value.clone())];
                can_be_read(Value::Object(alone.into_iter().collect()))
            }),
            None => *group = Value::Null,
        }
    }
    params
}

impl ClientSupport {
    pub(crate) fn of(params: &InitializeParams) -> Self {
        let client = &params.capabilities;
        let text = client.text_document.clone().unwrap_or_default();
        let workspace = client.workspace.clone().unwrap_or_default();
        let window = client.window.clone().unwrap_or_default();
        let general = client.general.clone().unwrap_or_default();
        Self {
            encoding: encoding(&general.position_encodings.unwrap_or_default()),
            diagnostics: diagnostics(&text),
            edits: edits(&workspace),
            code_actions: code_actions(&text),
            completion: completion(&text),
            signature: signature(&text),
            hover_markdown: prefers_markdown(text.hover.and_then(|hover| hover.content_format)),
            definition_links: yes(text
                .definition
                .and_then(|definition| definition.link_support)),
            implementation_links: yes(text
                .implementation
                .and_then(|implementation| implementation.link_support)),
            symbol_tree: yes(text
                .document_symbol
                .and_then(|it| it.hierarchical_document_symbol_support)),
            rename_prepare: yes(text.rename.and_then(|rename| rename.prepare_support)),
            folding_whole_lines: yes(text
                .folding_range
                .and_then(|folding| folding.line_folding_only)),
            watched_files: yes(workspace
                .did_change_watched_files
                .and_then(|it| it.dynamic_registration)),
            workspace_folders: yes(workspace.workspace_folders),
            file_operations: file_operations(&workspace),
            work_done_progress: yes(window.work_done_progress),
            window: Window {
                show_document: window.show_document.is_some_and(|it| it.support),
                asks: window.show_message.is_some(),
            },
            inlay_hints: text.inlay_hint.is_some(),
            colours: text.color_provider.is_some(),
            // Whoever shows lenses sends their commands back, whether it says so or not: Neovim does not.
            lenses: text.code_lens.is_some(),
            tokens: text.semantic_tokens.clone().map(tokens),
            refresh: Refresh {
                diagnostics: yes(workspace.diagnostic.and_then(|it| it.refresh_support)),
                semantic_tokens: yes(workspace.semantic_tokens.and_then(|it| it.refresh_support)),
                inlay_hints: yes(workspace.inlay_hint.and_then(|it| it.refresh_support)),
                code_lenses: yes(workspace.code_lens.and_then(|it| it.refresh_support)),
            },
        }
    }

    pub(crate) fn encoding_kind(&self) -> PositionEncodingKind {
        match self.encoding {
            Encoding::Utf8 => PositionEncodingKind::UTF8,
            Encoding::Utf16 => PositionEncodingKind::UTF16,
            Encoding::Utf32 => PositionEncodingKind::UTF32,
        }
    }
}

/// UTF-8 if the client can, because that needs no counting; else the client's first choice. UTF-16 if it says nothing.
fn encoding(offered: &[PositionEncodingKind]) -> Encoding {
    if offered.contains(&PositionEncodingKind::UTF8) {
        return Encoding::Utf8;
    }
    offered
        .iter()
        .find_map(|kind| match kind {
            kind if *kind == PositionEncodingKind::UTF16 => Some(Encoding::Utf16),
            kind if *kind == PositionEncodingKind::UTF32 => Some(Encoding::Utf32),
            _ => None,
        })
        .unwrap_or_default()
}

type Text = tower_lsp::lsp_types::TextDocumentClientCapabilities;
type Workspace = tower_lsp::lsp_types::WorkspaceClientCapabilities;

fn diagnostics(text: &Text) -> Diagnostics {
    let publish = text.publish_diagnostics.clone().unwrap_or_default();
    Diagnostics {
        pull: text.diagnostic.is_some(),
        version: yes(publish.version_support),
        related_information: yes(publish.related_information),
    }
}

fn file_operations(workspace: &Workspace) -> FileOperations {
    let told = workspace.file_operations.clone().unwrap_or_default();
    FileOperations {
        will_rename: yes(told.will_rename),
        did_create: yes(told.did_create),
        did_rename: yes(told.did_rename),
        did_delete: yes(told.did_delete),
    }
}

fn edits(workspace: &Workspace) -> Edits {
    let edit = workspace.workspace_edit.clone().unwrap_or_default();
    Edits {
        document_changes: yes(edit.document_changes),
        change_annotations: edit.change_annotation_support.is_some(),
    }
}

fn code_actions(text: &Text) -> CodeActions {
    let actions = text.code_action.clone().unwrap_or_default();
    let resolved = actions
        .resolve_support
        .map(|resolve| resolve.properties)
        .unwrap_or_default();
    CodeActions {
        literals: actions.code_action_literal_support.is_some(),
        resolve_edit: yes(actions.data_support)
            && resolved.iter().any(|property| property == "edit"),
        is_preferred: yes(actions.is_preferred_support),
        disabled: yes(actions.disabled_support),
    }
}

fn tokens(told: SemanticTokensClientCapabilities) -> Tokens {
    let full = told.requests.full;
    Tokens {
        types: told.token_types,
        modifiers: told.token_modifiers,
        range: yes(told.requests.range),
        full: matches!(
            full,
            Some(SemanticTokensFullOptions::Bool(true) | SemanticTokensFullOptions::Delta { .. })
        ),
        delta: matches!(
            full,
            Some(SemanticTokensFullOptions::Delta { delta: Some(true) })
        ),
    }
}

fn signature(text: &Text) -> Signature {
    let help = text.signature_help.clone();
    let shown = help.is_some();
    let signature = help.and_then(|help| help.signature_information);
    let signature = signature.unwrap_or_default();
    let parameter = signature.parameter_information.unwrap_or_default();
    Signature {
        shown,
        markdown: prefers_markdown(signature.documentation_format),
        label_offsets: yes(parameter.label_offset_support),
    }
}

fn completion(text: &Text) -> Completion {
    let completion = text.completion.clone().unwrap_or_default();
    let item = completion.completion_item.unwrap_or_default();
    let resolved = item
        .resolve_support
        .map(|resolve| resolve.properties)
        .unwrap_or_default();
    Completion {
        snippets: yes(item.snippet_support),
        insert_replace: yes(item.insert_replace_support),
        markdown: prefers_markdown(item.documentation_format),
        label_details: yes(item.label_details_support),
        adjust_indentation: item.insert_text_mode_support.is_some_and(|modes| {
            modes
                .value_set
                .contains(&InsertTextMode::ADJUST_INDENTATION)
        }),
        resolve_documentation: resolved.iter().any(|property| property == "documentation"),
    }
}

/// Whether Markdown comes first among the formats, which are in the client's order of preference.
fn prefers_markdown(formats: Option<Vec<MarkupKind>>) -> bool {
    formats.unwrap_or_default().first() == Some(&MarkupKind::Markdown)
}

fn yes(flag: Option<bool>) -> bool {
    flag == Some(true)
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    fn support(capabilities: Value) -> ClientSupport {
        let params = json!({"processId": null, "rootUri": null, "capabilities": capabilities});
        ClientSupport::of(&serde_json::from_value(as_typed(params)).unwrap())
    }

    fn encoding_of(offered: Value) -> Encoding {
        support(json!({"general": {"positionEncodings": offered}})).encoding
    }

    #[test]
    fn a_client_that_says_nothing_can_nothing() {
        assert_eq!(support(json!({})), ClientSupport::default());
        assert_eq!(
            support(json!({})).encoding_kind(),
            PositionEncodingKind::UTF16
        );
    }

    #[test]
    fn utf_8_is_taken_wherever_it_stands() {
        assert_eq!(
            encoding_of(json!(["utf-16", "utf-32", "utf-8"])),
            Encoding::Utf8
        );
    }

    #[test]
    fn without_utf_8_the_client_chooses() {
        assert_eq!(encoding_of(json!(["utf-32", "utf-16"])), Encoding::Utf32);
        assert_eq!(encoding_of(json!(["utf-16", "utf-32"])), Encoding::Utf16);
    }

    #[test]
    fn unknown_encodings_are_passed_over() {
        assert_eq!(encoding_of(json!(["utf-7"])), Encoding::Utf16);
        assert_eq!(encoding_of(json!(["utf-7", "utf-32"])), Encoding::Utf32);
    }

    #[test]
    fn an_ability_in_an_unknown_form_leaves_the_others_alone() {
        let support = support(json!({
            "textDocument": {
                "diagnostic": 7,
                "hover": {"contentFormat": ["html", "markdown"]},
                "definition": {"linkSupport": true},
            },
            "window": ["workDoneProgress"],
            "workspace": {"didChangeWatchedFiles": {"dynamicRegistration": true}, "workspaceEdit": {"failureHandling": "prayer"}},
        }));
        assert!(!support.diagnostics.pull && !support.hover_markdown);
        assert!(support.definition_links && support.watched_files);
    }

    #[test]
    fn nested_flags_are_found() {
        let support = support(json!({
            "textDocument": {
                "diagnostic": {},
                "hover": {"contentFormat": ["markdown", "plaintext"]},
                "completion": {"completionItem": {"snippetSupport": true, "documentationFormat": ["plaintext", "markdown"]}},
                "codeAction": {"dataSupport": true, "resolveSupport": {"properties": ["edit"]}}
            },
            "workspace": {"diagnostics": {"refreshSupport": true}, "workspaceEdit": {"documentChanges": true}}
        }));
        assert!(support.refresh.diagnostics);
        assert!(support.diagnostics.pull && support.hover_markdown && support.completion.snippets);
        assert!(!support.completion.markdown, "plain text comes first");
        assert!(support.code_actions.resolve_edit && !support.code_actions.literals);
        assert!(support.edits.document_changes);
    }
}
