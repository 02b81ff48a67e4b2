//! Poses, travel, wheels and mirrored parts of a small machine.
//!
//! The rig: a body with two legs at x = ±1.3 (left is +x: in glTF z is forward and -x is right), each with a front
//! and a rear wheel 0.4 m outside of it, and a mast with a lamp.

mod common;

use std::sync::Arc;

use common::machine_with;
use dialect::{Dialect, Property};
use glam::{DQuat, DVec3};
use machine::Machine;
use motion::{Drive, Overall, Rig, Sample, Travel};
use proptest::prelude::*;
use scene::{Bounds, NodeIndex, NodeParts, Rest, Scene, SceneBuilder};

/// The tree that the definitions below drive.
fn scene() -> Scene {
    let mut builder = SceneBuilder::new();
    builder.open(NodeParts::named("body"));
    for side in [1.0, -1.0] {
        builder.open(part(
            DVec3::new(1.3 * side, 0.0, 0.0),
            DVec3::new(0.2, 1.0, 1.5),
        ));
        for end in [1.2, -1.2] {
            builder.leaf(part(
                DVec3::new(0.4 * side, -0.4, end),
                DVec3::new(0.15, 0.6, 0.6),
            ));
        }
        builder.close();
    }
    builder.open(part(DVec3::new(0.0, 1.1, 0.0), DVec3::new(0.3, 2.0, 0.3)));
    builder.leaf(part(DVec3::new(0.0, 2.0, 0.0), DVec3::splat(0.1)));
    builder.close();
    builder.finish()
}

/// A node with a box of a mesh around its origin, `half` its size.
fn part(place: DVec3, half: DVec3) -> NodeParts {
    NodeParts {
        rest: Rest::at(place),
        bounds: Bounds::new(-half, half),
        ..NodeParts::default()
    }
}

const LEFT_LEG: NodeIndex = NodeIndex(1);
const FRONT_LEFT: NodeIndex = NodeIndex(2);
const RIGHT_LEG: NodeIndex = NodeIndex(4);
const MAST: NodeIndex = NodeIndex(7);
const LAMP: NodeIndex = NodeIndex(8);

const WHEELS: &str = r#"
  <wheels>
    <wheel id="front.left"  node="0/0/0" radius="0.6" width="0.3"/>
    <wheel id="rear.left"   node="0/0/1" radius="0.6" width="0.3"/>
    <wheel id="rear.right"  node="0/1/1" radius="0.6" width="0.3"/>
    <wheel id="front.right" node="0/1/0" radius="0.6" width="0.3"/>
  </wheels>"#;

const SPREAD: &str = r#"
    <animation id="spread" duration="4">
      <channel target="0/0" property="translation" begin="0" end="2" from="1.3 0 0"  to="1.808 0 0"/>
      <channel target="0/1" property="translation" begin="0" end="2" from="-1.3 0 0" to="-1.808 0 0"/>
    </animation>"#;

fn machine(animations: &str) -> Machine {
    machine_with(&format!("{WHEELS}<animations>{animations}</animations>"))
}

/// One animation of these channels, each `target property begin end from to [more attributes]`.
fn channels(rows: &[(&str, &str, &str, &str, &str)]) -> Machine {
    let rows: Vec<String> = rows
        .iter()
        .map(|(target, property, window, from, to)| {
            let (begin, end) = window.split_once("..").unwrap();
            format!(
                r#"<channel target="{target}" property="{property}" begin="{begin}" end="{end}" from="{from}" to="{to}"/>"#
            )
        })
        .collect();
    machine(&format!(
        r#"<animation id="a">{}</animation>"#,
        rows.concat()
    ))
}

fn house() -> Arc<Dialect> {
    Dialect::house()
}

fn close(a: DVec3, b: DVec3) -> bool {
    a.abs_diff_eq(b, 1e-9)
}

#[test]
fn without_times_everything_rests() {
    let (scene, dialect, machine) = (scene(), house(), machine(SPREAD));
    let rig = Rig::new(&scene, &machine, &dialect.notation);
    assert_eq!(rig.pose(&[]), *rig.rest());
    assert_eq!(rig.rest().world, scene.world_rests());
}

