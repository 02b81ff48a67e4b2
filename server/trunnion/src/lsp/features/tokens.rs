//! The words of a document for colours, in the form of LSP 3.17: places relative to the word before, types and modifiers
//! by their number in a legend.

use std::hash::{DefaultHasher, Hash, Hasher};

use ide::tokens::{Token, TokenKind, tokens};
use syntax::{TextRange, TextSize};
use tower_lsp::jsonrpc::{Error, Result};
use tower_lsp::lsp_types::*;

use super::Question;
use crate::lsp::client::{ClientSupport, Tokens};
use crate::lsp::convert::Places;

/// For a word that should lead somewhere and does not. Not among the standard's modifiers; those that do not know it show
/// the word as they do without.
const UNRESOLVED: SemanticTokenModifier = SemanticTokenModifier::new("unresolved");

/// What is remembered to tell changes only; of more words than this, all are told each time.
const MOST_REMEMBERED: usize = 200_000;

/// The words that a client has.
#[derive(Debug)]
pub(crate) struct Told {
    id: String,
    data: Vec<SemanticToken>,
}

/// The types that a kind of words is shown as, the best first.
fn types(kind: TokenKind) -> [SemanticTokenType; 2] {
    use SemanticTokenType as Type;
    match kind {
        TokenKind::Element => [Type::TYPE, Type::CLASS],
        TokenKind::Attribute => [Type::PROPERTY, Type::PARAMETER],
        TokenKind::Animation => [Type::FUNCTION, Type::VARIABLE],
        TokenKind::Name => [Type::VARIABLE, Type::PARAMETER],
        TokenKind::IndexPath => [Type::NAMESPACE, Type::STRING],
        TokenKind::Input => [Type::EVENT, Type::ENUM_MEMBER],
        TokenKind::File => [Type::STRING, Type::VARIABLE],
        TokenKind::Word => [Type::ENUM_MEMBER, Type::KEYWORD],
        TokenKind::Number => [Type::NUMBER, Type::STRING],
    }
}

const KINDS: [TokenKind; 9] = [
    TokenKind::Element,
    TokenKind::Attribute,
    TokenKind::Animation,
    TokenKind::Name,
    TokenKind::IndexPath,
    TokenKind::Input,
    TokenKind::File,
    TokenKind::Word,
    TokenKind::Number,
];

/// What is told at `initialize`; nothing to a client that colours nothing.
pub(super) fn options(client: &ClientSupport) -> Option<SemanticTokensServerCapabilities> {
    let client = client.tokens.as_ref()?;
    let full = match client.delta {
        true => SemanticTokensFullOptions::Delta { delta: Some(true) },
        false => SemanticTokensFullOptions::Bool(client.full),
    };
    Some(SemanticTokensServerCapabilities::SemanticTokensOptions(
        SemanticTokensOptions {
            legend: legend(client),
            range: Some(client.range),
            full: Some(full),
            ..SemanticTokensOptions::default()
        },
    ))
}

/// Types that the client knows, each once, and modifiers.
fn legend(client: &Tokens) -> SemanticTokensLegend {
    let mut known: Vec<SemanticTokenType> = Vec::new();
    for kind in KINDS {
        let shown = shown_as(kind, client);
        known.extend(shown.filter(|shown| !known.contains(shown)));
    }
    let declaration = client.modifiers.iter();
    let declaration = declaration.filter(|known| **known == SemanticTokenModifier::DECLARATION);
    SemanticTokensLegend {
        token_types: known,
        token_modifiers: declaration.take(1).cloned().chain([UNRESOLVED]).collect(),
    }
}

fn shown_as(kind: TokenKind, client: &Tokens) -> Option<SemanticTokenType> {
    let mut types = types(kind).into_iter();
    types.find(|shown| client.types.contains(shown))
}

/// All words of the document.
pub(crate) fn all(question: &Question) -> Result<Option<SemanticTokens>> {
    let data = whole(question);
    Ok(Some(SemanticTokens {
        result_id: remember(question, &data),
        data,
    }))
}

/// The words within a range.
pub(crate) fn within(question: &Question, range: Range) -> Result<Option<SemanticTokens>> {
    let range = question
        .places()
        .text_range(range)
        .map_err(|error| Error::invalid_params(error.to_string()))?;
    Ok(Some(SemanticTokens {
        result_id: None,
        data: encoded(question, range),
    }))
}

/// What is other than in the words that the client has.
pub(crate) fn changes(
    question: &Question,
    previous: &str,
) -> Result<Option<SemanticTokensFullDeltaResult>> {
    let data = whole(question);
    let known = question.open.tokens().take();
    let result_id = remember(question, &data);
    Ok(Some(match known.filter(|known| known.id == previous) {
        Some(known) => SemanticTokensFullDeltaResult::TokensDelta(SemanticTokensDelta {
            result_id,
            edits: difference(&known.data, &data).into_iter().collect(),
        }),
        None => SemanticTokensFullDeltaResult::Tokens(SemanticTokens { result_id, data }),
    }))
}

