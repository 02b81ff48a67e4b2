//! References: what may stand behind an `&`.

use super::{Completion, CompletionItem, CompletionKind};
use project::View;
use syntax::{Place, Source, TextRange, TextSize};

/// The entities that need no declaration (XML 1.0, 4.6), the most wanted first.
const PREDEFINED: [(&str, &str, &str); 5] = [
    ("amp", "&", "An ampersand."),
    ("lt", "<", "A less-than sign."),
    ("gt", ">", "A greater-than sign."),
    ("quot", "\"", "A double quote."),
    ("apos", "'", "An apostrophe."),
];

/// In bytes: no word that goes beyond this on a side of the caret is one of these names.
const LONGEST: TextSize = TextSize::new(64);

/// References, if the caret is in one.
pub(super) fn complete(view: &View, offset: TextSize) -> Option<Completion> {
    let from = offset.checked_sub(LONGEST).unwrap_or_default();
    let before = view.document.slice(TextRange::new(from, offset));
    let is_name = |c: char| c.is_ascii_alphanumeric();
    let ahead = before.trim_end_matches(is_name);
    if !ahead.ends_with('&') {
        return None;
    }
    let start = offset - TextSize::of(&before[ahead.len() - 1..]);
    match view.tree().place_at(offset) {
        Place::AttributeValue { .. } | Place::Content { .. } => {}
        _ => return None,
    }
    let rest = view.document.slice(TextRange::at(offset, LONGEST));
    let behind = rest.len() - rest.trim_start_matches(is_name).len();
    let closed = rest[behind..].starts_with(';').then(|| &rest[..=behind]);
    let end = offset + TextSize::of(closed.unwrap_or_default());
    let replace = TextRange::new(start, end);
    let items = PREDEFINED.map(|(name, character, doc)| {
        let reference = format!("&{name};");
        CompletionItem::new(CompletionKind::Reference, &reference, reference.clone())
            .detail(character)
            .doc(doc)
    });
    Some(Completion::new(replace, items.to_vec()))
}