#[test]
fn single_places_are_those_of_the_pose() {
    let machine = machine(
        r#"
    <animation id="all" duration="4">
      <channel target="0/2/0" property="translation" begin="1" end="3" from="0 2 0" to="0 1.5 0.2"/>
      <channel target="0/2" property="rotation" begin="0" end="4" from="0 0 0" to="30 10 5"/>
      <channel target="0/0" property="translation" begin="0" end="2" from="1.3 0 0" to="1.8 0 0"/>
    </animation>"#,
    );
    let (scene, dialect) = (scene(), Dialect::house());
    let rig = Rig::new(&scene, &machine, &dialect.notation);
    let nodes: Vec<NodeIndex> = scene.ids().rev().collect();
    for time in [0.0, 0.7, 2.0, 3.5, 9.0] {
        let pose = rig.pose(&[(0, time)]);
        let expected: Vec<DVec3> = nodes.iter().map(|&node| pose.place(node)).collect();
        assert_eq!(rig.places(&[(0, time)], &nodes), expected, "at {time} s");
    }
}

#[test]
fn a_translation_carries_what_hangs_on_the_node() {
    let (scene, dialect, machine) = (scene(), house(), machine(SPREAD));
    let rig = Rig::new(&scene, &machine, &dialect.notation);
    let half = rig.pose(&[(0, 1.0)]);
    assert!(close(half.place(LEFT_LEG), DVec3::new(1.554, 0.0, 0.0)));
    assert!(close(half.place(FRONT_LEFT), DVec3::new(1.954, -0.4, 1.2)));
    assert!(close(half.place(RIGHT_LEG), DVec3::new(-1.554, 0.0, 0.0)));
    assert_eq!(half.place(MAST), rig.rest().place(MAST));
}

#[test]
fn several_animations_move_at_once() {
    let (scene, dialect) = (scene(), house());
    let machine = machine(
        r#"<animation id="a"><channel target="0/2" property="translation" begin="0" end="1" from="0 1 0" to="0 2 0"/></animation>
           <animation id="b"><channel target="0/2" property="rotation" begin="0" end="1" from="0 0 0" to="0 0 90"/></animation>"#,
    );
    let rig = Rig::new(&scene, &machine, &dialect.notation);
    let pose = rig.pose(&[(0, 1.0), (1, 1.0)]);
    // The lamp is 2 m above the mast's foot; a quarter turn about z lays it to the left of -x.
    assert!(
        close(pose.place(LAMP), DVec3::new(-2.0, 2.0, 0.0)),
        "{}",
        pose.place(LAMP)
    );
}

#[test]
fn the_motion_that_began_last_counts() {
    let (scene, dialect) = (scene(), house());
    let machine = channels(&[
        ("0/2", "translation", "4..6", "0 3 0", "0 5 0"),
        ("0/2", "translation", "1..2", "0 1 0", "0 3 0"),
    ]);
    let rig = Rig::new(&scene, &machine, &dialect.notation);
    let height = |time| rig.pose(&[(0, time)]).place(MAST).y;
    assert_eq!(
        [0.0, 1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 9.0].map(height),
        [1.0, 1.0, 2.0, 3.0, 3.0, 3.0, 4.0, 5.0, 5.0]
    );
}

#[test]
fn a_full_turn_is_a_turn() {
    let (scene, dialect) = (scene(), house());
    let machine = channels(&[("0/2/0", "rotation", "0..4", "0 0 0", "0 360 0")]);
    let rig = Rig::new(&scene, &machine, &dialect.notation);
    let facing = |time| rig.pose(&[(0, time)]).world[LAMP.index()].transform_vector3(DVec3::Z);
    assert!(close(facing(0.0), DVec3::Z));
    assert!(close(facing(1.0), DVec3::X));
    assert!(close(facing(2.0), DVec3::NEG_Z));
    assert!(close(facing(4.0), DVec3::Z));
    let Travel::Angle { degrees, .. } = rig.travel(&rig.drives_of(0)[0]) else {
        panic!()
    };
    assert_eq!(degrees, 360.0);
}

#[test]
fn a_hidden_node_hides_what_hangs_on_it() {
    let (scene, dialect) = (scene(), house());
    let machine = channels(&[("0/2", "visibility", "1..2", "true", "false")]);
    let rig = Rig::new(&scene, &machine, &dialect.notation);
    assert!(rig.pose(&[(0, 1.9)]).visible[LAMP.index()]);
    let gone = rig.pose(&[(0, 2.0)]);
    assert!(
        !gone.visible[MAST.index()]
            && !gone.visible[LAMP.index()]
            && gone.visible[LEFT_LEG.index()]
    );
    assert_eq!(rig.bounds(&gone).unwrap().max.y, 1.0);
    assert!(rig.moved_nodes(0).is_empty());
}

