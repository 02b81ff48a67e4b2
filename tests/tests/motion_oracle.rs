//! Poses and bounds of the demo's machines at many moments against scipy and trimesh, which read definition and scene
//! themselves (`tests/motion-oracle/poses.py`): nothing of ours is between the files and their answer.

use std::path::PathBuf;
use std::process::Command;

use acceptance::outside;
use glam::DVec3;
use motion::{Pose, Rig, Setting};
use project::{Disk, SettingsStore, View};
use scene::Bounds;
use serde_json::{Value, json};

/// Both compute in 64-bit floats, from the same decimal numbers. Metres, and parts of unit vectors.
const TOLERANCE: f64 = 1e-9;
/// Moments for each animation, besides both ends.
const MOMENTS: u32 = 25;
/// Poses with all controls at settings of their own.
const SETTINGS: u32 = 25;

/// Numbers from 0 to 1 that look random and are the same every time: multiples of an irrational number.
fn spread(step: u32, by: u32) -> f64 {
    (f64::from(step) * f64::from(by).sqrt()).fract()
}

fn machines() -> Vec<PathBuf> {
    let folder = outside::project().join("corpus/ternholt/machines");
    outside::files_below(&folder, &[".machine.xml"])
}

fn view(file: &PathBuf) -> View {
    let text = std::fs::read_to_string(file).unwrap();
    project::view_of(
        std::path::absolute(file).unwrap(),
        text,
        &Disk::default(),
        &SettingsStore::default(),
    )
}

/// What to look at: how the other side is asked, and our pose.
fn asked(rig: &Rig<'_>) -> (Vec<Value>, Vec<Pose>) {
    let name = |animation: usize| {
        let name = rig.machine.animations[animation].name.as_ref();
        &*name.unwrap().value
    };
    let (mut times, mut poses) = (Vec::new(), Vec::new());
    for animation in 0..rig.machine.animations.len() {
        let length = rig.length(animation);
        let parts = (1..=MOMENTS).map(|step| spread(step, 2));
        for part in parts.chain([0.0, 1.0]) {
            times.push(json!([[name(animation), part * length]]));
            poses.push(rig.pose(&[(animation, part * length)]));
        }
    }
    for step in 1..=SETTINGS {
        let controls = 0..rig.machine.controls.len();
        let settings: Vec<Setting> = controls
            .filter(|control| rig.played(*control).is_some())
            .map(|control| Setting {
                control,
                part: spread(step, [2, 3, 5, 7, 11][control % 5]),
            })
            .collect();
        let moment = settings.iter().filter_map(|setting| {
            let animation = rig.played(setting.control)?;
            Some(json!([
                name(animation),
                rig.length(animation) * setting.part
            ]))
        });
        times.push(moment.collect());
        poses.push(rig.pose_of(&settings));
    }
    (times, poses)
}

#[test]
fn poses_and_bounds_are_those_of_scipy_and_trimesh() {
    let Some(python) = outside::python_with("scipy, trimesh") else {
        return outside::skipped(
            "poses against scipy and trimesh",
            "scipy or trimesh is not installed",
        );
    };
    let files = machines();
    let views: Vec<View> = files.iter().map(view).collect();
    let rigs: Vec<Rig<'_>> = views
        .iter()
        .map(|view| {
            let notation = &view.dialect().unwrap().notation;
            Rig::new(view.scene().unwrap(), view.machine().unwrap(), notation)
        })
        .collect();
    let all: Vec<(Vec<Value>, Vec<Pose>)> = rigs.iter().map(asked).collect();
    let question: Vec<Value> = files
        .iter()
        .zip(&all)
        .map(|(file, (times, _))| json!({"file": file, "times": times}))
        .collect();
    let script = outside::project().join("tests/motion-oracle/poses.py");
    let answer = outside::run(
        Command::new(python).arg(script),
        &Value::from(question).to_string(),
    );
    let answers: Vec<Value> = serde_json::from_str(&answer.unwrap()).unwrap();
    let (mut matrices, mut boxes) = (0, 0);
    let (mut apart, mut boxes_apart) = (0.0_f64, 0.0_f64);
    for (((file, rig), (_, poses)), theirs) in files.iter().zip(&rigs).zip(&all).zip(&answers) {
        let theirs = theirs["poses"].as_array().unwrap();
        assert_eq!(theirs.len(), poses.len());
        for (ours, their) in poses.iter().zip(theirs) {
            let world: Vec<[[f64; 4]; 4]> = serde_json::from_value(their["world"].clone()).unwrap();
            assert_eq!(world.len(), ours.world.len(), "{}", file.display());
            for (ours, rows) in ours.world.iter().zip(&world) {
                let columns = ours.to_cols_array_2d();
                for (at, row) in rows.iter().enumerate() {
                    for (column, number) in columns.iter().zip(row) {
                        apart = apart.max((column[at] - number).abs());
                    }
                }
                matrices += 1;
            }
            let [min, max]: [[f64; 3]; 2] = serde_json::from_value(their["box"].clone()).unwrap();
            let their = Bounds::new(DVec3::from_array(min), DVec3::from_array(max)).unwrap();
            let ours = rig.bounds(ours).unwrap();
            let worst = |a: DVec3, b: DVec3| (a - b).abs().max_element();
            boxes_apart = boxes_apart.max(worst(ours.min, their.min));
            boxes_apart = boxes_apart.max(worst(ours.max, their.max));
            boxes += 1;
        }
    }
    outside::say(&format!(
        "poses against scipy and trimesh: {} machines, {matrices} world matrices at most {apart:e} apart, {boxes} boxes at most {boxes_apart:e} m",
        files.len()
    ));
    assert!(apart <= TOLERANCE && boxes_apart <= TOLERANCE);
    assert!(
        files.len() >= 4 && boxes >= 300,
        "hardly anything was compared"
    );
}

/// Every place that any node gets to at any moment lies in the swept box, if the error that it states is added.
#[test]
fn swept_boxes_hold_whatever_passes() {
    let mut worst = 0.0_f64;
    let mut compared = 0;
    for file in machines() {
        let view = view(&file);
        let (scene, machine) = (view.scene().unwrap(), view.machine().unwrap());
        let rig = Rig::new(scene, machine, &view.dialect().unwrap().notation);
        for animation in 0..machine.animations.len() {
            let sweep = rig.sweep(animation);
            for step in 0..400 {
                let time = spread(step, 3) * rig.length(animation);
                let pose = rig.pose(&[(animation, time)]);
                for swept in &sweep.swept {
                    let (Some(whole), Some(here)) =
                        (swept.bounds, rig.subtree_bounds(&pose, swept.node))
                    else {
                        continue;
                    };
                    let outside = (whole.min - here.min).max(here.max - whole.max);
                    let outside = outside.max_element();
                    worst = worst.max(outside);
                    compared += 1;
                    assert!(
                        outside <= swept.error + 1e-12,
                        "{}: {} is {outside} m outside, said at most {}",
                        file.display(),
                        scene.tree_path(swept.node),
                        swept.error
                    );
                }
            }
        }
    }
    outside::say(&format!(
        "swept boxes: {compared} boxes on the way, at most {worst:e} m outside"
    ));
    assert!(compared > 1000);
}
