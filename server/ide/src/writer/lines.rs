//! The lines of a text, around offsets.

use syntax::{TextRange, TextSize};

/// A text to look at by lines.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Lines<'t> {
    text: &'t str,
}

impl<'t> Lines<'t> {
    pub(crate) fn new(text: &'t str) -> Self {
        Self { text }
    }

    pub(crate) fn slice(&self, range: TextRange) -> &'t str {
        self.text
            .get(std::ops::Range::<usize>::from(range))
            .unwrap_or_default()
    }

    fn before(&self, offset: TextSize) -> &'t str {
        self.text.get(..usize::from(offset)).unwrap_or_default()
    }

    fn after(&self, offset: TextSize) -> &'t str {
        self.text.get(usize::from(offset)..).unwrap_or_default()
    }

    /// Where the line of an offset starts.
    pub(crate) fn start(&self, offset: TextSize) -> TextSize {
        let before = self.before(offset);
        let start = before.rfind(['\n', '\r']).map_or(0, |at| at + 1);
        // A byte order mark belongs to no line.
        let mark = if start == 0 && before.starts_with('\u{feff}') {
            '\u{feff}'.len_utf8()
        } else {
            0
        };
        size(start + mark)
    }

    /// Where the line of an offset ends, before its line break.
    pub(crate) fn end(&self, offset: TextSize) -> TextSize {
        let after = self.after(offset);
        offset + size(after.find(['\n', '\r']).unwrap_or(after.len()))
    }

    /// Where the line after that of an offset starts.
    pub(crate) fn next(&self, offset: TextSize) -> TextSize {
        let end = self.end(offset);
        let rest = self.after(end);
        let line_break = if rest.starts_with("\r\n") {
            2
        } else {
            usize::from(!rest.is_empty())
        };
        end + size(line_break)
    }

    /// The blanks before an offset on its line, if there is nothing else
    /// before it.
    pub(crate) fn indent(&self, offset: TextSize) -> Option<&'t str> {
        // From here back, not from where the line starts: lines may be very long.
        let before = self.before(offset);
        let rest = before.trim_end_matches(is_blank);
        // A byte order mark belongs to no line.
        let is_start = matches!(rest, "" | "\u{feff}") || rest.ends_with(['\n', '\r']);
        is_start.then(|| &before[rest.len()..])
    }

    /// Where the line ends, if between an offset and there is nothing but
    /// blanks and whole comments.
    pub(crate) fn tail(&self, offset: TextSize) -> Option<TextSize> {
        // From comment to comment, not to the end of the line: lines may be very long.
        let mut rest = self.after(offset).trim_start_matches(is_blank);
        while let Some(comment) = rest.strip_prefix("<!--") {
            let (inside, behind) = comment.split_once("-->")?;
            if inside.contains(['\n', '\r']) {
                return None;
            }
            rest = behind.trim_start_matches(is_blank);
        }
        let end = TextSize::of(self.text) - TextSize::of(rest);
        self.is_end(end).then_some(end)
    }

    /// Whether a line ends at an offset.
    pub(crate) fn is_end(&self, offset: TextSize) -> bool {
        let after = self.after(offset);
        after.is_empty() || after.starts_with(['\n', '\r'])
    }

    /// Where the blanks before an offset begin.
    pub(crate) fn blanks_before(&self, offset: TextSize) -> TextSize {
        let before = self.before(offset);
        size(before.trim_end_matches(is_blank).len())
    }

    /// Where the blanks after an offset end.
    pub(crate) fn blanks_after(&self, offset: TextSize) -> TextSize {
        let after = self.after(offset);
        offset + size(after.len() - after.trim_start_matches(is_blank).len())
    }

    /// A range of whole lines with the empty lines before and behind it.
    pub(crate) fn empty_around(&self, range: TextRange) -> TextRange {
        let before = self.before(range.start());
        let behind = self.after(range.end());
        let filled = size(before.trim_end().len());
        let white = size(behind.len() - behind.trim_start().len());
        TextRange::new(
            self.next(filled).min(range.start()),
            self.start(range.end() + white).max(range.end()),
        )
    }

    /// Whether a range is at the beginning, and at the end, of what an element holds.
    pub(crate) fn edges(&self, range: TextRange) -> (bool, bool) {
        let before = self.before(range.start()).trim_end();
        let tag = before.rfind('<').map_or("", |at| &before[at..]);
        let is_other = ["</", "<!", "<?"]
            .iter()
            .any(|start| tag.starts_with(start));
        let is_over = ["/>", "-->"].iter().any(|end| tag.ends_with(end));
        let opens = tag.ends_with('>') && !is_other && !is_over;
        (
            opens,
            self.after(range.end()).trim_start().starts_with("</"),
        )
    }

    /// Whether there is an empty line in a range of white space and comments.
    pub(crate) fn has_empty_line(&self, range: TextRange) -> bool {
        let text = syntax::escape::plain_lines(self.slice(range));
        let mut breaks = 0;
        text.chars().any(|c| {
            match c {
                '\n' => breaks += 1,
                c if is_blank(c) => {}
                _ => breaks = 0,
            }
            breaks > 1
        })
    }
}

