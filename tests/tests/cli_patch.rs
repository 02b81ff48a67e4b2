//! `trunnion patch` as a person or a script runs it.

#![allow(clippy::print_stdout)]

use std::fs;
use std::path::PathBuf;
use std::process::{Command, Output, Stdio};
use std::time::{Duration, Instant};

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

/// After a kill at any moment the file is the old one or the new one, whole.
#[test]
fn killed_at_any_moment_the_file_is_whole() {
    let folder = folder("killed");
    let rows = "  <row>some text that takes a while to write</row>\n".repeat(20_000);
    let old = format!("<a n=\"1\">\n{rows}</a>\n");
    let new = old.replacen("\"1\"", "\"2\"", 1);
    fs::write(
        folder.join("p.xml"),
        "<d><replace sel=\"a/@n\">2</replace></d>",
    )
    .unwrap();
    let file = folder.join("a.xml");
    fs::write(&file, &old).unwrap();
    // Building the program, if it must be, is no part of a run.
    program::path();
    let begun = Instant::now();
    assert!(run(&folder, &["--write"]).status.success());
    let whole = begun.elapsed();
    let kills = 40;
    let (mut olds, mut news, mut left) = (0, 0, 0);
    for kill in 0..kills {
        fs::write(&file, &old).unwrap();
        let mut child = command(&folder, &["--write"])
            .stdout(Stdio::null())
            .spawn()
            .unwrap();
        // Spread over a run, by steps that have no common measure with it.
        let share = f64::from(kill) * 0.618_034 % 1.0;
        std::thread::sleep(Duration::from_secs_f64(whole.as_secs_f64() * share * 1.1));
        let _ = child.kill();
        child.wait().unwrap();
        let found = fs::read_to_string(&file).unwrap();
        olds += usize::from(found == old);
        news += usize::from(found == new);
        for entry in fs::read_dir(&folder).unwrap().flatten() {
            if entry.path().extension().is_some_and(|end| end == "tmp") {
                left += 1;
                fs::remove_file(entry.path()).unwrap();
            }
        }
    }
    println!(
        "{kills} kills: {olds} times the old file, {news} times the new one, {left} temporary files left"
    );
    assert_eq!(olds + news, kills as usize);
}
