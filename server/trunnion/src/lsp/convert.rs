//! Plain values of the other rooms as protocol types, in the form that this client can take, and positions back.

use std::path::Path;

use ide::{Finding, Severity, Template};
use syntax::{Encoding, LineIndex, PositionError, Source, TextEdit, TextRange, TextSize};
use tower_lsp::lsp_types as lsp;
use tower_lsp::lsp_types::Url;

use super::client::ClientSupport;

mod snippet;

/// A position as the other rooms know it.
pub(crate) fn position(position: lsp::Position) -> syntax::Position {
    syntax::Position {
        line: position.line,
        column: position.character,
    }
}

/// A text with all it takes to speak of places in it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Places<'a> {
    pub(crate) text: &'a dyn Source,
    pub(crate) lines: &'a LineIndex,
    pub(crate) encoding: Encoding,
    /// The text is that of a file which no editor has open. One that opens it takes off a byte order mark, and does not
    /// count it.
    pub(crate) is_on_disk: bool,
}

const MARK: &str = "\u{feff}";

impl Places<'_> {
    /// The byte offset of a position.
    pub(crate) fn offset(self, at: lsp::Position) -> Result<TextSize, PositionError> {
        self.lines.offset(self.text, position(at), self.encoding)
    }

    pub(crate) fn position(self, offset: TextSize) -> lsp::Position {
        let mut position = self.lines.position(self.text, offset, self.encoding);
        if self.is_on_disk
            && position.line == 0
            && self.text.slice(TextRange::up_to(TextSize::of(MARK))) == MARK
        {
            position.column = position.column.saturating_sub(self.encoding.units(MARK));
        }
        lsp::Position::new(position.line, position.column)
    }

    pub(crate) fn range(self, range: TextRange) -> lsp::Range {
        lsp::Range::new(self.position(range.start()), self.position(range.end()))
    }

    /// The bytes of a range that something is asked about: cut at the end of the text, empty at its start if it ends before.
    pub(crate) fn text_range(self, range: lsp::Range) -> Result<TextRange, PositionError> {
        let start = self.offset(range.start)?;
        let end = self
            .offset(range.end)
            .unwrap_or_else(|_| self.text.text_len());
        Ok(TextRange::new(start, end.max(start)))
    }

    pub(crate) fn edits(self, edits: &[TextEdit]) -> Vec<lsp::TextEdit> {
        edits
            .iter()
            .map(|edit| lsp::TextEdit::new(self.range(edit.range), edit.insert.clone()))
            .collect()
    }
}

/// A finding as a diagnostic. `locate` says where the places in other files are; without an answer they are left out.
pub(crate) fn diagnostic(
    finding: &Finding,
    places: Places<'_>,
    uri: &Url,
    client: &ClientSupport,
    locate: impl Fn(&Path, TextRange) -> Option<lsp::Location>,
) -> lsp::Diagnostic {
    let related = finding.related.iter().filter_map(|related| {
        let location = match &related.path {
            None => lsp::Location::new(uri.clone(), places.range(related.range)),
            Some(path) => locate(path, related.range)?,
        };
        Some(lsp::DiagnosticRelatedInformation {
            location,
            message: related.message.clone(),
        })
    });
    lsp::Diagnostic {
        range: places.range(finding.range),
        severity: Some(severity(finding.severity)),
        code: Some(lsp::NumberOrString::String(finding.code.to_owned())),
        source: Some("trunnion".to_owned()),
        message: finding.message.clone(),
        related_information: client
            .diagnostics
            .related_information
            .then(|| related.collect())
            .filter(|related: &Vec<_>| !related.is_empty()),
        ..lsp::Diagnostic::default()
    }
}

fn severity(severity: Severity) -> lsp::DiagnosticSeverity {
    match severity {
        Severity::Error => lsp::DiagnosticSeverity::ERROR,
        Severity::Warning => lsp::DiagnosticSeverity::WARNING,
        Severity::Information => lsp::DiagnosticSeverity::INFORMATION,
        Severity::Hint => lsp::DiagnosticSeverity::HINT,
    }
}

/// The edits of one file.
#[derive(Clone, Debug)]
pub(crate) struct FileEdits {
    pub(crate) uri: Url,
    /// None if the file is not open in the editor.
    pub(crate) version: Option<i32>,
    pub(crate) edits: Vec<lsp::TextEdit>,
}

