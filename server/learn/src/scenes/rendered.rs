//! A document of the corpus as text again: scenes are tried with the reader that will read them.

use crate::corpus::{Corpus, Document};
use std::fmt::Write as _;

/// The document with its elements, attributes and texts; what is of another namespace than the root is marked
/// with a prefix.
pub(super) fn text(corpus: &Corpus, document: &Document) -> String {
    let mut out = String::new();
    let Some(root) = document.elements.first() else {
        return out;
    };
    let mut open: Vec<(u32, String)> = Vec::new();
    for (at, element) in document.elements.iter().enumerate() {
        while let Some((_, name)) = open.pop_if(|(at, _)| Some(*at) != element.parent) {
            let _ = write!(out, "</{name}>");
        }
        let name = corpus.text(corpus.plain(element.name));
        let name = match element.namespace == root.namespace {
            true => name.to_owned(),
            false => format!("other:{name}"),
        };
        let _ = write!(out, "<{name}");
        let namespace = corpus.text(root.namespace);
        if at == 0 && !namespace.is_empty() {
            let _ = write!(out, " xmlns=\"{}\"", escaped(namespace));
        }
        for attribute in document.attributes_of(element) {
            let value = escaped(corpus.text(attribute.value));
            let _ = write!(out, " {}=\"{value}\"", corpus.text(attribute.name));
        }
        let _ = write!(out, ">{}", escaped(corpus.text(element.text)));
        open.push((at as u32, name));
    }
    while let Some((_, name)) = open.pop() {
        let _ = write!(out, "</{name}>");
    }
    out
}

fn escaped(text: &str) -> String {
    let text = text.replace('&', "&amp;").replace('<', "&lt;");
    text.replace('>', "&gt;").replace('"', "&quot;")
}
