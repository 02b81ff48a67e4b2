//! The protocol's snippet syntax, for clients that do not know it.

/// The text of a snippet with its defaults filled in and its tab stops gone.
///
/// Knows what the server writes: `$1`, `${1}`, `${1:default}` (which may hold stops), `${1|one,two|}` and `\` before
/// a character that means itself (LSP 3.17, "Snippet Syntax").
pub(crate) fn plain(snippet: &str) -> String {
    let mut plain = String::with_capacity(snippet.len());
    let mut characters = snippet.chars().peekable();
    let mut open_defaults = 0;
    while let Some(character) = characters.next() {
        match character {
            '\\' => plain.extend(characters.next()),
            '}' if open_defaults > 0 => open_defaults -= 1,
            '$' => {
                let braced = characters.next_if_eq(&'{').is_some();
                while characters.next_if(char::is_ascii_digit).is_some() {}
                if !braced {
                    continue;
                }
                match characters.next() {
                    Some(':') => open_defaults += 1,
                    Some('|') => plain.push_str(&first_choice(&mut characters)),
                    _ => {}
                }
            }
            character => plain.push(character),
        }
    }
    plain
}

/// The first of `one,two|}`; reads to the end of the choice.
fn first_choice(characters: &mut impl Iterator<Item = char>) -> String {
    let (mut first, mut in_first) = (String::new(), true);
    while let Some(character) = characters.next() {
        match character {
            '\\' => {
                let escaped = characters.next();
                if in_first {
                    first.extend(escaped);
                }
            }
            ',' => in_first = false,
            '|' => {
                characters.next();
                break;
            }
            character if in_first => first.push(character),
            _ => {}
        }
    }
    first
}

#[cfg(test)]
mod tests {
    use super::plain;

    #[test]
    fn stops_vanish_and_defaults_stay() {
        assert_eq!(
            plain(r#"<wheel id="$1" radius="${2:0.5}">$0</wheel>"#),
            r#"<wheel id="" radius="0.5"></wheel>"#
        );
        assert_eq!(plain("a${1}b"), "ab");
    }

    #[test]
    fn a_default_may_hold_stops() {
        assert_eq!(plain("${1:x ${2:y} $3z}!"), "x y z!");
    }

    #[test]
    fn the_first_choice_is_taken() {
        assert_eq!(plain(r"${1|on\,e,two|};"), "on,e;");
    }

    #[test]
    fn escaped_characters_mean_themselves() {
        assert_eq!(plain(r"\$1 \} \\"), r"$1 } \");
    }

    #[test]
    fn braces_outside_a_stop_are_text() {
        assert_eq!(plain("{a} }"), "{a} }");
    }

    #[test]
    fn an_unfinished_snippet_loses_nothing_but_the_stop() {
        assert_eq!(plain("a ${1:b"), "a b");
        assert_eq!(plain("a $"), "a ");
        assert_eq!(plain("a ${1|b"), "a b");
    }
}
