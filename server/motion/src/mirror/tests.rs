//! The short way through translations leads where the long one does.

use std::sync::Arc;

use dialect::{Dialect, Easing};
use glam::DQuat;
use proptest::prelude::*;
use scene::{Bounds, NodeParts, Rest, SceneBuilder};

use super::*;
use crate::at_rest::AtRest;

fn vector(size: f64) -> impl Strategy<Value = DVec3> {
    [-size..size, -size..size, -size..size].prop_map(DVec3::from_array)
}

/// Turned, scaled, and here and there scaled to nothing.
fn rest() -> impl Strategy<Value = Rest> {
    let factor = || prop_oneof![8 => 0.2..3.0, 1 => -2.0..-0.5, 1 => Just(0.0)];
    let scale = [factor(), factor(), factor()].prop_map(DVec3::from_array);
    let turn = vector(1.0).prop_map(|axis| DQuat::from_scaled_axis(axis * 3.0));
    (vector(5.0), turn, scale)
        .prop_map(|(translation, rotation, scale)| Rest::of(translation, rotation, scale))
}

fn drive(node: u32, from: DVec3, to: DVec3) -> Drive {
    Drive {
        animation: 0,
        channel: 0,
        motion: 0,
        node: NodeIndex(node),
        property: Property::Translation,
        begin: 0.0,
        end: 1.0,
        easing: Easing::Linear,
        ends: Ends::Vectors { from, to },
        axes: [true; 3],
        acting: [0; 3],
        open: None,
    }
}

proptest! {
    #[test]
    fn shifts_are_as_far_apart_as_the_points_that_they_take_along(
        rests in [rest(), rest(), rest(), rest()],
        ends in [vector(4.0), vector(4.0), vector(4.0), vector(4.0)],
    ) {
        let mut builder = SceneBuilder::new();
        for pair in rests.chunks(2) {
            builder.open(NodeParts { rest: pair[0].clone(), ..NodeParts::default() });
            builder.leaf(NodeParts { rest: pair[1].clone(), ..NodeParts::default() });
            builder.close();
        }
        let scene = builder.finish();
        let (own, their) = (drive(1, ends[0], ends[1]), drive(3, ends[2], ends[3]));
        let dialect = Dialect::house();
        let at_rest = Arc::<AtRest>::default();
        let rig = Rig::of_drives(&scene, &dialect.notation, Vec::new(), at_rest);
        let flat = rests.iter().any(|rest| rest.scale().element_product() == 0.0);
        let shifts = rig.shift(&own).zip(rig.shift(&their));
        prop_assert_eq!(shifts.is_some(), !flat);
        if let Some((shift, their_shift)) = shifts {
            let (apart, way) = rig.shifts_apart(shift, their_shift);
            let (by_points, way_of_points) = rig.points_apart(&own, &their);
            // Inverting a matrix costs digits.
            prop_assert!((apart - by_points).abs() < 1e-9, "{apart} {by_points}");
            prop_assert!((way - way_of_points).abs() < 1e-9, "{way} {way_of_points}");
        }
    }
}

proptest! {
    /// Those that stand as far forward are all that may be opposite, by their origins or by their meshes.
    #[test]
    fn no_node_that_stands_opposite_is_passed_by(
        numbers in prop::collection::vec(([-2..3_i32, -1..2, -2..3], -0.04..0.04, 0..6_u8), 1..40),
    ) {
        let mut builder = SceneBuilder::new();
        for (place, offset, sort) in &numbers {
            let place = DVec3::from_array(place.map(f64::from));
            let place = place + DVec3::splat(*offset);
            let origin = match sort {
                0 => DVec3::ZERO,
                1 => DVec3::new(f64::INFINITY, 0.0, 0.0),
                2 => DVec3::new(1.0, f64::INFINITY, 0.0),
                _ => place,
            };
            let corner = place - origin;
            builder.leaf(NodeParts {
                rest: Rest::at(origin),
                bounds: Bounds::new(corner - DVec3::ONE, corner + DVec3::ONE).filter(|_| *sort < 4),
                ..NodeParts::default()
            });
        }
        let scene = builder.finish();
        let dialect = Dialect::house();
        let drives = (0..numbers.len() as u32).map(|node| Drive {
            channel: node as usize,
            ..drive(node, DVec3::ZERO, DVec3::X)
        });
        let rig = Rig::of_drives(&scene, &dialect.notation, drives.collect(), Arc::default());
        let counterparts = rig.counterparts(0);
        for own in scene.ids() {
            let all = scene.ids().filter_map(|node| Some((node, rig.opposite(own, node)?)));
            let mut found = counterparts.opposite(own);
            found.sort_by_key(|(node, _)| *node);
            prop_assert_eq!(found, all.collect::<Vec<_>>());
        }
    }
}

#[test]
fn only_translations_between_numbers_are_shifts() {
    let mut builder = SceneBuilder::new();
    builder.leaf(NodeParts::default());
    let scene = builder.finish();
    let dialect = Dialect::house();
    let rig = Rig::of_drives(&scene, &dialect.notation, Vec::new(), Arc::default());
    let plain = drive(0, DVec3::ZERO, DVec3::X);
    assert_eq!(rig.shift(&plain), Some(DVec3::X));
    for property in [Property::Rotation, Property::Scale, Property::Visibility] {
        assert_eq!(
            rig.shift(&Drive {
                property,
                ..plain.clone()
            }),
            None
        );
    }
    let endless = drive(0, DVec3::splat(f64::MIN), DVec3::splat(f64::MAX));
    assert_eq!(rig.shift(&endless), None);
    let ends = Ends::Visible {
        from: false,
        to: true,
    };
    assert_eq!(rig.shift(&Drive { ends, ..plain }), None);
}
