//! Whether the nodes of a file form trees: glTF asks for a set of disjoint strict trees (section 3.5.2).

use super::json::{List, Piece, counted};
use super::nodes::NodeEntry;
use crate::SceneError;

/// The parent of every node, once it is sure that every child exists, hangs on one node only, and that
/// nothing hangs on itself.
pub(super) fn parents(nodes: &[NodeEntry<'_>]) -> Result<Vec<Option<u32>>, SceneError> {
    let mut parents: Vec<Option<u32>> = vec![None; nodes.len()];
    for (index, node) in (0..).zip(nodes) {
        for &child in node.children() {
            let Some(parent) = parents.get_mut(child as usize) else {
                let lister = said_first(index, nodes);
                return Err(missing(&lister, child, nodes.len(), node.piece));
            };
            if let Some(first) = parent.replace(index) {
                let message = listed_again(child, (first, index), nodes);
                return Err(SceneError::at(node.piece.start, message));
            }
        }
    }
    no_loop(nodes, &parents)?;
    Ok(parents)
}

/// What is wrong with a child that two nodes list, or one node twice.
fn listed_again(child: u32, (first, next): (u32, u32), nodes: &[NodeEntry<'_>]) -> String {
    if first == next {
        return format!(
            "{} lists {} as its child twice. Once is enough: take one away, or export the scene again.",
            said_first(next, nodes),
            said(child, nodes),
        );
    }
    format!(
        "{} is a child of {} and of {} as well. A node can hang on one node only: take one link away, or \
         export the scene again.",
        said_first(child, nodes),
        said(first, nodes),
        said(next, nodes),
    )
}

/// The nodes that a scene begins with must exist and hang on nothing, and each may stand there once.
pub(super) fn check_roots(
    roots: &[u32],
    listed: Piece<'_>,
    nodes: &[NodeEntry<'_>],
    parents: &[Option<u32>],
) -> Result<(), SceneError> {
    let mut seen = vec![false; nodes.len()];
    for &root in roots {
        let Some(parent) = parents.get(root as usize) else {
            return Err(missing("The scene", root, nodes.len(), listed));
        };
        if let Some(parent) = *parent {
            return Err(SceneError::at(
                listed.start,
                format!(
                    "The scene begins with {}, which is a child of {}. A scene can only begin with nodes \
                     that hang on nothing: name {} there instead, or export the scene again.",
                    said(root, nodes),
                    said(parent, nodes),
                    said(parent, nodes),
                ),
            ));
        }
        if std::mem::replace(&mut seen[root as usize], true) {
            return Err(SceneError::at(
                listed.start,
                format!(
                    "The scene lists {} twice. Once is enough: take one away, or export the scene again.",
                    said(root, nodes)
                ),
            ));
        }
    }
    Ok(())
}

fn missing(who: &str, child: u32, count: usize, at: Piece<'_>) -> SceneError {
    SceneError::at(
        at.start,
        format!(
            "{who} asks for node {child}, but the file has {}. Export the scene again.",
            counted(count, List::Nodes)
        ),
    )
}

/// Every node has one parent at most here. So the way up from a node leads to a root, or round in a circle, which is an
/// error.
fn no_loop(nodes: &[NodeEntry<'_>], parents: &[Option<u32>]) -> Result<(), SceneError> {
    // By node: from which node the first way up began that came by.
    let mut met_from = vec![None; parents.len()];
    let met_again = (0..parents.len()).find_map(|start| {
        let mut index = start;
        while met_from[index].is_none() {
            met_from[index] = Some(start as u32);
            index = parents[index]? as usize;
        }
        (met_from[index] == Some(start as u32)).then_some(index)
    });
    let Some(index) = met_again else {
        return Ok(());
    };
    let parent = parents[index].unwrap_or(index as u32);
    let how = if parent as usize == index {
        "is its own child".to_owned()
    } else {
        format!(
            "hangs, at the end, on itself, by way of {}",
            said(parent, nodes)
        )
    };
    Err(SceneError::at(
        nodes[index].piece.start,
        format!(
            "{} {how}. Take the link out that closes the circle, or export the scene again.",
            said_first(index as u32, nodes)
        ),
    ))
}

/// “node 3 (“mast”)”.
fn said(index: u32, nodes: &[NodeEntry<'_>]) -> String {
    match nodes
        .get(index as usize)
        .and_then(|node| node.written.name.as_deref())
    {
        Some(name) if !name.is_empty() => format!("node {index} (“{name}”)"),
        _ => format!("node {index}"),
    }
}

/// The same at the beginning of a sentence.
fn said_first(index: u32, nodes: &[NodeEntry<'_>]) -> String {
    said(index, nodes).replacen('n', "N", 1)
}
