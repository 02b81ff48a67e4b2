//! The comments that go where the channels go.

use crate::assists::site::Site;
use crate::checks::{heading_of, with_own_comments};
use crate::writer::Lines;
use syntax::{Item, TextRange, TextSize};

/// A moved element with the comments that go where it goes: its own, and those that head it and others that all move.
/// `moved` is sorted.
pub(super) fn with_comments(site: &Site<'_>, element: TextRange, moved: &[TextRange]) -> TextRange {
    let own = with_own_comments(site.view, element);
    let mut start = own.start();
    while let Some(heading) = heading_of(site.view, start) {
        start = heading.start();
    }
    match start < own.start() && all_below_move(site, start, element, moved) {
        true => TextRange::new(start, own.end()),
        false => own,
    }
}

/// Whether an element moves with all that stands below it, up to the next empty line or comment on lines of its own.
/// `heading`: where the comments above it start.
fn all_below_move(
    site: &Site<'_>,
    heading: TextSize,
    element: TextRange,
    moved: &[TextRange],
) -> bool {
    let lines = Lines::new(site.text());
    let moves = |range: TextRange| moved.binary_search_by_key(&range.start(), |one| one.start());
    let items = site.view.tree().items_at(heading);
    for item in items.skip_while(|item| item.range().start() < element.start()) {
        let range = item.range();
        match item {
            Item::Comment(_) if lines.indent(range.start()).is_some() => return true,
            Item::Comment(_) => {}
            Item::Element(_) if moves(range).is_ok() => {}
            _ if !lines.slice(range).trim().is_empty() => return false,
            _ if lines.has_empty_line(range) => return true,
            _ => {}
        }
    }
    true
}
