//! `trunnion check --fix` and `--diff` as a person or a script runs them.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use acceptance::{outside, program};
use serde_json::Value;

/// A folder of this test's own, with these files and a scene.
fn folder(name: &str, files: &[(&str, &str)]) -> PathBuf {
    let folder =
        std::env::temp_dir().join(format!("trunnion-check-fix-{}-{name}", std::process::id()));
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(folder.join("sounds")).unwrap();
    let scene = outside::project().join("corpus/faults/shared/rig.gltf");
    fs::copy(scene, folder.join("rig.gltf")).unwrap();
    fs::write(folder.join("sounds/pump.ogg"), "").unwrap();
    for (file, content) in files {
        fs::write(folder.join(file), content).unwrap();
    }
    folder
}

fn check(folder: &Path, arguments: &[&str]) -> Output {
    let mut command = Command::new(program::path());
    command.arg("check").args(arguments).current_dir(folder);
    command.output().unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

/// Line breaks of two characters, a mark at the start, single quotes, odd spaces: none of it is ours to change.
const FAULTY: &str = "\u{feff}<machine xmlns='urn:trunnion:machine:1'  id='rig' scene='rig.gltf' >\r\n\
    \t<aliases><alias name='mast'\tpath='0/2' /></aliases>\r\n\
    \t<sounds><sound ID='pump' file='sounds/Pump.ogg' gain='0,8'/></sounds>\r\n\
    \t<animations><animation id='mast.raise' duration='4'>\r\n\
    \t\t<channel target='masst' property='translation' begin='0' end='4' from='0 1 0' to='0 2 0'/>\r\n\
    \t</animation></animations>\r\n\
    \t<controls><switch animation='mast.raise' input='button.raise'><cue sound='pump'/></switch></controls>\r\n\
    </machine>";

fn repaired() -> String {
    let pairs = [
        ("ID='pump'", "id='pump'"),
        ("Pump.ogg", "pump.ogg"),
        ("'0,8'", "'0.8'"),
        ("masst", "mast"),
    ];
    pairs.iter().fold(FAULTY.to_owned(), |text, (from, to)| {
        text.replacen(from, to, 1)
    })
}

#[test]
fn safe_repairs_are_made_until_nothing_changes_and_no_other_byte_is() {
    let folder = folder("made", &[("a.machine.xml", FAULTY)]);
    let output = check(&folder, &["--fix", "."]);
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stdout));
    let said = text(&output.stdout);
    assert!(said.contains("4 repairs made"), "{said}");
    assert!(said.contains("a.machine.xml:3: wrong-type: "), "{said}");
    let after = fs::read_to_string(folder.join("a.machine.xml")).unwrap();
    assert_eq!(after, repaired());
    let again = check(&folder, &["--fix", "."]);
    assert!(
        !text(&again.stdout).contains("made"),
        "{}",
        text(&again.stdout)
    );
    assert_eq!(
        fs::read_to_string(folder.join("a.machine.xml")).unwrap(),
        after
    );
    assert_eq!(
        fs::read_dir(&folder).unwrap().count(),
        3,
        "nothing is left beside it"
    );
}

#[test]
fn a_diff_writes_nothing_and_patch_makes_the_same_of_it() {
    let folder = folder("diff", &[("a.machine.xml", FAULTY)]);
    let output = check(&folder, &["--diff", "a.machine.xml"]);
    assert_eq!(output.status.code(), Some(1));
    assert_eq!(
        fs::read_to_string(folder.join("a.machine.xml")).unwrap(),
        FAULTY
    );
    let mut patch = Command::new("patch");
    patch.args(["--binary", "-p0"]).current_dir(&folder);
    match outside::run(patch.stderr(Stdio::null()), &text(&output.stdout)) {
        Ok(_) => assert_eq!(
            fs::read_to_string(folder.join("a.machine.xml")).unwrap(),
            repaired()
        ),
        Err(reason) => outside::skipped("the diff against `patch`", &reason),
    }
    let sound = outside::project().join("corpus/ternholt");
    let output = check(&sound, &["--diff", "."]);
    assert_eq!(
        (output.status.code(), text(&output.stdout)),
        (Some(0), String::new())
    );
    assert_eq!(
        check(&folder, &["--diff", "no-such-file"]).status.code(),
        Some(2)
    );
}

#[test]
fn what_scripts_read_is_the_findings_that_are_left() {
    let broken = FAULTY.replace("end='4'", "end='-4'");
    let folder = folder("json", &[("a.machine.xml", &broken)]);
    let output = check(&folder, &["--fix", "--format", "json", "."]);
    let found: Vec<Value> = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(output.status.code(), Some(1));
    assert!(
        text(&output.stderr).contains("file-case"),
        "{}",
        text(&output.stderr)
    );
    let codes: Vec<&str> = found
        .iter()
        .filter_map(|one| one["code"].as_str())
        .collect();
    assert!(
        codes.contains(&"empty-window") || codes.contains(&"out-of-range"),
        "{codes:?}"
    );
    assert!(!codes.contains(&"file-case"), "{codes:?}");
}

#[test]
fn a_file_that_cannot_be_written_stays_and_the_others_are_repaired() {
    let folder = folder(
        "read-only",
        &[("a.machine.xml", FAULTY), ("b.machine.xml", FAULTY)],
    );
    let a = folder.join("a.machine.xml");
    let mut permissions = fs::metadata(&a).unwrap().permissions();
    permissions.set_readonly(true);
    fs::set_permissions(&a, permissions).unwrap();
    let output = check(&folder, &["--fix", "."]);
    assert_eq!(output.status.code(), Some(2));
    assert!(
        text(&output.stderr).contains("a.machine.xml"),
        "{}",
        text(&output.stderr)
    );
    assert_eq!(fs::read_to_string(&a).unwrap(), FAULTY);
    assert_eq!(
        fs::read_to_string(folder.join("b.machine.xml")).unwrap(),
        repaired()
    );
}

#[test]
fn with_a_dialect_that_cannot_be_read_nothing_is_repaired() {
    let files = [
        ("a.machine.xml", FAULTY),
        ("trunnion.toml", "dialects = [\"x.dialect.toml\"]"),
        ("x.dialect.toml", "[dialect]\nname = 1"),
    ];
    let folder = folder("no-dialect", &files);
    assert_eq!(check(&folder, &["--fix", "."]).status.code(), Some(2));
    assert_eq!(
        fs::read_to_string(folder.join("a.machine.xml")).unwrap(),
        FAULTY
    );
}
