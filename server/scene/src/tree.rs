use std::ops::{Index, Range};
use std::sync::OnceLock;

use dialect::{NodeNames, NodePath};

use crate::world::Waypoints;
use crate::{Bounds, Rest, SceneError};

/// A node's place in [`Scene::nodes`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct NodeIndex(pub u32);

impl NodeIndex {
    /// For indexing tables that hold one entry for each node.
    pub fn index(self) -> usize {
        self.0 as usize
    }
}

/// One member of the scene tree.
#[derive(Clone, Debug, PartialEq)]
pub struct Node {
    /// As the file spells it; empty if the node has none. Need not be unique.
    pub name: Box<str>,
    /// What it hangs on; `None` for a root.
    pub parent: Option<NodeIndex>,
    /// Zero-based position among its siblings (for a root: among the roots).
    pub position: u32,
    /// One past the last node of this node's subtree.
    pub end: NodeIndex,
    /// Where it stands relative to its parent when nothing moves it.
    pub rest: Rest,
    /// The box around the node's own mesh, before the node's own transform. `None` if it has no mesh
    /// or the file does not say how large it is. Of a skinned mesh: as it was before skinning.
    pub bounds: Option<Box<Bounds>>,
    /// Empty: not known. So a node, of which there are many, takes less.
    pub(crate) source: Range<u32>,
}

impl Node {
    /// The bytes of the node's object or start tag in the file, if the file is text.
    pub fn source(&self) -> Option<Range<u32>> {
        Some(self.source.clone()).filter(|source| !source.is_empty())
    }
}

/// The nodes of one scene file.
///
/// Nodes are stored in document order, parents before children and subtrees together: a parent's id is
/// below its children's, and a subtree is the range from a node's id to its [`Node::end`].
/// Built by [`read`](crate::read) or a [`SceneBuilder`](crate::SceneBuilder).
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Scene {
    /// All nodes; [`NodeIndex`] is the place in this list.
    pub nodes: Vec<Node>,
    /// The nodes that hang on nothing, in the order that index paths count.
    pub roots: Vec<NodeIndex>,
    /// Whether the file is text, so that [`Node::source`] can be shown as a line.
    pub file_text_positions: bool,
    /// What could not be read although the tree could, such as the size of a mesh. Not more than the
    /// first few dozen.
    pub notes: Vec<SceneError>,
    /// All nodes but the roots: what hangs on the first node, on the second, and so on.
    pub(crate) hung: Vec<NodeIndex>,
    /// By node: where in `hung` its children begin, which end where those of the next node begin; so there is one entry
    /// more than nodes. Kept apart from the nodes, which are large, so that paths are followed through little memory.
    pub(crate) hung_from: Vec<u32>,
    pub(crate) by_name: ByName,
    pub(crate) waypoints: Waypoints,
}

/// All nodes, sorted by name and then by id: once somebody asks for a name.
#[derive(Clone, Debug, Default)]
pub(crate) struct ByName(OnceLock<Vec<NodeIndex>>);

/// What follows from the nodes makes no difference.
impl PartialEq for ByName {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

/// Why an index path leads nowhere.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct WalkError {
    /// Which number of the path, zero-based. Equal to the path's length if the path is empty.
    pub depth: usize,
    /// How many nodes there are to choose from at that depth.
    pub available: usize,
}

/// Why a node path leads to no node.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoNode {
    /// A number of an index path.
    NoPosition(WalkError),
    /// No node has such names.
    NoName,
    /// So many nodes have them, and nothing says which is meant.
    Several(usize),
}

impl Index<NodeIndex> for Scene {
    type Output = Node;

    /// Panics if the id comes from another scene; see [`Scene::get`].
    fn index(&self, id: NodeIndex) -> &Node {
        &self.nodes[id.index()]
    }
}

impl Scene {
    /// The node, or `None` if the id comes from another, larger scene.
    pub fn get(&self, id: NodeIndex) -> Option<&Node> {
        self.nodes.get(id.index())
    }

    /// What hangs on a node, in the order that index paths count.
    pub fn children(&self, id: NodeIndex) -> &[NodeIndex] {
        let from = &self.hung_from[id.index()..];
        &self.hung[from[0] as usize..from[1] as usize]
    }

    /// All ids, parents before children.
    pub fn ids(&self) -> impl DoubleEndedIterator<Item = NodeIndex> + ExactSizeIterator + use<> {
        (0..self.nodes.len() as u32).map(NodeIndex)
    }

    /// The node at an index path of zero-based positions, the first one among the roots.
    ///
    /// # Errors
    /// A position counts more nodes than there are, or the path is empty.
    pub fn walk(&self, path: &[u32]) -> Result<NodeIndex, WalkError> {
        let mut found = None;
        let mut choices = &self.roots[..];
        for (depth, &position) in path.iter().enumerate() {
            let available = choices.len();
            let id = *choices
                .get(position as usize)
                .ok_or(WalkError { depth, available })?;
            found = Some(id);
            choices = self.children(id);
        }
        found.ok_or(WalkError {
            depth: 0,
            available: self.roots.len(),
        })
    }

