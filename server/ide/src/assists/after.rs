//! A document as it would be after some edits, without a disk.

use project::View;
use syntax::{TextEdit, TextRange, TextSize};

/// The document with edits applied, read anew. The scene and the files around
/// stay as they are.
pub(crate) fn after(view: &View, edits: &[TextEdit]) -> Result<View, String> {
    let text = syntax::apply(view.text(), edits).map_err(|error| error.to_string())?;
    Ok(view.with_text(text))
}

/// Where what each edit inserts is in the text after all of them, in the order
/// of the edits.
pub(crate) fn landings(edits: &[TextEdit]) -> Vec<TextRange> {
    let mut order: Vec<usize> = (0..edits.len()).collect();
    // As `syntax::apply` does it; the sort is stable.
    order.sort_by_key(|at| (edits[*at].range.start(), edits[*at].range.end()));
    let mut landed = vec![TextRange::default(); edits.len()];
    let (mut inserted, mut removed) = (TextSize::new(0), TextSize::new(0));
    for at in order {
        let edit = &edits[at];
        let start = edit.range.start() + inserted - removed;
        let length = TextSize::of(edit.insert.as_str());
        landed[at] = TextRange::at(start, length);
        inserted += length;
        removed += edit.range.len();
    }
    landed
}

/// Where a range is after edits that lie inside or outside of it.
pub(crate) fn mapped(edits: &[TextEdit], range: TextRange) -> TextRange {
    let offset = |at: TextSize, is_end: bool| {
        let before = |edit: &&TextEdit| {
            if is_end {
                edit.range.end() <= at && edit.range.start() < at
            } else {
                edit.range.end() <= at
            }
        };
        let (mut inserted, mut removed) = (TextSize::new(0), TextSize::new(0));
        for edit in edits.iter().filter(before) {
            inserted += TextSize::of(edit.insert.as_str());
            removed += edit.range.len();
        }
        at + inserted - removed
    };
    let (start, end) = (offset(range.start(), false), offset(range.end(), true));
    TextRange::new(start, end.max(start))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn landings_are_where_the_text_is() {
        let edit = |from: u32, to: u32, insert: &str| {
            TextEdit::replace(TextRange::new(from.into(), to.into()), insert)
        };
        let edits = [
            edit(6, 6, "<new/>"),
            edit(0, 2, "A"),
            edit(6, 6, "<too/>"),
            edit(3, 5, ""),
        ];
        let text = syntax::apply("ab-cd-ef", &edits).expect("the edits fit");
        let landed: Vec<&str> = landings(&edits)
            .into_iter()
            .map(|range| &text[std::ops::Range::<usize>::from(range)])
            .collect();
        assert_eq!(landed, ["<new/>", "A", "<too/>", ""]);
    }
}
