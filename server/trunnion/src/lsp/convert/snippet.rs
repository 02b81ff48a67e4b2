//! The protocol's snippet syntax.

use ide::{Piece, Template};

/// A template as a snippet: `$1`, `${2:filled}`, `$0`, and `\` before a character that means itself (LSP 3.17,
/// "Snippet Syntax").
pub(crate) fn snippet(template: &Template) -> String {
    let mut snippet = String::new();
    let mut stop = 0;
    for piece in &template.pieces {
        match piece {
            Piece::Text(text) => escape(text, &mut snippet),
            Piece::Stop(filled) => {
                stop += 1;
                if filled.is_empty() {
                    snippet.push_str(&format!("${{{stop}}}"));
                } else {
                    snippet.push_str(&format!("${{{stop}:"));
                    escape(filled, &mut snippet);
                    snippet.push('}');
                }
            }
            Piece::End => snippet.push_str("$0"),
        }
    }
    snippet
}

fn escape(text: &str, snippet: &mut String) {
    for character in text.chars() {
        if matches!(character, '\\' | '$' | '}') {
            snippet.push('\\');
        }
        snippet.push(character);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stops_are_numbered_in_order() {
        let template = Template::new()
            .text("<wheel id=\"")
            .stop("")
            .text("\" radius=\"")
            .stop("0.5")
            .text("\"/>")
            .end();
        assert_eq!(
            snippet(&template),
            r#"<wheel id="${1}" radius="${2:0.5}"/>$0"#
        );
    }

    #[test]
    fn characters_with_a_meaning_are_escaped() {
        let template = Template::new().text(r"a$1\}").stop("{x}$");
        assert_eq!(snippet(&template), r"a\$1\\\}${1:{x\}\$}");
    }
}