#[test]
fn a_scale_replaces_the_rest_scale() {
    let (scene, dialect) = (scene(), house());
    let machine = channels(&[("0/2", "scale", "0..1", "1 1 1", "1 0.5 1")]);
    let rig = Rig::new(&scene, &machine, &dialect.notation);
    assert!(close(
        rig.pose(&[(0, 1.0)]).place(LAMP),
        DVec3::new(0.0, 2.1, 0.0)
    ));
    assert_eq!(
        rig.travel(&rig.drives_of(0)[0]),
        Travel::Factor {
            from: DVec3::ONE,
            to: DVec3::new(1.0, 0.5, 1.0)
        }
    );
}

#[test]
fn what_cannot_be_read_moves_nothing() {
    let (scene, dialect) = (scene(), house());
    let machine = channels(&[
        ("0/9", "translation", "0..1", "0 0 0", "1 0 0"),
        ("0/2", "sideways", "0..1", "0 0 0", "1 0 0"),
        ("0/2", "translation", "0..soon", "0 0 0", "1 0 0"),
        ("0/2", "translation", "0..1", "0 0", "1 0 0"),
        ("0/2", "visibility", "0..1", "0 0 0", "1 0 0"),
    ]);
    let rig = Rig::new(&scene, &machine, &dialect.notation);
    assert!(rig.drives_of(0).is_empty());
    assert_eq!(rig.pose(&[(0, 1.0), (7, 1.0)]), *rig.rest());
}

#[test]
fn moved_nodes_are_the_tops_of_what_moves() {
    let (scene, dialect) = (scene(), house());
    let machine = channels(&[
        ("0/2/0", "rotation", "0..1", "0 0 0", "0 90 0"),
        ("0/2", "translation", "0..1", "0 1 0", "0 2 0"),
        ("0/0/1", "rotation", "0..1", "0 0 0", "90 0 0"),
        ("0/1", "translation", "0..1", "1 0 0", "1 0 0"),
    ]);
    let rig = Rig::new(&scene, &machine, &dialect.notation);
    assert_eq!(rig.moved_nodes(0), [NodeIndex(3), MAST]);
    assert_eq!(rig.wheels_carried(0), [1]);
}

#[test]
fn wheels_below_a_moved_leg_are_carried() {
    let (scene, dialect, machine) = (scene(), house(), machine(SPREAD));
    let rig = Rig::new(&scene, &machine, &dialect.notation);
    assert_eq!(rig.wheels_carried(0), [0, 1, 2, 3]);
    assert!(rig.wheels_carried(1).is_empty());
}

#[test]
fn two_sides_that_move_20_inches_each_widen_the_track_by_40() {
    // 1 in = 25.4 mm exactly, so 20 in = 0.508 m and 40 in = 1.016 m.
    let (scene, dialect, machine) = (scene(), house(), machine(SPREAD));
    let rig = Rig::new(&scene, &machine, &dialect.notation);
    for drive in rig.drives_of(0) {
        let Travel::Distance { metres, .. } = rig.travel(drive) else {
            panic!()
        };
        assert!((metres - 20.0 * 0.0254).abs() < 1e-12);
    }
    let widths = |time| {
        rig.axles(&rig.pose(&[(0, time)]))
            .iter()
            .map(|axle| axle.width)
            .collect::<Vec<f64>>()
    };
    let (narrow, wide) = (widths(0.0), widths(2.0));
    assert_eq!(narrow.len(), 2);
    for (narrow, wide) in narrow.iter().zip(&wide) {
        assert!((narrow - 3.4).abs() < 1e-12);
        assert!((wide - narrow - 40.0 * 0.0254).abs() < 1e-12);
    }
}

#[test]
fn axles_are_found_by_place_from_front_to_back() {
    let (scene, dialect, machine) = (scene(), house(), machine(SPREAD));
    let rig = Rig::new(&scene, &machine, &dialect.notation);
    let pairs: Vec<(usize, usize)> = rig
        .axles(rig.rest())
        .iter()
        .map(|axle| (axle.left, axle.right))
        .collect();
    // Left is +x in glTF.
    assert_eq!(pairs, [(0, 3), (1, 2)]);
}

