//! Positions and edits as the protocol describes them, in the most naive way: characters are counted from the start.
//! It shares no code with what it judges. Source: LSP 3.17, "Text Documents" and "Position".

use project::ContentChange;
use syntax::{Encoding, Position};

fn units(c: char, encoding: Encoding) -> u32 {
    let units = match encoding {
        Encoding::Utf8 => c.len_utf8(),
        Encoding::Utf16 => c.len_utf16(),
        Encoding::Utf32 => 1,
    };
    units as u32
}

fn is_break(c: char) -> bool {
    c == '\n' || c == '\r'
}

/// Whether the line ends with this character: at the `\n` of a `\r\n`, not before.
fn ends_line(text: &str, at: usize, c: char) -> bool {
    is_break(c) && !text[at..].starts_with("\r\n")
}

/// The line and column of an offset that cuts no character and no `\r\n`.
pub(crate) fn position(text: &str, offset: usize, encoding: Encoding) -> Position {
    let (mut line, mut column) = (0, 0);
    for (at, c) in text.char_indices().take_while(|(at, _)| *at < offset) {
        column += units(c, encoding);
        if ends_line(text, at, c) {
            (line, column) = (line + 1, 0);
        }
    }
    Position { line, column }
}

/// The offset of a position that cuts no character. A column behind the end of its line is the line's end, and a line
/// behind the last is the end of the text.
fn offset(text: &str, position: Position, encoding: Encoding) -> usize {
    let (mut line, mut column) = (0, 0);
    for (at, c) in text.char_indices() {
        if line == position.line {
            let width = units(c, encoding);
            if is_break(c) || column + width > position.column {
                return at;
            }
            column += width;
        } else if ends_line(text, at, c) {
            line += 1;
        }
    }
    text.len()
}

/// Applies one change. None if it goes backwards.
pub(crate) fn apply(text: &str, change: &ContentChange, encoding: Encoding) -> Option<String> {
    let (start, end, insert) = match change {
        ContentChange::Whole(text) => return Some(text.clone()),
        ContentChange::Part { start, end, text } => (start, end, text),
    };
    let (start, end) = (offset(text, *start, encoding), offset(text, *end, encoding));
    (start <= end).then(|| format!("{}{insert}{}", &text[..start], &text[end..]))
}

#[test]
fn the_model_counts_as_the_protocol_says() {
    let text = "a\u{1f69c}b\r\nc\rd\n";
    let at = |offset, encoding| {
        let Position { line, column } = position(text, offset, encoding);
        (line, column)
    };
    assert_eq!(at(5, Encoding::Utf16), (0, 3));
    assert_eq!(at(5, Encoding::Utf8), (0, 5));
    assert_eq!(at(5, Encoding::Utf32), (0, 2));
    assert_eq!(at(9, Encoding::Utf16), (1, 1));
    assert_eq!(at(12, Encoding::Utf16), (3, 0));
    let to = |line, column| offset(text, Position { line, column }, Encoding::Utf16);
    assert_eq!(to(0, 99), 6, "behind the end of the line");
    assert_eq!(to(2, 0), 10);
    assert_eq!(to(4, 0), text.len());
}
