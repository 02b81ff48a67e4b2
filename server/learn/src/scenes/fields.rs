//! The values of nodes, by the way to them.

use super::shape::{Family, Shape};
use crate::corpus::Corpus;
use std::collections::BTreeMap;

/// So many steps down values belong to a node.
const DOWN: usize = 2;

/// A place for a value of nodes.
#[derive(Debug)]
pub(super) struct Field<'c> {
    /// As dialects write it.
    pub(super) path: String,
    /// The number of a node, and the first value that it has there.
    pub(super) values: Vec<(usize, &'c str)>,
}

/// All that the nodes of some documents have, and how many nodes there are. Nodes of the second document are numbered on.
pub(super) fn of<'c>(
    corpus: &'c Corpus,
    documents: &[Family<'c>],
    shape: &Shape,
) -> (Vec<Field<'c>>, usize) {
    let mut by_path: BTreeMap<String, Vec<(usize, &str)>> = BTreeMap::new();
    let mut count = 0;
    for family in documents {
        for (at, _) in family.nodes(shape) {
            of_element(corpus, family, Some(shape), at, &mut |path, value| {
                let values = by_path.entry(path).or_default();
                if values.last().is_none_or(|(node, _)| *node != count) {
                    values.push((count, value));
                }
            });
            count += 1;
        }
    }
    let fields = by_path.into_iter();
    let fields = fields.map(|(path, values)| Field { path, values });
    (fields.collect(), count)
}

/// The values of an element and of those in it, but for nodes and what holds them.
pub(super) fn of_element<'c>(
    corpus: &'c Corpus,
    family: &Family<'c>,
    shape: Option<&Shape>,
    at: u32,
    take: &mut dyn FnMut(String, &'c str),
) {
    let mut open = vec![(at, String::new(), 0)];
    while let Some((at, way, down)) = open.pop() {
        let element = &family.document.elements[at as usize];
        let text = corpus.text(element.text);
        if !text.is_empty() {
            let path = match way.as_str() {
                "" => "text()".to_owned(),
                way => way.to_owned(),
            };
            take(path, text);
        }
        let join = |step: String| match way.as_str() {
            "" => step,
            way => format!("{way}/{step}"),
        };
        for attribute in family.document.attributes_of(element) {
            let name = corpus.text(attribute.name);
            if !name.contains(':') {
                take(join(format!("@{name}")), corpus.text(attribute.value));
            }
        }
        if down == DOWN {
            continue;
        }
        for child in family.children[at as usize].iter().rev() {
            let name = family.name(*child);
            let is_other = shape
                .is_some_and(|shape| shape.nodes.contains(&name) || shape.holder == Some(name));
            if !is_other {
                open.push((*child, join(corpus.text(name).to_owned()), down + 1));
            }
        }
    }
}
