//! XML scenes, as a dialect's `[scene]` describes them.

mod follow;
mod values;

use std::collections::HashSet;
use std::sync::Arc;

use dialect::{Dialect, Fit, XmlSceneFormat};
use syntax::{Element, Tree};

use crate::error::too_many_nodes;
use crate::{NodeParts, Scene, SceneBuilder, SceneError};
use follow::Place;
use values::Values;

/// Reads the text of a scene of at most `most` nodes. Offsets are those of the text: UTF-8 bytes, a byte order mark included.
pub(crate) fn read(
    most: usize,
    text: &str,
    file_name: &str,
    dialects: &[Arc<Dialect>],
) -> Result<Scene, SceneError> {
    let tree = syntax::parse(text);
    let root = tree.root().ok_or_else(|| {
        SceneError::new(format!(
            "“{file_name}” holds no XML element. Export the scene again."
        ))
    })?;
    let format = format_for(root, file_name, dialects).ok_or_else(|| {
        SceneError::at(
            usize::from(root.range().start()),
            format!(
                "“{file_name}” begins with <{}>, which no dialect in use describes as a scene. Export the \
                 scene as glTF 2.0, or add a [scene] section to the dialect file.",
                root.name()
            ),
        )
    })?;
    well_formed(&tree)?;
    build(most, root, format)
}

/// The scene format that fits the document best; of equals, that of the first dialect.
fn format_for<'d>(
    root: Element<'_>,
    file_name: &str,
    dialects: &'d [Arc<Dialect>],
) -> Option<&'d XmlSceneFormat> {
    let declared = match root.prefix() {
        Some(prefix) => root.attribute(&format!("xmlns:{prefix}")),
        None => root.attribute("xmlns"),
    };
    let namespace = declared.map(|attribute| attribute.value());
    let described = Some((namespace.as_deref(), root.local_name()));
    let mut best = None;
    for format in dialects
        .iter()
        .filter_map(|dialect| dialect.scene_format.as_ref())
    {
        let fit = format.document.fit(described, file_name);
        // The name of the file alone does not make a scene of it: the paths start at the root.
        let fit =
            fit.filter(|fit| *fit > Fit::FileName || root.local_name() == format.document.root);
        if fit.is_some() && best.is_none_or(|(least, _)| fit > least) {
            best = Some((fit, format));
        }
    }
    best.map(|(_, format)| format)
}

fn well_formed(tree: &Tree) -> Result<(), SceneError> {
    match tree.errors().first() {
        None => Ok(()),
        Some(error) => Err(SceneError::at(
            usize::from(error.range.start()),
            format!(
                "The XML is broken: {}.",
                error.message.trim_end_matches('.')
            ),
        )),
    }
}

fn build(most: usize, root: Element<'_>, format: &XmlSceneFormat) -> Result<Scene, SceneError> {
    let mut builder = SceneBuilder::new().text_positions(true);
    let values = Values::of(format);
    let start = Place::root(root);
    // Paths can lead anywhere, even back up: every element becomes a node once.
    let mut seen = HashSet::new();
    // Children of the nodes that are open, each list reversed so that the next one is at its end.
    let mut waiting = vec![node_children(&start, &format.top, format, &mut seen)];
    while let Some(siblings) = waiting.last_mut() {
        let Some(place) = siblings.pop() else {
            waiting.pop();
            builder.close();
            continue;
        };
        if seen.len() > most {
            return Err(SceneError::new(too_many_nodes(most)));
        }
        let parts = NodeParts {
            name: values.name(&place).unwrap_or_default(),
            rest: values.rest(&place, &mut builder),
            bounds: values.bounds(&place, &mut builder),
            source: place.element().map(|element| {
                let tag = element.start_tag_range();
                u32::from(tag.start())..u32::from(tag.end())
            }),
        };
        builder.open(parts);
        waiting.push(node_children(&place, &format.children, format, &mut seen));
    }
    Ok(builder.finish())
}

/// The nodes among the children of the elements that a path leads to, last one first.
fn node_children<'t>(
    from: &Place<'t>,
    holders: &dialect::Path,
    format: &XmlSceneFormat,
    seen: &mut HashSet<u32>,
) -> Vec<Place<'t>> {
    let mut nodes = Vec::new();
    for holder in from.follow(holders) {
        for child in holder.children() {
            let Some(element) = child.element() else {
                continue;
            };
            let is_node = format
                .node_names
                .iter()
                .any(|name| name == element.local_name());
            if is_node && seen.insert(u32::from(element.range().start())) {
                nodes.push(child);
            }
        }
    }
    nodes.reverse();
    nodes
}
