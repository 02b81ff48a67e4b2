//! New elements as text, in a document's style.

use super::element::{NewElement, NewItem};
use std::ops::Range;
use syntax::{Style, escape};

/// How new elements are written.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Print<'s> {
    pub(crate) style: &'s Style,
    /// The prefix of the document's own namespace, if it uses one.
    pub(crate) prefix: Option<&'s str>,
    /// The blanks before the first element; none: everything on one line.
    pub(crate) indent: Option<&'s str>,
}

/// A text with the places in it that a person has to fill in or look at.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Printed {
    pub(crate) text: String,
    /// Bytes in the text.
    pub(crate) places: Vec<Range<usize>>,
}

impl Printed {
    pub(crate) fn push(&mut self, text: &str) {
        self.text.push_str(text);
    }

    fn push_place(&mut self, text: &str, is_guess: bool) {
        let start = self.text.len();
        self.text.push_str(text);
        if is_guess {
            self.places.push(start..self.text.len());
        }
    }
}

impl Print<'_> {
    /// An element, without the indent of its first line.
    pub(crate) fn element(&self, element: &NewElement, out: &mut Printed) {
        self.at_depth(element, 0, out);
    }

    fn at_depth(&self, element: &NewElement, depth: usize, out: &mut Printed) {
        let name = self.name(&element.name);
        out.push("<");
        out.push(&name);
        self.attributes(element, out);
        if element.content.is_empty() {
            out.push(self.style.self_closing_end);
            return;
        }
        out.push(">");
        // Beside text, white space would be text as well.
        let is_text = |item: &NewItem| matches!(item, NewItem::Text { .. });
        let lines_inside = !element.content.iter().any(is_text);
        for item in &element.content {
            match item {
                NewItem::Text { value, is_guess } => {
                    out.push_place(&escape::text(value), *is_guess);
                }
                NewItem::Element(child) => {
                    if lines_inside {
                        self.new_line(depth + 1, out);
                    }
                    self.at_depth(child, depth + 1, out);
                }
                NewItem::Source { indent, text, .. } => {
                    match (indent, self.indent) {
                        _ if !lines_inside => {}
                        (Some(indent), Some(_)) => {
                            out.push(self.style.newline);
                            out.push(indent);
                        }
                        _ => self.new_line(depth + 1, out),
                    }
                    out.push(text);
                }
            }
        }
        if lines_inside {
            self.new_line(depth, out);
        }
        out.push("</");
        out.push(&name);
        out.push(">");
    }

    fn attributes(&self, element: &NewElement, out: &mut Printed) {
        for attribute in &element.attributes {
            out.push(" ");
            out.push(&attribute.name);
            out.push("=");
            let (value, quote) = match &attribute.written {
                Some((raw, quote)) => (raw.as_str().into(), *quote),
                None => (
                    escape::attribute(&attribute.value, self.style.quote),
                    self.style.quote,
                ),
            };
            out.text.push(quote);
            out.push_place(&value, attribute.is_guess);
            out.text.push(quote);
        }
    }

    fn name(&self, name: &str) -> String {
        match self.prefix {
            Some(prefix) => format!("{prefix}:{name}"),
            None => name.to_owned(),
        }
    }

    /// A line break and the indent; nothing where everything is on one line.
    fn new_line(&self, depth: usize, out: &mut Printed) {
        let Some(indent) = self.indent else { return };
        out.push(self.style.newline);
        out.push(indent);
        for _ in 0..depth {
            out.push(&self.style.indent);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use dialect::Context;

    #[test]
    fn beside_text_there_is_no_white_space() {
        let mut element = NewElement::new("rein", Context::ELSEWHERE);
        element.content.push(NewItem::Text {
            value: "spread".to_owned(),
            is_guess: false,
        });
        let child = NewElement::new("hear", Context::ELSEWHERE);
        element.content.push(NewItem::Element(child));
        let style = Style::default();
        let print = Print {
            style: &style,
            prefix: None,
            indent: Some("  "),
        };
        let mut out = Printed::default();
        print.element(&element, &mut out);
        assert_eq!(out.text, "<rein>spread<hear/></rein>");
    }
}