#[test]
fn a_wheel_without_one_opposite_is_no_axle() {
    let (dialect, machine) = (house(), machine(SPREAD));
    let mut lopsided = scene();
    lopsided.nodes[FRONT_LEFT.index()].rest.translation.z += 0.5;
    let rig = Rig::new(&lopsided, &machine, &dialect.notation);
    assert_eq!(rig.axles(rig.rest()).len(), 1);
}

#[test]
fn a_machine_beside_the_middle_has_axles_too() {
    let (dialect, machine) = (house(), machine(SPREAD));
    let mut aside = scene();
    aside.nodes[0].rest.translation.x = 7.0;
    let rig = Rig::new(&aside, &machine, &dialect.notation);
    assert_eq!(rig.axles(rig.rest()).len(), 2);
}

#[test]
fn overall_sizes_are_along_the_dialects_axes() {
    let (scene, dialect, machine) = (scene(), house(), machine(SPREAD));
    let rig = Rig::new(&scene, &machine, &dialect.notation);
    let size = rig.overall(rig.rest()).unwrap();
    // Wheels reach from -1.85 to 1.85 and down to -1, the lamp up to 3.2, wheels from -1.8 to 1.8.
    let expected = Overall {
        width: 3.7,
        height: 4.2,
        length: 3.6,
    };
    assert!((size.width - expected.width).abs() < 1e-9, "{size:?}");
    assert!((size.height - expected.height).abs() < 1e-9, "{size:?}");
    assert!((size.length - expected.length).abs() < 1e-9, "{size:?}");
    let wide = rig.overall(&rig.pose(&[(0, 2.0)])).unwrap();
    assert!((wide.width - size.width - 1.016).abs() < 1e-9);
}

#[test]
fn numbers_beyond_reason_give_no_size_and_no_panic() {
    let dialect = house();
    let mut huge = scene();
    huge.nodes[LEFT_LEG.index()].rest.translation.x = 1e308;
    huge.nodes[0].rest.set_scale(DVec3::splat(1e308));
    let machine = channels(&[
        ("0/0", "rotation", "0..1e300", "1e308 0 0", "-1e308 0 0"),
        ("0/1", "scale", "0..1", "0 0 0", "1e308 0 0"),
    ]);
    let rig = Rig::new(&huge, &machine, &dialect.notation);
    let pose = rig.pose(&[(0, 1e300), (0, f64::NAN), (0, f64::INFINITY)]);
    let size = rig.overall(&pose);
    assert!(size.is_none_or(|size| size.width.is_finite()), "{size:?}");
    let _ = (
        rig.axles(&pose),
        rig.counterparts(0).of(0),
        rig.counterparts(0).of(1),
        rig.moved_nodes(0),
    );
    assert!(motion::compare(&rig, &rig, &[(vec![(0, 1e300)], vec![(0, 1e300)])]).is_err());
}

#[test]
fn a_leg_mirrors_the_leg_opposite() {
    let (scene, dialect, machine) = (scene(), house(), machine(SPREAD));
    let rig = Rig::new(&scene, &machine, &dialect.notation);
    assert_eq!(
        (
            rig.counterparts(0).mirroring(0),
            rig.counterparts(0).mirroring(1)
        ),
        (Some(1), Some(0))
    );
}

#[test]
fn turns_mirror_whatever_the_parts_own_axes_are() {
    let dialect = house();
    let mut scene = scene();
    // The right leg was modelled by turning the left one round.
    scene.nodes[RIGHT_LEG.index()]
        .rest
        .set_rotation(DQuat::from_rotation_y(std::f64::consts::PI));
    let machine = channels(&[
        ("0/0", "rotation", "0..1", "0 0 0", "0 0 30"),
        ("0/1", "rotation", "0..1", "0 180 0", "0 180 30"),
    ]);
    let rig = Rig::new(&scene, &machine, &dialect.notation);
    assert_eq!(rig.counterparts(0).mirroring(0), Some(1));
}

