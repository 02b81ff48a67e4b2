//! Where a thing comes from.
//!
//! A name leads to what gives it; an alias's own name, its path and every
//! index path lead on to the node in the scene file. A position leads to what
//! stands there, a file name to the file, an end tag to its start tag.

use crate::{
    location::Location,
    occurrences::{definition_at, nth},
    owners::named_element,
};
use dialect::Kind;
use machine::{Machine, NodeRef, NodeTarget, UseTarget};
use project::{FileState, View};
use scene::NodeIndex;
use syntax::{Place, TextRange, TextSize};

/// An answer to "where does this come from".
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Definition {
    /// What the question was about.
    pub origin: TextRange,
    /// Never empty; several if a name is given more than once.
    pub targets: Vec<Location>,
}

/// Where what stands at an offset comes from.
pub fn definition(view: &View, offset: TextSize) -> Option<Definition> {
    let machine = view.machine();
    let named = machine.and_then(|machine| of_name(view, machine, offset));
    let (origin, targets) = named
        .or_else(|| machine.and_then(|machine| of_file(view, machine, offset)))
        .or_else(|| of_end_tag(view, offset))?;
    (!targets.is_empty()).then_some(Definition { origin, targets })
}

/// The scene node that the place at an offset asks for, straight through an alias.
pub fn node(view: &View, offset: TextSize) -> Option<Definition> {
    let machine = view.machine()?;
    let (origin, path) = match definition_at(machine, offset) {
        Some(given) => {
            let alias = machine.alias(given)?;
            (
                given.name.range,
                machine.path_of(alias.path.as_ref()?)?.to_vec(),
            )
        }
        None => {
            let used = machine.use_at(offset)?;
            let path = match &used.target {
                UseTarget::Path(path) => path.to_vec(),
                UseTarget::Name { kinds, name, .. } => alias_path(machine, kinds, name)?,
                UseTarget::Position { .. } | UseTarget::Input { .. } => return None,
            };
            (used.range, path)
        }
    };
    let targets = vec![at_path(view, &path)?];
    Some(Definition { origin, targets })
}

fn of_name(view: &View, machine: &Machine, offset: TextSize) -> Option<(TextRange, Vec<Location>)> {
    if let Some(given) = definition_at(machine, offset) {
        let target = match machine.alias(given) {
            Some(alias) => at_path(view, machine.path_of(alias.path.as_ref()?)?),
            None => Some(Location::here(named_element(view, given), given.name.range)),
        };
        return Some((given.name.range, target.into_iter().collect()));
    }
    let used = machine.use_at(offset)?;
    let targets = match &used.target {
        UseTarget::Name { kinds, name, .. } => givers(view, machine, kinds, name),
        UseTarget::Position { kind, index } => {
            let (element, name) = nth(view, kind, *index)?;
            vec![match name {
                Some(name) => Location::here(element, name.range),
                None => Location::here(element, name_of_element(view, element)),
            }]
        }
        UseTarget::Path(path) => at_path(view, path).into_iter().collect(),
        UseTarget::Input { .. } => Vec::new(),
    };
    Some((used.range, targets))
}

fn givers(view: &View, machine: &Machine, kinds: &[Kind], name: &str) -> Vec<Location> {
    let given = machine
        .definitions
        .iter()
        .filter(|given| given.name.value == name && kinds.contains(&given.kind));
    given
        .map(|given| Location::here(named_element(view, given), given.name.range))
        .collect()
}

fn alias_path(machine: &Machine, kinds: &[Kind], name: &str) -> Option<Vec<u32>> {
    let node = NodeRef {
        text: name.into(),
        range: TextRange::default(),
        target: NodeTarget::Name {
            kinds: kinds.into(),
        },
    };
    machine.path_of(&node).map(<[u32]>::to_vec)
}

/// The node's very text in the scene file. A file that is not text has no place to show.
fn at_path(view: &View, path: &[u32]) -> Option<Location> {
    let id = view.scene()?.walk(path).ok()?;
    at_node(view, id)
}

/// Where a node is written in its scene file.
pub(crate) fn at_node(view: &View, id: NodeIndex) -> Option<Location> {
    let file = view.meaning.as_ref()?.scene.loaded()?;
    let source = file.scene.get(id)?.source.clone()?;
    let range = TextRange::new(source.start.into(), source.end.max(source.start).into());
    Some(Location::in_file(file.path.clone(), range))
}

fn of_file(view: &View, machine: &Machine, offset: TextSize) -> Option<(TextRange, Vec<Location>)> {
    let named = machine
        .files
        .iter()
        .find(|file| file.name.range.contains_inclusive(offset))?;
    let path = match view.meaning.as_ref()?.file(&named.name.value) {
        FileState::Found(path) | FileState::CaseDiffers { actual: path, .. } => path.clone(),
        FileState::Missing(_) | FileState::InGame => return None,
    };
    let targets = vec![Location::in_file(path, TextRange::default())];
    Some((named.name.range, targets))
}

fn of_end_tag(view: &View, offset: TextSize) -> Option<(TextRange, Vec<Location>)> {
    let Place::EndTagName { path, range } = view.tree().place_at(offset) else {
        return None;
    };
    let element = path.last()?;
    element.end_tag().filter(|tag| tag.name_range() == range)?;
    Some((
        range,
        vec![Location::here(
            element.start_tag_range(),
            element.name_range(),
        )],
    ))
}

fn name_of_element(view: &View, range: TextRange) -> TextRange {
    let path = view.tree().element_with_range(range);
    path.and_then(|path| path.last().map(|element| element.name_range()))
        .unwrap_or(range)
}

#[cfg(test)]
mod tests;
