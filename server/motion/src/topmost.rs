//! Nodes that hang on no other of them.

use scene::{NodeIndex, Scene};

/// Those of some nodes that hang on no other of them. `nodes` must be in document order; a node may come again.
pub fn of(scene: &Scene, nodes: impl IntoIterator<Item = NodeIndex>) -> Vec<NodeIndex> {
    let mut roots: Vec<NodeIndex> = Vec::new();
    for node in nodes {
        // What hangs on a node comes right after it.
        if roots.last().is_none_or(|&root| node >= scene[root].end) {
            roots.push(node);
        }
    }
    roots
}

/// Which of the nodes that [`of`] gave a node is, or hangs on. Only the last one that does not come after it can be that.
pub(crate) fn above(scene: &Scene, roots: &[NodeIndex], node: NodeIndex) -> Option<NodeIndex> {
    let before = &roots[..roots.partition_point(|&root| root <= node)];
    let last = before.last().copied();
    last.filter(|&root| node < scene[root].end)
}
