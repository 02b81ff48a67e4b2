//! Code actions: what the assists offer, worked out when the user chose it.

use ide::assists::{self, Change, Offer, OfferKey, OfferKind};
use serde::{Deserialize, Serialize};
use syntax::{TextRange, TextSize};
use tower_lsp::jsonrpc::{Error, ErrorCode, Result};
use tower_lsp::lsp_types::{
    CodeAction, CodeActionDisabled, CodeActionKind, CodeActionOrCommand, CodeActionParams,
    CodeActionResponse, CodeActionTriggerKind, Diagnostic, NumberOrString, Url, WorkspaceEdit,
};

use super::client::ClientSupport;
use super::convert::{self, FileEdits};
use super::documents::{Open, failed};
use super::precedents;
use super::task::Tasks;

/// All kinds of actions there are.
pub(crate) const KINDS: [CodeActionKind; 4] = [
    CodeActionKind::QUICKFIX,
    CodeActionKind::REFACTOR_EXTRACT,
    CodeActionKind::REFACTOR_INLINE,
    CodeActionKind::REFACTOR_REWRITE,
];

fn kind(kind: OfferKind) -> CodeActionKind {
    match kind {
        OfferKind::Quick => CodeActionKind::QUICKFIX,
        OfferKind::Extract => CodeActionKind::REFACTOR_EXTRACT,
        OfferKind::Inline => CodeActionKind::REFACTOR_INLINE,
        OfferKind::Rewrite => CodeActionKind::REFACTOR_REWRITE,
    }
}

/// A kind stands for all kinds below it, and the empty kind for all there are (LSP 3.17, `CodeActionKind`).
fn is_wanted(kind: &CodeActionKind, only: Option<&[CodeActionKind]>) -> bool {
    only.is_none_or(|only| {
        only.iter().any(|wanted| {
            let below = kind.as_str().strip_prefix(wanted.as_str());
            wanted.as_str().is_empty()
                || below.is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
        })
    })
}

pub(crate) async fn at(
    document: Open,
    params: CodeActionParams,
    client: ClientSupport,
    tasks: &Tasks,
) -> Result<Option<CodeActionResponse>> {
    let range = document
        .places(client.encoding)
        .text_range(params.range)
        .map_err(|error| Error::invalid_params(error.to_string()))?;
    if !client.code_actions.literals {
        return Ok(None);
    }
    let context = params.context;
    let actions = tasks.run("the search for actions", move |cancelled| {
        let view = document.view()?;
        let only = context.only.as_deref();
        let findings = match is_wanted(&CodeActionKind::QUICKFIX, only) {
            true => document.findings(&view),
            false => Vec::new(),
        };
        let answer = Answer {
            document: &document,
            client: &client,
            shown: &context.diagnostics,
            says_why_not: client.code_actions.disabled
                && context.trigger_kind != Some(CodeActionTriggerKind::AUTOMATIC),
        };
        let mut actions = Vec::new();
        for offer in assists::offers_with(&view, range, &findings) {
            if cancelled.is_raised() {
                return Err(Error::request_cancelled());
            }
            if is_wanted(&kind(offer.kind), only) {
                actions.extend(answer.action(&view, offer));
            }
        }
        // It is of no kind, so it is there for those who ask for all kinds; and not by itself wherever the caret goes.
        if only.is_none() && context.trigger_kind != Some(CodeActionTriggerKind::AUTOMATIC) {
            let precedents = precedents::action(&document, &view, range.start());
            actions.extend(precedents.map(CodeActionOrCommand::CodeAction));
        }
        Ok(actions)
    });
    Ok(Some(actions.await??))
}

/// Works out an action that was chosen.
pub(crate) async fn resolve(
    document: Open,
    mut action: CodeAction,
    chosen: Chosen,
    client: ClientSupport,
    tasks: &Tasks,
) -> Result<CodeAction> {
    if document.version() != chosen.version {
        // LSP 3.17, "ContentModified".
        return Err(Error {
            code: ErrorCode::ServerError(-32801),
            message: "The document has changed since this was offered.".into(),
            data: None,
        });
    }
    let edit = tasks.run("the change", move |_| {
        let view = document.view()?;
        let change = assists::make(&view, &chosen.key()).map_err(failed)?;
        Ok(edit(
            &document,
            &change,
            chosen.confirm.then_some(chosen.title.as_str()),
            &client,
        ))
    });
    action.edit = Some(edit.await??);
    Ok(action)
}

/// What is needed to find a chosen action again.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub(crate) struct Chosen {
    pub(crate) uri: Url,
    version: Option<i32>,
    assist: String,
    from: u32,
    to: u32,
    choice: String,
    title: String,
    /// The user is to confirm it, having seen it.
    confirm: bool,
}

