//! Nodes by their names, as people spell names.

use foldhash::HashMap;
use scene::{NodeIndex, Scene};

/// The nodes of a scene by plain name.
#[derive(Debug, Default)]
pub(crate) struct NodeNames {
    /// None: there are several.
    nodes: HashMap<String, Option<NodeIndex>>,
}

impl NodeNames {
    pub(crate) fn of(scene: &Scene) -> Self {
        let mut nodes: HashMap<String, Option<NodeIndex>> = HashMap::default();
        for id in scene.ids() {
            let name = plain(&scene[id].name);
            nodes
                .entry(name)
                .and_modify(|known| *known = None)
                .or_insert(Some(id));
        }
        Self { nodes }
    }

    /// The node of this name, if there is one and no other.
    pub(crate) fn only(&self, name: &str) -> Option<NodeIndex> {
        self.nodes.get(&plain(name)).copied().flatten()
    }
}

/// A name without case and punctuation: `Leg_Left` and `leg.left` are meant to be the same.
pub(crate) fn plain(name: &str) -> String {
    letters(name).collect()
}

/// Whether two names are the same without case and punctuation.
pub(crate) fn are_alike(one: &str, other: &str) -> bool {
    if one == other {
        return true;
    }
    if one.is_ascii() && other.is_ascii() {
        // Nearly all; each alias is asked.
        let letters = |name| {
            let letters = str::bytes(name).filter(u8::is_ascii_alphanumeric);
            letters.map(|letter| letter.to_ascii_lowercase())
        };
        return letters(one).eq(letters(other));
    }
    letters(one).eq(letters(other))
}

/// What is left of a name without case and punctuation.
pub(crate) fn letters(name: &str) -> impl Iterator<Item = char> {
    let letters = name.chars().filter(|c| c.is_alphanumeric());
    letters.flat_map(char::to_lowercase)
}
