//! What is measured of a machine and what is left out: clearances, widths, axles, and where it fits.

mod common;

use common::machine_with;
use dialect::{Dialect, Notation};
use glam::DVec3;
use machine::Machine;
use motion::{Asked, Fit, Rig};
use scene::{Bounds, NodeParts, Rest, Scene, SceneBuilder};

/// Parts of a scene, all of them roots: where each stands, and the half size of its mesh; 0: it has none.
fn scene(parts: &[([f64; 3], f64)]) -> Scene {
    let mut scene = SceneBuilder::new();
    for (place, half) in parts {
        scene.leaf(part(*place, *half));
    }
    scene.finish()
}

fn part(place: [f64; 3], half: f64) -> NodeParts {
    let bounds = Bounds::new(DVec3::splat(-half), DVec3::splat(half));
    NodeParts {
        rest: Rest::at(DVec3::from_array(place)),
        bounds: bounds.filter(|_| half > 0.0),
        ..NodeParts::default()
    }
}

/// Wheels of these nodes.
fn wheels(nodes: &[&str]) -> String {
    let wheel =
        |node: &&str| format!(r#"<wheel id="{node}" node="{node}" radius="0.5" width="0.3"/>"#);
    let all: String = nodes.iter().map(wheel).collect();
    format!("<wheels>{all}</wheels>")
}

/// A lever whose animation moves these nodes up by a metre, from where they stand.
fn lift(moved: &[(&str, [f64; 3])]) -> String {
    let channel = |(node, [x, y, z]): &(&str, [f64; 3])| {
        format!(
            r#"<channel target="{node}" property="translation" begin="0" end="1" from="{x} {y} {z}" to="{x} {} {z}"/>"#,
            y + 1.0
        )
    };
    let channels: String = moved.iter().map(channel).collect();
    format!(
        r#"<animations><animation id="lift">{channels}</animation></animations>
        <controls><lever animation="lift" input="pointer.x"/></controls>"#
    )
}

fn notation() -> Notation {
    Dialect::house().notation.clone()
}

fn fit(scene: &Scene, machine: &Machine, asked: Asked) -> Fit {
    let notation = notation();
    Rig::new(scene, machine, &notation).fit(0, asked).unwrap()
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-9
}

#[test]
fn wheels_what_hangs_on_them_and_what_is_hidden_do_not_lessen_the_ground_clearance() {
    let mut builder = SceneBuilder::new();
    builder.leaf(part([0.0, 2.0, 0.0], 0.5));
    builder.open(part([1.0, 0.5, 0.0], 0.5));
    builder.leaf(part([0.0, -0.3, 0.0], 0.1));
    builder.close();
    let mut hidden = part([0.0, 0.4, 0.0], 0.1);
    hidden.rest.visible = Some(false);
    builder.leaf(hidden);
    let (scene, machine, notation) = (builder.finish(), machine_with(&wheels(&["1"])), notation());
    let clearance = Rig::new(&scene, &machine, &notation)
        .report()
        .rest
        .clearance;
    let clearance = clearance.unwrap();
    assert_eq!(clearance.node, scene.roots[0]);
    assert!(near(clearance.height, 1.5), "{clearance:?}");
}

#[test]
fn of_several_parts_on_a_side_the_innermost_bounds_the_room_between_the_sides() {
    let places = [2.0, 3.0, -2.0, -3.0].map(|x| [x, 0.0, 0.0]);
    let scene = scene(&places.map(|place| (place, 0.5)));
    let names = ["0", "1", "2", "3"];
    let moved: Vec<_> = names.into_iter().zip(places).collect();
    let found = fit(&scene, &machine_with(&lift(&moved)), Asked::default());
    assert!(near(found.ends[0].0.unwrap(), 3.0), "{found:?}");
}

#[test]
fn parts_that_touch_the_middle_stand_on_a_side() {
    let places = [1.0, -1.0].map(|x| [x, 0.0, 0.0]);
    let scene = scene(&places.map(|place| (place, 1.0)));
    let machine = machine_with(&lift(&[("0", places[0]), ("1", places[1])]));
    let found = fit(&scene, &machine, Asked::default());
    assert_eq!(found.ends[0].0, Some(0.0));
}

#[test]
fn the_middle_is_between_the_wheels_wherever_these_stand() {
    let places = [6.0, 8.0, 4.0, 10.0].map(|x| [x, 0.5, 0.0]);
    let halves = [0.5, 0.5, 0.0, 0.0];
    let parts: Vec<_> = places.into_iter().zip(halves).collect();
    let sections = wheels(&["2", "3"]) + &lift(&[("0", places[0]), ("1", places[1])]);
    let found = fit(&scene(&parts), &machine_with(&sections), Asked::default());
    assert!(near(found.ends[0].0.unwrap(), 1.0), "{found:?}");
}

#[test]
fn the_noise_of_computing_keeps_nothing_from_fitting() {
    let places = [1.0, -1.0].map(|x| [x, 0.5, 0.0]);
    let scene = scene(&places.map(|place| (place, 0.0)));
    let machine = machine_with(&(wheels(&["0", "1"]) + &lift(&[("0", places[0])])));
    let fits = |between, outer| {
        !fit(&scene, &machine, Asked { between, outer })
            .fits
            .is_empty()
    };
    assert!(fits(Some(1.7 + 5e-10), None) && !fits(Some(1.7 + 5e-9), None));
    assert!(fits(None, Some(2.3 - 5e-10)) && !fits(None, Some(2.3 - 5e-9)));
}

#[test]
fn of_settings_that_are_as_good_the_first_one_is_the_best() {
    let places = [1.0, -1.0].map(|x| [x, 0.5, 0.0]);
    let scene = scene(&places.map(|place| (place, 0.0)));
    let machine = machine_with(&(wheels(&["0", "1"]) + &lift(&[("0", places[0])])));
    let found = fit(&scene, &machine, Asked::default());
    assert_eq!(found.widest_clearance.unwrap().at, 0.0);
    assert_eq!(found.least_width.unwrap().at, 0.0);
}

/// The pairs of wheels at rest, left and right, of wheels at these places.
fn axles(places: &[(f64, f64)]) -> Vec<(usize, usize)> {
    let parts: Vec<_> = places.iter().map(|(x, z)| ([*x, 0.5, *z], 0.0)).collect();
    let nodes: Vec<String> = (0..parts.len()).map(|node| node.to_string()).collect();
    let nodes: Vec<&str> = nodes.iter().map(String::as_str).collect();
    let (scene, machine, notation) = (scene(&parts), machine_with(&wheels(&nodes)), notation());
    let rig = Rig::new(&scene, &machine, &notation);
    let axles = rig.axles(rig.rest()).into_iter();
    axles.map(|axle| (axle.left, axle.right)).collect()
}

#[test]
fn twin_wheels_pair_outer_with_outer() {
    let twins = [(1.30, 0.0), (1.26, 0.0), (-1.26, 0.0), (-1.30, 0.0)];
    let mut pairs = axles(&twins);
    pairs.sort_unstable();
    assert_eq!(pairs, [(0, 3), (1, 2)]);
}

#[test]
fn a_wheel_has_one_opposite_at_most() {
    assert_eq!(axles(&[(1.30, 0.0), (1.26, 0.0), (-1.26, 0.0)]), [(1, 2)]);
}

#[test]
fn axles_go_from_front_to_back_whatever_the_order_of_the_wheels() {
    let rear_first = [(1.0, -2.0), (-1.0, -2.0), (1.0, 2.0), (-1.0, 2.0)];
    assert_eq!(axles(&rear_first), [(2, 3), (0, 1)]);
}

#[test]
fn more_than_a_thousand_wheels_have_no_axles() {
    let wheels = |count: u32| -> Vec<(f64, f64)> {
        let side = |at: u32| if at.is_multiple_of(2) { 1.0 } else { -1.0 };
        (0..count).map(|at| (side(at), f64::from(at / 2))).collect()
    };
    assert_eq!(axles(&wheels(1_000)).len(), 500);
    assert!(axles(&wheels(1_002)).is_empty());
}

#[test]
fn a_control_is_no_faster_than_its_rate() {
    let lever =
        r#"<controls><lever animation="lift" input="pointer.x" gain="-2" rate="0.5"/></controls>"#;
    let machine = machine_with(lever);
    assert_eq!(motion::speed(&machine.controls[0]), Some(0.5));
}

#[test]
fn a_length_below_nothing_is_none() {
    let machine = machine_with(r#"<animations><animation id="a" duration="-1"/></animations>"#);
    let (scene, notation) = (Scene::default(), notation());
    assert_eq!(Rig::new(&scene, &machine, &notation).length(0), 0.0);
}

#[test]
fn a_box_reaches_as_far_as_the_moment_before_a_jump() {
    let jump = r#"<animations><animation id="a" duration="2.1">
        <channel target="0" property="translation" begin="0" end="1" from="0 0 0" to="5 0 0"/>
        <channel target="0" property="translation" begin="1" end="2" from="1 0 0" to="2 0 0"/>
        </animation></animations>"#;
    let (scene, machine, notation) = (scene(&[([0.0; 3], 0.5)]), machine_with(jump), notation());
    let swept = Rig::new(&scene, &machine, &notation).sweep(0).swept;
    let most = swept[0].bounds.unwrap().max.x;
    assert!(near(most, 5.5), "{most}");
}

#[test]
fn what_stands_behind_a_moved_node_in_the_scene_is_not_carried_by_it() {
    let places = [1.0, -1.0].map(|x| [x, 0.5, 0.0]);
    let (scene, notation) = (scene(&places.map(|place| (place, 0.0))), notation());
    let machine = machine_with(&(wheels(&["0", "1"]) + &lift(&[("0", places[0])])));
    assert_eq!(Rig::new(&scene, &machine, &notation).wheels_carried(0), [0]);
}
