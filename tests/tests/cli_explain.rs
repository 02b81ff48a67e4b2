//! `trunnion explain` as a person runs it.

use std::process::{Command, Output, Stdio};

use acceptance::program::{self, stderr, stdout};

fn explain(arguments: &[&str]) -> Output {
    let mut command = Command::new(program::path());
    command.arg("explain").args(arguments).output().unwrap()
}

#[test]
fn explain_shows_the_page_of_every_code_it_lists() {
    let list = stdout(&explain(&[]));
    let codes: Vec<&str> = list
        .lines()
        .filter(|line| line.starts_with("  "))
        .map(|line| line.split_whitespace().next().unwrap())
        .collect();
    assert!(codes.len() > 40, "{list}");
    for code in codes {
        let output = explain(&[code]);
        let page = stdout(&output);
        assert!(
            output.status.success() && page.starts_with(&format!("# {code}\n")),
            "{page}"
        );
        assert!(
            ["## Bad", "## Good", "## Why", "## Fix"]
                .iter()
                .all(|section| page.contains(section)),
            "{page}"
        );
    }
}

#[test]
fn explain_asks_back_about_a_misspelled_code() {
    let output = explain(&["unknown-nam"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(
        stderr(&output).contains("Did you mean unknown-name?"),
        "{}",
        stderr(&output)
    );
    assert_eq!(stdout(&output), "");
}

#[test]
fn a_listener_that_goes_away_is_no_trouble() {
    let mut child = Command::new(program::path())
        .args(["explain", "unknown-nam"])
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stderr.take());
    assert_eq!(child.wait().unwrap().code(), Some(2));
}
