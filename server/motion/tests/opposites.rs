//! Pairs of motions on the left and on the right, all of an animation at once.

mod common;

use common::machine_with;
use dialect::Dialect;
use glam::DVec3;
use motion::{AtRest, Rig, opposite_nodes};
use scene::{Bounds, NodeIndex, NodeParts, Rest, Scene, SceneBuilder};

/// A body with pairs of arms one behind the other, the left one first: `0/0` and `0/1`, `0/2` and `0/3`, …
fn scene(pairs: u32) -> Scene {
    let mut builder = SceneBuilder::new();
    builder.open(NodeParts::named("body"));
    for pair in 0..pairs {
        for side in [1.0, -1.0] {
            builder.leaf(NodeParts {
                rest: Rest::at(DVec3::new(side, 0.0, f64::from(pair))),
                ..NodeParts::default()
            });
        }
    }
    builder.finish()
}

/// One animation of these channels, each `target property begin..end from to`.
fn found(
    scene: &Scene,
    rows: &[(&str, &str, &str, &str, &str)],
) -> Vec<(usize, usize, bool, bool)> {
    let rows = rows.iter().map(|(target, property, window, from, to)| {
        let (begin, end) = window.split_once("..").unwrap();
        format!(
            r#"<channel target="{target}" property="{property}" begin="{begin}" end="{end}" from="{from}" to="{to}"/>"#
        )
    });
    let machine = machine_with(&format!(
        r#"<animations><animation id="a">{}</animation></animations>"#,
        rows.collect::<String>()
    ));
    let dialect = Dialect::house();
    let rig = Rig::new(scene, &machine, &dialect.notation);
    let mut nodes: Vec<NodeIndex> = rig.drives_of(0).iter().map(|drive| drive.node).collect();
    nodes.dedup();
    opposite_nodes(scene, &dialect.notation, &AtRest::default(), &nodes)
        .into_iter()
        .flat_map(|(left, right)| rig.opposite_drives(0, left, right))
        .map(|(left, right)| rig.compared(left, right))
        .map(|pair| {
            (
                pair.left.channel,
                pair.right.channel,
                pair.mirror,
                pair.steer,
            )
        })
        .collect()
}

#[test]
fn each_motion_meets_the_one_of_its_window_on_the_part_opposite() {
    let rows = [
        ("0/2", "translation", "0..1", "1 0 1", "2 0 1"),
        ("0/1", "translation", "1..2", "-2 0 0", "-2 1 0"),
        ("0/0", "translation", "0..1", "1 0 0", "2 0 0"),
        ("0/1", "translation", "0..1", "-1 0 0", "-2 0 0"),
        ("0/0", "translation", "1..2", "2 0 0", "2 0.5 0"),
        ("0/3", "translation", "0..2", "-1 0 1", "-2 0 1"),
        ("0/0", "visibility", "0..1", "true", "false"),
        ("0/1", "visibility", "0..1", "true", "false"),
    ];
    assert_eq!(
        found(&scene(2), &rows),
        [
            (2, 3, true, false),
            (4, 1, false, false),
            (6, 7, true, false)
        ]
    );
}

#[test]
fn wheels_that_steer_turn_alike() {
    let both = |to: &str| {
        let rows = [
            ("0/0", "rotation", "0..1", "0 0 0", to),
            ("0/1", "rotation", "0..1", "0 0 0", to),
        ];
        found(&scene(1), &rows)
    };
    assert_eq!(both("0 30 0"), [(0, 1, false, true)]);
    assert_eq!(both("0 0 30"), [(0, 1, false, false)]);
    // About the axis across, mirrored is the same way.
    assert_eq!(both("30 0 0"), [(0, 1, true, false)]);
}

#[test]
fn parts_whose_origins_say_nothing_are_paired_by_their_meshes() {
    let mut scene = scene(1);
    for (node, side) in [(1, 1.0), (2, -1.0)] {
        let middle = DVec3::new(2.0 * side, 1.0, 0.0);
        scene.nodes[node].rest = Rest::at(DVec3::ZERO);
        scene.nodes[node].bounds = Bounds::new(middle - 0.2, middle + 0.2).map(Box::new);
    }
    let rows = [
        ("0/0", "translation", "0..1", "0 0 0", "1 0 0"),
        ("0/1", "translation", "0..1", "0 0 0", "-1 0 0"),
    ];
    assert_eq!(found(&scene, &rows), [(0, 1, true, false)]);
}

#[test]
fn the_same_pairs_as_one_by_one() {
    let scene = scene(4);
    let places = ["0/0", "0/1", "0/2", "0/3", "0/4", "0/5", "0/6", "0/7"];
    let ends: Vec<String> = (0..8)
        .map(|node| {
            format!(
                "{} 0 {}",
                if node % 2 == 0 { 2 } else { -2 },
                if node < 6 { 0 } else { node }
            )
        })
        .collect();
    let rows: Vec<(&str, &str, &str, &str, &str)> = places
        .iter()
        .zip(&ends)
        .map(|(place, to)| (*place, "translation", "0..1", "0 0 0", to.as_str()))
        .collect();
    let channels: String = rows
        .iter()
        .map(|(target, property, _, from, to)| {
            format!(r#"<channel target="{target}" property="{property}" begin="0" end="1" from="{from}" to="{to}"/>"#)
        })
        .collect();
    let machine = machine_with(&format!(
        r#"<animations><animation id="a">{channels}</animation></animations>"#
    ));
    let dialect = Dialect::house();
    let rig = Rig::new(&scene, &machine, &dialect.notation);
    for (left, right, mirror, _) in found(&scene, &rows) {
        let one = rig.counterparts(0).of(left).unwrap();
        assert_eq!((one.channel, one.mirrors), (right, mirror));
    }
    assert_eq!(found(&scene, &rows).len(), 4);
}

#[test]
fn many_parts_take_little_time() {
    let scene = scene(5_000);
    let places: Vec<String> = (0..10_000).map(|node| format!("0/{node}")).collect();
    let rows: Vec<(&str, &str, &str, &str, &str)> = places
        .iter()
        .map(|place| (place.as_str(), "translation", "0..1", "0 0 0", "0 1 0"))
        .collect();
    // Compared each with each these would be fifty million pairs.
    assert_eq!(found(&scene, &rows).len(), 5_000);
}
