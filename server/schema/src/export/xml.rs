//! Writing XML, indented.

use std::fmt::Write as _;

#[derive(Debug, Default)]
pub(super) struct Xml {
    out: String,
    open: Vec<&'static str>,
}

impl Xml {
    pub(super) fn new() -> Self {
        Self {
            out: "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n".to_owned(),
            open: Vec::new(),
        }
    }

    pub(super) fn start(&mut self, name: &'static str, attributes: &[(&str, &str)]) {
        self.tag(name, attributes);
        self.out.push_str(">\n");
        self.open.push(name);
    }

    pub(super) fn end(&mut self) {
        if let Some(name) = self.open.pop() {
            self.indent();
            let _ = writeln!(self.out, "</{name}>");
        }
    }

    pub(super) fn empty(&mut self, name: &'static str, attributes: &[(&str, &str)]) {
        self.tag(name, attributes);
        self.out.push_str("/>\n");
    }

    pub(super) fn text(&mut self, name: &'static str, attributes: &[(&str, &str)], text: &str) {
        self.tag(name, attributes);
        self.out.push('>');
        escape(&mut self.out, text);
        let _ = writeln!(self.out, "</{name}>");
    }

    /// The document, when everything is closed.
    pub(super) fn finish(mut self) -> String {
        while !self.open.is_empty() {
            self.end();
        }
        self.out
    }

    fn tag(&mut self, name: &str, attributes: &[(&str, &str)]) {
        self.indent();
        let _ = write!(self.out, "<{name}");
        for (name, value) in attributes {
            let _ = write!(self.out, " {name}=\"");
            escape(&mut self.out, value);
            self.out.push('"');
        }
    }

    fn indent(&mut self) {
        self.out.push_str(&"  ".repeat(self.open.len()));
    }
}

/// What XML cannot hold is left out.
fn escape(out: &mut String, text: &str) {
    for c in text.chars() {
        match c {
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '&' => out.push_str("&amp;"),
            '"' => out.push_str("&quot;"),
            '\n' | '\t' | '\r' => {
                let _ = write!(out, "&#{};", u32::from(c));
            }
            c if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') => {}
            c => out.push(c),
        }
    }
}
