//! Puts one mistake at a time into sound documents and counts the errors.

use crate::desk::Desk;
use crate::sites::{self, Mistake};
use crate::{Tally, all};

/// Without `CALM=all`, one in so many mistakes is made.
const SAMPLE: usize = 11;

/// Makes every mistake that can be made in the document, undoing each.
pub(crate) fn each(desk: &mut Desk, tally: &mut Tally) {
    let mistakes = sites::mistakes(&desk.view());
    for mistake in mistakes.iter().step_by(if all() { 1 } else { SAMPLE }) {
        make(desk, mistake, tally);
    }
}

fn make(desk: &mut Desk, mistake: &Mistake, tally: &mut Tally) {
    let original = desk.original.clone();
    let range = mistake.range.clone();
    desk.replace(range.clone(), &mistake.insert);
    let errors = desk.errors();
    desk.replace(
        range.start..range.start + mistake.insert.len(),
        &original[range.clone()],
    );
    if errors.len() == 1 {
        tally.good += 1;
        return;
    }
    let mut told = errors
        .iter()
        .map(|error| format!("{} {:?}", error.code, error.message))
        .take(6)
        .collect::<Vec<_>>();
    if errors.is_empty() {
        told.push("nothing".to_owned());
    }
    let mut codes: Vec<&str> = errors.iter().map(|error| error.code).collect();
    codes.sort_unstable();
    codes.dedup();
    let count = match errors.len() {
        0 => "nothing".to_owned(),
        count => format!("{count} errors"),
    };
    let line = original[..range.start].matches('\n').count() + 1;
    let place = format!(
        "{}:{line} `{}` for `{}`",
        desk.name(),
        mistake.insert.escape_debug(),
        around(&original, range).escape_debug(),
    );
    let kind = format!("{}: {} ({})", mistake.kind, count, codes.join(", "));
    tally
        .bad
        .push((kind, format!("{place} → {}", told.join("; "))));
}

/// What a mistake replaces, with a little of what is around it.
fn around(text: &str, range: std::ops::Range<usize>) -> String {
    let start = text.floor_char_boundary(range.start.saturating_sub(12));
    let end = text.ceil_char_boundary((range.end + 12).min(text.len()));
    let (before, after) = (&text[start..range.start], &text[range.end..end]);
    format!("{before}⟦{}⟧{after}", &text[range])
}
