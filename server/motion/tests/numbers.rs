//! The numbers of a report: worked examples, and what must hold of any.

mod common;

use std::f64::consts::{FRAC_1_SQRT_2, SQRT_2};
use std::io::Write as _;

use common::machine_with;
use dialect::{Dialect, Notation, read_length};
use glam::{DQuat, DVec3};
use machine::Machine;
use motion::{Asked, Rig, Setting, Travel};
use scene::{Bounds, NodeParts, Rest, Scene, SceneBuilder};

fn around(half: f64) -> Option<Bounds> {
    Bounds::new(DVec3::splat(-half), DVec3::splat(half))
}

/// A frame 1 m wide at height 2, two legs of 0.2 m at ±1 m with a wheel each at height 0.5, and an arm with a tip 2 m out.
fn scene() -> Scene {
    let mut scene = SceneBuilder::new();
    let node = |name: &str, at: [f64; 3], bounds| NodeParts {
        rest: Rest::at(DVec3::from_array(at)),
        bounds,
        ..NodeParts::named(name)
    };
    scene.open(node("frame", [0.0, 2.0, 0.0], around(0.5)));
    for (leg, wheel, x) in [("leg.l", "wheel.l", 1.0), ("leg.r", "wheel.r", -1.0)] {
        scene.open(node(leg, [x, 0.0, 0.0], around(0.1)));
        scene.open(node(wheel, [0.0, -1.5, 0.0], None));
        scene.close();
        scene.close();
    }
    scene.open(node("arm", [0.0, 1.0, 0.0], None));
    scene.open(node(
        "tip",
        [0.0, 0.0, 2.0],
        Bounds::new(DVec3::ZERO, DVec3::ZERO),
    ));
    scene.close();
    scene.close();
    scene.close();
    scene.finish()
}

fn machine(motion: &str) -> Machine {
    machine_with(&format!(
        r#"<wheels><wheel id="l" node="0/0/0" radius="0.5" width="0.3"/><wheel id="r" node="0/1/0" radius="0.5" width="0.3"/></wheels>
        {motion}"#
    ))
}

/// Each leg goes `by` metres outwards in 2 seconds.
fn spread(by: f64) -> Machine {
    machine(&format!(
        r#"<animations><animation id="spread">
        <channel target="0/0" property="translation" begin="0" end="2" from="1 0 0" to="{} 0 0"/>
        <channel target="0/1" property="translation" begin="0" end="2" from="-1 0 0" to="-{} 0 0"/>
        </animation></animations>
        <controls><lever animation="spread" input="pointer.x" gain="0.5" rate="1"/>
        <switch animation="spread" input="button.open" rate="4"/></controls>"#,
        1.0 + by,
        1.0 + by
    ))
}

fn notation() -> Notation {
    Dialect::house().notation.clone()
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-9
}

/// Common practice: both sides count. Two sides that move 20 in (0.508 m: 1 in is 25.4 mm by definition) each
/// widen the track by 40 in (1.016 m).
#[test]
fn both_sides_widen_the_track() {
    let by = read_length("20in").unwrap();
    let (scene, machine, notation) = (scene(), spread(by), notation());
    let rig = Rig::new(&scene, &machine, &notation);
    let tracks = rig.tracks(0);
    let [track] = &tracks[..] else {
        panic!("{tracks:?}")
    };
    assert!(near(track.start, 2.0));
    assert!(
        near(track.end - track.start, read_length("40in").unwrap()),
        "{track:?}"
    );
    assert!(near(track.least, track.start) && near(track.most, track.end));
    assert_eq!(track.error, 0.0, "straight lines have no error");
    let half = rig.pose_of(&[Setting {
        control: 0,
        part: 0.5,
    }]);
    assert!(near(rig.axles(&half)[0].width, 2.508));
}

#[test]
fn a_control_takes_its_time() {
    let (scene, machine, notation) = (scene(), spread(0.3), notation());
    let rig = Rig::new(&scene, &machine, &notation);
    assert_eq!(rig.full_travel_time(0), Some(4.0), "half as fast");
    assert_eq!(rig.full_travel_time(1), Some(0.5), "four times as fast");
    assert_eq!(rig.full_travel_time(2), None);
}

