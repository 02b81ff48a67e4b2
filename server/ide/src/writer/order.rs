//! The order of attributes and children: attributes as in the document's own
//! elements of the same kind, else as others write them, else as in the
//! dialect; children as in the dialect, or where that does not care as others
//! write them.

use super::element::{NewElement, NewItem};
use dialect::{Context, ElementDecl, Order};
use machine::Reader;
use std::collections::HashMap;

const LAST: (usize, usize) = (usize::MAX, usize::MAX);

/// Puts the attributes and children of new elements, and of those in them, in
/// order.
pub(crate) fn in_order(reader: &Reader<'_>, elements: &mut [NewElement]) {
    let mut samples: HashMap<(Context, String), Vec<String>> = HashMap::new();
    elements
        .iter()
        .for_each(|element| collect(element, &mut samples));
    machine::walk(reader, |chain| {
        let Some(at) = chain.last() else { return };
        let Some(sample) = samples.get_mut(&(at.context, at.element.local_name().to_owned()))
        else {
            return;
        };
        let names: Vec<String> = at
            .element
            .attributes()
            .map(|attribute| attribute.name().to_owned())
            .collect();
        // The element with the most attributes tells the most.
        if names.len() > sample.len() {
            *sample = names;
        }
    });
    elements
        .iter_mut()
        .for_each(|element| sort(reader, element, &samples));
}

fn collect(element: &NewElement, samples: &mut HashMap<(Context, String), Vec<String>>) {
    samples.insert((element.context, element.name.clone()), Vec::new());
    element.children().for_each(|child| collect(child, samples));
}

fn sort(
    reader: &Reader<'_>,
    element: &mut NewElement,
    samples: &HashMap<(Context, String), Vec<String>>,
) {
    let sample = samples.get(&(element.context, element.name.clone()));
    let names: Vec<String> = element
        .attributes
        .iter()
        .map(|attribute| attribute.name.clone())
        .collect();
    let order = order(
        &names,
        sample
            .filter(|sample| !sample.is_empty())
            .unwrap_or(&element.habit),
        reader.dialect.element(element.context),
    );
    element
        .attributes
        .sort_by_key(|attribute| order.iter().position(|name| *name == attribute.name));
    if let Some(declared) = reader.dialect.element(element.context) {
        let habit = match declared.order {
            Order::Listed => &[][..],
            _ => element.habit.as_slice(),
        };
        let rank = |name: &str| {
            let others = habit.iter().position(|known| known == name);
            let rule = declared.children.place_of(name);
            let declared = rule.map(|rule| declared.rank(rule));
            (!habit.is_empty())
                .then_some((others.unwrap_or(usize::MAX), declared.unwrap_or(usize::MAX)))
                .or(declared.map(|at| (0, at)))
        };
        // What stood in the document keeps its order, which may mean something, unless the dialect asks for another one.
        let kept = element.content.iter().filter_map(|item| match item {
            NewItem::Source { name, .. } if declared.order != Order::Listed => rank(name),
            _ => None,
        });
        let kept = kept.min();
        element.content.sort_by_key(|item| match item {
            NewItem::Text { .. } => None,
            NewItem::Element(child) => Some(rank(&child.name).unwrap_or(LAST)),
            NewItem::Source { name, .. } => Some(kept.or(rank(name)).unwrap_or(LAST)),
        });
    }
    for item in &mut element.content {
        if let NewItem::Element(child) = item {
            sort(reader, child, samples);
        }
    }
}

/// `names` in the order of `sample`; what is not in the sample behind what the
/// dialect declares before it.
fn order(names: &[String], sample: &[String], declared: Option<&ElementDecl>) -> Vec<String> {
    let mut order: Vec<String> = sample
        .iter()
        .filter(|name| names.contains(name))
        .cloned()
        .collect();
    let rank = |name: &String| {
        let known = declared.and_then(|declared| {
            declared
                .attributes
                .iter()
                .position(|known| known.name == *name)
        });
        known.unwrap_or(usize::MAX)
    };
    let mut others: Vec<&String> = names.iter().filter(|name| !order.contains(name)).collect();
    others.sort_by_key(|name| rank(name));
    for name in others {
        let after = order.iter().rposition(|placed| rank(placed) <= rank(name));
        order.insert(after.map_or(0, |at| at + 1), name.clone());
    }
    order
}

#[cfg(test)]
mod tests {
    use super::*;
    use dialect::Dialect;

    fn ordered(names: &[&str], sample: &[&str]) -> Vec<String> {
        let owned = |names: &[&str]| {
            names
                .iter()
                .map(|name| (*name).to_owned())
                .collect::<Vec<_>>()
        };
        let house = Dialect::house();
        let declared = house
            .elements()
            .iter()
            .find(|element| element.name == "alias");
        order(&owned(names), &owned(sample), declared)
    }

    #[test]
    fn the_dialect_orders_where_the_document_does_not() {
        assert_eq!(ordered(&["path", "name"], &[]), ["name", "path"]);
    }

    #[test]
    fn the_document_comes_first() {
        assert_eq!(
            ordered(&["name", "path"], &["path", "name"]),
            ["path", "name"]
        );
    }

    #[test]
    fn what_the_document_does_not_show_goes_where_the_dialect_has_it() {
        assert_eq!(ordered(&["path", "name"], &["path"]), ["name", "path"]);
        assert_eq!(ordered(&["path", "name"], &["name"]), ["name", "path"]);
        assert_eq!(
            ordered(&["note", "path", "name"], &[]),
            ["name", "path", "note"]
        );
    }
}
