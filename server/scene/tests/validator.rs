//! Our reading of the glTF Validator's own test cases, against the reports that it expects.
//!
//! Source: KhronosGroup/glTF-Validator, `test/` (Apache-2.0), 288 files, each with a `.report.json`. Of the
//! classes of fault that concern the node tree, a file with one must be refused, or, where the tree is whole,
//! be read with a note; a file in which the validator finds no error must be read without either.

use std::collections::BTreeMap;
use std::io::Write as _;
use std::path::{Path, PathBuf};

use scene::{Scene, SceneError};
use serde_json::Value;

/// What we owe a file for a fault in it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Owed {
    Nothing,
    Note,
    Error,
}

/// What we owe a file for one message of the validator.
fn owed(fault: &Value) -> Owed {
    let text = |key: &str| fault[key].as_str().unwrap_or_default();
    let (code, pointer, message) = (text("code"), text("pointer"), text("message"));
    let offset = fault["offset"].as_u64();
    let at = |prefix: &str| pointer.starts_with(prefix);
    match code {
        "INVALID_JSON" if message.contains("BOM") => Owed::Note,
        "INVALID_JSON"
        | "GLB_UNEXPECTED_END_OF_HEADER"
        | "GLB_INVALID_MAGIC"
        | "GLB_INVALID_VERSION"
        | "GLB_UNEXPECTED_FIRST_CHUNK"
        | "UNKNOWN_ASSET_MAJOR_VERSION"
        | "ASSET_MIN_VERSION_GREATER_THAN_VERSION"
        | "NODE_LOOP"
        | "NODE_PARENT_OVERRIDE"
        | "SCENE_NON_ROOT_NODE" => Owed::Error,
        "GLB_CHUNK_LENGTH_UNALIGNED"
        | "GLB_CHUNK_TOO_BIG"
        | "GLB_DUPLICATE_CHUNK"
        | "GLB_LENGTH_MISMATCH"
        | "GLB_LENGTH_TOO_SMALL"
        | "GLB_UNEXPECTED_BIN_CHUNK"
        | "GLB_UNEXPECTED_END_OF_CHUNK_DATA"
        | "GLB_UNEXPECTED_END_OF_CHUNK_HEADER"
        | "ROTATION_NON_UNIT" => Owed::Note,
        "TYPE_MISMATCH" | "PATTERN_MISMATCH" | "UNDEFINED_PROPERTY"
            if pointer.is_empty() || pointer == "/" || at("/asset") =>
        {
            Owed::Error
        }
        // The first chunk, the JSON. Later ones may be empty.
        "GLB_EMPTY_CHUNK" if offset == Some(12) => Owed::Error,
        "VALUE_NOT_IN_RANGE" if at("/nodes") => Owed::Error,
        "UNRESOLVED_REFERENCE" if pointer == "/scene" || at("/scenes") => Owed::Error,
        "UNRESOLVED_REFERENCE" if at("/nodes") && pointer.contains("/children/") => Owed::Error,
        "UNRESOLVED_REFERENCE" if at("/nodes") && pointer.ends_with("/mesh") => Owed::Note,
        _ => Owed::Nothing,
    }
}

/// Files that the validator takes although they ask for a reader of a later version than 2.0.
const ASKS_FOR_MORE: [&str; 1] = ["data/asset/min_version_valid.gltf"];

fn given(read: &Result<Scene, SceneError>) -> Owed {
    match read {
        Err(_) => Owed::Error,
        Ok(scene) if !scene.notes.is_empty() => Owed::Note,
        Ok(_) => Owed::Nothing,
    }
}

#[test]
fn the_validators_cases_are_judged_as_it_judges_them() {
    let Some(folder) = cases() else {
        return say(
            "SKIPPED: the glTF Validator's cases, they are missing (set TRUNNION_REFERENCES)",
        );
    };
    let (mut counts, mut wrong) = (BTreeMap::new(), Vec::new());
    let files = scene_files(&folder);
    for file in &files {
        let bytes = std::fs::read(file).unwrap();
        let report = std::fs::read(format!("{}.report.json", file.display())).unwrap();
        let report: Value = serde_json::from_slice(&report).unwrap();
        let messages = report["issues"]["messages"].as_array();
        let warnings = messages
            .into_iter()
            .flatten()
            .filter(|said| said["severity"] != 2);
        let warnings: Vec<&Value> = warnings.collect();
        let faults: Vec<&Value> = warnings
            .iter()
            .copied()
            .filter(|said| said["severity"] == 0)
            .collect();
        let expected = faults
            .iter()
            .copied()
            .map(owed)
            .max()
            .unwrap_or(Owed::Nothing);
        let read = scene::read(&bytes, "case", &[]);
        let got = given(&read);
        *counts.entry((expected, got)).or_insert(0) += 1;
        // What owes nothing may be noted: a warning, or a fault in a part that is read for the bounds.
        let agrees = got == expected
            || (expected == Owed::Note && got == Owed::Error)
            || (expected == Owed::Nothing && got == Owed::Note && !warnings.is_empty())
            || (got == Owed::Error && ASKS_FOR_MORE.iter().any(|name| file.ends_with(name)));
        if !agrees {
            let codes: Vec<&Value> = faults.iter().map(|fault| &fault["code"]).collect();
            wrong.push(format!(
                "{}: owed {expected:?}, got {got:?} {:?}; the validator says {codes:?}",
                file.display(),
                read.map(|scene| scene.notes)
            ));
        }
    }
    say(&format!(
        "glTF Validator: {} cases; (owed, given): {counts:?}",
        files.len()
    ));
    assert!(
        files.len() >= 280,
        "only {} cases in {}",
        files.len(),
        folder.display()
    );
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// The folder of the cases: in the folder that TRUNNION_REFERENCES names, or in one beside the project.
fn cases() -> Option<PathBuf> {
    let references = std::env::var_os("TRUNNION_REFERENCES").map_or_else(
        || Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared/references"),
        PathBuf::from,
    );
    Some(references.join("gltf-validator-cases")).filter(|folder| folder.is_dir())
}

/// The `.gltf` and `.glb` files that have a report, in order.
fn scene_files(folder: &Path) -> Vec<PathBuf> {
    let (mut folders, mut files) = (vec![folder.to_owned()], Vec::new());
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(&folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path
                .extension()
                .is_some_and(|end| end == "gltf" || end == "glb")
                && Path::new(&format!("{}.report.json", path.display())).is_file()
            {
                files.push(path);
            }
        }
    }
    files.sort();
    files
}

/// Straight to the terminal: the output of a test that passes would be swallowed.
fn say(line: &str) {
    let _ = writeln!(std::io::stderr(), "{line}");
}
