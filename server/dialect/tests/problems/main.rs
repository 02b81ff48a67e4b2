//! Everything that can be wrong with a dialect file: what is said, and where.

mod file;
mod roles;
mod values;

use dialect::Dialect;
use expect_test::Expect;

/// A small dialect without problems; the tests add to it.
const BASE: &str = r#"[dialect]
name = "quay"
format = 1

[[document]]
name = "rig"
root = "rig"

[element.rig]
children = ["part*"]

[element.part.attributes]
id = { type = "name", of = "part" }
"#;

fn check(toml: &str, expect: Expect) {
    let problems = match Dialect::read(toml, None) {
        Ok(_) => Vec::new(),
        Err(problems) => {
            assert!(!problems.is_empty());
            problems
        }
    };
    let lines: Vec<String> = problems
        .iter()
        .map(|problem| {
            let found = &toml[usize::from(problem.range.start())..usize::from(problem.range.end())];
            let found = found.lines().next().unwrap_or("");
            format!(
                "{}:{} [{found}] {}\n",
                problem.line, problem.column, problem.message
            )
        })
        .collect();
    expect.assert_eq(&lines.concat());
}

/// The problems of the base with something added at the end. Lines count from 14.
fn check_added(toml: &str, expect: Expect) {
    check(&format!("{BASE}{toml}"), expect);
}

/// The problems of a value type in the base.
fn check_type(keys: &str, expect: Expect) {
    let toml = format!("value = {{ {keys} }}\n[words]\ncolour = [\"red\", \"blue\"]\n");
    check_added(&toml, expect);
}
