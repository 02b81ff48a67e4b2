//! Taking elements, and items of lists, out of a document. Comments around stay, and empty lines but for those that would
//! stand one behind the other, or at the edge of what an element holds.

use super::lines::Lines;
use syntax::{TextEdit, TextRange};

/// Takes elements out: with their lines where nothing else stands on these,
/// else with the blanks that set them apart.
pub(crate) fn remove_elements(text: &str, elements: &[TextRange]) -> Vec<TextEdit> {
    let lines = Lines::new(text);
    let mut sorted: Vec<TextRange> = elements.to_vec();
    sorted.sort_by_key(|range| range.start());
    let mut joined: Vec<TextRange> = Vec::new();
    for range in sorted {
        match joined.last_mut() {
            Some(last)
                if last.end() >= range.start()
                    || lines
                        .slice(TextRange::new(last.end(), range.start()))
                        .trim()
                        .is_empty() =>
            {
                *last = last.cover(range)
            }
            _ => joined.push(range),
        }
    }
    joined
        .into_iter()
        .map(|range| TextEdit::delete(with_blanks(&lines, range)))
        .collect()
}

fn with_blanks(lines: &Lines<'_>, range: TextRange) -> TextRange {
    let begins = lines.indent(range.start()).is_some();
    let after = lines.blanks_after(range.end());
    let ends = lines.is_end(after);
    match (begins, ends) {
        (true, true) => {
            let range = TextRange::new(lines.start(range.start()), lines.next(range.end()));
            with_empty_lines(lines, range)
        }
        (true, false) => TextRange::new(range.start(), after),
        (false, true) => TextRange::new(lines.blanks_before(range.start()), after),
        (false, false) if lines.blanks_before(range.start()) < range.start() => {
            TextRange::new(range.start(), after)
        }
        (false, false) => range,
    }
}

/// Whole lines with the empty ones around them that would be too many.
fn with_empty_lines(lines: &Lines<'_>, range: TextRange) -> TextRange {
    let around = lines.empty_around(range);
    let is_set_apart = (around.start() < range.start(), range.end() < around.end());
    let (is_first, is_last) = lines.edges(around);
    let (before, behind) = match is_set_apart {
        (before, behind) if is_first && is_last => (before, behind),
        (true, true) => (false, true),
        (before, behind) => (before && is_last, behind && is_first),
    };
    let start = if before {
        around.start()
    } else {
        range.start()
    };
    let end = if behind { around.end() } else { range.end() };
    TextRange::new(start, end)
}

