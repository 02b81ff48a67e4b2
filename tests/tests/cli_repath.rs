//! `trunnion repath` as a person or a script runs it.

use std::fs;
use std::path::{Path, PathBuf};

use acceptance::desk::{BRAM, corpus};
use acceptance::program::{run_in_project as trunnion, stdout};
use acceptance::yard::Yard;
use serde_json::{Value, json};

fn text(path: &Path) -> &str {
    path.to_str().unwrap()
}

/// The carrier with its scene in a folder of this test's own.
fn carrier() -> (Yard, PathBuf, PathBuf) {
    let yard = Yard::empty();
    for file in ["bram-6.machine.xml", "bram-6.gltf"] {
        yard.copy(&corpus().join(BRAM).with_file_name(file), file);
    }
    let (file, scene) = (yard.join("bram-6.machine.xml"), yard.join("bram-6.gltf"));
    (yard, file, scene)
}

/// The scene as it is exported after somebody put a box before everything else and sorted the rest backwards.
fn exported_anew(scene: &Path) -> PathBuf {
    let mut gltf: Value = serde_json::from_slice(&fs::read(scene).unwrap()).unwrap();
    let nodes = gltf["nodes"].as_array_mut().unwrap();
    let added = nodes.len();
    for node in nodes.iter_mut() {
        if let Some(children) = node.get_mut("children") {
            children.as_array_mut().unwrap().reverse();
        }
    }
    let root = nodes.iter_mut().find(|node| node.get("children").is_some());
    let children = root.unwrap()["children"].as_array_mut().unwrap();
    children.insert(0, json!(added));
    nodes.push(json!({"name": "toolbox", "translation": [0.4, 0.9, -1.5]}));
    let new = scene.with_file_name("new.gltf");
    fs::write(&new, gltf.to_string()).unwrap();
    new
}

#[test]
fn all_paths_of_the_carrier_follow_and_back_again_gives_the_same_bytes() {
    let (yard, file, scene) = carrier();
    let new = exported_anew(&scene);
    let before = fs::read(&file).unwrap();
    let output = trunnion(&["repath", text(&file), "--scene", text(&new)]);
    let said = stdout(&output);
    assert_eq!(output.status.code(), Some(0), "{said}");
    assert!(said.contains("old path"), "{said}");
    assert!(
        said.contains("Nothing was written; --write does that."),
        "{said}"
    );
    assert_eq!(fs::read(&file).unwrap(), before);

    let output = trunnion(&["repath", text(&file), "--scene", text(&new), "--write"]);
    assert_eq!(output.status.code(), Some(0));
    let moved = fs::read(&file).unwrap();
    assert_ne!(moved, before);
    let old = scene.with_file_name("old.gltf");
    fs::rename(&scene, &old).unwrap();
    fs::copy(&new, &scene).unwrap();
    let checked = trunnion(&["check", text(&file)]);
    assert!(
        !stdout(&checked).contains("stale-path"),
        "{}",
        stdout(&checked)
    );

    let back = ["--scene", text(&old), "--old", text(&new), "--write"];
    let output = trunnion(&[&["repath", text(&file)], &back[..]].concat());
    assert_eq!(output.status.code(), Some(0));
    assert_eq!(fs::read(&file).unwrap(), before);
    assert_eq!(yard.names("").len(), 4, "no temporary file is left");
}

#[test]
fn an_old_scene_that_was_overwritten_is_said_to_be_gone() {
    let (_yard, file, scene) = carrier();
    let new = exported_anew(&scene);
    fs::rename(&new, &scene).unwrap();
    let output = trunnion(&["repath", text(&file), "--scene", text(&scene)]);
    let said = stdout(&output);
    assert!(said.contains("so the old one is gone"), "{said}");
    assert!(said.contains("leg.left"), "{said}");
    let left = said.contains("Left alone:");
    assert_eq!(output.status.code(), Some(i32::from(left)), "{said}");
}

#[test]
fn what_cannot_be_read_is_code_2() {
    let (_yard, file, scene) = carrier();
    let output = trunnion(&["repath", text(&file), "--scene", "no-such.gltf"]);
    assert_eq!(output.status.code(), Some(2));
    fs::write(scene.with_file_name("broken.gltf"), "{").unwrap();
    let broken = scene.with_file_name("broken.gltf");
    let output = trunnion(&["repath", text(&file), "--scene", text(&broken)]);
    assert_eq!(output.status.code(), Some(2));
}

#[test]
fn the_check_follows_nodes_from_the_scene_as_it_was() {
    let (yard, file, scene) = carrier();
    let was = yard.join("was");
    fs::create_dir(&was).unwrap();
    fs::copy(&scene, was.join("bram-6.gltf")).unwrap();
    let told = |before: &[&str]| {
        let output = trunnion(&[&["check", "--format", "json", text(&file)], before].concat());
        let findings: Vec<Value> = serde_json::from_str(&stdout(&output)).unwrap();
        let messages = findings
            .iter()
            .filter_map(|finding| finding["message"].as_str());
        let messages = messages.filter(|message| message.contains("Before the scene changed"));
        messages.map(str::to_owned).collect::<Vec<_>>()
    };
    assert_eq!(
        told(&["--before", text(&scene)]),
        [""; 0],
        "nothing has changed"
    );
    let new = exported_anew(&scene);
    fs::rename(&new, &scene).unwrap();
    assert_eq!(told(&[]), [""; 0], "nothing is known");
    let by_scene = told(&["--before", text(&was.join("bram-6.gltf"))]);
    for wheel in ["front.left", "front.right", "rear.left", "rear.right"] {
        let led = format!("it led to `wheel.{wheel}`, which is at");
        assert!(
            by_scene.iter().any(|message| message.contains(&led)),
            "{by_scene:?}"
        );
    }
    assert_eq!(told(&["--before", text(&was)]), by_scene);
    let output = trunnion(&["check", text(&file), "--before", "no-such-mod"]);
    assert_eq!(output.status.code(), Some(2));
}
