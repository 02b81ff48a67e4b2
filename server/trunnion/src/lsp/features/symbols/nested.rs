//! Symbols as the text of a list of `DocumentSymbol` (LSP 3.17). A large document has tens of thousands; to write each
//! through a general writer takes longer than to find it, and to hold them takes several times the memory of the text.
//! So each is written as it is found, after its children: JSON does not mind the order of an object's members.

use ide::symbols::Symbol;
use syntax::TextRange;

use super::kind;
use crate::lsp::chunks::Chunks;
use crate::lsp::convert::Places;

pub(super) struct Writer<'p> {
    text: Chunks,
    places: Places<'p>,
    /// How many symbols have begun and not ended; the last of them has children.
    open: usize,
    /// Whether the list that is open has a symbol.
    has_any: bool,
}

impl<'p> Writer<'p> {
    pub(super) fn new(places: Places<'p>) -> Self {
        Self {
            text: "[".to_owned().into(),
            places,
            open: 0,
            has_any: false,
        }
    }

    /// As [`ide::symbols::each`] tells it.
    pub(super) fn add(&mut self, depth: usize, symbol: &Symbol) {
        if depth < self.open {
            self.text.push_str("],");
            self.open = depth;
        } else {
            self.begin();
            while self.open < depth {
                self.text.push_str(r#""children":["#);
                self.open += 1;
                self.has_any = false;
                self.begin();
            }
        }
        self.symbol(symbol);
        self.has_any = true;
    }

    pub(super) fn end(mut self) -> Chunks {
        self.text.push_str("]");
        self.text
    }

    fn begin(&mut self) {
        self.text.push_str(if self.has_any { ",{" } else { "{" });
    }

    /// Without what it begins with.
    fn symbol(&mut self, symbol: &Symbol) {
        self.text.push_str(r#""name":"#);
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

    fn symbol(name: &str, detail: &str, at: [u32; 4]) -> Symbol {
        let [start, name_start, name_end, end] = at;
        Symbol {
            name: name.to_owned(),
            detail: detail.to_owned(),
            kind: SymbolKind::Alias,
            range: TextRange::new(start.into(), end.into()),
            name_range: TextRange::new(name_start.into(), name_end.into()),
            children: Vec::new(),
        }
    }

    fn written(source: &str, symbols: &[(usize, Symbol)]) -> Chunks {
        let lines = LineIndex::new(source);
        let mut writer = Writer::new(Places {
            text: source,
            lines: &lines,
            encoding: Encoding::Utf16,
        });
        for (depth, symbol) in symbols {
            writer.add(*depth, symbol);
        }
        writer.end()
    }

    #[test]
    fn the_text_says_what_the_types_of_the_protocol_say() {
        let inner = symbol("q\"\\\u{1}ä\n", "", [4, 5, 6, 15]);
        let more = symbol("", "x</y>", [4, 7, 9, 15]);
        let outer = symbol("a", "of \t it", [0, 1, 2, 20]);
        let symbols = [(1, inner), (1, more), (0, outer)];
        let written = written("<a>\n<b ä=\"1\"/>\n</a>\n", &symbols);
        let value: Value = serde_json::from_slice(&written.whole()).unwrap();
        let read: Vec<DocumentSymbol> = serde_json::from_value(value.clone()).unwrap();
        assert_eq!(serde_json::to_value(&read).unwrap(), value);
        let inside = read[0].children.as_ref().unwrap();
        assert_eq!(inside[0].name, "q\"\\\u{1}ä\n");
        assert_eq!(inside[0].range.end.character, 10);
        assert_eq!((read[0].range.end.line, inside.len()), (2, 2));
        assert_eq!(read[0].detail.as_deref(), Some("of \t it"));
    }

    #[test]
    fn each_symbol_stands_where_its_depth_says() {
        let tree = |depths: &[usize]| {
            let symbols = depths.iter().zip('a'..);
            let symbols = symbols.map(|(depth, c)| (*depth, symbol(&c.to_string(), "", [0; 4])));
            let text = written("", &symbols.collect::<Vec<_>>()).whole();
            let read: Vec<DocumentSymbol> = serde_json::from_slice(&text).unwrap();
            names(&read)
        };
        assert_eq!(tree(&[]), "");
        assert_eq!(tree(&[0, 0]), "a b ");
        assert_eq!(tree(&[1, 3, 2, 2, 1, 1, 0]), "g (a e (c (b ) d ) f ) ");
        assert_eq!(tree(&[2, 1, 0, 2, 1, 0]), "c (b (a ) ) f (e (d ) ) ");
    }

    fn names(symbols: &[DocumentSymbol]) -> String {
        let names = symbols.iter().map(|symbol| {
            let inside = symbol.children.as_deref().map(names);
            let inside = inside.map(|inside| format!("({inside}) "));
            format!("{} {}", symbol.name, inside.unwrap_or_default())
        });
        names.collect()
    }
}
