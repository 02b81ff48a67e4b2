//! `trunnion diff` as a person or a script runs it.

use std::fs;
use std::path::{Path, PathBuf};

use acceptance::outside;
use acceptance::program::{run, stdout as said};

fn folder(name: &str) -> PathBuf {
    let folder =
        std::env::temp_dir().join(format!("trunnion-cli-diff-{}-{name}", std::process::id()));
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    folder
}

fn copied(from: &Path, to: &Path) {
    for file in outside::files_below(from, &[""]) {
        let target = to.join(file.strip_prefix(from).unwrap());
        fs::create_dir_all(target.parent().unwrap()).unwrap();
        fs::copy(file, target).unwrap();
    }
}

const BRAM: &str = "machines/bram-6.machine.xml";

/// The demo mod twice, with the legs adjustable in the second one.
fn two_mods(name: &str) -> PathBuf {
    let folder = folder(name);
    for side in ["old", "new"] {
        copied(
            &outside::project().join("corpus/ternholt"),
            &folder.join(side),
        );
    }
    let machine = format!("new/{BRAM}");
    let done = run(
        &folder,
        &["adjust", &machine, "leg.left", "leg.right", "--write"],
    );
    assert_eq!(done.status.code(), Some(0), "{done:?}");
    folder
}

#[test]
fn a_change_is_told_by_its_meaning_and_travels_as_a_patch() {
    let folder = two_mods("machine");
    let (old, new) = (format!("old/{BRAM}"), format!("new/{BRAM}"));
    let output = run(&folder, &["diff", &old, &new, "-o", "legs.xml"]);
    let text = said(&output);
    assert_eq!(output.status.code(), Some(1), "{text}");
    for line in [
        "animation `leg.spread` is new, and 2 of 2 in it came from elsewhere",
        "translation of `leg.left` moved from animation `mast.raise` to animation `leg.spread`",
        "control of `leg.spread` is new",
        "gives the new file byte for byte",
    ] {
        assert!(text.contains(line), "{line}\n{text}");
    }
    let patched = run(&folder, &["patch", &old, "legs.xml", "-o", "patched.xml"]);
    assert_eq!(patched.status.code(), Some(0), "{patched:?}");
    assert_eq!(
        fs::read(folder.join("patched.xml")).unwrap(),
        fs::read(folder.join(&new)).unwrap()
    );
    // What is there is not overwritten.
    assert_eq!(
        run(&folder, &["diff", &old, &new, "-o", "legs.xml"])
            .status
            .code(),
        Some(2)
    );
    assert_eq!(run(&folder, &["diff", &old, &old]).status.code(), Some(0));
}

/// The patch leads to its nodes by their names, so it fits a version that others have changed meanwhile.
#[test]
fn a_patch_survives_changes_elsewhere() {
    let folder = two_mods("survives");
    let (old, new) = (format!("old/{BRAM}"), format!("new/{BRAM}"));
    run(&folder, &["diff", &old, &new, "-o", "legs.xml"]);
    let text = fs::read_to_string(folder.join(&old)).unwrap();
    let more = "<wheels>\n    <wheel id=\"spare\" node=\"0\" radius=\"0.4\" width=\"0.2\"/>";
    let other = text.replacen("<wheels>", more, 1).replacen(
        "<animations>",
        "<animations>\n    <animation id=\"first\" duration=\"1\"/>",
        1,
    );
    assert_ne!(other, text);
    fs::write(folder.join("other.xml"), other).unwrap();
    let patched = run(&folder, &["patch", "other.xml", "legs.xml", "--write"]);
    assert_eq!(patched.status.code(), Some(0), "{patched:?}");
    let result = fs::read_to_string(folder.join("other.xml")).unwrap();
    assert!(
        result.contains("\"leg.spread\"") && result.contains("\"spare\""),
        "{result}"
    );
}

#[test]
fn mods_are_compared_file_by_file() {
    let folder = two_mods("mods");
    fs::write(folder.join("new/notes.txt"), "of the author").unwrap();
    fs::remove_file(folder.join("new/machines/ostrel-12.machine.xml")).unwrap();
    let output = run(&folder, &["diff", "old", "new", "--json"]);
    assert_eq!(output.status.code(), Some(1), "{output:?}");
    let told: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let files = told["files"].as_array().unwrap();
    let status = |name: &str| {
        let file = files.iter().find(|file| file["file"] == name);
        file.map(|file| file["status"].clone()).unwrap_or_default()
    };
    assert_eq!(status("notes.txt"), "added");
    assert_eq!(status("machines/ostrel-12.machine.xml"), "removed");
    assert_eq!(status(BRAM), "changed");
    assert_eq!(files.len(), 3);

    let output = run(&folder, &["diff", "old", "new", "-o", "patches"]);
    assert_eq!(output.status.code(), Some(1), "{output:?}");
    let patch = folder.join(format!("patches/{BRAM}.patch.xml"));
    assert!(fs::read_to_string(patch).unwrap().contains("leg.spread"));
}

#[test]
fn what_cannot_be_compared_is_said() {
    let folder = folder("broken");
    fs::write(folder.join("a.xml"), "<a><b></a>").unwrap();
    fs::write(folder.join("b.xml"), "<a/>").unwrap();
    let output = run(&folder, &["diff", "a.xml", "b.xml"]);
    assert_eq!(output.status.code(), Some(2));
    let complaint = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(
        complaint.contains("a.xml:1:") && complaint.contains("not well-formed"),
        "{complaint}"
    );
    assert_eq!(
        run(&folder, &["diff", "a.xml", "missing.xml"])
            .status
            .code(),
        Some(2)
    );
}
