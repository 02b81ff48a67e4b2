//! How many moments of a motion are looked at, and how far outside of them something may get: worked by hand from what the
//! module `sampling` says, at an arm in the origin with a tip 2 m in front of it.

mod common;

use std::f64::consts::{FRAC_PI_2, FRAC_PI_4, PI};

use common::machine_with;
use dialect::{Dialect, Notation};
use glam::{DQuat, DVec3};
use motion::{Rig, Sweep};
use scene::{Bounds, NodeParts, Rest, Scene, SceneBuilder};

const QUARTER: &str =
    r#"<channel target="0" property="rotation" begin="0" end="1" from="0 0 0" to="90 0 0"/>"#;

/// Nodes, each on the one before it.
fn chain(nodes: impl IntoIterator<Item = NodeParts>) -> Scene {
    let mut scene = SceneBuilder::new();
    for node in nodes {
        scene.open(node);
    }
    scene.finish()
}

fn at(z: f64) -> NodeParts {
    NodeParts {
        rest: Rest::at(DVec3::Z * z),
        ..NodeParts::default()
    }
}

fn smooth(channels: &str) -> String {
    channels.replace("/>", r#" easing="smooth"/>"#)
}

fn notation() -> Notation {
    Dialect::house().notation.clone()
}

fn sweep_of(scene: &Scene, channels: &str) -> Sweep {
    let machine = machine_with(&format!(
        r#"<animations><animation id="a">{channels}</animation></animations>"#
    ));
    Rig::new(scene, &machine, &notation()).sweep(0)
}

fn sweep(channels: &str) -> Sweep {
    sweep_of(&chain([at(0.0), at(2.0)]), channels)
}

/// The error of a motion that lasts so long and has this greatest acceleration (m/s²): so many moments that it is below
/// 0.1 mm, but 16 at least and 720 at most.
#[track_caller]
fn assert_bound(sweep: &Sweep, acceleration: f64, lasts: f64) {
    let steps = lasts * (acceleration / 8e-4).sqrt();
    // A whole number of steps errs by 0.1 mm, whichever number it is.
    assert!(acceleration == 0.0 || steps > 720.0 || steps.fract() > 0.01);
    let step = lasts / steps.ceil().clamp(16.0, 720.0);
    let expected = acceleration * step * step / 8.0;
    let found = sweep.swept[0].error;
    assert!((found - expected).abs() < 1e-12, "{found}, not {expected}");
}

#[test]
fn a_steady_turn_errs_by_the_square_of_its_speed() {
    let swept = sweep(QUARTER);
    assert_bound(&swept, FRAC_PI_2 * FRAC_PI_2 * 2.0, 1.0);
    // 79 steps of a 79th second, 4.9348 m/s².
    assert!((swept.swept[0].error - 9.8838e-5).abs() < 1e-9);
    assert_eq!(swept.moments, 81);
}

#[test]
fn a_smooth_turn_is_faster_half_way_and_changes_its_speed() {
    let smooth = smooth(QUARTER);
    let (speed, change) = (1.5 * FRAC_PI_2, 6.0 * FRAC_PI_2);
    let acceleration = speed * speed * 2.0 + change * 2.0;
    assert_bound(&sweep(&smooth), acceleration, 1.0);
    let slow = smooth.replace(r#"end="1""#, r#"end="3""#);
    let acceleration = speed * speed / 9.0 * 2.0 + change / 9.0 * 2.0;
    assert_bound(&sweep(&slow), acceleration, 3.0);
}

#[test]
fn three_angles_turn_as_fast_as_their_sum_whatever_their_signs() {
    let turn = QUARTER.replace("90 0 0", "-10 20 -60");
    assert_bound(&sweep(&turn), FRAC_PI_2 * FRAC_PI_2 * 2.0, 1.0);
}

#[test]
fn a_straight_way_errs_only_where_its_speed_changes() {
    let steady = r#"<channel target="0" property="translation" begin="0" end="2" from="0 0 0" to="0 -2 0"/>"#;
    assert_bound(&sweep(steady), 0.0, 2.0);
    assert_bound(&sweep(&smooth(steady)), 2.0 * 6.0 / 4.0, 2.0);
}

#[test]
fn a_way_in_a_node_that_is_scaled_is_as_long_as_in_the_scene() {
    let smooth = r#"<channel target="0/0" property="translation" begin="0" end="1" from="0 0 2" to="0 0 4" easing="smooth"/>"#;
    let scaled = NodeParts {
        rest: Rest::of(DVec3::ZERO, DQuat::IDENTITY, DVec3::splat(3.0)),
        ..NodeParts::default()
    };
    let swept = sweep_of(&chain([scaled, at(2.0)]), smooth);
    assert_bound(&swept, 3.0 * 2.0 * 6.0, 1.0);
}

#[test]
fn growing_counts_as_its_fastest_factor() {
    let grow =
        r#"<channel target="0" property="scale" begin="0" end="1" from="1 4.03 1" to="2 1 1"/>"#;
    assert_bound(&sweep(grow), 3.03 * 3.03 * 2.0, 1.0);
}

#[test]
fn what_moves_on_what_turns_errs_by_both_at_its_farthest() {
    let out = r#"<channel target="0/0" property="translation" begin="0" end="1" from="0 0 2" to="0 0 4"/>"#;
    let back = r#"<channel target="0/0" property="translation" begin="1" end="2" from="0 0 4" to="0 0 2"/>"#;
    let acceleration = |speed: f64| speed * speed * 4.0 + 2.0 * speed * 2.0;
    let swept = sweep(&format!("{QUARTER}{out}"));
    assert_bound(&swept, acceleration(FRAC_PI_2), 1.0);
    // It is farthest half way.
    let turn = QUARTER.replace(r#"end="1""#, r#"end="2""#);
    let swept = sweep(&format!("{turn}{out}{back}"));
    assert_bound(&swept, acceleration(FRAC_PI_4), 2.0);
}

#[test]
fn motions_that_follow_each_other_do_not_add_up() {
    let then =
        r#"<channel target="0" property="rotation" begin="1" end="2" from="90 0 0" to="45 0 0"/>"#;
    let turns = format!("{QUARTER}{then}");
    assert_bound(&sweep(&turns), FRAC_PI_2 * FRAC_PI_2 * 2.0, 2.0);
    let speed = 1.5 * FRAC_PI_2;
    let acceleration = speed * speed * 2.0 + 6.0 * FRAC_PI_2 * 2.0;
    assert_bound(&sweep(&smooth(&turns)), acceleration, 2.0);
    let up =
        r#"<channel target="0" property="translation" begin="0" end="1" from="0 0 0" to="0 2 0"/>"#;
    let down =
        r#"<channel target="0" property="translation" begin="1" end="2" from="0 2 0" to="0 1 0"/>"#;
    let ways = format!("{up}{down}");
    assert_bound(&sweep(&smooth(&ways)), 6.0 * 2.0, 2.0);
    let turned = QUARTER.replace(r#"end="1""#, r#"end="2""#);
    let acceleration = FRAC_PI_4 * FRAC_PI_4 * 2.0 + 2.0 * FRAC_PI_4 * 2.0;
    assert_bound(&sweep(&format!("{turned}{ways}")), acceleration, 2.0);
}

/// Each motion along axes of its own, or (`None`) all along all.
fn sweep_along(axes: [Option<[bool; 3]>; 2], channels: [&str; 2], others: &str) -> Sweep {
    let channels = channels.concat() + others;
    let mut machine = machine_with(&format!(
        r#"<animations><animation id="a">{channels}</animation></animations>"#
    ));
    for (channel, axes) in machine.animations[0].channels.iter_mut().zip(axes) {
        channel.motions[0].axes = axes;
    }
    let scene = chain([at(0.0), at(2.0)]);
    Rig::new(&scene, &machine, &notation()).sweep(0)
}

const APART: [Option<[bool; 3]>; 2] = [Some([true, false, false]), Some([false, true, false])];

#[test]
fn turns_about_different_axes_add_up() {
    let half = QUARTER.replace("90 0 0", "0 45 0");
    let speed = FRAC_PI_2 + FRAC_PI_4;
    let apart = sweep_along(APART, [QUARTER, &half], "");
    assert_bound(&apart, speed * speed * 2.0, 1.0);
    let same = sweep_along([None, None], [QUARTER, &half], "");
    assert_bound(&same, FRAC_PI_2 * FRAC_PI_2 * 2.0, 1.0);
    let smoothly = sweep_along(APART, [&smooth(QUARTER), &smooth(&half)], "");
    let acceleration = 1.5 * speed * 1.5 * speed * 2.0 + 6.0 * speed * 2.0;
    assert_bound(&smoothly, acceleration, 1.0);
}

#[test]
fn ways_along_different_axes_add_up() {
    let ways = ["2 0 0", "0 1.1 0"].map(|to| {
        format!(
            r#"<channel target="0" property="translation" begin="0" end="1" from="0 0 0" to="{to}"/>"#
        )
    });
    let smoothly = ways.each_ref().map(|way| smooth(way));
    let apart = sweep_along(APART, smoothly.each_ref().map(|way| &**way), "");
    assert_bound(&apart, 6.0 * 3.1, 1.0);
    let turned = sweep_along(APART, ways.each_ref().map(|way| &**way), QUARTER);
    let acceleration = FRAC_PI_2 * FRAC_PI_2 * 2.0 + 2.0 * FRAC_PI_2 * 3.1;
    assert_bound(&turned, acceleration, 1.0);
}

#[test]
fn turns_on_turns_add_up_and_reach_from_the_topmost() {
    let inner = QUARTER.replace(r#"target="0""#, r#"target="0/0""#);
    let scene = chain([at(1.0), at(3.0), at(2.0)]);
    let both = sweep_of(&scene, &format!("{QUARTER}{inner}"));
    assert_bound(&both, PI * PI * 5.0, 1.0);
    // What hangs back, and turns, hangs on something that is farther out.
    let tip = QUARTER.replace(r#"target="0""#, r#"target="0/0/0""#);
    let hangs_back = chain([at(1.0), at(3.0), at(-2.0)]);
    let swept = sweep_of(&hangs_back, &format!("{QUARTER}{tip}"));
    assert_bound(&swept, PI * PI * 3.0, 1.0);
}

#[test]
fn what_only_moves_is_no_end_of_the_reach() {
    let inner = QUARTER.replace(r#"target="0""#, r#"target="0/0""#);
    let outer =
        r#"<channel target="0" property="translation" begin="0" end="1" from="0 0 1" to="0 0 2"/>"#;
    let swept = sweep_of(
        &chain([at(1.0), at(3.0), at(2.0)]),
        &format!("{outer}{inner}"),
    );
    let acceleration = FRAC_PI_2 * FRAC_PI_2 * 2.0 + 2.0 * FRAC_PI_2;
    assert_bound(&swept, acceleration, 1.0);
}

#[test]
fn ways_on_ways_add_up() {
    let way = |target: &str, z: f64| {
        let to = z + 1.0;
        format!(
            r#"<channel target="{target}" property="translation" begin="0" end="1" from="0 0 {z}" to="0 0 {to}"/>"#
        )
    };
    let ways = way("0", 0.0) + &way("0/0", 2.0);
    assert_bound(&sweep(&smooth(&ways)), 6.0 * 2.0, 1.0);
    let acceleration = FRAC_PI_2 * FRAC_PI_2 * 3.0 + 2.0 * FRAC_PI_2 * 2.0;
    assert_bound(&sweep(&format!("{QUARTER}{ways}")), acceleration, 1.0);
}

/// The box of a mesh that is turned by 45 degrees reaches farther than at both ends: to x = 1, y = √2, z = √8.
#[test]
fn a_mesh_reaches_as_far_as_its_box_at_the_ends_and_half_way() {
    let corner = DVec3::new(1.0, 2.0, 2.0);
    for (min, max) in [(DVec3::ZERO, corner), (-corner, DVec3::ZERO)] {
        let mesh = NodeParts {
            bounds: Bounds::new(min, max),
            ..at(5.0)
        };
        let swept = sweep_of(&chain([mesh]), QUARTER);
        assert_bound(&swept, FRAC_PI_2 * FRAC_PI_2 * 11_f64.sqrt(), 1.0);
    }
}

#[test]
fn what_jumps_is_exact_at_every_moment() {
    let step = QUARTER.replace("/>", r#" easing="step"/>"#);
    assert_bound(&sweep(&step), 0.0, 1.0);
    let at_once = QUARTER.replace(r#"end="1""#, r#"end="0""#);
    let long = at_once.clone() + &at_once.replace("0\" end=\"0\"", "2\" end=\"2\"");
    assert_bound(&sweep(&long), 0.0, 2.0);
}

#[test]
fn the_moments_are_some_evenly_and_both_sides_of_each_edge() {
    let moments = |begin: &str, end: &str| {
        let channel = format!(
            r#"<animations><animation id="a" duration="1"><channel target="0" property="translation" begin="{begin}" end="{end}" from="0 0 0" to="0 1 0"/></animation></animations>"#
        );
        let scene = chain([at(0.0)]);
        let machine = machine_with(&channel);
        Rig::new(&scene, &machine, &notation()).sweep(0).moments
    };
    // Of 16 steps.
    assert_eq!(moments("0.3", "0.7"), 17 + 4);
    // The start is a moment already, and there is nothing before it; the end is one, and a jump may come before it.
    assert_eq!(moments("0", "1"), 17 + 1);
    // Nothing is looked at behind the end.
    assert_eq!(moments("0", "2"), 17);
}

#[test]
fn what_is_too_fast_is_looked_at_720_times() {
    let fast = QUARTER.replace("90 0 0", "36000 0 0");
    let swept = sweep(&fast);
    assert_eq!(swept.moments, 722);
    assert_bound(&swept, (200.0 * PI).powi(2) * 2.0, 1.0);
    let beyond_reason = QUARTER.replace("90 0 0", "1e200 0 0");
    assert_eq!(sweep(&beyond_reason).moments, 722);
}
