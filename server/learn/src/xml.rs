//! A document of a corpus as XML again: its elements, attributes and texts, each element on a
//! line of its own. Comments, prefixes of elements and the places of texts among children are lost.

use crate::corpus::{Corpus, Document};
use crate::symbols::Symbol;
use syntax::escape;

impl Document {
    pub(crate) fn to_xml(&self, corpus: &Corpus) -> String {
        let mut xml = String::new();
        let mut open: Vec<usize> = Vec::new();
        for (at, element) in self.elements.iter().enumerate() {
            let parent = element.parent.map(|parent| parent as usize);
            while let Some(inner) = open.pop_if(|inner| Some(*inner) != parent) {
                self.close(inner, corpus, &mut xml);
            }
            xml.push('<');
            xml.push_str(corpus.text(corpus.plain(element.name)));
            let around = parent.map_or(Symbol::EMPTY, |parent| self.elements[parent].namespace);
            if element.namespace != around {
                attribute("xmlns", corpus.text(element.namespace), &mut xml);
            }
            for own in self.attributes_of(element) {
                attribute(corpus.text(own.name), corpus.text(own.value), &mut xml);
            }
            xml.push('>');
            xml.push_str(&escape::text(corpus.text(element.text)));
            open.push(at);
        }
        while let Some(inner) = open.pop() {
            self.close(inner, corpus, &mut xml);
        }
        xml
    }

    fn close(&self, element: usize, corpus: &Corpus, xml: &mut String) {
        xml.push_str("</");
        xml.push_str(corpus.text(corpus.plain(self.elements[element].name)));
        xml.push_str(">\n");
    }
}

fn attribute(name: &str, value: &str, xml: &mut String) {
    xml.push(' ');
    xml.push_str(name);
    xml.push_str("=\"");
    xml.push_str(&escape::attribute(value, '"'));
    xml.push('"');
}
