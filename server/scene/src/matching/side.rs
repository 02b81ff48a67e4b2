//! What can be compared of the nodes of two scenes, as small numbers that are equal if the things are.

use std::collections::{HashMap, HashSet};
use std::hash::Hash;

use crate::{NodeIndex, Rest, Scene};

/// Equal things get equal numbers, from 1 on; 0 is for what tells nothing: no name, no own place, no size.
pub(super) type Mark = u32;

/// One of the two scenes. All lists are indexed by [`NodeIndex::index`].
#[derive(Debug)]
pub(super) struct Side<'s> {
    pub(super) scene: &'s Scene,
    pub(super) names: Vec<Mark>,
    /// The names from the root down to the node.
    pub(super) name_paths: Vec<Mark>,
    pub(super) rests: Vec<Mark>,
    pub(super) bounds: Vec<Mark>,
    /// All of a node and of what hangs on it, in order.
    pub(super) subtrees: Vec<Mark>,
    /// Which node of the other scene it is taken for.
    pub(super) partner: Vec<Option<NodeIndex>>,
    /// How many children of each node have no partner; at the end: how many roots.
    free_children: Vec<usize>,
    pub(super) by_name: Listing<Mark>,
    pub(super) leftover: Leftover,
    pub(super) by_geometry: Listing<(Mark, Mark)>,
}

/// What is known of the nodes that have no partner in the end.
#[derive(Debug, Default)]
pub(super) struct Leftover {
    pub(super) names: HashSet<Mark>,
    /// Name and geometry.
    pub(super) looks: HashSet<(Mark, (Mark, Mark))>,
    pub(super) geometries: HashSet<(Mark, Mark)>,
    /// What they hang on, and geometry.
    pub(super) places: HashSet<(Option<NodeIndex>, (Mark, Mark))>,
}

/// The nodes that share something.
pub(super) type Listing<K> = HashMap<K, Vec<NodeIndex>>;

/// Gives numbers to what both scenes have.
#[derive(Debug, Default)]
pub(super) struct Marks<'s> {
    names: HashMap<&'s str, Mark>,
    name_paths: HashMap<(Mark, Mark), Mark>,
    rests: HashMap<[i64; 10], Mark>,
    bounds: HashMap<[i64; 6], Mark>,
    subtrees: HashMap<Vec<Mark>, Mark>,
}

fn mark<K: Eq + Hash>(known: &mut HashMap<K, Mark>, key: K) -> Mark {
    let next = Mark::try_from(known.len() + 1).unwrap_or(Mark::MAX);
    *known.entry(key).or_insert(next)
}

impl<'s> Marks<'s> {
    pub(super) fn side(&mut self, scene: &'s Scene) -> Side<'s> {
        let count = scene.nodes.len();
        let families = scene.ids().map(|id| scene.children(id));
        let free_children = families.chain([&scene.roots[..]]).map(<[_]>::len);
        let mut side = Side {
            scene,
            names: Vec::with_capacity(count),
            name_paths: Vec::with_capacity(count),
            rests: Vec::with_capacity(count),
            bounds: Vec::with_capacity(count),
            subtrees: vec![0; count],
            partner: vec![None; count],
            free_children: free_children.collect(),
            by_name: HashMap::new(),
            leftover: Leftover::default(),
            by_geometry: HashMap::new(),
        };
        for (id, node) in scene.ids().zip(&scene.nodes) {
            let name = match &*node.name {
                "" => 0,
                name => mark(&mut self.names, name),
            };
            let above = node.parent.map_or(0, |p| side.name_paths[p.index()]);
            side.name_paths
                .push(mark(&mut self.name_paths, (above, name)));
            let rest = rest_key(&node.rest);
            let rest = match rest == rest_key(&Rest::default()) {
                true => 0,
                false => mark(&mut self.rests, rest),
            };
            let bounds = node.bounds.as_ref().map_or(0, |bounds| {
                let [min, max] = [bounds.min, bounds.max].map(|at| at.to_array().map(rounded));
                let key = [min[0], min[1], min[2], max[0], max[1], max[2]];
                mark(&mut self.bounds, key)
            });
            side.names.push(name);
            side.rests.push(rest);
            side.bounds.push(bounds);
            if name != 0 {
                side.by_name.entry(name).or_default().push(id);
            }
            if (rest, bounds) != (0, 0) {
                side.by_geometry.entry((rest, bounds)).or_default().push(id);
            }
        }
        for id in scene.ids().rev() {
            let at = id.index();
            let below = scene.children(id).iter();
            let below = below.map(|id| side.subtrees[id.index()]);
            let mut key = vec![side.names[at], side.rests[at], side.bounds[at]];
            key.extend(below);
            side.subtrees[at] = mark(&mut self.subtrees, key);
        }
        side
    }
}

impl Side<'_> {
    /// Where it rests and how large it is. (0, 0): that tells nothing.
    pub(super) fn geometry(&self, id: NodeIndex) -> (Mark, Mark) {
        (self.rests[id.index()], self.bounds[id.index()])
    }

