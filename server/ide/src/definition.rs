//! Where a thing comes from.
//!
//! A name leads to what gives it; an alias's own name, its path and every
//! index path lead on to the node in the scene file. A position leads to what
//! stands there, a file name to the file, an end tag to its start tag.

use crate::{
    location::Location, occurrences::nth, owners::named_element, shared_names::SharedName,
};
use dialect::NodePath;
use machine::{Outline, UseTarget};
use project::{FileState, Meaning, View};
use scene::NodeIndex;
use std::sync::Arc;
use syntax::{Place, TextRange, TextSize};

/// Of very many nodes with one name, not all are shown.
const MOST_NODES: usize = 100;

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
    let meaning = view.meaning.as_ref();
    let named = meaning.and_then(|meaning| of_name(view, &meaning.outline, offset));
    let (origin, targets) = named
        .or_else(|| meaning.and_then(|meaning| of_file(meaning, offset)))
        .or_else(|| of_end_tag(view, offset))?;
    (!targets.is_empty()).then_some(Definition { origin, targets })
}

/// What gives a name that all documents of a mod share, in the others of them.
pub fn in_mod(view: &View, others: &[Arc<View>], offset: TextSize) -> Option<Definition> {
    let shared = SharedName::at(view, offset)?;
    let targets = others.iter().flat_map(|other| shared.definitions(other));
    let targets: Vec<Location> = targets.collect();
    (!targets.is_empty()).then_some(Definition {
        origin: shared.range,
        targets,
    })
}

/// The scene node that the place at an offset asks for, straight through an alias.
pub fn node(view: &View, offset: TextSize) -> Option<Definition> {
    let outline = &view.meaning.as_ref()?.outline;
    let (origin, path) = match outline.definition_at(offset) {
        Some(given) => {
            let alias = outline.alias(&given)?;
            (given.name.range, outline.path_of(alias.path.as_ref()?)?)
        }
        None => {
            let used = outline.use_at(offset)?;
            let path = match used.target {
                UseTarget::Path(path) => path,
                UseTarget::Name {
                    kinds,
                    name,
                    or_node,
                    ..
                } => outline.named_path(&kinds, &name, or_node.as_deref())?,
                UseTarget::Position { .. } | UseTarget::Input { .. } => return None,
            };
            (used.range, path)
        }
    };
    let targets = at_path(view, &path);
    (!targets.is_empty()).then_some(Definition { origin, targets })
}

fn of_name(view: &View, outline: &Outline, offset: TextSize) -> Option<(TextRange, Vec<Location>)> {
    let place_of =
        |given: &machine::Definition| Location::here(named_element(view, given), given.name.range);
    if let Some(given) = outline.definition_at(offset) {
        let target = match outline.alias(&given) {
            Some(alias) => at_path(view, &outline.path_of(alias.path.as_ref()?)?),
            None => vec![place_of(&given)],
        };
        return Some((given.name.range, target));
    }
    let used = outline.use_at(offset)?;
    let targets = match &used.target {
        UseTarget::Name {
            kinds,
            name,
            or_node,
            ..
        } => {
            let given = outline.definitions_called(name).into_iter();
            let given: Vec<Location> = given
                .filter(|given| kinds.contains(&given.kind))
                .map(|given| place_of(&given))
                .collect();
            match or_node {
                Some(path) if given.is_empty() => at_path(view, path),
                _ => given,
            }
        }
        UseTarget::Position { kind, index } => {
            let (element, name) = nth(view, kind, *index)?;
            vec![match name {
                Some(name) => Location::here(element, name.range),
                None => Location::here(element, name_of_element(view, element)),
            }]
        }
        UseTarget::Path(path) => at_path(view, path),
        UseTarget::Input { .. } => Vec::new(),
    };
    Some((used.range, targets))
}

/// The node's very text in the scene file; of all nodes that have a name, if it is not only one. Of a file that is not
/// text, its beginning, once.
fn at_path(view: &View, path: &NodePath) -> Vec<Location> {
    let Some(scene) = view.scene() else {
        return Vec::new();
    };
    let nodes: Vec<NodeIndex> = match path {
        NodePath::Positions(positions) => scene.walk(positions).into_iter().collect(),
        NodePath::Names(names) => scene.named(names).take(MOST_NODES).collect(),
    };
    let places = nodes.into_iter().filter_map(|id| at_node(view, id));
    let mut places: Vec<Location> = places.collect();
    places.dedup();
    places
}

/// Where a node is written in its scene file: at its beginning if that is no text.
pub(crate) fn at_node(view: &View, id: NodeIndex) -> Option<Location> {
    let file = view.meaning.as_ref()?.scene.loaded()?;
    let source = file.scene.get(id)?.source();
    let range = source.map_or_else(TextRange::default, |source| {
        TextRange::new(source.start.into(), source.end.max(source.start).into())
    });
    Some(Location::in_file(file.path.clone(), range))
}

fn of_file(meaning: &Meaning, offset: TextSize) -> Option<(TextRange, Vec<Location>)> {
    let named = meaning.outline.file_at(offset)?;
    let path = match meaning.file(&named.name.value) {
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
