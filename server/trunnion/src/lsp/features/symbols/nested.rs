//! Symbols as the text of a list of `DocumentSymbol` (LSP 3.17). A large document has tens of thousands; to write each
//! through a general writer takes longer than to find it, and to hold them takes several times the memory of the text.
//! So each is written as it is found, after its children: JSON does not mind the order of an object's members.

use std::io::{self, Write};

use ide::symbols::Symbol;
use serde::Serialize;
use syntax::TextRange;

use super::kind;
use crate::lsp::convert::Places;

pub(super) struct Writer<'p, W> {
    output: W,
    places: Places<'p>,
    /// That of the first thing that could not be written.
    failed: io::Result<()>,
    /// How many symbols have begun and not ended; the last of them has children.
    open: usize,
    /// Whether the list that is open has a symbol.
    has_any: bool,
}

impl<'p, W: Write> Writer<'p, W> {
    pub(super) fn new(places: Places<'p>, output: W) -> Self {
        let mut writer = Self {
            output,
            places,
            failed: Ok(()),
            open: 0,
            has_any: false,
        };
        writer.put("[");
        writer
    }

    /// As [`ide::symbols::each`] tells it.
    pub(super) fn add(&mut self, depth: usize, symbol: &Symbol) {
        if depth < self.open {
            self.put("],");
            self.open = depth;
        } else {
            self.begin();
            while self.open < depth {
                self.put(r#""children":["#);
                self.open += 1;
                self.has_any = false;
                self.begin();
            }
        }
        self.symbol(symbol);
        self.has_any = true;
    }

    /// # Errors
    /// That of the output.
    pub(super) fn end(mut self) -> io::Result<()> {
        self.put("]");
        self.failed.and_then(|()| self.output.flush())
    }

    #[inline]
    fn put(&mut self, text: &str) {
        if self.failed.is_ok() {
            self.failed = self.output.write_all(text.as_bytes());
        }
    }

    fn put_json(&mut self, value: &impl Serialize) {
        if self.failed.is_ok() {
            self.failed = serde_json::to_writer(&mut self.output, value).map_err(io::Error::from);
        }
    }

    fn begin(&mut self) {
        self.put(if self.has_any { ",{" } else { "{" });
    }

    /// Without what it begins with.
    fn symbol(&mut self, symbol: &Symbol) {
        self.put(r#""name":"#);
        self.string(&symbol.name);
        if !symbol.detail.is_empty() {
            self.put(r#","detail":"#);
            self.string(&symbol.detail);
        }
        self.put(r#","kind":"#);
        // A number.
        self.put_json(&kind(symbol.kind));
        self.put(r#","range":"#);
        self.range(symbol.range);
        self.put(r#","selectionRange":"#);
        self.range(symbol.name_range);
        self.put("}");
    }

    fn string(&mut self, string: &str) {
        let is_plain = |byte: u8| byte >= b' ' && byte != b'"' && byte != b'\\';
        if string.bytes().all(is_plain) {
            self.put("\"");
            self.put(string);
            self.put("\"");
        } else {
            self.put_json(&string);
        }
    }

    fn range(&mut self, range: TextRange) {
        let range = self.places.range(range);
        self.put(r#"{"start":{"line":"#);
        self.number(range.start.line);
        self.put(r#","character":"#);
        self.number(range.start.character);
        self.put(r#"},"end":{"line":"#);
        self.number(range.end.line);
        self.put(r#","character":"#);
        self.number(range.end.character);
        self.put("}}");
    }

    fn number(&mut self, number: u32) {
        self.put(itoa::Buffer::new().format(number));
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

    fn written(source: &str, symbols: &[(usize, Symbol)]) -> Vec<u8> {
        let lines = LineIndex::new(source);
        let places = Places {
            text: &source.to_owned(),
            lines: &lines,
            encoding: Encoding::Utf16,
            is_on_disk: false,
        };
        let mut text = Vec::new();
        let mut writer = Writer::new(places, &mut text);
        for (depth, symbol) in symbols {
            writer.add(*depth, symbol);
        }
        writer.end().unwrap();
        text
    }

    #[test]
    fn the_text_says_what_the_types_of_the_protocol_say() {
        let inner = symbol("q\"\\\u{1}ä\n", "", [4, 5, 6, 15]);
        let more = symbol("", "x</y>", [4, 7, 9, 15]);
        let outer = symbol("a", "of \t it", [0, 1, 2, 20]);
        let symbols = [(1, inner), (1, more), (0, outer)];
        let written = written("<a>\n<b ä=\"1\"/>\n</a>\n", &symbols);
        let value: Value = serde_json::from_slice(&written).unwrap();
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
            let text = written("", &symbols.collect::<Vec<_>>());
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
