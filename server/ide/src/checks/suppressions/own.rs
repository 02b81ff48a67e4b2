//! The comments that go where an element goes.

use std::ops::Range;

use project::View;
use syntax::{Item, TextRange, TextSize};

use super::{comment, size};

/// The range of an element with its own comments: those before it that accept something of it, and those that share
/// its first or its last line with nothing else.
pub(crate) fn with_own_comments(view: &View, element: TextRange) -> TextRange {
    TextRange::new(start(view, element.start()), end(view, element.end()))
}

/// The comment on lines of its own right above an element, or above another such comment.
pub(crate) fn heading_of(view: &View, element: TextSize) -> Option<TextRange> {
    let comment = comment_before(view, element)?;
    let gap = TextRange::new(comment.end(), element);
    let gap = view.text().get(Range::from(gap))?.replace("\r\n", "\n");
    let is_right_above = gap.matches(['\n', '\r']).count() == 1;
    let before = view.text().get(..usize::from(comment.start()))?;
    let is_alone = before.trim_end_matches(is_blank).ends_with(['\n', '\r']);
    (is_right_above && is_alone).then_some(comment)
}

fn start(view: &View, element: TextSize) -> TextSize {
    let (mut accepting, mut on_line, mut at) = (element, element, element);
    while let Some(comment) = comment_before(view, at) {
        at = comment.start();
        if is_on_one_line(view, TextRange::new(at, element)) {
            on_line = at;
        }
        if is_accepting(view, comment) {
            accepting = at;
        }
    }
    let before = view.text().get(..usize::from(on_line)).unwrap_or_default();
    let is_alone = before.trim_end_matches(is_blank).ends_with(['\n', '\r']);
    if is_alone {
        accepting.min(on_line)
    } else {
        accepting
    }
}

fn end(view: &View, element: TextSize) -> TextSize {
    let mut end = element;
    // One that accepts something stands for what follows.
    while let Some(comment) = comment_behind(view, end).filter(|one| !is_accepting(view, *one)) {
        end = comment.end();
    }
    let is_alone = rest_of(view, end).starts_with(['\n', '\r']);
    let is_one_line = is_on_one_line(view, TextRange::new(element, end));
    if is_alone && is_one_line {
        end
    } else {
        element
    }
}

fn comment_before(view: &View, at: TextSize) -> Option<TextRange> {
    let before = view.text().get(..usize::from(at))?.trim_end();
    // Asked first, since to look for the other takes time with the text.
    let is_ended = before.ends_with("-->");
    let begin = is_ended.then(|| before.rfind("<!--")).flatten()?;
    let range = TextRange::new(size(begin), TextSize::of(before));
    is_comment(view, range.start()).filter(|comment| *comment == range)
}

fn comment_behind(view: &View, at: TextSize) -> Option<TextRange> {
    let rest = rest_of(view, at);
    let start = TextSize::of(view.text()) - TextSize::of(rest);
    is_comment(view, start).filter(|comment| comment.start() == start && rest.starts_with("<!--"))
}

fn is_comment(view: &View, at: TextSize) -> Option<TextRange> {
    match view.tree().items_at(at).next() {
        Some(Item::Comment(token)) => Some(token.range()),
        _ => None,
    }
}

fn is_accepting(view: &View, comment: TextRange) -> bool {
    let text = view.text().get(Range::from(comment)).unwrap_or_default();
    comment::is_addressed(text)
}

/// What follows a place, without blanks.
fn rest_of(view: &View, at: TextSize) -> &str {
    let rest = view.text().get(usize::from(at)..).unwrap_or_default();
    rest.trim_start_matches(is_blank)
}

fn is_on_one_line(view: &View, range: TextRange) -> bool {
    let text = view.text().get(Range::from(range)).unwrap_or_default();
    !text.contains(['\n', '\r'])
}

fn is_blank(c: char) -> bool {
    matches!(c, ' ' | '\t')
}
