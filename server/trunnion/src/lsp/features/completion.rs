//! Proposals, with what is known about each: at once, or when the client comes back with one.

use std::borrow::Cow;

use ide::completion::{About, CompletionItem as Proposal, CompletionKind as Kind, complete};
use serde::{Deserialize, Serialize, Serializer};
use syntax::{Source, TextRange, TextSize};
use tower_lsp::jsonrpc::{Error, Result};
use tower_lsp::lsp_types::{
    CompletionItem, CompletionItemKind, CompletionItemLabelDetails, Documentation,
    InsertTextFormat, InsertTextMode, Position, Range, Url,
};

use super::{Question, prose};
use crate::lsp::chunks::Chunks;
use crate::lsp::convert;

/// So many proposals of a client that cannot come back are explained at once.
const MOST_EXPLAINED: usize = 40;

/// Each takes a search of the document. So many bytes are searched for all; the first few are explained in any case.
const SEARCHED: usize = 4_000_000;
const FEW: usize = 4;

/// A `CompletionList` or null, as the text that goes out. `trigger`: the character that made the client ask by itself.
pub(crate) fn completion(
    question: &Question,
    at: Position,
    trigger: Option<&str>,
) -> Result<Chunks> {
    let offset = question.offset(at)?;
    let Some(found) = complete(&question.view, offset) else {
        return Ok(Chunks::json(&()));
    };
    let (document, places) = (&question.view.document, question.few_places());
    let longest = TextSize::of("</");
    let before = offset.checked_sub(longest).unwrap_or_default();
    let before = document.slice(TextRange::new(before, offset));
    if trigger.is_some_and(|trigger| is_unasked(trigger, &before, &found.items)) {
        return Ok(Chunks::json(&()));
    }
    // Where the caret is taken to stand: one behind its line's end, or between CR and LF, stands at the end.
    let at = places.position(offset);
    let replace = in_one_line(places.range(found.replace), at);
    let explained = SEARCHED / usize::from(document.text_len()).max(1);
    Ok(Chunks::json(&List {
        is_incomplete: found.is_incomplete,
        items: Items {
            question,
            proposals: &found.items,
            explained: explained.clamp(FEW, MOST_EXPLAINED),
            insert: Range::new(replace.start, at),
            replace,
        },
    }))
}

/// A `CompletionList` (LSP 3.17).
#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct List<'q> {
    is_incomplete: bool,
    items: Items<'q>,
}

/// Each is made when it is written: there may be thousands.
struct Items<'q> {
    question: &'q Question,
    proposals: &'q [Proposal],
    /// So many of the first ones.
    explained: usize,
    insert: Range,
    replace: Range,
}

impl Serialize for Items<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> std::result::Result<S::Ok, S::Error> {
        let proposals = self.proposals.iter().enumerate();
        serializer.collect_seq(proposals.map(|(rank, proposal)| self.item(proposal, rank)))
    }
}

/// With data of a type of their own: as a tree of JSON values they would take more than all else.
#[derive(Serialize)]
struct Item<'q> {
    #[serde(flatten)]
    item: CompletionItem,
    #[serde(skip_serializing_if = "Option::is_none")]
    data: Option<Data<'q>>,
}

/// Whether whole elements are proposed although somebody only typed a blank or a dot in content.
fn is_unasked(trigger: &str, before: &str, items: &[Proposal]) -> bool {
    let is_element = |item: &Proposal| matches!(item.kind, Kind::Element | Kind::EndTag);
    let starts_tag = trigger == "<" || (trigger == "/" && before.ends_with("</"));
    !starts_tag && items.first().is_some_and(is_element)
}

/// An edit of a proposal stays in the line of the caret (LSP 3.17, `CompletionItem.textEdit`).
fn in_one_line(range: Range, at: Position) -> Range {
    let is_here = |position: Position| position.line == at.line;
    Range::new(
        if is_here(range.start) {
            range.start
        } else {
            at
        },
        if is_here(range.end) { range.end } else { at },
    )
}

