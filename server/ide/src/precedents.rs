//! How the machines of the library did the thing at hand.

mod usual;

pub(crate) use usual::{counted, element_line, travels, values_line, worth_counting};

use learn::precedents::{Like, Spot, Usual};
use project::View;
use project::library::Source;
use std::collections::HashSet;
use syntax::{Element, Place, TextRange, TextSize, namespaces};

/// The precedents of one element.
#[derive(Clone, Debug, PartialEq)]
pub struct Precedents {
    /// The element's name.
    pub element: String,
    /// Of its start tag.
    pub range: TextRange,
    /// How many machines of the library have such an element.
    pub machines: u32,
    /// What they usually write: attributes, the text, then children; of each sort the most usual first.
    pub habits: Vec<Habit>,
    /// Different examples, the closest first.
    pub examples: Vec<Example>,
}

/// What machines usually write in one place of an element.
#[derive(Clone, Debug, PartialEq)]
pub struct Habit {
    pub at: HabitAt,
    /// How many machines write it.
    pub machines: u32,
    /// The values of several machines, with their number.
    pub values: Vec<(String, u32)>,
}

/// The place that a habit is about.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum HabitAt {
    Attribute(String),
    /// The element's own text.
    Text,
    /// A child of this name: values are its texts.
    Child(String),
}

/// Where an element is that does the same.
#[derive(Clone, Debug, PartialEq)]
pub struct Example {
    pub source: Source,
    /// Line of its start tag, from 0.
    pub line: u32,
    /// How many machines have one of this shape: the same attributes and children.
    pub alike: u32,
}

/// So many values of an attribute are told.
const MOST_VALUES: usize = 5;

/// The precedents of the element that an offset is in: at most `most` examples. None: there is
/// no library, no element, or the library has no such element.
pub fn precedents(view: &View, offset: TextSize, most: usize) -> Option<Precedents> {
    let path = path_at(view, offset)?;
    let element = *path.last()?;
    let spot = spot(view, &path)?;
    let values = |usual: &Usual<'_>| -> Vec<(String, u32)> {
        worth_counting(&usual.values)
            .take(MOST_VALUES)
            .map(|value| (value.text.to_owned(), value.machines))
            .collect()
    };
    let attributes = spot.attributes();
    let attributes = attributes.iter().map(|attribute| Habit {
        at: HabitAt::Attribute(attribute.text.to_owned()),
        machines: attribute.machines,
        values: values(&spot.values(Some(attribute.text))),
    });
    let text = spot.values(None);
    let text = (text.machines > 0).then(|| Habit {
        at: HabitAt::Text,
        machines: text.machines,
        values: values(&text),
    });
    let children = spot.children();
    let children = children.iter().map(|child| Habit {
        at: HabitAt::Child(child.text.to_owned()),
        machines: child.machines,
        values: spot
            .child(child.text)
            .map_or_else(Vec::new, |child| values(&child.values(None))),
    });
    Some(Precedents {
        element: element.local_name().to_owned(),
        range: element.start_tag_range(),
        machines: spot.machines(),
        habits: attributes.chain(text).chain(children).collect(),
        examples: examples(view, &path, &spot, most),
    })
}

/// Whether there is something to say about the element at an offset, and how many machines say
/// it: what is cheap to know.
pub fn machines_at(view: &View, offset: TextSize) -> Option<(String, u32)> {
    let path = path_at(view, offset)?;
    let name = path.last()?.local_name().to_owned();
    let machines = spot(view, &path)?.machines();
    (machines > 0).then_some((name, machines))
}

fn path_at(view: &View, offset: TextSize) -> Option<Vec<Element<'_>>> {
    match view.tree().place_at(offset) {
        Place::ElementName { path, .. }
        | Place::EndTagName { path, .. }
        | Place::AttributeName { path, .. }
        | Place::AttributeValue { path, .. }
        | Place::Content { path, .. } => Some(path),
        Place::CData => Some(view.tree().elements_at(offset)),
        _ => None,
    }
}

/// Where the library has what stands at the end of `path`, which begins at the root.
pub(crate) fn spot<'v>(view: &'v View, path: &[Element<'v>]) -> Option<Spot<'v>> {
    let names: Vec<&str> = path.iter().map(Element::local_name).collect();
    spot_of(view, path.first()?, &names)
}

/// The same by the names on the way.
pub(crate) fn spot_of<'v>(view: &'v View, root: &Element<'v>, names: &[&str]) -> Option<Spot<'v>> {
    let library = view.library.as_ref()?;
    let scope = namespaces::Scope::root().enter(root);
    let namespace = scope.resolve(root.prefix()).unwrap_or_default();
    let own = project::straightened(&view.document.path);
    library.spot(&namespace, names, Some(&own))
}

fn examples(view: &View, path: &[Element<'_>], spot: &Spot<'_>, most: usize) -> Vec<Example> {
    let Some(element) = path.last() else {
        return Vec::new();
    };
    let around = path.iter().rev().nth(1);
    let like = Like {
        attributes: element
            .attributes()
            .map(|attribute| (attribute.name(), attribute.value().into_owned()))
            .collect(),
        text: element.text().trim().to_owned(),
        texts: element
            .children()
            .map(|child| (child.local_name(), child.text().trim().to_owned()))
            .filter(|(_, text)| !text.is_empty())
            .collect(),
        children: element.children().map(|child| child.local_name()).collect(),
        siblings: around
            .map(|around| around.children().map(|it| it.local_name()).collect())
            .unwrap_or_default(),
        machine: paths(view),
    };
    let found = spot.examples(&like, most).into_iter();
    found
        .map(|example| Example {
            source: Source {
                file: example.source.file.clone(),
                member: example.source.member.clone(),
            },
            line: example.line,
            alike: example.alike,
        })
        .collect()
}

/// The different paths of names that lead to the elements of a document.
fn paths(view: &View) -> Vec<Vec<&str>> {
    let mut paths = HashSet::new();
    let Some(root) = view.tree().root() else {
        return Vec::new();
    };
    let mut open = vec![root.children()];
    let mut path = vec![root.local_name()];
    paths.insert(path.clone());
    while let Some(children) = open.last_mut() {
        match children.next() {
            Some(child) => {
                path.push(child.local_name());
                open.push(child.children());
                if !paths.contains(&path) {
                    paths.insert(path.clone());
                }
            }
            None => {
                open.pop();
                path.pop();
            }
        }
    }
    paths.into_iter().collect()
}

#[cfg(test)]
mod tests;
