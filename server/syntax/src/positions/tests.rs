use proptest::prelude::*;

use super::*;

const ENCODINGS: [Encoding; 3] = [Encoding::Utf8, Encoding::Utf16, Encoding::Utf32];

fn at(line: u32, column: u32) -> Position {
    Position { line, column }
}

fn starts(text: &str) -> Vec<u32> {
    LineIndex::new(text).starts
}

#[test]
fn lines_take_the_room_that_they_need() {
    for end in ["\n", "\r", "\r\n"] {
        let index = LineIndex::new(&format!("a{end}").repeat(1000));
        assert_eq!(index.line_count(), 1001);
        assert!(index.starts.capacity() < 1500, "{end:?}");
    }
}

#[test]
fn all_three_line_breaks_end_a_line() {
    assert_eq!(starts("a\nb\r\nc\rd"), [0, 2, 5, 7]);
    assert_eq!(starts("\r\r\n\n\r"), [0, 1, 3, 4, 5]);
}

#[test]
fn an_empty_text_has_one_line() {
    assert_eq!(LineIndex::new("").line_count(), 1);
    assert_eq!(
        LineIndex::new("").position("", 0.into(), Encoding::Utf16),
        at(0, 0)
    );
}

#[test]
fn columns_count_units_of_the_encoding() {
    let text = "ab\nö😀x";
    let index = LineIndex::new(text);
    let x = TextSize::from(9);
    let columns = ENCODINGS.map(|encoding| index.position(text, x, encoding).column);
    assert_eq!(columns, [6, 3, 2]);
    for (encoding, column) in ENCODINGS.into_iter().zip(columns) {
        assert_eq!(index.offset(text, at(1, column), encoding), Ok(x));
    }
}

#[test]
fn a_column_inside_a_character_means_the_place_before_it() {
    let text = "a😀b";
    let index = LineIndex::new(text);
    assert_eq!(index.offset(text, at(0, 2), Encoding::Utf16), Ok(1.into()));
    assert_eq!(index.offset(text, at(0, 3), Encoding::Utf8), Ok(1.into()));
    assert_eq!(index.position(text, 3.into(), Encoding::Utf16), at(0, 1));
}

#[test]
fn a_column_past_the_line_means_its_end_before_the_line_break() {
    let text = "ab\r\ncö\n";
    let index = LineIndex::new(text);
    for encoding in ENCODINGS {
        assert_eq!(index.offset(text, at(0, u32::MAX), encoding), Ok(2.into()));
        assert_eq!(index.offset(text, at(1, 99), encoding), Ok(7.into()));
        assert_eq!(index.offset(text, at(2, 1), encoding), Ok(8.into()));
    }
}

#[test]
fn the_line_after_the_last_is_the_end_and_none_follows() {
    let index = LineIndex::new("a\nb");
    assert_eq!(index.offset("a\nb", at(2, 7), Encoding::Utf8), Ok(3.into()));
    let error = index.offset("a\nb", at(3, 0), Encoding::Utf8).unwrap_err();
    assert_eq!(
        error,
        PositionError {
            line: 3,
            line_count: 2
        }
    );
    assert_eq!(error.to_string(), "there is no line 4 in a text of 2 lines");
}

#[test]
fn an_offset_inside_crlf_means_the_place_before_it() {
    let text = "ab\r\nc";
    assert_eq!(
        LineIndex::new(text).position(text, 3.into(), Encoding::Utf8),
        at(0, 2)
    );
}

#[test]
fn an_edit_may_split_or_join_a_crlf() {
    for (before, range, insert) in [
        ("a\r\nb", 2..2, "x"),
        ("a\r\nb", 2..2, "\r"),
        ("a\r\nb", 2..2, "\n"),
        ("a\r\nb", 1..2, ""),
        ("a\r\nb", 2..3, ""),
        ("a\rx\nb", 2..3, ""),
        ("a\rb", 2..2, "\n"),
        ("a\nb", 1..1, "\r"),
        ("\nb", 0..0, "\r"),
    ] {
        check_edit(before, range, insert);
    }
}

