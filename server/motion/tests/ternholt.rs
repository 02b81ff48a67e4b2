//! The machines of the demo mod: what moves, what mirrors, how wide they stand.

use std::fmt::Write as _;
use std::path::Path;

use dialect::Dialect;
use expect_test::{Expect, expect};
use motion::{Rig, Travel};

/// What there is to say of a definition's motion, in words.
fn told(file: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../corpus")
        .join(file);
    let text = std::fs::read_to_string(&path).unwrap();
    let dialect = Dialect::house();
    let kind = dialect
        .document_for(Some((Some("urn:trunnion:machine:1"), "machine")), file)
        .unwrap();
    let machine = machine::read(&syntax::parse(&text), &dialect, kind);
    let scene_path = path.with_file_name(&*machine.scene.as_ref().unwrap().value);
    let bytes = std::fs::read(&scene_path).unwrap();
    let scene = scene::read(&bytes, &scene_path.to_string_lossy(), &[]).unwrap();
    let rig = Rig::new(&scene, &machine, &dialect.notation);
    let mut told = String::new();
    if let Some(size) = rig.overall(rig.rest()) {
        let _ = writeln!(
            told,
            "{:.3} m wide, {:.3} m high, {:.3} m long",
            size.width, size.height, size.length
        );
    }
    for (index, animation) in machine.animations.iter().enumerate() {
        let _ = writeln!(
            told,
            "{}, {} s",
            animation.name.as_ref().unwrap().value,
            animation.length()
        );
        for (channel, _) in animation.channels.iter().enumerate() {
            for drive in rig.drives_of_channel(index, channel) {
                let travel = match rig.travel(drive) {
                    Travel::Distance { metres, .. } => format!("moves {metres:.3} m"),
                    Travel::Angle { degrees, .. } => format!("turns {degrees:.1} degrees"),
                    Travel::Factor { .. } => "scales".to_owned(),
                    Travel::Visibility { .. } => "shows".to_owned(),
                };
                let _ = write!(told, "  {channel} {} {travel}", scene.tree_path(drive.node));
            }
            if let Some(found) = rig.counterparts(index).of(channel) {
                let how = if found.mirrors {
                    "mirrors"
                } else {
                    "should mirror"
                };
                let _ = write!(told, ", {how} {}", found.channel);
            }
            told.push('\n');
        }
        let carried = rig.wheels_carried(index);
        if !carried.is_empty() {
            let _ = writeln!(told, "  carries wheels {carried:?}");
        }
        for (start, end) in rig
            .axles(rig.rest())
            .iter()
            .zip(rig.axles(&rig.pose(&[(index, animation.length())])))
        {
            let _ = writeln!(
                told,
                "  wheels {} and {}: {:.3} m to {:.3} m",
                start.left, start.right, start.width, end.width
            );
        }
    }
    told
}

fn check(file: &str, expected: Expect) {
    expected.assert_eq(&told(file));
}