    /// The node that a path leads to.
    ///
    /// # Errors
    /// There is none, or there are several.
    pub fn find(&self, path: &NodePath) -> Result<NodeIndex, NoNode> {
        match path {
            NodePath::Positions(positions) => self.walk(positions).map_err(NoNode::NoPosition),
            NodePath::Names(names) => {
                let mut found = self.named(names);
                match (found.next(), found.count()) {
                    (None, _) => Err(NoNode::NoName),
                    (Some(node), 0) => Ok(node),
                    (Some(_), others) => Err(NoNode::Several(others + 1)),
                }
            }
        }
    }

    /// The nodes that names lead to, in document order.
    pub fn named<'s>(&'s self, names: &'s NodeNames) -> impl Iterator<Item = NodeIndex> + 's {
        let last = names.names.last().map_or("", String::as_str);
        self.of_name(last)
            .iter()
            .copied()
            .filter(|id| self.has_names(*id, names))
    }

    fn has_names(&self, id: NodeIndex, names: &NodeNames) -> bool {
        let mut upward = self.upward(id);
        let mut wanted = names.names.iter().rev();
        let all = wanted.all(|name| upward.next().is_some_and(|id| *self[id].name == **name));
        all && !(names.from_root && upward.next().is_some())
    }

    /// The names that lead to a node and to no other: its own, after those of as many nodes above it as it takes, but
    /// at most `most`; `from_root`: all of them. `None` if there are none such.
    pub fn names_to(&self, id: NodeIndex, most: usize, from_root: bool) -> Option<NodeNames> {
        let mut names: Vec<String> = Vec::new();
        let upward = self.upward(id).take(most);
        for above in upward {
            let name = &self[above].name;
            if name.is_empty() {
                return None;
            }
            names.push(name.to_string());
            if from_root && self[above].parent.is_some() {
                continue;
            }
            let downward = NodeNames {
                names: names.iter().rev().cloned().collect(),
                from_root,
            };
            if self.named(&downward).nth(1).is_none() {
                return Some(downward);
            }
        }
        None
    }

    /// The index path of zero-based positions that leads to the node.
    pub fn index_path(&self, id: NodeIndex) -> Vec<u32> {
        let mut path: Vec<u32> = self.upward(id).map(|id| self[id].position).collect();
        path.reverse();
        path
    }

    /// The node and what it hangs on, up to its root.
    pub fn upward(&self, id: NodeIndex) -> impl Iterator<Item = NodeIndex> + '_ {
        std::iter::successors(Some(id), |&id| self[id].parent)
    }

    /// The nodes of that name, in document order.
    pub fn by_name(&self, name: &str) -> Vec<NodeIndex> {
        self.of_name(name).to_vec()
    }

    fn of_name(&self, name: &str) -> &[NodeIndex] {
        let sorted = self.by_name.0.get_or_init(|| self.sorted_by_name());
        let name_of = |id: &NodeIndex| &*self[*id].name;
        let from = sorted.partition_point(|id| name_of(id) < name);
        let count = sorted[from..].partition_point(|id| name_of(id) == name);
        &sorted[from..from + count]
    }

    fn sorted_by_name(&self) -> Vec<NodeIndex> {
        // The names themselves lie all over the memory; mostly their first bytes are enough.
        let ids = self.ids().map(|id| (first_bytes(&self[id].name), id));
        let mut sorted: Vec<(u64, NodeIndex)> = ids.collect();
        sorted.sort_unstable_by(|(a_bytes, a), (b_bytes, b)| {
            a_bytes
                .cmp(b_bytes)
                .then_with(|| self[*a].name.cmp(&self[*b].name))
                .then(a.cmp(b))
        });
        sorted.into_iter().map(|(_, id)| id).collect()
    }

    /// The names from the root down to the node, joined with `/`. A node without a name is written as
    /// its zero-based position in brackets: `bram-6/[2]/hook`.
    pub fn tree_path(&self, id: NodeIndex) -> String {
        let mut steps: Vec<String> = self
            .upward(id)
            .map(|id| match &self[id] {
                Node { name, position, .. } if name.is_empty() => format!("[{position}]"),
                node => node.name.to_string(),
            })
            .collect();
        steps.reverse();
        steps.join("/")
    }

    /// Whether `node` hangs, at any depth, below `ancestor`. A node is not below itself.
    pub fn is_below(&self, node: NodeIndex, ancestor: NodeIndex) -> bool {
        ancestor < node && node < self[ancestor].end
    }

    /// The node and all below it, parents before children.
    pub fn subtree(
        &self,
        id: NodeIndex,
    ) -> impl DoubleEndedIterator<Item = NodeIndex> + ExactSizeIterator + use<> {
        (id.0..self[id].end.0).map(NodeIndex)
    }
}

/// A number that orders names as their first bytes do.
fn first_bytes(name: &str) -> u64 {
    let mut bytes = [0; 8];
    for (byte, &of_name) in bytes.iter_mut().zip(name.as_bytes()) {
        *byte = of_name;
    }
    u64::from_be_bytes(bytes)
}