#[test]
fn line_ranges_cover_the_text() {
    let text = "a\r\n\rbc";
    let index = LineIndex::new(text);
    let lines: Vec<&str> = (0..index.line_count())
        .map(|line| &text[index.line_range(line).unwrap()])
        .collect();
    assert_eq!(lines, ["a\r\n", "\r", "bc"]);
    assert_eq!(index.line_range(3), None);
}

#[test]
fn the_wrong_text_does_not_panic() {
    let index = LineIndex::new("one\ntwo\nthree");
    for encoding in ENCODINGS {
        for text in ["", "ö", "😀\n"] {
            index.position(text, 9.into(), encoding);
            let _ = index.offset(text, at(2, 2), encoding);
        }
    }
}

fn check_edit(before: &str, range: std::ops::Range<usize>, insert: &str) {
    let mut after = before.to_owned();
    after.replace_range(range.clone(), insert);
    let change = Change {
        range: TextRange::new((range.start as u32).into(), (range.end as u32).into()),
        inserted: TextSize::of(insert),
    };
    let (mut edited, mut of_tree) = (LineIndex::new(before), LineIndex::new(before));
    edited.edit(&after, change);
    of_tree.edit(&crate::parse(&after), change);
    for edited in [edited, of_tree] {
        assert_eq!(
            edited,
            LineIndex::new(&after),
            "{before:?} {range:?} {insert:?}"
        );
    }
}

/// The model: all lines as texts, cut by hand.
fn naive_lines(text: &str) -> Vec<String> {
    let mut lines = vec![String::new()];
    let mut characters = text.chars().peekable();
    while let Some(character) = characters.next() {
        let line = lines.last_mut().unwrap();
        line.push(character);
        let joined = character == '\r' && characters.peek() == Some(&'\n');
        if matches!(character, '\n' | '\r') && !joined {
            lines.push(String::new());
        }
    }
    lines
}

fn naive_position(text: &str, offset: usize, encoding: Encoding) -> Position {
    let mut start = 0;
    let lines = naive_lines(text);
    for (number, line) in lines.iter().enumerate() {
        let last = number + 1 == lines.len();
        if offset < start + line.len() || last {
            let content = line.trim_end_matches(['\r', '\n']);
            let before = &content[..(offset - start).min(content.len())];
            let column = match encoding {
                Encoding::Utf8 => before.len(),
                Encoding::Utf16 => before.encode_utf16().count(),
                Encoding::Utf32 => before.chars().count(),
            };
            return at(number as u32, column as u32);
        }
        start += line.len();
    }
    unreachable!("the last line takes every offset")
}

const TEXT: &str = "([a-c]|ö|€|😀|\n|\r|\r\n){0,24}";

fn boundaries(text: &str) -> Vec<usize> {
    (0..=text.len())
        .filter(|&offset| text.is_char_boundary(offset))
        .collect()
}