#[test]
fn sizes_and_clearances_of_a_report() {
    let (scene, machine, notation) = (scene(), spread(0.5), notation());
    let report = Rig::new(&scene, &machine, &notation).report();
    let width = |stance: &motion::Stance| stance.overall.unwrap().width;
    assert!(near(width(&report.stowed), 2.2) && near(width(&report.deployed), 3.2));
    // The wheels stand at 2 - 1.5 - 0.5 = 0; the lowest box is the frame's, from 1.5, the tip is at 3.
    assert!(near(report.stowed.clearance.unwrap().height, 1.5));
    assert_eq!(
        report.stowed.clearance.unwrap().node,
        scene.walk(&[0]).unwrap()
    );
    let [legs] = &report.animations[..] else {
        panic!()
    };
    assert_eq!(legs.movements.len(), 2);
    assert!(
        legs.movements
            .iter()
            .all(|one| near(one.speed.unwrap(), 0.25)
                && matches!(one.travel, Travel::Distance { metres, .. } if near(metres, 0.5)))
    );
    let left = legs.sweep.swept[0].bounds.unwrap();
    assert!(near(left.min.x, 0.9) && near(left.max.x, 1.6), "{left:?}");
}

/// A tip 2 m from its pivot, turned by 180 degrees about x, passes through the lowest point of its circle, which no end has.
#[test]
fn the_swept_box_knows_the_way_and_its_error() {
    let machine = machine(
        r#"<animations><animation id="swing">
        <channel target="0/2" property="rotation" begin="0" end="3" from="0 0 0" to="180 0 0" easing="smooth"/>
        </animation></animations>"#,
    );
    let (scene, notation) = (scene(), notation());
    let sweep = Rig::new(&scene, &machine, &notation).sweep(0);
    let [arm] = &sweep.swept[..] else { panic!() };
    let bounds = arm.bounds.unwrap();
    assert!(arm.error > 0.0 && arm.error < 2e-3, "{arm:?}");
    assert!(
        bounds.min.y >= 1.0 - 1e-9 && bounds.min.y <= 1.0 + arm.error,
        "{bounds:?}"
    );
    assert!(
        near(bounds.min.z, -2.0) && near(bounds.max.z, 2.0),
        "both ends are exact"
    );
}

/// The widest track of a leg that swings out and back in is half way, not at an end.
#[test]
fn the_greatest_track_may_be_on_the_way() {
    let machine = machine(
        r#"<animations><animation id="swing">
        <channel target="0/0" property="rotation" begin="0" end="1" from="0 0 45" to="0 0 135"/>
        </animation></animations>"#,
    );
    let (scene, notation) = (scene(), notation());
    let rig = Rig::new(&scene, &machine, &notation);
    let track = rig.tracks(0)[0];
    // The wheel hangs 1.5 m below the pivot at x = 1; turned by 90 degrees about z it is at x = 2.5.
    let at_ends = 2.0 + 1.5 * FRAC_1_SQRT_2;
    assert!(
        near(track.start, at_ends) && near(track.end, at_ends),
        "{track:?}"
    );
    assert!(
        track.most <= 3.5 + 1e-9 && track.most >= 3.5 - track.error,
        "{track:?}"
    );
}

#[test]
fn a_machine_fits_from_a_setting_on() {
    let (scene, machine, notation) = (scene(), spread(0.5), notation());
    let rig = Rig::new(&scene, &machine, &notation);
    // Inner faces of the wheels: 2 - 0.3 = 1.7 to 2.7; of the legs: 1.8 to 2.8. Outer: 2.3 to 3.3.
    let asked = |between, outer| rig.fit(0, Asked { between, outer }).unwrap();
    let fit = asked(Some(2.2), None);
    assert_eq!(fit.fits.len(), 1);
    assert!(
        near(fit.fits[0].from, 0.5) && near(fit.fits[0].to, 1.0),
        "{fit:?}"
    );
    let fit = asked(Some(2.2), Some(3.0));
    assert!(
        (fit.fits[0].from - 0.5).abs() < 1e-8 && (fit.fits[0].to - 0.7).abs() < 1e-8,
        "{fit:?}"
    );
    let fit = asked(Some(2.8), None);
    assert!(fit.fits.is_empty());
    let widest = fit.widest_clearance.unwrap();
    assert!(near(widest.metres, 2.7) && near(widest.at, 1.0));
    let fit = asked(Some(2.5), Some(2.9));
    assert!(
        fit.fits.is_empty() && fit.clear.len() == 1 && fit.narrow.len() == 1,
        "each alone, not both"
    );
    // Exactly what there is at the end of the travel fits.
    assert_eq!(asked(Some(2.7), None).fits.len(), 1);
}

