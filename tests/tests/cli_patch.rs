//! `trunnion patch` as a person or a script runs it.

use std::fs;
use std::path::PathBuf;
use std::process::{Command, Output};

use acceptance::program;

fn folder(name: &str) -> PathBuf {
    let folder =
        std::env::temp_dir().join(format!("trunnion-cli-patch-{}-{name}", std::process::id()));
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    folder
}

fn command(folder: &PathBuf, more: &[&str]) -> Command {
    let mut command = Command::new(program::path());
    command
        .args(["patch", "a.xml", "p.xml"])
        .args(more)
        .current_dir(folder);
    command
}

fn run(folder: &PathBuf, more: &[&str]) -> Output {
    command(folder, more).output().unwrap()
}

const DOCUMENT: &[u8] = b"<a>\r\n\t<b id='x'  n='1' />\r\n</a>";

#[test]
fn only_what_is_touched_changes_and_only_if_it_is_asked_for() {
    let folder = folder("write");
    fs::write(folder.join("a.xml"), DOCUMENT).unwrap();
    let patch = "<d><replace sel=\"a/b[@id='x']/@n\">2</replace></d>";
    fs::write(folder.join("p.xml"), patch).unwrap();
    let after = b"<a>\r\n\t<b id='x'  n='2' />\r\n</a>";

    assert_eq!(run(&folder, &[]).status.code(), Some(0));
    assert_eq!(fs::read(folder.join("a.xml")).unwrap(), DOCUMENT);
    assert_eq!(run(&folder, &["-o", "new.xml"]).status.code(), Some(0));
    assert_eq!(fs::read(folder.join("new.xml")).unwrap(), after);
    // What is there already is not overwritten.
    assert_eq!(run(&folder, &["-o", "new.xml"]).status.code(), Some(2));
    assert_eq!(run(&folder, &["--write"]).status.code(), Some(0));
    assert_eq!(fs::read(folder.join("a.xml")).unwrap(), after);
    assert_eq!(fs::read_dir(&folder).unwrap().count(), 3);
}

#[test]
fn a_patch_whose_last_operation_does_not_fit_changes_nothing() {
    let folder = folder("refused");
    fs::write(folder.join("a.xml"), DOCUMENT).unwrap();
    let patch = "<d><replace sel=\"a/b/@n\">2</replace>\n <remove sel=\"a/c\"/></d>";
    fs::write(folder.join("p.xml"), patch).unwrap();
    let output = run(&folder, &["--write"]);
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(1), "{said}");
    assert!(said.contains("p.xml:2:15: unlocated-node: "), "{said}");
    assert_eq!(fs::read(folder.join("a.xml")).unwrap(), DOCUMENT);
}
