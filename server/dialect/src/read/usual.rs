//! What can be settled only when all else is read: values in the dialect's own notation, and whose names nodes accept.

use super::Reader;
use super::section::Placed;
use super::value_types::any_alias;
use crate::model::Dialect;
use crate::path::Leaf;
use crate::value_type::ItemType;
use crate::values::{ValueFault, or_list};

/// A value in the dialect's notation that stands in the dialect's file.
#[derive(Clone, Debug)]
pub(super) struct PlacedValue {
    /// The element's place among the declarations.
    pub(super) element: usize,
    /// The attribute's name or `text()`.
    pub(super) name: String,
    /// `usual` or `default`.
    pub(super) key: &'static str,
    pub(super) value: Placed<String>,
}

impl Reader<'_> {
    /// Nodes that did not say which names they accept accept those of all aliases.
    pub(super) fn fill_aliases(&mut self, dialect: &mut Dialect) {
        let any = any_alias();
        let kinds = dialect.alias_kinds();
        for element in &mut dialect.grammar.elements {
            let values = element.attributes.iter_mut().chain(&mut element.text);
            for declared in values {
                if let ItemType::Node { aliases, .. } = &mut declared.value.item
                    && aliases.contains(&any)
                {
                    *aliases = kinds.clone().into();
                }
            }
        }
    }

    /// `usual` and `default` must be what they say documents should have.
    pub(super) fn check_values(&mut self, dialect: &Dialect) {
        for sample in std::mem::take(&mut self.values) {
            let leaf = match sample.name.as_str() {
                super::elements::TEXT => Leaf::Text,
                name => Leaf::Attribute(name.to_owned()),
            };
            let element = dialect.grammar.elements.get(sample.element);
            let Some(declared) = element.and_then(|element| element.value_at(&leaf)) else {
                continue;
            };
            let found = dialect.check_value(&declared.value, &sample.value.value, None);
            for problem in found {
                let expected = match problem.fault {
                    ValueFault::WrongType { expected } => expected,
                    ValueFault::OutOfRange { expected, .. } => format!("a number {expected}"),
                    ValueFault::WrongCount { expected, .. } => expected,
                    ValueFault::UnknownWord { allowed, .. } => {
                        or_list(allowed.iter().map(String::as_str))
                    }
                    ValueFault::WrongInputKind { expected } => {
                        format!("an input that is {}", expected.as_str())
                    }
                };
                let range = problem.range;
                let part = self
                    .problems
                    .within(&sample.value.place, &sample.value.value, range);
                let message = format!(
                    "the {} value of `{}` does not fit its type: expected {expected}",
                    sample.key, sample.name
                );
                self.problems.report(part, message);
            }
        }
    }
}
