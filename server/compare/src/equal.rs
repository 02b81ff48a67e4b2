//! Whether two documents are the same to a reader of XML.

use syntax::escape::{character_data, plain_lines};

use crate::document::{Document, Id, Kind, TOP};

/// None: equal trees. Else where in the second document they part, and what differs there.
pub(crate) fn difference(one: &Document<'_>, other: &Document<'_>) -> Option<String> {
    let mut open = vec![(TOP, TOP)];
    while let Some((first, second)) = open.pop() {
        if !same(one, first, other, second) {
            return Some(what(other, second));
        }
        let [firsts, seconds] = [(one, first), (other, second)].map(|(document, id)| {
            let children = document.nodes[id].children.iter().copied();
            let seen = children.filter(|child| match document.nodes[*child].kind {
                Kind::Text { .. } => id != TOP,
                Kind::Fixed => document.written(*child).starts_with("<!DOCTYPE"),
                _ => true,
            });
            seen.collect::<Vec<Id>>()
        });
        if firsts.len() != seconds.len() {
            return Some(what(other, second));
        }
        open.extend(firsts.into_iter().zip(seconds));
    }
    None
}

fn what(document: &Document<'_>, id: Id) -> String {
    let line = document.text[..usize::from(document.nodes[id].range.start())]
        .matches('\n')
        .count();
    match &document.nodes[id].kind {
        Kind::Element(tag) => format!("line {}, `{}`", line + 1, tag.element.name()),
        Kind::Fixed => "the DOCTYPE, which no patch can change".to_owned(),
        _ => format!("line {}", line + 1),
    }
}

fn same(one: &Document<'_>, first: Id, other: &Document<'_>, second: Id) -> bool {
    let (a, b) = (&one.nodes[first].kind, &other.nodes[second].kind);
    match (a, b) {
        (Kind::Document, Kind::Document) => true,
        (Kind::Element(a), Kind::Element(b)) => {
            let attributes = |tag: &crate::document::Tag<'_>| {
                let mut all: Vec<(String, String)> = (tag.element.attributes())
                    .map(|one| (one.name().to_owned(), one.value().into_owned()))
                    .collect();
                all.sort_unstable();
                all
            };
            a.element.name() == b.element.name() && attributes(a) == attributes(b)
        }
        (Kind::Text { .. }, Kind::Text { .. }) => {
            character_data(one.written(first)) == character_data(other.written(second))
        }
        (Kind::Comment, Kind::Comment)
        | (Kind::Instruction { .. }, Kind::Instruction { .. })
        | (Kind::Fixed, Kind::Fixed) => {
            plain_lines(one.written(first)) == plain_lines(other.written(second))
        }
        _ => false,
    }
}