impl<'q> Items<'q> {
    fn item(&self, proposal: &'q Proposal, rank: usize) -> Item<'q> {
        let client = &self.question.client;
        let (text, format) = convert::template(&proposal.insert, client);
        let several_lines = text.contains('\n') && client.completion.adjust_indentation;
        let details = CompletionItemLabelDetails {
            detail: None,
            description: Some(proposal.detail.clone()),
        };
        let has_detail = !proposal.detail.is_empty();
        let text_edit = convert::completion_edit(self.insert, self.replace, text, client);
        let key = key(&proposal.about);
        let is_explained =
            key.is_none() || !client.completion.resolve_documentation && rank < self.explained;
        let documentation = is_explained.then(|| documentation(self.question, &proposal.about));
        let item = CompletionItem {
            label: proposal.label.clone(),
            label_details: (has_detail && client.completion.label_details).then_some(details),
            kind: Some(kind(proposal.kind)),
            detail: (has_detail && !client.completion.label_details)
                .then(|| proposal.detail.clone()),
            documentation: documentation.flatten(),
            sort_text: Some(format!("{rank:05}")),
            filter_text: proposal.filter.clone(),
            insert_text_format: (format == InsertTextFormat::SNIPPET).then_some(format),
            insert_text_mode: several_lines.then_some(InsertTextMode::ADJUST_INDENTATION),
            text_edit: Some(text_edit),
            ..CompletionItem::default()
        };
        let key = key.filter(|_| client.completion.resolve_documentation);
        let uri = Cow::Borrowed(&self.question.open.uri);
        let data = key.map(|about| Data { uri, about });
        Item { item, data }
    }
}

fn documentation(question: &Question, about: &About) -> Option<Documentation> {
    let text = ide::completion::about(&question.view, about);
    (!text.is_empty())
        .then(|| Documentation::MarkupContent(prose(&text, question.client.completion.markdown)))
}

/// What a proposal carries so that it can be explained later.
#[derive(Debug, Serialize, Deserialize)]
struct Data<'q> {
    uri: Cow<'q, Url>,
    about: Key<'q>,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
enum Key<'q> {
    Name {
        kind: Cow<'q, str>,
        name: Cow<'q, str>,
    },
    Node(Cow<'q, [u32]>),
}

fn key(about: &About) -> Option<Key<'_>> {
    match about {
        About::Text(_) => None,
        About::Name { kind, name } => Some(Key::Name {
            kind: kind.into(),
            name: name.into(),
        }),
        About::Node(path) => Some(Key::Node(path.into())),
    }
}

/// The document that a proposal is for; None if all is said about it.
pub(crate) fn document_of(item: &CompletionItem) -> Result<Option<Url>> {
    Ok(read(item)?.map(|data| data.uri.into_owned()))
}

/// A proposal with what is known about it in the document as it is now.
pub(crate) fn about(question: &Question, mut item: CompletionItem) -> Result<CompletionItem> {
    if let Some(data) = read(&item)? {
        let about = match data.about {
            Key::Name { kind, name } => About::Name {
                kind: kind.into_owned(),
                name: name.into_owned(),
            },
            Key::Node(path) => About::Node(path.into_owned()),
        };
        item.documentation = documentation(question, &about);
    }
    Ok(item)
}

fn read(item: &CompletionItem) -> Result<Option<Data<'static>>> {
    let data = item.data.clone().map(serde_json::from_value).transpose();
    data.map_err(|error| {
        Error::invalid_params(format!("the data of the item are not Trunnion's: {error}"))
    })
}

/// Among the kinds that every client knows (LSP 3.17, `CompletionItemKind`: "Text" to "Reference").
fn kind(kind: Kind) -> CompletionItemKind {
    match kind {
        Kind::Element | Kind::EndTag => CompletionItemKind::CLASS,
        Kind::Attribute => CompletionItemKind::PROPERTY,
        Kind::Word => CompletionItemKind::ENUM,
        Kind::Value => CompletionItemKind::VALUE,
        Kind::Name => CompletionItemKind::VARIABLE,
        Kind::Node => CompletionItemKind::REFERENCE,
        Kind::File => CompletionItemKind::FILE,
        Kind::Input => CompletionItemKind::INTERFACE,
        Kind::Reference => CompletionItemKind::TEXT,
    }
}
