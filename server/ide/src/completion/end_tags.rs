//! End tags for the elements that are open.

use super::{Completion, CompletionItem, CompletionKind};
use crate::open_elements::{is_open, left_open};
use project::View;
use syntax::{Element, Encoding, TextRange, TextSize};

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
            items.push(item(view, *element, name, &format!("{name}{bracket}")));
        }
    }
    // Somebody who types an end tag wants one, even where nothing lacks one.
    if items.is_empty() {
        let innermost = path.last().filter(|element| !element.name().is_empty());
        items.extend(innermost.map(|element| {
            let name = element.name();
            item(view, *element, name, &format!("{name}{bracket}"))
        }));
    }
    Some(Completion::new(range, items))
}

fn item(view: &View, element: Element<'_>, label: &str, insert: &str) -> CompletionItem {
    let document = &view.document;
    let start = element.range().start();
    let line = document
        .lines
        .position(&**document, start, Encoding::Utf8)
        .line
        + 1;
    CompletionItem::new(CompletionKind::EndTag, label, insert)
        .detail("end tag")
        .doc(&format!("Closes the element that starts in line {line}."))
}

/// The end tag of the innermost element that lacks one, written from `start` on
/// (`<` may be there).
pub(super) fn closing(
    view: &View,
    path: &[Element<'_>],
    at: TextSize,
    start: &str,
) -> Option<CompletionItem> {
    let inner = left_open(path, at);
    let innermost = path
        .iter()
        .chain(&inner)
        .rev()
        .find(|element| is_open(element))?;
    let name = innermost.name();
    let insert = format!("{start}{name}>");
    Some(item(view, *innermost, &format!("/{name}"), &insert))
}
