use std::ops::Range;

use crate::world::waypoints;
use crate::{Bounds, Node, NodeIndex, Rest, Scene, SceneError};

/// How many notes a scene keeps.
const MOST_NOTES: usize = 50;

/// What a node is made of, but for its place in the tree.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct NodeParts {
    /// See [`Node::name`].
    pub name: String,
    /// See [`Node::rest`].
    pub rest: Rest,
    /// See [`Node::bounds`].
    pub bounds: Option<Bounds>,
    /// See [`Node::source`]. Kept only if the file is text.
    pub source: Option<Range<u32>>,
}

impl NodeParts {
    /// A node with a name that stands where its parent does.
    pub fn named(name: &str) -> Self {
        Self {
            name: name.to_owned(),
            ..Self::default()
        }
    }
}

/// Puts a [`Scene`] together in document order: each node is opened inside those still open.
#[derive(Debug, Default)]
pub struct SceneBuilder {
    scene: Scene,
    /// The nodes that are open, each with how many children it has by now.
    open: Vec<(NodeIndex, u32)>,
}

impl SceneBuilder {
    /// An empty tree.
    pub fn new() -> Self {
        Self::default()
    }

    /// Says that the file is text; see [`Scene::file_text_positions`].
    pub fn text_positions(mut self, text: bool) -> Self {
        self.scene.file_text_positions = text;
        self
    }

    /// Makes room for so many more nodes.
    pub(crate) fn reserve(&mut self, nodes: usize) {
        self.scene.nodes.reserve_exact(nodes);
    }

    /// Adds a node as the last child of the innermost open node (or as a root) and leaves it open.
    pub fn open(&mut self, parts: NodeParts) -> NodeIndex {
        let id = NodeIndex(self.scene.nodes.len() as u32);
        let (parent, position) = match self.open.last_mut() {
            Some((parent, children)) => {
                *children += 1;
                (Some(*parent), *children - 1)
            }
            None => {
                self.scene.roots.push(id);
                (None, self.scene.roots.len() as u32 - 1)
            }
        };
        let NodeParts {
            name,
            rest,
            bounds,
            source,
        } = parts;
        self.scene.nodes.push(Node {
            name: name.into(),
            parent,
            position,
            end: NodeIndex(id.0 + 1),
            rest,
            bounds: bounds.map(Box::new),
            source: source
                .filter(|_| self.scene.file_text_positions)
                .unwrap_or_default(),
        });
        self.open.push((id, 0));
        id
    }

    /// Closes the innermost open node, if there is one.
    pub fn close(&mut self) {
        let end = NodeIndex(self.scene.nodes.len() as u32);
        if let Some((id, _)) = self.open.pop() {
            self.scene.nodes[id.index()].end = end;
        }
    }

    /// Adds a node without children.
    pub fn leaf(&mut self, parts: NodeParts) -> NodeIndex {
        let id = self.open(parts);
        self.close();
        id
    }

    /// Notes something that could not be read.
    pub fn note(&mut self, note: SceneError) {
        if self.scene.notes.len() < MOST_NOTES {
            self.scene.notes.push(note);
        }
    }

    /// Closes what is open and gives the scene.
    pub fn finish(mut self) -> Scene {
        while !self.open.is_empty() {
            self.close();
        }
        hang(&mut self.scene);
        self.scene.waypoints = waypoints(&self.scene);
        self.scene
    }
}

/// Lists what hangs on each node.
fn hang(scene: &mut Scene) {
    let mut from = vec![0; scene.nodes.len() + 1];
    for parent in scene.nodes.iter().filter_map(|node| node.parent) {
        from[parent.index() + 1] += 1;
    }
    for at in 1..from.len() {
        from[at] += from[at - 1];
    }
    let mut hung = vec![NodeIndex(0); scene.nodes.len() - scene.roots.len()];
    for (node, id) in scene.nodes.iter().zip(scene.ids()) {
        if let Some(parent) = node.parent {
            hung[(from[parent.index()] + node.position) as usize] = id;
        }
    }
    (scene.hung, scene.hung_from) = (hung, from);
}
