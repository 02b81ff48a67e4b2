//! What is said at `initialize` about the questions that can be asked.

use tower_lsp::lsp_types::*;

use super::super::client::ClientSupport;
use super::tokens;

/// Adds the features of this room to what the server can.
pub(crate) fn add(all: &mut ServerCapabilities, client: &ClientSupport) {
    all.completion_provider = Some(CompletionOptions {
        // What starts a tag, a value, a reference, the next attribute, or the next step of a list or an index path.
        trigger_characters: Some(
            ["<", "/", "\"", "'", "=", "&", " ", ".", ":", ","]
                .map(str::to_owned)
                .to_vec(),
        ),
        resolve_provider: Some(true),
        ..CompletionOptions::default()
    });
    // Behind the element's name, and where an attribute or a value begins.
    all.signature_help_provider = client.signature.shown.then(|| SignatureHelpOptions {
        trigger_characters: Some([" ", "=", "\"", "'"].map(str::to_owned).to_vec()),
        ..SignatureHelpOptions::default()
    });
    all.hover_provider = Some(HoverProviderCapability::Simple(true));
    all.definition_provider = Some(OneOf::Left(true));
    all.implementation_provider = Some(ImplementationProviderCapability::Simple(true));
    all.references_provider = Some(OneOf::Left(true));
    all.document_highlight_provider = Some(OneOf::Left(true));
    all.document_symbol_provider = Some(OneOf::Left(true));
    all.workspace_symbol_provider = Some(OneOf::Left(true));
    all.folding_range_provider = Some(FoldingRangeProviderCapability::Simple(true));
    all.selection_range_provider = Some(SelectionRangeProviderCapability::Simple(true));
    all.linked_editing_range_provider = Some(LinkedEditingRangeServerCapabilities::Simple(true));
    all.document_link_provider = Some(DocumentLinkOptions {
        resolve_provider: Some(false),
        work_done_progress_options: WorkDoneProgressOptions::default(),
    });
    all.document_on_type_formatting_provider = Some(DocumentOnTypeFormattingOptions {
        first_trigger_character: ">".to_owned(),
        more_trigger_character: Some(vec!["/".to_owned()]),
    });
    all.semantic_tokens_provider = tokens::options(client);
    all.color_provider = client
        .colours
        .then_some(ColorProviderCapability::Simple(true));
    all.inlay_hint_provider = client.inlay_hints.then_some(OneOf::Left(true));
    all.code_lens_provider = client.lenses.then_some(CodeLensOptions {
        resolve_provider: Some(false),
    });
    all.rename_provider = Some(if client.rename_prepare {
        OneOf::Right(RenameOptions {
            prepare_provider: Some(true),
            work_done_progress_options: WorkDoneProgressOptions::default(),
        })
    } else {
        OneOf::Left(true)
    });
}
