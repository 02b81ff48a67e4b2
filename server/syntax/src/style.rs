//! How a document is written, so that edits look like the rest of it.

use crate::item::{Item, Items};
use crate::{Element, Source, TextRange, TextSize, Tree, chars};

/// The habits of a document. What it does not show is as most documents have it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Style {
    /// `"\n"`, `"\r\n"` or `"\r"`.
    pub newline: &'static str,
    /// One level of indentation: spaces or tabs.
    pub indent: String,
    /// `'"'` or `'\''`.
    pub quote: char,
    /// How an element without content ends: `"/>"` or `" />"`.
    pub self_closing_end: &'static str,
    /// The text ends in a line break.
    pub final_newline: bool,
}

impl Default for Style {
    fn default() -> Self {
        Self {
            newline: "\n",
            indent: "  ".into(),
            quote: '"',
            self_closing_end: "/>",
            final_newline: true,
        }
    }
}

/// A document shows its habits early: so many elements are looked at, in so many bytes.
const ENOUGH: usize = 2_000;
const ENOUGH_TEXT: TextSize = TextSize::new(256 << 10);
/// So many line breaks are looked at.
const ENOUGH_LINES: usize = 200;

impl Style {
    /// The habits of the document with this tree.
    pub fn of(tree: &Tree) -> Self {
        let text = &*tree.slice(TextRange::up_to(ENOUGH_TEXT));
        let mut votes = Votes::default();
        let mut open: Vec<(Items<'_>, Option<&str>)> = vec![(tree.top_level(), None)];
        let mut seen = 0;
        while let Some((items, indentation)) = open.last_mut() {
            match items.next() {
                None => {
                    open.pop();
                }
                Some(Item::Element(element)) => {
                    if element.range().start() > TextSize::of(text) {
                        break;
                    }
                    let own = indentation_of(text, &element);
                    votes.element(text, &element, *indentation, own);
                    open.push((element.items(), own));
                    seen += 1;
                    if seen == ENOUGH {
                        break;
                    }
                }
                Some(_) => {}
            }
        }
        let usual = Self::default();
        Self {
            newline: newline_of(text),
            indent: votes.indent().unwrap_or(usual.indent),
            quote: if votes.apostrophes > votes.quotes {
                '\''
            } else {
                '"'
            },
            self_closing_end: match votes.spaced > votes.tight {
                true => " />",
                false => "/>",
            },
            final_newline: matches!(tree.char_before(tree.text_len()), None | Some('\n' | '\r')),
        }
    }
}

#[derive(Default)]
struct Votes<'t> {
    indents: Vec<(&'t str, usize)>,
    quotes: usize,
    apostrophes: usize,
    spaced: usize,
    tight: usize,
}

impl<'t> Votes<'t> {
    fn element(
        &mut self,
        text: &'t str,
        element: &Element<'_>,
        outer: Option<&str>,
        own: Option<&'t str>,
    ) {
        if let (Some(outer), Some(own)) = (outer, own)
            && let Some(step) = own.strip_prefix(outer)
            && !step.is_empty()
        {
            match self.indents.iter_mut().find(|(indent, _)| *indent == step) {
                Some((_, count)) => *count += 1,
                None => self.indents.push((step, 1)),
            }
        }
        for attribute in element.attributes().take(100) {
            match attribute.quote() {
                Some('"') => self.quotes += 1,
                Some(_) => self.apostrophes += 1,
                None => {}
            }
        }
        if element.is_self_closing() {
            let end = usize::from(element.start_tag_range().end());
            match text.as_bytes().get(end.saturating_sub(3)) {
                Some(b' ') => self.spaced += 1,
                Some(b'\n' | b'\r' | b'\t') | None => {}
                Some(_) => self.tight += 1,
            }
        }
    }

    fn indent(&self) -> Option<String> {
        // The first of the most frequent: the outer levels come first.
        let most = self.indents.iter().map(|(_, count)| *count).max()?;
        let first = self.indents.iter().find(|(_, count)| *count == most)?;
        Some(first.0.to_owned())
    }
}

/// The blanks before an element that is the first thing on its line.
fn indentation_of<'t>(text: &'t str, element: &Element<'_>) -> Option<&'t str> {
    let start = usize::from(element.range().start());
    let column = chars::indentation(text.as_bytes(), start)?;
    Some(&text[start - column..start])
}

fn newline_of(text: &str) -> &'static str {
    let (mut lf, mut crlf, mut cr) = (0, 0, 0);
    let bytes = text.as_bytes();
    for at in memchr::memchr2_iter(b'\n', b'\r', bytes).take(ENOUGH_LINES) {
        match bytes[at] {
            b'\n' if at > 0 && bytes[at - 1] == b'\r' => crlf += 1,
            b'\n' => lf += 1,
            _ if bytes.get(at + 1) == Some(&b'\n') => {}
            _ => cr += 1,
        }
    }
    if crlf > lf && crlf >= cr {
        "\r\n"
    } else if cr > lf {
        "\r"
    } else {
        "\n"
    }
}
