//! Where the nodes of a scene stand when nothing moves them.

use glam::{DMat4, DVec3, DVec4};

use crate::{NodeIndex, Scene};

/// One level in so many is remembered.
const LEVELS: usize = 8;

/// By node: the matrices from the coordinates of some nodes, on which others hang, to those of the scene. Matrices of all
/// nodes would take more memory than all else that is known of a large scene, and few are asked for.
pub(crate) type Waypoints = Box<[(NodeIndex, DMat4)]>;

impl Scene {
    /// From the node's own coordinates to those of the scene, when nothing moves; to the last bit as in
    /// [`Scene::world_rests`].
    pub fn world_rest(&self, node: NodeIndex) -> DMat4 {
        world(self, &self.waypoints, node)
    }

    /// Where the node's origin stands in the scene, when nothing moves. Metres.
    pub fn place_at_rest(&self, node: NodeIndex) -> DVec3 {
        let above = self[node].parent.map(|parent| self.world_rest(parent));
        place_below(above, self[node].rest.origin())
    }

    /// The same of some nodes. Quick where those that hang on the same node follow each other.
    pub fn places_at_rest(
        &self,
        nodes: impl Iterator<Item = NodeIndex>,
    ) -> impl Iterator<Item = DVec3> {
        let mut last = None;
        nodes.map(move |node| {
            let parent = self[node].parent;
            let above = match last {
                Some((of, above)) if of == parent => above,
                _ => parent.map(|parent| self.world_rest(parent)),
            };
            last = Some((parent, above));
            place_below(above, self[node].rest.origin())
        })
    }

    /// [`Scene::world_rest`] of every node, at once.
    pub fn world_rests(&self) -> Vec<DMat4> {
        let mut worlds = Vec::with_capacity(self.nodes.len());
        worlds.extend(self.worlds());
        worlds
    }

    /// The same, made one after the other.
    pub fn worlds(&self) -> impl Iterator<Item = DMat4> + '_ {
        let mut above: Vec<(NodeIndex, DMat4)> = Vec::new();
        self.ids().map(move |id| {
            let node = &self[id];
            while above
                .pop_if(|(last, _)| Some(*last) != node.parent)
                .is_some()
            {}
            let local = node.rest.matrix();
            let world = above.last().map_or(local, |(_, world)| *world * local);
            if !self.children(id).is_empty() {
                above.push((id, world));
            }
            world
        })
    }
}

fn place_below(above: Option<DMat4>, origin: DVec4) -> DVec3 {
    above.map_or(origin, |above| above * origin).truncate()
}

/// The nodes on every eighth level that have children.
pub(crate) fn waypoints(scene: &Scene) -> Waypoints {
    let mut known = Vec::new();
    let mut above: Vec<NodeIndex> = Vec::new();
    for id in scene.ids() {
        if scene.children(id).is_empty() {
            continue;
        }
        while above
            .pop_if(|last| Some(*last) != scene[id].parent)
            .is_some()
        {}
        above.push(id);
        if above.len().is_multiple_of(LEVELS) {
            known.push((id, world(scene, &known, id)));
        }
    }
    known.into()
}

/// See [`Scene::world_rest`]. `known`: the waypoints above the node, perhaps with others.
fn world(scene: &Scene, known: &[(NodeIndex, DMat4)], node: NodeIndex) -> DMat4 {
    let mut way = [node; LEVELS];
    let mut steps = 0;
    let mut from = None;
    for id in scene.upward(node) {
        let found = known.binary_search_by_key(&id, |(known, _)| *known);
        if let Ok(found) = found {
            from = Some(known[found].1);
            break;
        }
        // There are never more steps than there is room for: the next waypoint is not farther away.
        if let Some(step) = way.get_mut(steps) {
            *step = id;
            steps += 1;
        }
    }
    let downward = way[..steps].iter().rev();
    let locals = downward.map(|id| scene[*id].rest.matrix());
    from.into_iter()
        .chain(locals)
        .reduce(|above, local| above * local)
        .unwrap_or(DMat4::IDENTITY)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{NodeParts, Rest, SceneBuilder};
    use glam::DQuat;
    use proptest::prelude::*;

    /// Nodes that each hang on the one before, or on one so many levels above it.
    fn scene(numbers: Vec<(f64, u8)>) -> Scene {
        let mut builder = SceneBuilder::new();
        for (at, (number, closed)) in numbers.into_iter().enumerate() {
            for _ in 0..closed {
                builder.close();
            }
            let axis = DVec3::new(number, 1.0, -number).normalize();
            let turn = DQuat::from_axis_angle(axis, number);
            let rest = match at % 2 {
                0 => Rest::at(DVec3::splat(number)),
                _ => Rest::of(DVec3::splat(number), turn, DVec3::new(1.0, 0.9, 1.1)),
            };
            builder.open(NodeParts {
                rest,
                ..NodeParts::default()
            });
        }
        builder.finish()
    }

    proptest! {
        #[test]
        fn each_node_stands_where_it_stands_among_all(
            numbers in prop::collection::vec((-2.0..2.0, prop_oneof![6 => Just(0_u8), 2 => Just(1), 1 => 2..12_u8]), 1..120),
        ) {
            let scene = scene(numbers);
            let worlds = scene.world_rests();
            for id in scene.ids() {
                prop_assert_eq!(scene.world_rest(id), worlds[id.index()]);
                prop_assert_eq!(scene.place_at_rest(id), worlds[id.index()].w_axis.truncate());
            }
        }
    }

    #[test]
    fn of_a_deep_scene_one_in_eight_is_kept_and_of_a_flat_one_none() {
        let chain = scene(vec![(0.5, 0); 1000]);
        let flat = scene(vec![(0.5, 1); 1000]);
        assert_eq!(chain.waypoints.len(), 124);
        assert!(flat.waypoints.is_empty());
    }
}
