//! Our node trees, world matrices and bounds against those that three.js reads from the same files.
//!
//! three.js (MIT, npm `three`) shares no code with us: it reads the buffers, so it measures what we only
//! quote. Vertices are 32-bit floats, good for seven digits; numbers may differ by 1e-5 of the greatest number
//! of the same matrix or box. Files: Debian's `assimp-testmodels`, the glTF Validator's cases, the corpus.

use std::path::PathBuf;
use std::process::Command;

use acceptance::outside;
use glam::DMat4;
use scene::{NodeIndex, Scene};
use serde_json::Value;

const TOLERANCE: f64 = 1e-5;

/// Files that three.js opens and we refuse, as glTF says one must (the Validator finds an error in each but the
/// second, which asks for a reader of a later version).
const REFUSED: [&str; 7] = [
    "asset/min_version_invalid.gltf",
    "asset/min_version_valid.gltf",
    "glb/truncated_chunk_data.glb",
    "node/infinite_transform.gltf",
    "node/node_loop.gltf",
    "node/node_parent_override.gltf",
    "scene/non_root_node.gltf",
];

#[derive(Debug, Default)]
struct Tally {
    files: usize,
    nodes: usize,
    boxes: usize,
    /// Boxes that the file does not state, and says so.
    unmeasured: usize,
    matrices_apart: f64,
    boxes_apart: f64,
}

#[test]
fn trees_matrices_and_bounds_are_those_of_three_js() {
    let files = files();
    let Some(three) = outside::npm_package("three") else {
        return outside::skipped(
            "glTF against three.js",
            "npm package three is not installed",
        );
    };
    if files.is_empty() {
        return outside::skipped(
            "glTF against three.js",
            "Debian's assimp-testmodels is not installed",
        );
    }
    let script = outside::project().join("tests/gltf-oracle/three.mjs");
    let list = serde_json::to_string(&files).unwrap();
    let answers = match outside::run(Command::new("node").arg(script).arg(three), &list) {
        Ok(answers) => answers,
        Err(error) if error.contains("cannot run") => {
            return outside::skipped("glTF against three.js", "node is not installed");
        }
        Err(error) => panic!("{error}"),
    };
    let mut tally = Tally::default();
    let (mut wrong, mut neither, mut only_ours) = (Vec::new(), 0, 0);
    for line in answers.lines() {
        let answer: Value = serde_json::from_str(line).unwrap();
        let file = answer["file"].as_str().unwrap();
        let ours = scene::read(&std::fs::read(file).unwrap(), file, &[]);
        match (ours, answer["nodes"].as_array()) {
            (Ok(ours), Some(theirs)) => {
                if let Err(difference) = compare(&ours, theirs, &mut tally) {
                    wrong.push(format!("{file}: {difference}"));
                }
            }
            (Err(error), Some(_)) if !REFUSED.iter().any(|end| file.ends_with(end)) => {
                wrong.push(format!("{file}: three.js opens it, we do not: {error}"));
            }
            (Err(_), Some(_)) => {}
            (Ok(_), None) => only_ours += 1,
            (Err(_), None) => neither += 1,
        }
    }
    outside::say(&format!(
        "glTF against three.js: {tally:?}; of {} files, {only_ours} opened only by us, {neither} by neither",
        files.len()
    ));
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(
        tally.files >= 5 && tally.boxes >= 5,
        "hardly anything was compared"
    );
}

fn files() -> Vec<PathBuf> {
    let models = outside::existing(PathBuf::from("/usr/share/assimp/models"));
    let cases = outside::references("gltf-validator-cases");
    let folders = models
        .into_iter()
        .chain(cases)
        .chain([outside::project().join("corpus")]);
    folders
        .flat_map(|folder| outside::files_below(&folder, &[".gltf", ".glb"]))
        .collect()
}

/// Compares node by node. The same tree has the same depths and names in document order.
fn compare(ours: &Scene, theirs: &[Value], tally: &mut Tally) -> Result<(), String> {
    if ours.nodes.len() != theirs.len() {
        return Err(format!(
            "{} nodes, three.js has {}",
            ours.nodes.len(),
            theirs.len()
        ));
    }
    let world = ours.world_rests();
    for (id, their) in ours.ids().zip(theirs) {
        let node = &ours[id];
        let depth = ours.upward(id).count() as u64 - 1;
        if their["depth"] != depth || their["name"] != *node.name {
            return Err(format!("node {} is {their} there", ours.tree_path(id)));
        }
        if comparable(ours, id) {
            let apart = apart(
                &numbers(&their["world"]),
                &world[id.index()].to_cols_array(),
            );
            tally.matrices_apart = tally.matrices_apart.max(apart);
            if apart > TOLERANCE {
                let place = DMat4::from_cols_slice(&numbers(&their["world"]));
                return Err(format!(
                    "{} stands at {place}, we say {}",
                    ours.tree_path(id),
                    world[id.index()]
                ));
            }
        }
        match (&node.bounds, their["bounds"].as_array()) {
            (Some(ours), Some(their)) => {
                let their: Vec<f64> = their.iter().flat_map(numbers).collect();
                let ours = [ours.min.to_array(), ours.max.to_array()].concat();
                let apart = apart(&their, &ours);
                tally.boxes_apart = tally.boxes_apart.max(apart);
                tally.boxes += 1;
                if apart > TOLERANCE {
                    return Err(format!("box {their:?}, we say {ours:?}"));
                }
            }
            (None, None) => {}
            _ if their["bounds"] == "unknown" => {}
            (None, Some(_))
                if ours
                    .notes
                    .iter()
                    .any(|note| note.message.contains("unknown")) =>
            {
                tally.unmeasured += 1;
            }
            (ours, their) => return Err(format!("box {their:?}, we say {ours:?}")),
        }
        tally.nodes += 1;
    }
    tally.files += 1;
    Ok(())
}

/// three.js splits every matrix into translation, rotation and scale, and takes rotations as they come.
fn comparable(scene: &Scene, id: NodeIndex) -> bool {
    scene
        .upward(id)
        .all(|id| scene[id].rest.sheared().is_none())
        && !scene
            .notes
            .iter()
            .any(|note| note.message.contains("quaternion"))
}

fn numbers(list: &Value) -> Vec<f64> {
    list.as_array()
        .into_iter()
        .flatten()
        .filter_map(Value::as_f64)
        .collect()
}

/// The greatest difference, relative to the greatest number (or to 1, if all are smaller).
fn apart(these: &[f64], those: &[f64]) -> f64 {
    if these.len() != those.len() {
        return f64::INFINITY;
    }
    let most = these
        .iter()
        .chain(those)
        .fold(1.0_f64, |most, number| most.max(number.abs()));
    these
        .iter()
        .zip(those)
        .fold(0.0_f64, |most, (a, b)| most.max((a - b).abs()))
        / most
}
