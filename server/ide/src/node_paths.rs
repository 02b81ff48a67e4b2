//! How nodes of the scene are written where they are asked for.

use dialect::{Dialect, ItemType, NodePath};
use scene::{NodeIndex, Scene};

/// The names that lead to a node and to no other, as the dialect writes them.
pub(crate) fn names_to(dialect: &Dialect, scene: &Scene, node: NodeIndex) -> Option<NodePath> {
    let notation = &dialect.notation.node_names;
    let most = match notation.separator {
        Some(_) => usize::MAX,
        None => 1,
    };
    let names = scene.names_to(node, most, notation.from_root)?;
    // A name may hold the mark that separates names.
    let written = notation.write(&names.names);
    (notation.read(&written)? == names).then_some(NodePath::Names(names))
}

/// The path to a node in the form of another path.
pub(crate) fn path_like(
    dialect: &Dialect,
    scene: &Scene,
    node: NodeIndex,
    like: &NodePath,
) -> Option<NodePath> {
    match like {
        NodePath::Positions(_) => {
            let path = scene.index_path(node);
            dialect.notation.index_path.write(&path)?;
            Some(NodePath::Positions(path.into()))
        }
        NodePath::Names(_) => names_to(dialect, scene, node),
    }
}

/// The text for a node in a place of this type that takes a path or a name of the scene.
pub(crate) fn node_text(
    dialect: &Dialect,
    scene: Option<&Scene>,
    path: &[u32],
    item: Option<&ItemType>,
) -> Option<String> {
    let (by_path, by_name) = match item {
        Some(ItemType::Node {
            index_path,
            node_name,
            ..
        }) => (*index_path, *node_name),
        Some(ItemType::IndexPath) | None => (true, false),
        Some(_) => (false, false),
    };
    let named = || {
        let scene = scene.filter(|_| by_name)?;
        names_to(dialect, scene, scene.walk(path).ok()?)
    };
    match by_path {
        true => dialect.notation.index_path.write(path),
        false => named().map(|path| dialect.notation.write_node_path(&path)),
    }
}

/// Whether two paths lead to one node.
pub(crate) fn are_one(scene: Option<&Scene>, one: &NodePath, other: &NodePath) -> bool {
    let both_count = one.positions().is_some() && other.positions().is_some();
    one == other
        || (!both_count
            && scene
                .and_then(|scene| Some(scene.find(one).ok()? == scene.find(other).ok()?))
                .unwrap_or_default())
}

#[cfg(test)]
mod tests;
