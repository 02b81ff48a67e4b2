use super::*;
use syntax::{Encoding, LineIndex};

fn word(start: u32, length: u32) -> SemanticToken {
    SemanticToken {
        delta_line: 0,
        delta_start: start,
        length,
        token_type: 0,
        token_modifiers_bitset: 0,
    }
}

/// Line and start relative to the word before, and length, of words marked by `[` and `]`.
fn places(marked: &str, encoding: Encoding) -> Vec<(u32, u32, u32)> {
    let mut text = String::new();
    let mut ranges = Vec::new();
    let mut start = TextSize::new(0);
    for character in marked.chars() {
        match character {
            '[' => start = TextSize::of(&text),
            ']' => ranges.push(TextRange::new(start, TextSize::of(&text))),
            other => text.push(other),
        }
    }
    let lines = LineIndex::new(&text);
    let mut writer = Writer::new(Places {
        text: &text,
        lines: &lines,
        encoding,
        is_on_disk: false,
    });
    for range in ranges {
        let token = Token {
            range,
            kind: TokenKind::Name,
            is_given: false,
            is_unresolved: false,
        };
        writer.add(&token, 0, 0);
    }
    let data = writer.data.into_iter();
    data.map(|word| (word.delta_line, word.delta_start, word.length))
        .collect()
}

#[test]
fn places_are_relative_to_the_word_before() {
    let marked = "  [a] [bé😀]  [c]\r\n[d]\n\n [e]";
    assert_eq!(
        places(marked, Encoding::Utf16),
        [(0, 2, 1), (0, 2, 4), (0, 6, 1), (1, 0, 1), (2, 1, 1)]
    );
    assert_eq!(places(marked, Encoding::Utf8)[1..3], [(0, 2, 7), (0, 9, 1)]);
    assert_eq!(
        places(marked, Encoding::Utf32)[1..3],
        [(0, 2, 3), (0, 5, 1)]
    );
}

#[test]
fn a_word_over_several_lines_is_told_line_by_line() {
    assert_eq!(
        places("x [0 1\r\n  2\n\n3] [y]", Encoding::Utf16),
        [(0, 2, 3), (1, 0, 3), (2, 0, 1), (0, 2, 1)]
    );
}

#[test]
fn only_the_stretch_that_differs_is_told() {
    let before = [word(0, 1), word(2, 2), word(3, 3), word(4, 4)];
    let now = [word(0, 1), word(2, 5), word(9, 9), word(3, 3), word(4, 4)];
    let edit = difference(&before, &now).unwrap();
    assert_eq!((edit.start, edit.delete_count), (5, 5));
    assert_eq!(edit.data.unwrap(), [word(2, 5), word(9, 9)]);
    assert_eq!(difference(&before, &before), None);
    let all = difference(&before, &[]).unwrap();
    assert_eq!((all.start, all.delete_count), (0, 20));
    // Equal words at both ends are not counted twice.
    let twice = difference(&[word(1, 1)], &[word(1, 1), word(1, 1)]).unwrap();
    assert_eq!((twice.start, twice.delete_count), (5, 0));
}

#[test]
fn the_legend_has_what_the_client_knows() {
    let client = Tokens {
        types: vec![SemanticTokenType::VARIABLE, SemanticTokenType::STRING],
        modifiers: vec![SemanticTokenModifier::STATIC],
        ..Tokens::default()
    };
    let legend = legend(&client);
    assert_eq!(
        legend.token_types,
        [SemanticTokenType::VARIABLE, SemanticTokenType::STRING]
    );
    assert_eq!(legend.token_modifiers, [UNRESOLVED]);
    assert_eq!(
        shown_as(TokenKind::Animation, &client),
        Some(SemanticTokenType::VARIABLE)
    );
    assert_eq!(shown_as(TokenKind::Element, &client), None);
}
