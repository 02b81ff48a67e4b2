//! `trunnion plot` as a person or a script runs it.

use std::fs;
use std::path::PathBuf;
use std::process::{Command, Output};

use acceptance::{outside, program};

const CARRIER: &str = "corpus/ternholt/machines/bram-6.machine.xml";

fn trunnion(arguments: &[&str]) -> Output {
    let mut command = Command::new(program::path());
    command
        .args(arguments)
        .current_dir(outside::project())
        .output()
        .unwrap()
}

/// A folder of this test's own.
fn folder(name: &str) -> PathBuf {
    let folder =
        std::env::temp_dir().join(format!("trunnion-cli-plot-{}-{name}", std::process::id()));
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    folder
}

#[test]
fn a_picture_is_written_replaced_and_the_same_each_time() {
    let folder = folder("same");
    let file = folder.join("out.svg");
    let file_name = file.to_str().unwrap();
    for outline in [false, true, true] {
        let mut arguments = vec!["plot", CARRIER, "--control", "mast.raise", "-o", file_name];
        arguments.extend(outline.then_some("--outline"));
        assert_eq!(trunnion(&arguments).status.code(), Some(0));
        let written = fs::read(&file).unwrap();
        let mut printed = vec!["plot", CARRIER, "--animation", "mast.raise"];
        printed.extend(outline.then_some("--outline"));
        assert_eq!(trunnion(&printed).stdout, written);
    }
    assert_eq!(fs::read_dir(&folder).unwrap().count(), 1);
}

#[test]
fn what_is_no_picture_is_not_replaced() {
    let file = folder("theirs").join("notes.txt");
    fs::write(&file, "mine").unwrap();
    let output = trunnion(&["plot", CARRIER, "-o", file.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(2));
    assert_eq!(fs::read(&file).unwrap(), b"mine");
}

#[test]
fn an_animation_that_is_not_there_is_said_with_those_that_are() {
    let output = trunnion(&["plot", CARRIER, "--animation", "no.such"]);
    assert_eq!(output.status.code(), Some(2));
    let said = String::from_utf8(output.stderr).unwrap();
    assert!(
        said.contains("There are: mast.raise, hooks.close"),
        "{said}"
    );
}