    pub(super) fn is_free(&self, id: NodeIndex) -> bool {
        self.partner[id.index()].is_none()
    }

    /// The partner of a parent: of none it is none.
    pub(super) fn partner_of(&self, parent: Option<NodeIndex>) -> Option<Option<NodeIndex>> {
        match parent {
            Some(parent) => self.partner[parent.index()].map(Some),
            None => Some(None),
        }
    }

    /// Gives a node its partner.
    pub(super) fn take(&mut self, id: NodeIndex, partner: NodeIndex) {
        self.partner[id.index()] = Some(partner);
        let family = self.family(self.scene[id].parent);
        self.free_children[family] -= 1;
    }

    /// Takes a node's partner away.
    pub(super) fn release(&mut self, id: NodeIndex) {
        self.partner[id.index()] = None;
        let family = self.family(self.scene[id].parent);
        self.free_children[family] += 1;
    }

    /// Lists what has no partner.
    pub(super) fn list_leftover(&mut self) {
        for id in self.scene.ids() {
            if !self.is_free(id) {
                continue;
            }
            let (name, geometry) = (self.names[id.index()], self.geometry(id));
            self.leftover.names.insert(name);
            self.leftover.looks.insert((name, geometry));
            self.leftover.geometries.insert(geometry);
            let parent = self.scene[id].parent;
            self.leftover.places.insert((parent, geometry));
        }
    }

    /// How many of the children (or of the roots) have no partner yet.
    pub(super) fn free_children(&self, id: Option<NodeIndex>) -> usize {
        self.free_children[self.family(id)]
    }

    fn family(&self, id: Option<NodeIndex>) -> usize {
        id.map_or(self.scene.nodes.len(), NodeIndex::index)
    }

    /// What hangs on a node; without one: the roots.
    pub(super) fn children(&self, id: Option<NodeIndex>) -> &[NodeIndex] {
        match id {
            Some(id) => self.scene.children(id),
            None => &self.scene.roots,
        }
    }

    /// Whether no other node of the scene has this name, or at least not below the same names.
    pub(super) fn has_name_alone(&self, id: NodeIndex) -> bool {
        let alike = self.by_name.get(&self.names[id.index()]);
        alike.is_some_and(|alike| alike.len() == 1)
    }
}

/// The nodes of each kind that both sides have exactly once.
pub(super) fn only_pairs<K: Eq + Hash>(
    old: impl Iterator<Item = (K, NodeIndex)>,
    new: impl Iterator<Item = (K, NodeIndex)>,
) -> Vec<(NodeIndex, NodeIndex)> {
    let mut seen: HashMap<K, [Option<NodeIndex>; 2]> = HashMap::new();
    let mut repeated = HashSet::new();
    let both = old
        .map(|(key, id)| (key, id, 0))
        .chain(new.map(|(key, id)| (key, id, 1)));
    for (key, id, side) in both {
        let slot = &mut seen.entry(key).or_default()[side];
        if let Some(first) = slot.replace(id) {
            repeated.insert((side, first));
            repeated.insert((side, id));
        }
    }
    let mut pairs: Vec<(NodeIndex, NodeIndex)> = seen
        .into_values()
        .filter_map(|[old, new]| Some((old?, new?)))
        .filter(|(old, new)| !repeated.contains(&(0, *old)) && !repeated.contains(&(1, *new)))
        .collect();
    pairs.sort_unstable();
    pairs
}

/// Tenths of a millimetre and the like: exporters do not agree on the last digits.
fn rounded(number: f64) -> i64 {
    (number * 1e4).round() as i64
}

fn rest_key(rest: &Rest) -> [i64; 10] {
    let [x, y, z] = rest.translation.to_array().map(rounded);
    // A quaternion and its negative are the same rotation.
    let turn = rest.rotation().to_array().map(rounded);
    let first = turn.iter().rev().find(|part| **part != 0);
    let sign = if first.is_some_and(|part| *part < 0) {
        -1
    } else {
        1
    };
    let [a, b, c, d] = turn.map(|part| sign * part);
    let [sx, sy, sz] = rest.scale().to_array().map(rounded);
    [x, y, z, a, b, c, d, sx, sy, sz]
}
