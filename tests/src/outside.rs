//! What the tests borrow from outside the project: packages that `tests/run` installs, files beside it.

use std::io::{Read as _, Write as _};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// The project's root.
pub fn project() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// Where `tests/run` puts packages: npm's in `npm/node_modules`, Python's in the virtual environment `python`.
pub fn cache() -> PathBuf {
    std::env::var_os("TRUNNION_TEST_CACHE")
        .map_or_else(|| project().join("tests/.cache"), PathBuf::from)
}

/// The folder of an npm package, if it is installed.
pub fn npm_package(name: &str) -> Option<PathBuf> {
    existing(cache().join("npm/node_modules").join(name))
}

/// A Python that has this module, if there is one.
pub fn python_with(module: &str) -> Option<PathBuf> {
    let own = existing(cache().join("python/bin/python3"));
    own.into_iter()
        .chain([PathBuf::from("python3")])
        .find(|python| {
            let asked = Command::new(python)
                .args(["-c", &format!("import {module}")])
                .output();
            asked.is_ok_and(|answer| answer.status.success())
        })
}

/// A folder of reference files: in the folder that TRUNNION_REFERENCES names, or in one beside the project.
pub fn references(folder: &str) -> Option<PathBuf> {
    let all = std::env::var_os("TRUNNION_REFERENCES")
        .map_or_else(|| project().join("../shared/references"), PathBuf::from);
    existing(all.join(folder))
}

/// The path, if something is there.
pub fn existing(path: PathBuf) -> Option<PathBuf> {
    path.exists().then_some(path)
}

/// The files below a folder whose names end like one of these, in order.
pub fn files_below(folder: &Path, endings: &[&str]) -> Vec<PathBuf> {
    let (mut folders, mut files) = (vec![folder.to_owned()], Vec::new());
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(&folder).into_iter().flatten().flatten() {
            let path = entry.path();
            if path.is_dir() {
                folders.push(path);
            } else if endings
                .iter()
                .any(|end| path.to_string_lossy().ends_with(end))
            {
                files.push(path);
            }
        }
    }
    files.sort();
    files
}

/// Runs a program, writes `input` to it and gives what it wrote.
///
/// # Errors
/// Says why it could not be run, or what it wrote to its standard error if it failed.
pub fn run(program: &mut Command, input: &str) -> Result<String, String> {
    let told = |error: std::io::Error| format!("{program:?}: {error}", program = "cannot run");
    let mut child = program
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .map_err(told)?;
    let mut stdin = child.stdin.take();
    let input = input.to_owned();
    // Written beside the reading: a program that answers before it has read all would wait for us.
    let writer = std::thread::spawn(move || {
        stdin
            .as_mut()
            .map_or(Ok(()), |stdin| stdin.write_all(input.as_bytes()))
    });
    let mut stderr = child.stderr.take();
    let complaints = std::thread::spawn(move || {
        let mut text = String::new();
        if let Some(stderr) = stderr.as_mut() {
            let _ = stderr.read_to_string(&mut text);
        }
        text
    });
    let output = child.wait_with_output().map_err(told)?;
    let complaints = complaints.join().unwrap_or_default();
    if !output.status.success() {
        return Err(format!("{}: {complaints}", output.status));
    }
    if let Ok(written) = writer.join() {
        written.map_err(told)?;
    }
    String::from_utf8(output.stdout).map_err(|error| error.to_string())
}

/// Tells the terminal that a test was left out, even where the output of tests that pass is swallowed.
pub fn skipped(what: &str, why: &str) {
    say(&format!("SKIPPED: {what}, {why}"));
}

/// Tells the terminal.
pub fn say(line: &str) {
    let _ = writeln!(std::io::stderr(), "{line}");
}
