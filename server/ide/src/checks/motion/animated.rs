//! The nodes that an animation drives, and how far a change of some of them reaches.
//!
//! An animation may have thousands of channels. Whether a part mirrors the one opposite, or goes against what it hangs on,
//! depends on the motions of two nodes. So after a change only the changed nodes are compared with others, those that
//! stand opposite each other only now, and what hangs on a changed node with what carries it.

use ::motion::{AtRest, Rig, opposite_nodes, topmost};
use dialect::Notation;
use scene::{NodeIndex, Scene};

/// The nodes that an animation drives.
#[derive(Debug, Default)]
pub(super) struct Animated {
    /// In the order of the scene, each with whether it is moved, and not only shown or hidden or kept where it is.
    nodes: Box<[(NodeIndex, bool)]>,
    /// Those that stand opposite each other, left and right, sorted.
    pairs: Box<[(NodeIndex, NodeIndex)]>,
}

/// The nodes whose motions have to be compared, with all that carries them, and the pairs of them that stand opposite each
/// other. Sorted.
#[derive(Debug, Default)]
pub(super) struct Reached {
    pub(super) nodes: Vec<NodeIndex>,
    pub(super) pairs: Vec<(NodeIndex, NodeIndex)>,
}

impl Animated {
    /// What the animation drives after a change. `touched`: the nodes of which something has changed, sorted. `rig`: their
    /// motions, as animation 0.
    pub(super) fn after(&self, touched: &[NodeIndex], rig: &Rig<'_>, at_rest: &AtRest) -> Self {
        let is_other = |(node, _): &(NodeIndex, bool)| !is_among(touched, node);
        let others = self.nodes.iter().copied().filter(is_other);
        let mut nodes = Vec::with_capacity(self.nodes.len() + touched.len());
        nodes.extend(others);
        let of_one = rig.drives_of(0).chunk_by(|a, b| a.node == b.node);
        nodes.extend(of_one.map(|drives| {
            let is_moved = drives.iter().any(|drive| drive.moves());
            (drives[0].node, is_moved)
        }));
        // Two sorted runs, which a stable sort merges.
        nodes.sort();
        let are_same = nodes
            .iter()
            .map(|one| one.0)
            .eq(self.nodes.iter().map(|one| one.0));
        let pairs = match are_same {
            true => self.pairs.clone(),
            false => pairs(rig.scene, rig.notation, at_rest, &nodes),
        };
        Self {
            nodes: nodes.into(),
            pairs,
        }
    }

    /// What has to be compared after a change that made this of `before`. `touched`: as in [`Self::after`].
    pub(super) fn reached(&self, before: &Self, touched: &[NodeIndex], scene: &Scene) -> Reached {
        let is_touched = |(left, right): &(NodeIndex, NodeIndex)| {
            is_among(touched, left) || is_among(touched, right)
        };
        let same = self.pairs.iter().zip(&before.pairs);
        let same = same.take_while(|(now, then)| now == then).count();
        let (same, others) = self.pairs.split_at(same);
        let mut pairs: Vec<(NodeIndex, NodeIndex)> = Vec::new();
        pairs.extend(same.iter().copied().filter(is_touched));
        let is_new = |pair: &(NodeIndex, NodeIndex)| before.pairs.binary_search(pair).is_err();
        let others = others.iter().copied();
        pairs.extend(others.filter(|pair| is_touched(pair) || is_new(pair)));
        let mut nodes: Vec<NodeIndex> = touched.to_vec();
        nodes.extend(pairs.iter().flat_map(|(left, right)| [*left, *right]));
        for node in topmost(scene, touched.iter().copied()) {
            // What it carries comes right after it.
            let start = self.nodes.partition_point(|(other, _)| *other <= node);
            let below = self.nodes[start..].iter().map(|(other, _)| *other);
            nodes.extend(below.take_while(|below| scene.is_below(*below, node)));
        }
        nodes.sort_unstable();
        nodes.dedup();
        // What carries a node, but for what carries the one before as well.
        let mut above: Vec<NodeIndex> = Vec::new();
        let mut last = None;
        for node in &nodes {
            let is_there = |one| last.is_some_and(|last| last == one || scene.is_below(last, one));
            let carriers = std::iter::successors(scene[*node].parent, |one| scene[*one].parent);
            above.extend(carriers.take_while(|one| !is_there(*one)));
            last = Some(*node);
        }
        nodes.append(&mut above);
        nodes.sort_unstable();
        nodes.dedup();
        Reached { nodes, pairs }
    }

    /// All there is to compare.
    pub(super) fn all(&self) -> Reached {
        Reached {
            nodes: self.nodes.iter().map(|(node, _)| *node).collect(),
            pairs: self.pairs.to_vec(),
        }
    }

    /// The topmost nodes that it moves, in the order of the scene.
    pub(super) fn moved(&self, scene: &Scene) -> Vec<NodeIndex> {
        let moved = self.nodes.iter().filter(|(_, is_moved)| *is_moved);
        topmost(scene, moved.map(|(node, _)| *node))
    }
}

/// Whether a sorted list has it. Mostly the list is short, and nothing near it is asked for.
pub(super) fn is_among<T: Ord>(sorted: &[T], one: &T) -> bool {
    let is_near = sorted.first().is_some_and(|first| first <= one)
        && sorted.last().is_some_and(|last| one <= last);
    is_near && sorted.binary_search(one).is_ok()
}

fn pairs(
    scene: &Scene,
    notation: &Notation,
    at_rest: &AtRest,
    nodes: &[(NodeIndex, bool)],
) -> Box<[(NodeIndex, NodeIndex)]> {
    let nodes: Vec<NodeIndex> = nodes.iter().map(|(node, _)| *node).collect();
    let mut pairs = opposite_nodes(scene, notation, at_rest, &nodes);
    pairs.sort_unstable();
    pairs.into()
}
