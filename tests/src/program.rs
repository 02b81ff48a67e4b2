//! The built `trunnion`.

use std::env;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::OnceLock;

use crate::outside;

/// The program under test: the one that `TRUNNION_BIN` names, else the one of this build, brought up to date first.
///
/// # Panics
/// There is no such program, or it does not build.
pub fn path() -> &'static PathBuf {
    static PATH: OnceLock<PathBuf> = OnceLock::new();
    PATH.get_or_init(|| match env::var_os("TRUNNION_BIN") {
        Some(path) => {
            let path = PathBuf::from(path);
            assert!(
                path.is_file(),
                "TRUNNION_BIN names {}, which is no file",
                path.display()
            );
            path
        }
        None => build(),
    })
}

fn build() -> PathBuf {
    // target/PROFILE/deps/this-test
    let test = env::current_exe().expect("a test knows where it is");
    let folder = test
        .ancestors()
        .nth(2)
        .expect("a test is in target/PROFILE/deps");
    let profile = match folder.file_name().and_then(|name| name.to_str()) {
        Some("debug") | None => "dev",
        Some(profile) => profile,
    };
    let cargo = env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let status = Command::new(cargo)
        .args([
            "build",
            "--quiet",
            "--package",
            "trunnion",
            "--profile",
            profile,
        ])
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .status()
        .expect("cargo runs");
    assert!(status.success(), "trunnion does not build");
    folder.join(format!("trunnion{}", env::consts::EXE_SUFFIX))
}

/// Runs the program in a folder.
///
/// # Panics
/// It does not start.
pub fn run(folder: &Path, arguments: &[&str]) -> Output {
    let mut command = Command::new(path());
    command
        .args(arguments)
        .current_dir(folder)
        .output()
        .expect("the program starts")
}

/// Runs the program in the project's folder.
///
/// # Panics
/// It does not start.
pub fn run_in_project(arguments: &[&str]) -> Output {
    run(&outside::project(), arguments)
}

/// What a program printed.
///
/// # Panics
/// It is no text.
pub fn stdout(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

/// What a program said beside that.
///
/// # Panics
/// It is no text.
pub fn stderr(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}