/// A blank or a tab.
pub(crate) fn is_blank(c: char) -> bool {
    c == ' ' || c == '\t'
}

fn size(at: usize) -> TextSize {
    TextSize::new(u32::try_from(at).unwrap_or(u32::MAX))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str, mark: &str) -> TextSize {
        size(text.find(mark).expect("the mark is there"))
    }

    #[test]
    fn lines_end_in_any_way() {
        for text in ["ab\n  <x/>\n", "ab\r\n  <x/>\r\n", "ab\r  <x/>\r"] {
            let lines = Lines::new(text);
            let offset = at(text, "<x");
            assert_eq!(lines.indent(offset), Some("  "), "{text:?}");
            assert_eq!(
                lines.slice(TextRange::new(lines.start(offset), lines.end(offset))),
                "  <x/>"
            );
            assert_eq!(lines.next(offset), size(text.len()), "{text:?}");
        }
    }

    #[test]
    fn what_does_not_begin_its_line_has_no_indent() {
        let text = "  <a/><b/>";
        assert_eq!(Lines::new(text).indent(at(text, "<b")), None);
    }

    #[test]
    fn a_byte_order_mark_is_no_part_of_the_line() {
        let text = "\u{feff}<a/>";
        assert_eq!(Lines::new(text).indent(at(text, "<a")), Some(""));
    }

    #[test]
    fn the_indent_is_what_stands_from_the_start_of_the_line_on() {
        let mut texts = vec![String::new()];
        for length in 0..5 {
            for at in 0..texts.len() {
                if texts[at].chars().count() == length {
                    let longer = [' ', '\t', '\n', '\r', '<', '\u{feff}'];
                    texts.extend(longer.map(|c| format!("{}{c}", texts[at])));
                }
            }
        }
        for text in &texts {
            let lines = Lines::new(text);
            for (offset, _) in text.char_indices() {
                let offset = size(offset);
                let before = lines.slice(TextRange::new(lines.start(offset).min(offset), offset));
                let expected = before.chars().all(is_blank).then_some(before);
                assert_eq!(lines.indent(offset), expected, "{text:?} {offset:?}");
            }
        }
    }

    #[test]
    fn comments_behind_belong_to_the_line() {
        let text = "<a/> <!-- x --> <!--y-->  \n<b/> <c/>\n<d/> <!-- open\n-->";
        let lines = Lines::new(text);
        assert_eq!(lines.tail(at(text, " <!-- x")), Some(at(text, "\n<b")));
        assert_eq!(lines.tail(at(text, " <c")), None);
        assert_eq!(lines.tail(at(text, " <!-- open")), None);
    }

    #[test]
    fn empty_lines_are_seen_between_comments() {
        let lines =
            |text: &str| Lines::new(text).has_empty_line(TextRange::up_to(TextSize::of(text)));
        assert!(lines("\n  \n"));
        assert!(lines("\r\n\r\n  <!-- x -->\r\n"));
        assert!(!lines("\r\n  <!-- x -->\r\n"));
        assert!(!lines(""));
    }
}