#[test]
fn several_controls_at_once() {
    let machine = machine(
        r#"<animations>
        <animation id="lift"><channel target="0" property="translation" begin="0" end="1" from="0 2 0" to="0 3 0"/></animation>
        <animation id="swing"><channel target="0/2" property="rotation" begin="0" end="1" from="0 0 0" to="0 90 0"/></animation>
        </animations><controls>
        <lever animation="lift" input="stick.1.x"/><lever animation="swing" input="stick.1.y"/><lever animation="none" input="stick.2.x"/>
        </controls>"#,
    );
    let (scene, notation) = (scene(), notation());
    let rig = Rig::new(&scene, &machine, &notation);
    let set = |control, part| Setting { control, part };
    let pose = rig.pose_of(&[set(0, 0.5), set(1, 0.5), set(2, 0.5), set(9, 1.0)]);
    let tip = pose.place(scene.walk(&[0, 2, 0]).unwrap());
    assert!(
        tip.abs_diff_eq(DVec3::new(SQRT_2, 3.5, SQRT_2), 1e-9),
        "{tip}"
    );
    let held = rig.pose_of(&[set(0, 7.0)]);
    assert_eq!(
        held,
        rig.pose_of(&[set(0, 1.0)]),
        "beyond the end is the end"
    );
}

#[test]
fn what_cannot_be_measured_is_absent() {
    let (notation, machine) = (notation(), machine_with(""));
    let mut bare = SceneBuilder::new();
    bare.open(NodeParts {
        rest: Rest::of(DVec3::ZERO, DQuat::IDENTITY, DVec3::ONE),
        ..NodeParts::named("bare")
    });
    bare.close();
    let scene = bare.finish();
    let report = Rig::new(&scene, &machine, &notation).report();
    assert_eq!(report.rest.overall, None);
    assert_eq!(report.rest.clearance, None);
    assert!(report.rest.axles.is_empty() && report.animations.is_empty());
    let empty = Scene::default();
    assert_eq!(
        Rig::new(&empty, &machine, &notation).report().rest.overall,
        None
    );
}

/// Printed, not judged: `cargo test --release -p motion --test numbers -- --ignored --nocapture`.
#[test]
#[ignore = "a measurement"]
fn the_time_of_a_report() {
    let mut builder = SceneBuilder::new();
    builder.open(NodeParts::named("root"));
    for at in 0..500 {
        let x = f64::from(at % 2) * 2.0 - 1.0;
        let parts = |name: String| NodeParts {
            rest: Rest::at(DVec3::new(x, 0.1, f64::from(at) * 0.01)),
            bounds: around(0.1),
            ..NodeParts::named(&name)
        };
        builder.open(parts(format!("arm.{at}")));
        if at < 499 {
            builder.open(parts(format!("tip.{at}")));
            builder.close();
        }
        builder.close();
    }
    builder.close();
    let scene = builder.finish();
    let channels = |from: u32| -> String {
        (from..from + 50)
            .map(|at| match at % 2 {
                0 => format!(r#"<channel target="0/{at}" property="rotation" begin="0" end="{}" from="0 0 0" to="0 90 45" easing="smooth"/>"#, 1 + at % 3),
                _ => format!(r#"<channel target="0/{at}" property="translation" begin="0" end="{}" from="0 0 0" to="0 1 0"/>"#, 1 + at % 3),
            })
            .collect()
    };
    let animations: String = (0..10)
        .map(|at| format!(r#"<animation id="a{at}">{}</animation>"#, channels(at * 50)))
        .collect();
    let controls: String = (0..10)
        .map(|at| format!(r#"<lever animation="a{at}" input="stick.1.x"/>"#))
        .collect();
    let wheels: String = (0..8)
        .map(|at| format!(r#"<wheel id="w{at}" node="0/{at}/0" radius="0.1" width="0.1"/>"#))
        .collect();
    let machine = machine_with(&format!(
        "<wheels>{wheels}</wheels><animations>{animations}</animations><controls>{controls}</controls>"
    ));
    let notation = notation();
    let rig = Rig::new(&scene, &machine, &notation);
    let started = std::time::Instant::now();
    let report = rig.report();
    let taken = started.elapsed();
    let moments: usize = report.animations.iter().map(|one| one.sweep.moments).sum();
    let moved = (0..10).map(|at| rig.drives_of(at).len()).sum::<usize>();
    let _ = writeln!(
        std::io::stdout(),
        "{} nodes, {moved} channels in {} animations, {moments} poses: {taken:.1?}",
        scene.nodes.len(),
        report.animations.len()
    );
    assert_eq!((scene.nodes.len(), moved), (1000, 500));
}
