//! Elements of the library that play a role, as examples.

use super::step_name;
use crate::{assists::site::Site, precedents};
use dialect::Path;
use learn::{
    pattern::{Example, Slot, Term, Value},
    precedents::Spot,
};
use machine::{Chain, Machine, Outline, Reader};
use syntax::{Element, TextRange};

/// So many machines of the library are looked at: enough to see what is usual.
const MOST_MACHINES: usize = 100;

/// A construct is not looked into any deeper.
pub(super) const DEEPEST: usize = 8;

/// Where the library has the elements that a path from the document leads to.
pub(crate) fn spot<'v>(site: &Site<'v>, at: &Path) -> Option<Spot<'v>> {
    let root = site.view.tree().root()?;
    // As far as the path says which elements it goes through.
    let names: Vec<&str> = at.steps().iter().map_while(step_name).collect();
    let path = match names.as_slice() {
        [] => vec![root.local_name()],
        names => names.to_vec(),
    };
    precedents::spot_of(site.view, &root, &path)
}

/// The elements that a path leads to in machines of the library. `bound`: the paths to what a new
/// one is made of; `is_one`: whether the element of this range is one to go by.
pub(super) fn examples(
    site: &Site<'_>,
    at: &Path,
    bound: &[Option<&Path>],
    is_one: impl Fn(&Machine, TextRange) -> bool,
) -> Vec<Example> {
    let (Some(spot), Some(meaning)) = (spot(site, at), &site.view.meaning) else {
        return Vec::new();
    };
    let mut examples = Vec::new();
    for (_, text) in spot.texts(MOST_MACHINES) {
        let tree = syntax::parse(&text);
        let reader = Reader::new(&tree, site.dialect, &meaning.kind);
        let outline = Outline::read(&tree, site.dialect, &meaning.kind, None);
        let machine = outline.machine(site.dialect, &meaning.kind);
        for chain in reader.elements(&[], at) {
            if let Some(element) = chain.last().map(|last| last.element)
                && is_one(&machine, element.range())
            {
                examples.push(example(&reader, &machine, &chain, element, bound));
            }
        }
    }
    examples
}

fn example(
    reader: &Reader<'_>,
    machine: &Machine,
    chain: &Chain<'_>,
    element: Element<'_>,
    paths: &[Option<&Path>],
) -> Example {
    let (mut bound, mut ranges) = (Vec::new(), Vec::new());
    for path in paths {
        let found = path.map_or_else(Vec::new, |path| reader.values(chain, path));
        bound.push(found.first().map(|first| first.text.to_string()));
        ranges.extend(found.iter().map(|found| found.range));
    }
    Example {
        term: term(element, &ranges, machine, DEEPEST),
        bound,
    }
}

/// An element as a term; `bound`: where the role reads. Animations in it are left out: they are
/// not written but moved.
fn term(element: Element<'_>, bound: &[TextRange], machine: &Machine, depth: usize) -> Term {
    let value = |text: String, range: TextRange| {
        let is_bound = bound.iter().any(|bound| range.contains_range(*bound));
        if is_bound {
            Value::Bound
        } else {
            Value::Text(text)
        }
    };
    let attributes = element.attributes().filter_map(|attribute| {
        let range = attribute.value_range()?;
        let is_ours = attribute.declared_prefix().is_none();
        let value = || value(attribute.value().into_owned(), range);
        is_ours.then(|| (Some(attribute.name().to_owned()), value()))
    });
    let mut values: Vec<(Slot, Value)> = attributes.collect();
    let children: Vec<Element<'_>> = element.children().collect();
    let text = element.text();
    if let (Some(range), false, true) = (
        element.content_range(),
        text.trim().is_empty(),
        children.is_empty(),
    ) {
        values.push((None, value(text.trim().to_owned(), range)));
    }
    let is_animation = |child: &&Element<'_>| {
        let mut animations = machine.animations.iter();
        animations.any(|animation| child.range().contains_range(animation.element))
    };
    let children = children
        .iter()
        .filter(|child| depth > 0 && !is_animation(child));
    Term {
        name: element.local_name().to_owned(),
        values,
        children: children
            .map(|child| term(*child, bound, machine, depth - 1))
            .collect(),
    }
}
