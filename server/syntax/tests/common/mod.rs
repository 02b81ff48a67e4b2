//! Shows trees and errors as text.

use std::fmt::Write as _;

use syntax::{Element, FormError, Item, Items, Tree};

/// The errors of a tree with the text they point at, then its outline.
pub(crate) fn report(text: &str) -> String {
    let tree = syntax::parse(text);
    assert_eq!(tree.text(), text, "the tree holds the whole text");
    format!("{}---\n{}", errors(&tree, text), outline(&tree))
}

pub(crate) fn errors(tree: &Tree, text: &str) -> String {
    let mut out = String::new();
    for error in tree.errors() {
        let _ = writeln!(out, "{}", error_line(error, text));
    }
    out
}

fn error_line(error: &FormError, text: &str) -> String {
    let start = usize::from(error.range.start());
    let line = text[..start].matches('\n').count() + 1;
    let column = start - text[..start].rfind('\n').map_or(0, |at| at + 1);
    format!("{line}:{column} {} {:?}", error.code, &text[error.range])
}

/// One line for each element, comment and so on, indented by depth. White space between elements is left out.
pub(crate) fn outline(tree: &Tree) -> String {
    let mut out = String::new();
    let mut open: Vec<Items<'_>> = vec![tree.top_level()];
    while let Some(items) = open.last_mut() {
        let Some(item) = items.next() else {
            open.pop();
            continue;
        };
        let line = match item {
            Item::Element(element) => element_line(&element),
            Item::TooDeep(range) => format!("too deep {range:?}"),
            Item::Text(token) if token.text().trim().is_empty() => continue,
            Item::Text(token) => format!("{:?}", token.text().trim()),
            Item::Comment(token)
            | Item::CData(token)
            | Item::Reference(token)
            | Item::ProcessingInstruction(token)
            | Item::Doctype(token)
            | Item::Declaration(token) => token.text().to_owned(),
            Item::ByteOrderMark(_) => "mark".to_owned(),
            Item::Error(token) => format!("!{}", token.text()),
        };
        let _ = writeln!(out, "{}{line}", "  ".repeat(open.len() - 1));
        if let Item::Element(element) = item {
            open.push(element.items());
        }
    }
    out
}

fn element_line(element: &Element<'_>) -> String {
    let mut line = element.name().to_owned();
    if line.is_empty() {
        line.push('?');
    }
    for attribute in element.attributes() {
        let _ = match attribute.value_range() {
            Some(_) => write!(line, " {}={:?}", attribute.name(), attribute.raw_value()),
            None => write!(line, " {}", attribute.name()),
        };
    }
    if let Some(tag) = element.end_tag()
        && tag.name() != element.name()
    {
        let _ = write!(line, " … /{}", tag.name());
    }
    line
}