/// Takes items out of a list whose items stand at `all`, in order, with the
/// separators that are no longer needed.
pub(crate) fn remove_items(all: &[TextRange], removed: &[TextRange]) -> Vec<TextEdit> {
    let stays = |range: &TextRange| !removed.contains(range);
    let mut edits: Vec<TextRange> = Vec::new();
    let mut seen_one_that_stays = false;
    for (at, range) in all.iter().enumerate() {
        if stays(range) {
            seen_one_that_stays = true;
            continue;
        }
        // With the separator before it; the first ones with the one behind.
        let cut = match (
            seen_one_that_stays,
            at.checked_sub(1).and_then(|at| all.get(at)),
            all.get(at + 1),
        ) {
            (true, Some(before), _) => TextRange::new(before.end(), range.end()),
            (_, _, Some(after)) => TextRange::new(range.start(), after.start()),
            _ => *range,
        };
        match edits.last_mut() {
            Some(last) if last.end() >= cut.start() => *last = last.cover(cut),
            _ => edits.push(cut),
        }
    }
    edits.into_iter().map(TextEdit::delete).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use syntax::TextSize;

    fn ranges(text: &str, parts: &[&str]) -> Vec<TextRange> {
        let range = |part: &&str| {
            let start = TextSize::of(text.split(part).next().expect("the part is there"));
            TextRange::at(start, TextSize::of(*part))
        };
        parts.iter().map(range).collect()
    }

    fn without(text: &str, parts: &[&str]) -> String {
        syntax::apply(text, &remove_elements(text, &ranges(text, parts))).expect("the edits fit")
    }

    #[test]
    fn an_element_alone_on_its_line_goes_with_the_line() {
        assert_eq!(
            without("<r>\r\n\t<a/> \r\n\t<b/>\r\n</r>", &["<a/>"]),
            "<r>\r\n\t<b/>\r\n</r>"
        );
    }

    #[test]
    fn a_comment_behind_it_stays_at_its_indent() {
        assert_eq!(without("  <a/> <!-- x -->\n", &["<a/>"]), "  <!-- x -->\n");
    }

    #[test]
    fn a_comment_before_it_stays() {
        assert_eq!(without("  <!-- x --> <a/>\n", &["<a/>"]), "  <!-- x -->\n");
    }

    #[test]
    fn an_empty_line_stays() {
        assert_eq!(
            without("<x/>\n\n<a/>\n\n<y/>\n", &["<a/>"]),
            "<x/>\n\n<y/>\n"
        );
        assert_eq!(without("<x/>\n<a/>\n\n<y/>\n", &["<a/>"]), "<x/>\n\n<y/>\n");
        assert_eq!(without("<x/>\n\n<a/>\n<y/>\n", &["<a/>"]), "<x/>\n\n<y/>\n");
        let comment = "<!-- of x -->\n\n<a/>\n<!-- of y -->\n";
        assert_eq!(without(comment, &["<a/>"]), comment.replace("<a/>\n", ""));
    }

    #[test]
    fn no_more_empty_lines_are_left_than_there_were() {
        let between = "<r>\r\n\r\n <a/>\r\n \r\n <b/>\r\n\r\n <c/>\r\n\r\n</r>";
        let left = |parts: &[&str]| without(between, parts);
        assert_eq!(left(&["<a/>"]), between.replace(" <a/>\r\n \r\n", ""));
        assert_eq!(left(&["<c/>"]), between.replace(" <c/>\r\n\r\n", ""));
        assert_eq!(left(&["<a/>", "<b/>"]), "<r>\r\n\r\n <c/>\r\n\r\n</r>");
        assert_eq!(left(&["<a/>", "<b/>", "<c/>"]), "<r>\r\n</r>");
    }

    #[test]
    fn at_an_edge_no_empty_line_is_left_where_there_was_none() {
        let text = "<r>\n <a/>\n\n <b/>\n\n <c/>\n</r>";
        assert_eq!(without(text, &["<a/>"]), "<r>\n <b/>\n\n <c/>\n</r>");
        assert_eq!(without(text, &["<c/>"]), "<r>\n <a/>\n\n <b/>\n</r>");
        let comment = "<r>\n <!-- <b> -->\n <a/>\n\n <b/>\n</r>";
        assert_eq!(without(comment, &["<a/>"]), comment.replace(" <a/>\n", ""));
    }

    #[test]
    fn neighbours_on_one_line_go_together() {
        assert_eq!(
            without("<r>\n <a/> <b/>\n</r>", &["<a/>", "<b/>"]),
            "<r>\n</r>"
        );
        assert_eq!(
            without("<r><a/><b/><c/></r>", &["<a/>", "<b/>"]),
            "<r><c/></r>"
        );
    }

    #[test]
    fn an_element_between_others_leaves_one_blank() {
        assert_eq!(
            without("<r><a/> <b/> <c/></r>", &["<b/>"]),
            "<r><a/> <c/></r>"
        );
    }

    #[test]
    fn an_element_over_several_lines_goes_with_them() {
        assert_eq!(
            without("<r>\n <a\n   x='1'/>\n <b/>\n</r>", &["<a\n   x='1'/>"]),
            "<r>\n <b/>\n</r>"
        );
    }

    fn without_items(text: &str, removed: &[&str]) -> String {
        let all = ranges(text, &text.split(", ").collect::<Vec<_>>());
        let removed = ranges(text, removed);
        syntax::apply(text, &remove_items(&all, &removed)).expect("the edits fit")
    }

    #[test]
    fn items_go_with_one_separator() {
        assert_eq!(without_items("a, b, c", &["a"]), "b, c");
        assert_eq!(without_items("a, b, c", &["b"]), "a, c");
        assert_eq!(without_items("a, b, c", &["c"]), "a, b");
        assert_eq!(without_items("a, b, c, d", &["b", "c"]), "a, d");
        assert_eq!(without_items("a, b, c, d", &["a", "b", "d"]), "c");
        assert_eq!(without_items("a, b", &["a", "b"]), "");
    }
}