impl Chosen {
    /// # Errors
    /// The action is none of ours.
    pub(crate) fn of(action: &mut CodeAction) -> Result<Self> {
        let data = action
            .data
            .take()
            .ok_or_else(|| Error::invalid_params("the action has no data"))?;
        serde_json::from_value(data).map_err(|error| {
            Error::invalid_params(format!("the action's data is not ours: {error}"))
        })
    }

    fn key(&self) -> OfferKey {
        let (from, to) = (TextSize::new(self.from), TextSize::new(self.to));
        OfferKey {
            id: self.assist.clone(),
            selection: TextRange::new(from.min(to), to),
            choice: self.choice.clone(),
        }
    }
}

/// Turns offers into actions for one request.
struct Answer<'a> {
    document: &'a Open,
    client: &'a ClientSupport,
    /// The diagnostics at the place, as the client shows them.
    shown: &'a [Diagnostic],
    says_why_not: bool,
}

impl Answer<'_> {
    fn action(&self, view: &project::View, offer: Offer) -> Option<CodeActionOrCommand> {
        let mut action = CodeAction {
            title: offer.title.clone(),
            kind: Some(kind(offer.kind)),
            diagnostics: self.solved(&offer),
            is_preferred: (offer.is_preferred && self.client.code_actions.is_preferred)
                .then_some(true),
            ..CodeAction::default()
        };
        match self.fill(view, &offer, &mut action) {
            Ok(()) => Some(CodeActionOrCommand::CodeAction(action)),
            Err(reason) if self.says_why_not => {
                action.is_preferred = None;
                action.disabled = Some(CodeActionDisabled { reason });
                Some(CodeActionOrCommand::CodeAction(action))
            }
            Err(_) => None,
        }
    }

    /// Gives an action its edit, or what it takes to work the edit out later.
    fn fill(
        &self,
        view: &project::View,
        offer: &Offer,
        action: &mut CodeAction,
    ) -> std::result::Result<(), String> {
        if let Some(reason) = &offer.disabled {
            return Err(reason.clone());
        }
        let confirm = offer.trust != ide::Trust::Safe;
        let change = match &offer.ready {
            Some(change) => change.clone(),
            None if self.client.code_actions.resolve_edit => {
                let chosen = Chosen {
                    uri: self.document.uri.clone(),
                    version: self.document.version(),
                    assist: offer.key.id.clone(),
                    from: offer.key.selection.start().into(),
                    to: offer.key.selection.end().into(),
                    choice: offer.key.choice.clone(),
                    title: offer.title.clone(),
                    confirm,
                };
                action.data =
                    Some(serde_json::to_value(chosen).map_err(|error| error.to_string())?);
                return Ok(());
            }
            None => assists::make(view, &offer.key)?,
        };
        let title = confirm.then_some(offer.title.as_str());
        action.edit = Some(edit(self.document, &change, title, self.client));
        Ok(())
    }

    fn solved(&self, offer: &Offer) -> Option<Vec<Diagnostic>> {
        let range = self
            .document
            .places(self.client.encoding)
            .range(offer.finding?);
        let code = NumberOrString::String(offer.code?.to_owned());
        let solved: Vec<Diagnostic> = self
            .shown
            .iter()
            .filter(|it| it.range == range && it.code.as_ref() == Some(&code))
            .cloned()
            .collect();
        (!solved.is_empty()).then_some(solved)
    }
}

/// `confirm`: what the user is asked to confirm.
fn edit(
    document: &Open,
    change: &Change,
    confirm: Option<&str>,
    client: &ClientSupport,
) -> WorkspaceEdit {
    let mut sorted = change.edits.clone();
    // Insertions come before a replacement that starts at the same place (LSP 3.17, "TextEdit[]").
    sorted.sort_by_key(|edit| (edit.range.start(), edit.range.end()));
    let edits = FileEdits {
        uri: document.uri.clone(),
        version: document.version(),
        edits: document.places(client.encoding).edits(&sorted),
    };
    let edit = convert::workspace_edit(vec![edits], client);
    match confirm {
        Some(label) => convert::to_be_confirmed(edit, label, client),
        None => edit,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_kind_stands_for_those_below_it() {
        let wanted = |only: &[&'static str]| {
            let only: Vec<CodeActionKind> = only
                .iter()
                .map(|kind| CodeActionKind::from(*kind))
                .collect();
            is_wanted(&CodeActionKind::REFACTOR_EXTRACT, Some(&only))
        };
        assert!(wanted(&["refactor"]) && wanted(&["refactor.extract"]) && wanted(&[""]));
        assert!(
            !wanted(&["refactor.ex"])
                && !wanted(&["refactor.extract.function"])
                && !wanted(&["quickfix"])
        );
        assert!(!wanted(&[]) && is_wanted(&CodeActionKind::QUICKFIX, None));
    }
}