/// Edits with the versions they are meant for, if the client can check them.
pub(crate) fn workspace_edit(files: Vec<FileEdits>, client: &ClientSupport) -> lsp::WorkspaceEdit {
    if client.edits.document_changes {
        let edits = files.into_iter().map(|file| lsp::TextDocumentEdit {
            text_document: lsp::OptionalVersionedTextDocumentIdentifier {
                uri: file.uri,
                version: file.version,
            },
            edits: file.edits.into_iter().map(lsp::OneOf::Left).collect(),
        });
        return lsp::WorkspaceEdit {
            document_changes: Some(lsp::DocumentChanges::Edits(edits.collect())),
            ..lsp::WorkspaceEdit::default()
        };
    }
    lsp::WorkspaceEdit::new(
        files
            .into_iter()
            .map(|file| (file.uri, file.edits))
            .collect(),
    )
}

/// Where a name leads.
#[derive(Clone, Debug)]
pub(crate) struct Target {
    pub(crate) uri: Url,
    /// The whole construct.
    pub(crate) range: lsp::Range,
    /// The part of it to select.
    pub(crate) name: lsp::Range,
}

/// `origin`: what in the document the question was about. `links`: the client takes `LocationLink`s as the answer.
pub(crate) fn definition(
    origin: lsp::Range,
    targets: Vec<Target>,
    links: bool,
) -> lsp::GotoDefinitionResponse {
    if links {
        let links = targets.into_iter().map(|target| lsp::LocationLink {
            origin_selection_range: Some(origin),
            target_uri: target.uri,
            target_range: target.range,
            target_selection_range: target.name,
        });
        return lsp::GotoDefinitionResponse::Link(links.collect());
    }
    let locations = targets
        .into_iter()
        .map(|target| lsp::Location::new(target.uri, target.name));
    lsp::GotoDefinitionResponse::Array(locations.collect())
}

/// The text of a hover or an item; shown as it is where the client cannot render Markdown.
pub(crate) fn markup(markdown: String, renders: bool) -> lsp::MarkupContent {
    let kind = if renders {
        lsp::MarkupKind::Markdown
    } else {
        lsp::MarkupKind::PlainText
    };
    lsp::MarkupContent {
        kind,
        value: markdown,
    }
}

/// What a completion item writes: over `replace`, or, if the user wants to keep what follows the cursor and the
/// client lets them choose, over `insert`, which starts at the same place and ends at the cursor.
pub(crate) fn completion_edit(
    insert: lsp::Range,
    replace: lsp::Range,
    new_text: String,
    client: &ClientSupport,
) -> lsp::CompletionTextEdit {
    if client.completion.insert_replace && insert != replace {
        lsp::CompletionTextEdit::InsertAndReplace(lsp::InsertReplaceEdit {
            new_text,
            insert,
            replace,
        })
    } else {
        lsp::CompletionTextEdit::Edit(lsp::TextEdit::new(replace, new_text))
    }
}

/// A text with places to fill in, as the client can take it.
pub(crate) fn template(
    template: &Template,
    client: &ClientSupport,
) -> (String, lsp::InsertTextFormat) {
    if client.completion.snippets && template.has_places() {
        (snippet::snippet(template), lsp::InsertTextFormat::SNIPPET)
    } else {
        (template.plain(), lsp::InsertTextFormat::PLAIN_TEXT)
    }
}

/// The same edit, for the user to look at and confirm first, if the client can ask for that.
pub(crate) fn to_be_confirmed(
    mut edit: lsp::WorkspaceEdit,
    label: &str,
    client: &ClientSupport,
) -> lsp::WorkspaceEdit {
    const ID: &str = "confirm";
    let Some(lsp::DocumentChanges::Edits(files)) = &mut edit.document_changes else {
        return edit;
    };
    if !client.edits.change_annotations {
        return edit;
    }
    for file in files {
        for edit in &mut file.edits {
            if let lsp::OneOf::Left(plain) = edit {
                *edit = lsp::OneOf::Right(lsp::AnnotatedTextEdit {
                    text_edit: plain.clone(),
                    annotation_id: ID.to_owned(),
                });
            }
        }
    }
    let annotation = lsp::ChangeAnnotation {
        label: label.to_owned(),
        needs_confirmation: Some(true),
        description: None,
    };
    edit.change_annotations = Some([(ID.to_owned(), annotation)].into());
    edit
}

#[cfg(test)]
mod tests;