/// The one stretch in which two rows of words differ. Places are relative, so words behind an edit stay equal.
fn difference(before: &[SemanticToken], now: &[SemanticToken]) -> Option<SemanticTokensEdit> {
    const NUMBERS: usize = 5;
    let pairs = before.iter().zip(now);
    let start = pairs.take_while(|(before, now)| before == now).count();
    let pairs = before[start..].iter().rev().zip(now[start..].iter().rev());
    let end = pairs.take_while(|(before, now)| before == now).count();
    let (gone, come) = (before.len() - start - end, &now[start..now.len() - end]);
    let number = |tokens: usize| u32::try_from(tokens * NUMBERS).unwrap_or(u32::MAX);
    (gone > 0 || !come.is_empty()).then(|| SemanticTokensEdit {
        start: number(start),
        delete_count: number(gone),
        data: Some(come.to_vec()),
    })
}

/// Keeps what the client gets, under the name it gets; that is a fingerprint, so an equal one has equal words.
fn remember(question: &Question, data: &[SemanticToken]) -> Option<String> {
    let told = (data.len() <= MOST_REMEMBERED).then(|| {
        let mut hasher = DefaultHasher::new();
        for token in data {
            let place = (token.delta_line, token.delta_start, token.length);
            (place, token.token_type, token.token_modifiers_bitset).hash(&mut hasher);
        }
        Told {
            id: format!("{:016x}", hasher.finish()),
            data: data.to_vec(),
        }
    });
    let id = told.as_ref().map(|told| told.id.clone());
    *question.open.tokens() = told;
    id
}

fn whole(question: &Question) -> Vec<SemanticToken> {
    encoded(
        question,
        TextRange::up_to(TextSize::of(question.view.text())),
    )
}

fn encoded(question: &Question, within: TextRange) -> Vec<SemanticToken> {
    let Some(client) = &question.client.tokens else {
        return Vec::new();
    };
    let legend = legend(client);
    let number = |kind: TokenKind| {
        let shown = shown_as(kind, client)?;
        let at = legend
            .token_types
            .iter()
            .position(|known| *known == shown)?;
        u32::try_from(at).ok()
    };
    let numbers: Vec<Option<u32>> = KINDS.into_iter().map(number).collect();
    let bit = |modifier: &SemanticTokenModifier| {
        let at = legend
            .token_modifiers
            .iter()
            .position(|known| known == modifier);
        at.map_or(0, |at| 1 << at)
    };
    let (given, unresolved) = (bit(&SemanticTokenModifier::DECLARATION), bit(&UNRESOLVED));
    let mut writer = Writer::new(question.places());
    for token in tokens(&question.view, within) {
        let kind = KINDS.iter().position(|kind| *kind == token.kind);
        let Some(shown) = kind.and_then(|at| numbers[at]) else {
            continue;
        };
        let modifiers = if token.is_given { given } else { 0 }
            | if token.is_unresolved { unresolved } else { 0 };
        writer.add(&token, shown, modifiers);
    }
    writer.data
}

/// Puts words one behind the other, counting columns from the word before: lines may be very long.
struct Writer<'p> {
    places: Places<'p>,
    /// Where the last word starts.
    line: u32,
    start: TextSize,
    data: Vec<SemanticToken>,
}

impl<'p> Writer<'p> {
    fn new(places: Places<'p>) -> Self {
        Self {
            places,
            line: 0,
            start: TextSize::new(0),
            data: Vec::new(),
        }
    }

    /// A word that goes over several lines is told line by line: few clients can take it whole.
    fn add(&mut self, token: &Token, shown: u32, modifiers: u32) {
        let mut start = token.range.start();
        for piece in self
            .places
            .text
            .slice(token.range)
            .split_inclusive(['\n', '\r'])
        {
            let word = piece.trim_end_matches(['\n', '\r']);
            if !word.is_empty() {
                self.add_piece(start, word, shown, modifiers);
            }
            start += TextSize::of(piece);
        }
    }

    fn add_piece(&mut self, start: TextSize, word: &str, shown: u32, modifiers: u32) {
        let Places {
            text,
            lines,
            encoding,
            ..
        } = self.places;
        let line = lines.line_of(start);
        let from = match lines.line_range(line) {
            Some(range) if line != self.line => range.start(),
            _ => self.start,
        };
        self.data.push(SemanticToken {
            delta_line: line - self.line,
            delta_start: encoding.units(&text.slice(TextRange::new(from, start))),
            length: encoding.units(word),
            token_type: shown,
            token_modifiers_bitset: modifiers,
        });
        (self.line, self.start) = (line, start);
    }
}

#[cfg(test)]
mod tests;