#[test]
fn what_does_not_mirror_is_told() {
    let (scene, dialect) = (scene(), house());
    let against = |window: &str, to: &str| {
        let machine = channels(&[
            ("0/0", "translation", "0..1", "1.3 0 0", "1.8 0 0"),
            ("0/1", "translation", window, "-1.3 0 0", to),
            ("0/2", "translation", "0..1", "0 1 0", "0 2 0"),
        ]);
        let rig = Rig::new(&scene, &machine, &dialect.notation);
        (
            rig.counterparts(0).mirroring(0),
            rig.counterparts(0)
                .of(0)
                .map(|found| (found.channel, found.same_window, found.mirrors)),
        )
    };
    assert_eq!(
        against("0..1", "-1.8 0 0"),
        (Some(1), Some((1, true, true)))
    );
    assert_eq!(against("0..1", "-1.7 0 0"), (None, Some((1, true, false))));
    assert_eq!(against("0..1", "-0.8 0 0"), (None, Some((1, true, false))));
    assert_eq!(against("0..2", "-1.8 0 0"), (None, Some((1, false, true))));
}

#[test]
fn a_hundredth_of_the_way_is_near_enough_to_mirror() {
    let (scene, dialect) = (scene(), house());
    let mirrors = |to: &str| {
        let machine = channels(&[
            ("0/0", "translation", "0..1", "1.3 0 0", "1.8 0 0"),
            ("0/1", "translation", "0..1", "-1.3 0 0", to),
        ]);
        let rig = Rig::new(&scene, &machine, &dialect.notation);
        rig.counterparts(0).of(0).unwrap().mirrors
    };
    assert!(mirrors("-1.804 0 0"));
    assert!(!mirrors("-1.806 0 0"));
}

#[test]
fn parts_that_go_in_another_manner_do_not_mirror() {
    let (scene, dialect) = (scene(), house());
    let machine = machine(
        r#"<animation id="a">
        <channel target="0/0" property="translation" begin="0" end="1" from="1.3 0 0" to="1.8 0 0" easing="smooth"/>
        <channel target="0/1" property="translation" begin="0" end="1" from="-1.3 0 0" to="-1.8 0 0"/>
        </animation>"#,
    );
    let rig = Rig::new(&scene, &machine, &dialect.notation);
    assert!(!rig.counterparts(0).of(0).unwrap().mirrors);
}

#[test]
fn parts_of_different_properties_are_no_pair() {
    let (scene, dialect) = (scene(), house());
    let machine = channels(&[
        ("0/0", "translation", "0..1", "1.3 0 0", "1.8 0 0"),
        ("0/1", "rotation", "0..1", "0 0 0", "0 0 30"),
    ]);
    let rig = Rig::new(&scene, &machine, &dialect.notation);
    assert_eq!(rig.counterparts(0).of(0), None);
}

#[test]
fn parts_in_the_middle_are_a_pair_only_if_they_move_apart() {
    let dialect = house();
    let mut builder = SceneBuilder::new();
    builder.leaf(NodeParts::named("jaw.left"));
    builder.leaf(NodeParts::named("jaw.right"));
    let scene = builder.finish();
    let partner = |property: &str, one: &str, other: &str| {
        let machine = channels(&[
            ("0", property, "0..1", "0 0 0", one),
            ("1", property, "0..1", "0 0 0", other),
        ]);
        let rig = Rig::new(&scene, &machine, &dialect.notation);
        rig.counterparts(0).of(0).map(|found| found.mirrors)
    };
    assert_eq!(partner("rotation", "0 0 40", "0 0 -40"), Some(true));
    assert_eq!(partner("rotation", "0 0 40", "0 0 -30"), None);
    assert_eq!(partner("translation", "0 1 0", "0 1 0"), None);
    assert_eq!(partner("translation", "1 1 0", "-1 1 0"), Some(true));
}

#[test]
fn half_turns_to_the_same_side_do_not_mirror() {
    let (scene, dialect) = (scene(), house());
    let about_y = |degrees: &str| {
        let to = format!("0 {degrees} 0");
        let machine = channels(&[
            ("0/0", "rotation", "0..1", "0 0 0", "0 180 0"),
            ("0/1", "rotation", "0..1", "0 0 0", &to),
        ]);
        Rig::new(&scene, &machine, &dialect.notation)
            .counterparts(0)
            .mirroring(0)
    };
    assert_eq!(about_y("-180"), Some(1));
    assert_eq!(about_y("180"), None);
}

