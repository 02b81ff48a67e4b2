//! `trunnion plot` as a person or a script runs it.

use std::fs;

use acceptance::program::run_in_project as trunnion;
use acceptance::yard::Yard;

const CARRIER: &str = "corpus/ternholt/machines/bram-6.machine.xml";

#[test]
fn a_picture_is_written_replaced_and_the_same_each_time() {
    let yard = Yard::empty();
    let file = yard.join("out.svg");
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
    assert_eq!(yard.names("").len(), 1);
}

#[test]
fn what_is_no_picture_is_not_replaced() {
    let yard = Yard::with(&[("notes.txt", "mine")]);
    let file = yard.join("notes.txt");
    let output = trunnion(&["plot", CARRIER, "-o", file.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(2));
    assert_eq!(fs::read(&file).unwrap(), b"mine");
}

#[test]
#[cfg(unix)]
fn a_device_without_an_end_is_not_read_and_not_replaced() {
    for command in [
        &["plot", CARRIER, "-o", "/dev/zero"][..],
        &["learn", "corpus/ternholt", "-o", "/dev/zero"],
        &[
            "dialect",
            "export",
            "house",
            "--rng",
            "--document",
            "machine",
            "--out",
            "/dev/zero",
        ],
    ] {
        let output = trunnion(command);
        assert_eq!(output.status.code(), Some(2), "{output:?}");
        let said = String::from_utf8(output.stderr).unwrap();
        assert!(
            said.contains("/dev/zero cannot be written: it is no file"),
            "{said}"
        );
    }
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