proptest! {
    #[test]
    fn lines_are_those_of_the_model(text in TEXT) {
        let index = LineIndex::new(&text);
        let lines: Vec<String> = (0..index.line_count())
            .map(|line| text[index.line_range(line).unwrap()].to_owned())
            .collect();
        prop_assert_eq!(lines, naive_lines(&text));
    }

    #[test]
    fn positions_are_those_of_the_model(text in TEXT) {
        let index = LineIndex::new(&text);
        let tree = crate::parse(&text);
        for offset in boundaries(&text) {
            let at = (offset as u32).into();
            for encoding in ENCODINGS {
                let expected = naive_position(&text, offset, encoding);
                prop_assert_eq!(index.position(&text, at, encoding), expected);
                prop_assert_eq!(index.position(&tree, at, encoding), expected);
            }
        }
    }

    #[test]
    fn offset_to_position_and_back(text in TEXT) {
        let index = LineIndex::new(&text);
        for offset in boundaries(&text) {
            let inside_crlf = offset > 0 && text[..offset].ends_with('\r') && text[offset..].starts_with('\n');
            for encoding in ENCODINGS {
                let position = index.position(&text, (offset as u32).into(), encoding);
                let expected = if inside_crlf { offset - 1 } else { offset };
                prop_assert_eq!(index.offset(&text, position, encoding), Ok((expected as u32).into()));
            }
        }
    }

    #[test]
    fn any_position_gives_a_character_boundary_on_its_line(
        text in TEXT, line in 0..8u32, column in 0..30u32,
    ) {
        let index = LineIndex::new(&text);
        for encoding in ENCODINGS {
            match index.offset(&text, at(line, column), encoding) {
                Ok(offset) => {
                    prop_assert!(text.is_char_boundary(offset.into()));
                    let position = index.position(&text, offset, encoding);
                    if line == index.line_count() {
                        prop_assert_eq!(offset, TextSize::of(text.as_str()));
                    } else {
                        prop_assert_eq!(position.line, line);
                        prop_assert!(position.column <= column);
                    }
                }
                Err(error) => {
                    prop_assert!(line > index.line_count());
                    prop_assert_eq!(error, PositionError { line, line_count: index.line_count() });
                }
            }
        }
    }

    #[test]
    fn edited_equals_rebuilt(
        text in TEXT, a in any::<prop::sample::Index>(), b in any::<prop::sample::Index>(), insert in TEXT,
    ) {
        let places = boundaries(&text);
        let (a, b) = (*a.get(&places), *b.get(&places));
        check_edit(&text, a.min(b)..a.max(b), &insert);
    }
}

#[test]
fn places_in_long_lines_are_as_if_counted_from_the_start() {
    let long = "aä€🌲".repeat(20_000);
    let text = format!("{long}\n{long}x{long}\r\n{long}");
    let tree = crate::parse(&text);
    let lines = LineIndex::new(&text);
    for encoding in [Encoding::Utf8, Encoding::Utf16, Encoding::Utf32] {
        for at in (0..=text.len()).step_by(7_001).chain([text.len()]) {
            let at = text.floor_char_boundary(at);
            let start = text[..at].rfind('\n').map_or(0, |end| end + 1);
            let expected = encoding.units(text[start..at].trim_end_matches('\r'));
            let offset = TextSize::new(u32::try_from(at).unwrap());
            let place = lines.position(&text, offset, encoding);
            assert_eq!(place.column, expected, "{encoding:?} at {at}");
            assert_eq!(lines.offset(&text, place, encoding), Ok(offset));
            assert_eq!(lines.position(&tree, offset, encoding), place);
            assert_eq!(lines.offset(&tree, place, encoding), Ok(offset));
        }
    }
}

/// A text that counts how often somebody reads it.
#[derive(Debug)]
struct Asked<'t>(&'t str, std::cell::Cell<usize>);

impl Source for Asked<'_> {
    fn text_len(&self) -> TextSize {
        self.0.text_len()
    }

    fn floor(&self, offset: TextSize) -> TextSize {
        self.0.floor(offset)
    }

    fn slice(&self, range: TextRange) -> std::borrow::Cow<'_, str> {
        self.1.set(self.1.get() + 1);
        self.0.slice(range)
    }
}

#[test]
fn places_in_a_long_line_that_are_asked_for_in_order_are_read_once() {
    let text = format!("<a>\n{}\r\n<b/>", "é😀<x/>".repeat(50_000));
    let lines = LineIndex::new(&text);
    let asked = Asked(&text, std::cell::Cell::new(0));
    let near = crate::Nearby::new(&asked);
    for offset in (0..text.len() as u32).step_by(50) {
        let (offset, encoding) = (offset.into(), Encoding::Utf16);
        let known = lines.position(text.as_str(), offset, encoding);
        assert_eq!(lines.position(&near, offset, encoding), known);
    }
    // 80 kB are at hand each time.
    let pieces = text.len() / (64 << 10);
    let read = asked.1.get();
    assert!(read < 3 * pieces + text.len() / STRETCH, "{read}");
}
