//! Where the nodes of a scene stand when nothing moves.

use std::sync::OnceLock;

use glam::{DMat4, DVec3};
use scene::{Bounds, NodeIndex, Scene};

use crate::pose::{Pose, mesh_box};

/// Of so many levels of a scene one is remembered.
const LEVELS: usize = 8;

/// What depends on a scene alone, worked out when first asked for. Rigs of the same scene can share it.
#[derive(Debug, Default)]
pub struct AtRest {
    /// By node: from the coordinates of some nodes that others hang on to the scene's. All that most ask for, and of as
    /// many nodes as a scene may have all matrices would take more memory than all else that is known of it.
    waypoints: OnceLock<Vec<(NodeIndex, DMat4)>>,
    pose: OnceLock<Pose>,
    boxes: OnceLock<Boxes>,
}

impl AtRest {
    /// The pose in which nothing is driven.
    pub(crate) fn pose(&self, scene: &Scene) -> &Pose {
        self.pose.get_or_init(|| Pose::at_rest(scene))
    }

    /// From a node's coordinates to the scene's; the same to the last bit as in [`Scene::world_rests`].
    pub(crate) fn world(&self, scene: &Scene, node: NodeIndex) -> DMat4 {
        let known = self.waypoints.get_or_init(|| waypoints(scene));
        world(scene, known, node)
    }

    /// Where a node's origin stands: the same without what is not asked for.
    pub(crate) fn place(&self, scene: &Scene, node: NodeIndex) -> DVec3 {
        let origin = scene[node].rest.matrix().w_axis;
        let above = scene[node].parent.map(|parent| self.world(scene, parent));
        above.map_or(origin, |above| above * origin).truncate()
    }

    /// The box around a node and what hangs on it, hidden or not, in the scene's axes. `None` if no mesh of these can
    /// be measured.
    pub(crate) fn whole_box(&self, scene: &Scene, node: NodeIndex) -> Option<Bounds> {
        self.boxes.get_or_init(|| Boxes::of(scene)).get(node)
    }
}

/// Every so many levels, what has something hanging on it.
fn waypoints(scene: &Scene) -> Vec<(NodeIndex, DMat4)> {
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
    known
}

/// `known`: those above the node, at least.
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
        // Never more than there is room for.
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

/// The boxes of the nodes that have one.
#[derive(Debug)]
struct Boxes {
    /// By node, the place of its box; one that is none if it has none.
    places: Vec<u32>,
    boxes: Vec<Bounds>,
}

impl Boxes {
    fn of(scene: &Scene) -> Self {
        let mut boxes = Self {
            places: vec![u32::MAX; scene.nodes.len()],
            boxes: Vec::new(),
        };
        if scene.nodes.iter().all(|node| node.bounds.is_none()) {
            return boxes;
        }
        for (id, world) in scene.ids().zip(scene.worlds()) {
            if let Some(own) = mesh_box(scene, id, world) {
                boxes.add(id, own);
            }
        }
        // What hangs on a node comes after it, so that its box is ready when it is added.
        for id in scene.ids().rev() {
            if let (Some(parent), Some(own)) = (scene[id].parent, boxes.get(id)) {
                boxes.add(parent, own);
            }
        }
        boxes.boxes.shrink_to_fit();
        boxes
    }

    fn get(&self, node: NodeIndex) -> Option<Bounds> {
        let place = *self.places.get(node.index())?;
        self.boxes.get(place as usize).copied()
    }

    fn add(&mut self, node: NodeIndex, more: Bounds) {
        let place = &mut self.places[node.index()];
        match self.boxes.get_mut(*place as usize) {
            Some(whole) => *whole = whole.union(more),
            None => {
                // A scene has fewer nodes than that.
                *place = u32::try_from(self.boxes.len()).unwrap_or(u32::MAX);
                self.boxes.push(more);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use glam::DQuat;
    use proptest::prelude::*;
    use scene::{NodeParts, Rest, SceneBuilder};

    /// Nodes that each hang on the one before, or on one so many levels above it. Every third has a mesh.
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
            let bounds = Bounds::new(DVec3::splat(-number.abs()), DVec3::splat(0.3));
            builder.open(NodeParts {
                rest,
                bounds: bounds.filter(|_| at % 3 == 0),
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
            let at_rest = AtRest::default();
            let worlds = scene.world_rests();
            for id in scene.ids() {
                prop_assert_eq!(at_rest.world(&scene, id), worlds[id.index()]);
                prop_assert_eq!(at_rest.place(&scene, id), worlds[id.index()].w_axis.truncate());
                let below = scene.subtree(id);
                let boxes = below.filter_map(|id| mesh_box(&scene, id, worlds[id.index()]));
                prop_assert_eq!(at_rest.whole_box(&scene, id), boxes.reduce(Bounds::union));
            }
        }
    }

    #[test]
    fn of_a_deep_scene_one_in_eight_is_kept_and_of_a_flat_one_none() {
        let chain = scene(vec![(0.5, 0); 1000]);
        let flat = scene(vec![(0.5, 1); 1000]);
        assert_eq!(waypoints(&chain).len(), 124);
        assert!(waypoints(&flat).is_empty());
    }
}
