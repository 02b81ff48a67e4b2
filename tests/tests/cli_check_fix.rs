//! `trunnion check --fix` and `--diff` as a person or a script runs them.

use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use acceptance::desk::corpus;
use acceptance::outside;
use acceptance::program::{run, stderr, stdout};
use acceptance::yard::Yard;
use serde_json::Value;

/// A folder of this test's own, with these files and a scene.
fn with(files: &[(&str, &str)]) -> Yard {
    let yard = Yard::with(files);
    yard.copy(&corpus().join("faults/shared/rig.gltf"), "rig.gltf");
    yard.write("sounds/pump.ogg", "");
    yard
}

fn check(folder: &Path, arguments: &[&str]) -> Output {
    run(folder, &[&["check"], arguments].concat())
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
    let yard = with(&[("a.machine.xml", FAULTY)]);
    let output = check(&yard, &["--fix", "."]);
    assert_eq!(output.status.code(), Some(0), "{}", stdout(&output));
    let said = stdout(&output);
    assert!(said.contains("4 repairs made"), "{said}");
    assert!(said.contains("a.machine.xml:3: wrong-type: "), "{said}");
    let after = yard.text("a.machine.xml");
    assert_eq!(after, repaired());
    let again = check(&yard, &["--fix", "."]);
    assert!(!stdout(&again).contains("made"), "{}", stdout(&again));
    assert_eq!(yard.text("a.machine.xml"), after);
    assert_eq!(yard.names("").len(), 3, "nothing is left beside it");
}

#[test]
fn a_diff_writes_nothing_and_patch_makes_the_same_of_it() {
    let yard = with(&[("a.machine.xml", FAULTY)]);
    let output = check(&yard, &["--diff", "a.machine.xml"]);
    assert_eq!(output.status.code(), Some(1));
    assert_eq!(yard.text("a.machine.xml"), FAULTY);
    let mut patch = Command::new("patch");
    patch.args(["--binary", "-p0"]).current_dir(&yard);
    match outside::run(patch.stderr(Stdio::null()), &stdout(&output)) {
        Ok(_) => assert_eq!(yard.text("a.machine.xml"), repaired()),
        Err(reason) => outside::skipped("the diff against `patch`", &reason),
    }
    let sound = outside::project().join("corpus/ternholt");
    let output = check(&sound, &["--diff", "."]);
    assert_eq!(
        (output.status.code(), stdout(&output)),
        (Some(0), String::new())
    );
    assert_eq!(
        check(&yard, &["--diff", "no-such-file"]).status.code(),
        Some(2)
    );
}

#[test]
fn what_scripts_read_is_the_findings_that_are_left() {
    let broken = FAULTY.replace("end='4'", "end='-4'");
    let yard = with(&[("a.machine.xml", &broken)]);
    let output = check(&yard, &["--fix", "--format", "json", "."]);
    let found: Vec<Value> = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(output.status.code(), Some(1));
    assert!(stderr(&output).contains("file-case"), "{}", stderr(&output));
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
    let yard = with(&[("a.machine.xml", FAULTY), ("b.machine.xml", FAULTY)]);
    let a = yard.join("a.machine.xml");
    let mut permissions = fs::metadata(&a).unwrap().permissions();
    permissions.set_readonly(true);
    fs::set_permissions(&a, permissions).unwrap();
    let output = check(&yard, &["--fix", "."]);
    assert_eq!(output.status.code(), Some(2));
    assert!(
        stderr(&output).contains("a.machine.xml"),
        "{}",
        stderr(&output)
    );
    assert_eq!(fs::read_to_string(&a).unwrap(), FAULTY);
    assert_eq!(yard.text("b.machine.xml"), repaired());
}

#[test]
fn with_a_dialect_that_cannot_be_read_nothing_is_repaired() {
    let files = [
        ("a.machine.xml", FAULTY),
        ("trunnion.toml", "dialects = [\"x.dialect.toml\"]"),
        ("x.dialect.toml", "[dialect]\nname = 1"),
    ];
    let yard = with(&files);
    assert_eq!(check(&yard, &["--fix", "."]).status.code(), Some(2));
    assert_eq!(yard.text("a.machine.xml"), FAULTY);
}

#[test]
fn a_repair_that_would_make_a_file_unreadable_is_not_made() {
    let faulty = "<?xml version='1.0' encoding='ISO-8859-1'?>\n<machine xmlns='urn:trunnion:machine:1' id='rig' scene='rig.gltf'>\n\
        <aliases><alias name='kr&#228;he' path='0/2'/></aliases>\n\
        <animations><animation id='raise'>\n\
        <channel target='krahe' property='translation' begin='0' end='4' from='0 1 0' to='0 2 0'/>\n\
        </animation></animations></machine>";
    let yard = with(&[("a.machine.xml", faulty)]);
    let said = yard.ends_with(2, &["check", "--fix", "."]);
    assert!(
        said.contains("Write encoding=\"UTF-8\" there first"),
        "{said}"
    );
    assert_eq!(yard.text("a.machine.xml"), faulty);
    let wide = faulty.replace("ISO-8859-1", "UTF-8");
    yard.write("a.machine.xml", &wide);
    yard.ends_with(0, &["check", "--fix", "."]);
    assert_eq!(
        yard.text("a.machine.xml"),
        wide.replace("'krahe'", "'krähe'")
    );
}