#[test]
fn the_straddle_carrier() {
    check(
        "ternholt/machines/bram-6.machine.xml",
        expect![[r#"
        3.000 m wide, 4.300 m high, 5.500 m long
        mast.raise, 6 s
          0 bram-6/mast moves 1.800 m
          1 bram-6/legs/leg.left moves 0.320 m, mirrors 2
          2 bram-6/legs/leg.right moves 0.320 m, mirrors 1
          carries wheels [0, 1, 2, 3]
          wheels 0 and 1: 2.600 m to 3.240 m
          wheels 2 and 3: 2.600 m to 3.240 m
        hooks.close, 1.5 s
          0 bram-6/mast/spreader/hook.left turns 45.0 degrees, mirrors 1
          1 bram-6/mast/spreader/hook.right turns 45.0 degrees, mirrors 0
          wheels 0 and 1: 2.600 m to 2.600 m
          wheels 2 and 3: 2.600 m to 2.600 m
        beacon.turn, 1.2 s
          0 bram-6/beacon turns 360.0 degrees
          wheels 0 and 1: 2.600 m to 2.600 m
          wheels 2 and 3: 2.600 m to 2.600 m
    "#]],
    );
}

#[test]
fn the_log_loader() {
    check(
        "ternholt/machines/ostrel-12.machine.xml",
        expect![[r#"
        2.350 m wide, 4.454 m high, 4.787 m long
        boom.unfold, 8 s
          0 ostrel-12/chassis/outriggers/outrigger.left moves 0.650 m, mirrors 1
          1 ostrel-12/chassis/outriggers/outrigger.right moves 0.650 m, mirrors 0
          2 ostrel-12/chassis/outriggers/outrigger.left/pad.left moves 0.310 m, mirrors 3
          3 ostrel-12/chassis/outriggers/outrigger.right/pad.right moves 0.310 m, mirrors 2
          4 ostrel-12/slew/boom turns 44.0 degrees
          5 ostrel-12/slew/boom/stick turns 76.0 degrees
          wheels 0 and 1: 1.900 m to 1.900 m
          wheels 2 and 3: 1.900 m to 1.900 m
        claws.close, 1.25 s
          0 ostrel-12/slew/boom/stick/rotator/claw.left turns 41.0 degrees, mirrors 1
          1 ostrel-12/slew/boom/stick/rotator/claw.right turns 41.0 degrees, mirrors 0
          wheels 0 and 1: 1.900 m to 1.900 m
          wheels 2 and 3: 1.900 m to 1.900 m
        slew.turn, 10 s
          0 ostrel-12/slew turns 175.0 degrees
          wheels 0 and 1: 1.900 m to 1.900 m
          wheels 2 and 3: 1.900 m to 1.900 m
        lamp.work.on, 0.1 s
          0 ostrel-12/slew/cab/lamp.work/lamp.work.cone shows
          wheels 0 and 1: 1.900 m to 1.900 m
          wheels 2 and 3: 1.900 m to 1.900 m
    "#]],
    );
}

#[test]
fn the_timber_trailer() {
    check(
        "ternholt/machines/vennet-24.machine.xml",
        expect![[r#"
        2.200 m wide, 2.825 m high, 8.420 m long
        bed.extend, 5 s
          0 vennet-24/bogie moves 1.200 m
          1 vennet-24/frame/stanchions/stanchion.front.left moves 0.300 m, mirrors 2
          2 vennet-24/frame/stanchions/stanchion.front.right moves 0.300 m, mirrors 1
          3 vennet-24/frame/stanchions/stanchion.front.left moves 0.150 m, mirrors 4
          4 vennet-24/frame/stanchions/stanchion.front.right moves 0.150 m, mirrors 3
          5 vennet-24/frame/stanchions/stanchion.rear.left turns 8.0 degrees, mirrors 6
          6 vennet-24/frame/stanchions/stanchion.rear.right turns 8.0 degrees, mirrors 5
          7 vennet-24/bogie/long.load.board shows
          carries wheels [0, 1, 2, 3]
          wheels 0 and 1: 1.800 m to 1.800 m
          wheels 2 and 3: 1.800 m to 1.800 m
        tarp.roll, 3 s
          0 vennet-24/frame/tarp scales
          wheels 0 and 1: 1.800 m to 1.800 m
          wheels 2 and 3: 1.800 m to 1.800 m
    "#]],
    );
}

#[test]
fn the_low_loader() {
    check(
        "ternholt/machines/quarl-30/quarl-30.machine.xml",
        expect![[r#"
            2.500 m wide, 3.517 m high, 9.931 m long
            ramps.lower, 7 s
              0 quarl-30/ramps/ramp.left moves 0.250 m, mirrors 1
              1 quarl-30/ramps/ramp.right moves 0.250 m, mirrors 0
              2 quarl-30/ramps/ramp.left turns 102.0 degrees, mirrors 3
              3 quarl-30/ramps/ramp.right turns 102.0 degrees, mirrors 2
              4 quarl-30/ramps/ramp.left/flap.left turns 23.0 degrees, mirrors 5
              5 quarl-30/ramps/ramp.right/flap.right turns 23.0 degrees, mirrors 4
              6 quarl-30/deck/board.left shows, mirrors 7
              7 quarl-30/deck/board.right shows, mirrors 6
              wheels 0 and 1: 2.000 m to 2.000 m
              wheels 2 and 3: 2.000 m to 2.000 m
              wheels 4 and 5: 2.000 m to 2.000 m
            gooseneck.tilt, 4 s
              0 quarl-30/gooseneck turns 12.0 degrees
              wheels 0 and 1: 2.000 m to 2.000 m
              wheels 2 and 3: 2.000 m to 2.000 m
              wheels 4 and 5: 2.000 m to 2.000 m
        "#]],
    );
}

#[test]
fn lopsided_machines() {
    check(
        "faults/motion/lopsided.machine.xml",
        expect![[r#"
        2.300 m wide, 3.100 m high, 1.000 m long
        hooks.open, 2 s
          0 rig/mast/hook.left moves 0.300 m, should mirror 1
          1 rig/mast/hook.right moves 0.200 m, should mirror 0
    "#]],
    );
    check(
        "faults/motion/lopsided-rotation.machine.xml",
        expect![[r#"
            2.300 m wide, 3.100 m high, 1.000 m long
            hooks.open, 2 s
              0 rig/mast/hook.left turns 30.0 degrees, should mirror 1
              1 rig/mast/hook.right turns 30.0 degrees, should mirror 0
        "#]],
    );
}
