//! The reference and its worked example hold what they say.

use std::path::{Path, PathBuf};

use dialect::Dialect;

fn yard() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../corpus/dialects/yard")
}

fn read(path: &Path) -> String {
    std::fs::read_to_string(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

fn assert_reads(toml: &str) -> Dialect {
    Dialect::read(toml, None).unwrap_or_else(|problems| {
        let lines: Vec<String> = problems.iter().map(ToString::to_string).collect();
        panic!("{}\nin\n{toml}", lines.join("\n"));
    })
}

#[test]
fn the_worked_example_reads_without_problems() {
    assert_reads(&read(&yard().join("yard.dialect.toml")));
}
