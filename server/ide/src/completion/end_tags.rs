//! End tags for the elements that are open.

use super::{Completion, CompletionItem, CompletionKind};
use crate::open_elements::{is_open, left_open};
use project::View;
use syntax::{Element, TextRange, TextSize};

/// Behind a `</`: the innermost open element first. The last of `path` is the
/// element that the tag closes or could close.
pub(super) fn complete(view: &View, path: &[Element<'_>], range: TextRange) -> Option<Completion> {
    let rest = &view.text()[usize::from(range.end())..];
    let bracket = if rest.trim_start().starts_with('>') {
        ""
    } else {
        ">"
    };
    let mut items: Vec<CompletionItem> = Vec::new();
    let inner = left_open(path, range.start());
    for element in path.iter().chain(&inner).rev() {
        let is_own = element
            .end_tag()
            .is_none_or(|tag| tag.name_range().intersect(range).is_some());
        let name = element.name();
        if is_own && !name.is_empty() && items.iter().all(|item| item.label != name) {
            items.push(item(name, bracket));
        }
    }
    // Somebody who types an end tag wants one, even where nothing lacks one.
    if items.is_empty() {
        let innermost = path.last().filter(|element| !element.name().is_empty());
        items.extend(innermost.map(|element| item(element.name(), bracket)));
    }
    Some(Completion::new(range, items))
}

fn item(name: &str, bracket: &str) -> CompletionItem {
    let insert = format!("{name}{bracket}");
    CompletionItem::new(CompletionKind::EndTag, name, insert).detail("end tag")
}

/// The end tag of the innermost element that lacks one, written from `start` on
/// (`<` may be there).
pub(super) fn closing(path: &[Element<'_>], at: TextSize, start: &str) -> Option<CompletionItem> {
    let inner = left_open(path, at);
    let innermost = path
        .iter()
        .chain(&inner)
        .rev()
        .find(|element| is_open(element))?;
    let name = innermost.name();
    let insert = format!("{start}{name}>");
    Some(CompletionItem::new(CompletionKind::EndTag, format!("/{name}"), insert).detail("end tag"))
}
