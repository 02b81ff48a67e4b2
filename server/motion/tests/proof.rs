//! Whether a changed definition moves the scene as the one before did.

mod common;

use common::machine_with;
use dialect::Dialect;
use glam::DVec3;
use machine::Machine;
use motion::{Difference, Mismatch, Moment, Rig, compare};
use scene::{NodeIndex, NodeParts, Rest, Scene, SceneBuilder};

fn scene() -> Scene {
    let mut builder = SceneBuilder::new();
    builder.open(NodeParts::named("body"));
    builder.leaf(NodeParts::named("leg"));
    builder.open(NodeParts {
        rest: Rest::at(DVec3::Y),
        ..NodeParts::named("mast")
    });
    builder.leaf(NodeParts {
        rest: Rest::at(DVec3::Y),
        ..NodeParts::named("lamp")
    });
    builder.finish()
}

fn machine(animations: &str) -> Machine {
    machine_with(&format!("<animations>{animations}</animations>"))
}

const LEG: &str =
    r#"<channel target="0/0" property="translation" begin="2" end="4" from="0 0 0" to="0.5 0 0"/>"#;
const MAST: &str =
    r#"<channel target="0/1" property="rotation" begin="0" end="6" from="0 0 0" to="0 0 30"/>"#;

fn both() -> Machine {
    machine(&format!(
        r#"<animation id="raise" duration="6">{MAST}{LEG}</animation>"#
    ))
}

/// The worst difference at the start of animations and at their end, six seconds later at most.
fn verdict(after: &Machine, animations: &[usize]) -> Result<Difference, Mismatch> {
    let (scene, dialect, before) = (scene(), Dialect::house(), both());
    let before = Rig::new(&scene, &before, &dialect.notation);
    let after = Rig::new(&scene, after, &dialect.notation);
    let at = |animations: &[usize], part: f64| -> Moment {
        let ends = animations.iter().map(|at| (*at, 6.0 * part));
        ends.collect()
    };
    let ends = [0.0, 1.0].map(|part| (at(&[0], part), at(animations, part)));
    compare(&before, &after, &ends)
}

#[test]
fn a_channel_moved_to_an_animation_of_its_own_keeps_the_ends() {
    let after = machine(&format!(
        r#"<animation id="raise" duration="6">{MAST}</animation><animation id="spread" duration="2">{}</animation>"#,
        LEG.replace("begin=\"2\" end=\"4\"", "begin=\"0\" end=\"2\"")
    ));
    let difference = verdict(&after, &[0, 1]).unwrap();
    assert!(difference.metres < 1e-9, "{difference:?}");
    assert!(difference.degrees < 1e-9, "{difference:?}");
    assert!(difference.scale < 1e-9, "{difference:?}");
}

#[test]
fn a_lost_channel_is_seen_with_its_node() {
    let after = machine(&format!(
        r#"<animation id="raise" duration="6">{MAST}</animation>"#
    ));
    let difference = verdict(&after, &[0]).unwrap();
    assert_eq!(
        (difference.metres, difference.node),
        (0.5, Some(NodeIndex(1)))
    );
}

#[test]
fn another_angle_is_seen_in_degrees() {
    let after = machine(&format!(
        r#"<animation id="raise" duration="6">{LEG}{}</animation>"#,
        MAST.replace("0 0 30", "0 0 31")
    ));
    let difference = verdict(&after, &[0]).unwrap();
    assert!((difference.degrees - 1.0).abs() < 1e-9, "{difference:?}");
    // The lamp, a metre up the mast, swings along.
    assert!((difference.metres - 2.0 * libm::sin(0.5_f64.to_radians())).abs() < 1e-9);
    assert_eq!(difference.node, Some(NodeIndex(3)));
}

#[test]
fn another_scale_is_seen() {
    let after = machine(&format!(
        r#"<animation id="raise" duration="6">{LEG}{MAST}<channel target="0/0" property="scale" begin="0" end="1" from="1 1 1" to="1 0.8 1"/></animation>"#
    ));
    assert!((verdict(&after, &[0]).unwrap().scale - 0.2).abs() < 1e-12);
}

#[test]
fn a_node_that_vanishes_is_no_number() {
    let after = machine(&format!(
        r#"<animation id="raise" duration="6">{LEG}{MAST}<channel target="0/0" property="visibility" begin="0" end="1" from="true" to="false"/></animation>"#
    ));
    assert_eq!(
        verdict(&after, &[0]),
        Err(Mismatch::Visibility(NodeIndex(1)))
    );
}

#[test]
fn where_nothing_differs_no_node_is_far_from_its_place() {
    assert_eq!(verdict(&both(), &[0]), Ok(Difference::default()));
}

#[test]
fn lengths_of_axes_differ_in_relation_to_the_longer_one() {
    let scaled = |factor: &str| {
        machine(&format!(
            r#"<animation id="a"><channel target="0/1" property="scale" begin="0" end="1" from="{factor}" to="{factor}"/></animation>"#
        ))
    };
    let (scene, dialect) = (scene(), Dialect::house());
    let (one, other) = (scaled("2 2 2"), scaled("4 4 4"));
    let [one, other] = [&one, &other].map(|machine| Rig::new(&scene, machine, &dialect.notation));
    let moment: Moment = vec![(0, 0.5)];
    let differ = compare(&one, &other, &[(moment.clone(), moment)]).unwrap();
    assert!((differ.scale - 0.5).abs() < 1e-12, "{differ:?}");
}

#[test]
fn animations_that_are_not_there_are_told() {
    assert_eq!(verdict(&both(), &[0, 3]), Err(Mismatch::NoSuchAnimation(3)));
}

#[test]
fn other_scenes_cannot_be_compared() {
    let (one, dialect, machine) = (scene(), Dialect::house(), both());
    let mut builder = SceneBuilder::new();
    builder.leaf(NodeParts::named("body"));
    let other = builder.finish();
    let (before, after) = (
        Rig::new(&one, &machine, &dialect.notation),
        Rig::new(&other, &machine, &dialect.notation),
    );
    assert_eq!(compare(&before, &after, &[]), Err(Mismatch::OtherScene));
}