#[test]
fn contested_parts_are_found_across_animations_only() {
    let (scene, dialect) = (scene(), house());
    let machine = machine(
        r#"<animation id="a"><channel target="0/2" property="translation" begin="0" end="1" from="0 1 0" to="0 2 0"/>
                             <channel target="0/2" property="translation" begin="1" end="2" from="0 2 0" to="0 3 0"/></animation>
           <animation id="b"><channel target="0/2" property="rotation" begin="0" end="1" from="0 0 0" to="0 0 90"/></animation>
           <animation id="c"><channel target="0/2" property="rotation" begin="0" end="1" from="0 0 0" to="0 0 45"/></animation>"#,
    );
    let rig = Rig::new(&scene, &machine, &dialect.notation);
    let contested = rig.contested();
    assert_eq!(contested.len(), 1);
    let told: Vec<(usize, NodeIndex, Property)> = contested[0]
        .iter()
        .map(|drive| (drive.animation, drive.node, drive.property))
        .collect();
    assert_eq!(
        told,
        [(1, MAST, Property::Rotation), (2, MAST, Property::Rotation)]
    );
}

proptest! {
    /// Mirroring a whole pose by hand: what the left side does at x, the right side does at -x.
    #[test]
    fn a_mirrored_translation_is_always_found(x in -3.0..3.0, y in -3.0..3.0, z in -3.0..3.0) {
        let dialect = house();
        let (from, to) = (format!("{} {} {}", 1.3, y, z), format!("{} {} {}", 1.3 + x, y, z + x));
        let (from_right, to_right) = (format!("{} {} {}", -1.3, y, z), format!("{} {} {}", -1.3 - x, y, z + x));
        let machine = channels(&[
            ("0/0", "translation", "0..1", &from, &to),
            ("0/1", "translation", "0..1", &from_right, &to_right),
        ]);
        let scene = scene();
        let rig = Rig::new(&scene, &machine, &dialect.notation);
        prop_assert_eq!(rig.counterparts(0).mirroring(0), Some(1));
        prop_assert_eq!(rig.counterparts(0).mirroring(1), Some(0));
    }

    /// Mirroring across x keeps the angle about x and turns those about y and z round.
    #[test]
    fn a_mirrored_turn_is_always_found(x in -170.0..170.0_f64, y in -170.0..170.0_f64, z in -170.0..170.0_f64) {
        let dialect = house();
        let (to, to_right) = (format!("{x} {y} {z}"), format!("{x} {} {}", -y, -z));
        let machine = channels(&[
            ("0/0", "rotation", "0..1", "0 0 0", &to),
            ("0/1", "rotation", "0..1", "0 0 0", &to_right),
        ]);
        let scene = scene();
        let rig = Rig::new(&scene, &machine, &dialect.notation);
        prop_assert_eq!(rig.counterparts(0).mirroring(0), Some(1));
    }

    /// A node's world matrix is the product of the local ones down to it.
    #[test]
    fn poses_compose(time in 0.0..3.0) {
        let dialect = house();
        let machine = channels(&[
            ("0", "rotation", "0..3", "0 0 0", "10 20 400"),
            ("0/2", "translation", "1..2", "0 1 0", "3 2 1"),
            ("0/2/0", "scale", "0..2", "1 1 1", "2 0.5 1"),
        ]);
        let scene = scene();
        let rig = Rig::new(&scene, &machine, &dialect.notation);
        let pose = rig.pose(&[(0, time)]);
        for id in scene.ids() {
            let mut path: Vec<NodeIndex> = scene.upward(id).collect();
            path.reverse();
            let product = path.iter().fold(glam::DMat4::IDENTITY, |matrix, id| matrix * pose.local[id.index()]);
            prop_assert!(product.abs_diff_eq(pose.world[id.index()], 1e-9));
        }
    }

    #[test]
    fn samples_stay_between_their_ends(time in -1.0..5.0) {
        let scene = scene();
        let machine = machine(SPREAD);
        let dialect = house();
        let rig = Rig::new(&scene, &machine, &dialect.notation);
        let drive: &Drive = &rig.drives_of(0)[0];
        let Sample::Vector(value) = drive.sample(time) else { panic!() };
        prop_assert!((1.3..=1.808).contains(&value.x));
    }
}
