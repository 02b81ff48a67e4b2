//! How a place asks for a node of the scene: by positions, or by names.

use std::sync::Arc;

use crate::notation::Notation;

/// How a place asks for a node of the scene.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum NodePath {
    /// Zero-based child positions from the roots of the scene; at least one.
    Positions(Arc<[u32]>),
    /// The node's own name, or names from a node above it down to it.
    Names(NodeNames),
}

/// Names of nodes, each a child of the one before; the last is that of the node that is meant.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct NodeNames {
    /// At least one.
    pub names: Arc<[String]>,
    /// Whether the first is the name of a root of the scene; else it may be that of any node.
    pub from_root: bool,
}

/// How a dialect writes the names of nodes.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct NodeNameNotation {
    /// Between the names of a path of names; without one, a node's own name is all that may stand.
    pub separator: Option<String>,
    /// Whether all names from the root on are written.
    pub from_root: bool,
}

impl NodeNameNotation {
    /// The names that a text says; `None` if one of them is empty.
    pub fn read(&self, text: &str) -> Option<NodeNames> {
        let text = text.trim_ascii();
        let names: Arc<[String]> = match &self.separator {
            // A mark in front of a path that starts at the root is common.
            Some(mark) => text
                .strip_prefix(mark.as_str())
                .filter(|_| self.from_root)
                .unwrap_or(text)
                .split(mark.as_str())
                .map(str::to_owned)
                .collect(),
            None => [text.to_owned()].into(),
        };
        names
            .iter()
            .all(|name| !name.is_empty())
            .then_some(NodeNames {
                names,
                from_root: self.from_root,
            })
    }

    /// The text for names.
    pub fn write(&self, names: &[String]) -> String {
        names.join(self.separator.as_deref().unwrap_or("/"))
    }
}

impl NodePath {
    /// The child positions, if it is written as such.
    pub fn positions(&self) -> Option<&[u32]> {
        match self {
            Self::Positions(positions) => Some(positions),
            Self::Names(_) => None,
        }
    }
}

impl Notation {
    /// The text for a node path.
    pub fn write_node_path(&self, path: &NodePath) -> String {
        match path {
            NodePath::Positions(positions) => self.index_path.label(positions),
            NodePath::Names(names) => self.node_names.write(&names.names),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(notation: &NodeNameNotation, text: &str) -> Option<Vec<String>> {
        notation.read(text).map(|read| read.names.to_vec())
    }

    #[test]
    fn names_read_and_write() {
        let single = NodeNameNotation::default();
        assert_eq!(names(&single, " a/b "), Some(vec!["a/b".to_owned()]));
        assert_eq!(names(&single, " "), None);
        let path = NodeNameNotation {
            separator: Some("/".into()),
            from_root: true,
        };
        let both = vec!["a".to_owned(), "b".to_owned()];
        assert_eq!(names(&path, "a/b").as_ref(), Some(&both));
        assert_eq!(names(&path, "/a/b").as_ref(), Some(&both));
        assert_eq!(names(&path, "a//b"), None);
        assert_eq!(path.write(&both), "a/b");
        let anywhere = NodeNameNotation {
            from_root: false,
            ..path
        };
        assert_eq!(names(&anywhere, "/a/b"), None);
    }
}
