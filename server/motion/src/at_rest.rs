//! The pose of a scene in which nothing is driven, and the boxes in it.

use std::sync::OnceLock;

use scene::{Bounds, NodeIndex, Scene};

use crate::pose::{Pose, mesh_box};

/// What depends on a scene alone, worked out when first asked for. Rigs of the same scene can share it.
#[derive(Debug, Default)]
pub struct AtRest {
    pose: OnceLock<Pose>,
    boxes: OnceLock<Boxes>,
}

impl AtRest {
    /// The pose in which nothing is driven.
    pub(crate) fn pose(&self, scene: &Scene) -> &Pose {
        self.pose.get_or_init(|| Pose::at_rest(scene))
    }

    /// The box around a node and what hangs on it, hidden or not, in the scene's axes. `None` if no mesh of these can
    /// be measured.
    pub(crate) fn whole_box(&self, scene: &Scene, node: NodeIndex) -> Option<Bounds> {
        self.boxes.get_or_init(|| Boxes::of(scene)).get(node)
    }
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
    use glam::{DQuat, DVec3};
    use proptest::prelude::*;
    use scene::{NodeParts, Rest, SceneBuilder};

    /// Nodes that each hang on the one before, or on one so many levels above it. Every third has a mesh.
    fn scene(numbers: Vec<(f64, u8)>) -> Scene {
        let mut builder = SceneBuilder::new();
        for (at, (number, closed)) in numbers.into_iter().enumerate() {
            for _ in 0..closed {
                builder.close();
            }
            let turn = DQuat::from_rotation_z(number);
            let rest = Rest::of(DVec3::splat(number), turn, DVec3::new(1.0, 0.9, 1.1));
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
        fn a_box_is_around_all_that_hangs_on_a_node(
            numbers in prop::collection::vec((-2.0..2.0, prop_oneof![6 => Just(0_u8), 2 => Just(1), 1 => 2..12_u8]), 1..120),
        ) {
            let scene = scene(numbers);
            let at_rest = AtRest::default();
            let worlds = scene.world_rests();
            for id in scene.ids() {
                let below = scene.subtree(id);
                let boxes = below.filter_map(|id| mesh_box(&scene, id, worlds[id.index()]));
                prop_assert_eq!(at_rest.whole_box(&scene, id), boxes.reduce(Bounds::union));
            }
        }
    }
}
