//! Symbols as the text of a list of `DocumentSymbol` (LSP 3.17). A large document has tens of thousands; to write each
//! through a general writer takes longer than to find it.

use ide::symbols::Symbol;
use syntax::TextRange;

use super::kind;
use crate::lsp::chunks::Chunks;
use crate::lsp::convert::Places;

pub(super) fn text(symbols: &[Symbol], places: Places<'_>) -> Chunks {
    let mut writer = Writer {
        text: Chunks::default(),
        places,
    };
    writer.list(symbols);
    writer.text
}

struct Writer<'p> {
    text: Chunks,
    places: Places<'p>,
}

impl Writer<'_> {
    /// Recursion is bounded: outlines are not deep, see `ide::symbols`.
    fn list(&mut self, symbols: &[Symbol]) {
        self.text.push_str("[");
        for (at, symbol) in symbols.iter().enumerate() {
            if at > 0 {
                self.text.push_str(",");
            }
            self.symbol(symbol);
        }
        self.text.push_str("]");
    }

    fn symbol(&mut self, symbol: &Symbol) {
        self.text.push_str(r#"{"name":"#);
        self.string(&symbol.name);
        if !symbol.detail.is_empty() {
            self.text.push_str(r#","detail":"#);
            self.string(&symbol.detail);
        }
        self.text.push_str(r#","kind":"#);
        // A number.
        self.text.push_json(&kind(symbol.kind));
        self.text.push_str(r#","range":"#);
        self.range(symbol.range);
        self.text.push_str(r#","selectionRange":"#);
        self.range(symbol.name_range);
        if !symbol.children.is_empty() {
            self.text.push_str(r#","children":"#);
            self.list(&symbol.children);
        }
        self.text.push_str("}");
    }

    fn string(&mut self, string: &str) {
        let is_plain = |byte: u8| byte >= b' ' && byte != b'"' && byte != b'\\';
        if string.bytes().all(is_plain) {
            self.text.push_str("\"");
            self.text.push_str(string);
            self.text.push_str("\"");
        } else {
            self.text.push_json(&string);
        }
    }

    fn range(&mut self, range: TextRange) {
        let range = self.places.range(range);
        self.text.push_str(r#"{"start":{"line":"#);
        self.number(range.start.line);
        self.text.push_str(r#","character":"#);
        self.number(range.start.character);
        self.text.push_str(r#"},"end":{"line":"#);
        self.number(range.end.line);
        self.text.push_str(r#","character":"#);
        self.number(range.end.character);
        self.text.push_str("}}");
    }

    fn number(&mut self, number: u32) {
        self.text.push_str(itoa::Buffer::new().format(number));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ide::symbols::SymbolKind;
    use serde_json::Value;
    use syntax::{Encoding, LineIndex};
    use tower_lsp::lsp_types::DocumentSymbol;

    fn symbol(name: &str, detail: &str, at: [u32; 4], children: Vec<Symbol>) -> Symbol {
        let [start, name_start, name_end, end] = at;
        Symbol {
            name: name.to_owned(),
            detail: detail.to_owned(),
            kind: SymbolKind::Alias,
            range: TextRange::new(start.into(), end.into()),
            name_range: TextRange::new(name_start.into(), name_end.into()),
            children,
        }
    }

    #[test]
    fn the_text_says_what_the_types_of_the_protocol_say() {
        let source = "<a>\n<b ä=\"1\"/>\n</a>\n";
        let inner = symbol("q\"\\\u{1}ä\n", "", [4, 5, 6, 15], Vec::new());
        let more = symbol("", "x</y>", [4, 7, 9, 15], Vec::new());
        let outer = symbol("a", "of \t it", [0, 1, 2, 20], vec![inner, more]);
        let places = Places {
            text: source,
            lines: &LineIndex::new(source),
            encoding: Encoding::Utf16,
        };
        let written = text(&[outer], places);
        let value: Value = serde_json::from_slice(&written.whole()).unwrap();
        let read: Vec<DocumentSymbol> = serde_json::from_value(value.clone()).unwrap();
        assert_eq!(serde_json::to_value(&read).unwrap(), value);
        let inside = read[0].children.as_ref().unwrap();
        assert_eq!(inside[0].name, "q\"\\\u{1}ä\n");
        assert_eq!(inside[0].range.end.character, 10);
        assert_eq!((read[0].range.end.line, inside.len()), (2, 2));
        assert_eq!(read[0].detail.as_deref(), Some("of \t it"));
        assert_eq!(text(&[], places).whole(), b"[]");
    }
}
