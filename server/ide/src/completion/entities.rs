//! References: what may stand behind an `&`.

use super::{Completion, CompletionItem, CompletionKind};
use project::View;
use syntax::{Place, TextRange, TextSize};

/// The entities that need no declaration (XML 1.0, 4.6), the most wanted first.
const PREDEFINED: [(&str, &str, &str); 5] = [
    ("amp", "&", "An ampersand."),
    ("lt", "<", "A less-than sign."),
    ("gt", ">", "A greater-than sign."),
    ("quot", "\"", "A double quote."),
    ("apos", "'", "An apostrophe."),
];

/// References, if the caret is in one.
pub(super) fn complete(view: &View, offset: TextSize) -> Option<Completion> {
    let text = view.text();
    let before = text.get(..usize::from(offset))?;
    let word = before.len()
        - before
            .trim_end_matches(|c: char| c.is_ascii_alphanumeric())
            .len();
    let start = before.len() - word;
    if !before[..start].ends_with('&') {
        return None;
    }
    match view.tree().place_at(offset) {
        Place::AttributeValue { .. } | Place::Content { .. } => {}
        _ => return None,
    }
    let rest = &text[before.len()..];
    let behind = rest.len()
        - rest
            .trim_start_matches(|c: char| c.is_ascii_alphanumeric())
            .len();
    let closed = rest[behind..].starts_with(';');
    let end = before.len() + if closed { behind + 1 } else { 0 };
    let replace = TextRange::new(
        u32::try_from(start - 1).ok()?.into(),
        u32::try_from(end).ok()?.into(),
    );
    let items = PREDEFINED.map(|(name, character, doc)| {
        let reference = format!("&{name};");
        CompletionItem::new(CompletionKind::Reference, &reference, reference.clone())
            .detail(character)
            .doc(doc)
    });
    Some(Completion::new(replace, items.to_vec()))
}
