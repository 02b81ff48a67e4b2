//! Patches that `compare` writes, applied by other tools: lxml and elementpath.

#![allow(clippy::print_stdout)]

#[path = "../../server/compare/tests/edits/mod.rs"]
mod edits;

use std::process::Command;

use acceptance::outside;
use compare::Version;
use serde_json::json;

#[test]
fn other_tools_apply_our_patches() {
    let Some(python) = outside::python_with("elementpath, lxml") else {
        return outside::skipped(
            "patches by other tools",
            "no Python with lxml and elementpath",
        );
    };
    let files = edits::corpus();
    let small = files.iter().filter(|file| file.text.len() < 20_000);
    let (mut cases, mut seed) = (Vec::new(), 1_u64);
    let mut random = || {
        // Numbers that are the same in each run (xorshift).
        seed ^= seed << 13;
        seed ^= seed >> 7;
        seed ^= seed << 17;
        (seed >> 16) as u32
    };
    for (one, other) in small.clone().zip(small.clone().skip(1)).take(60) {
        assert!(!one.name.is_empty());
        cases.push((one.text.clone(), other.text.clone()));
    }
    for file in small {
        let changes: Vec<_> = (0..5)
            .map(|_| ((random() % 250) as u8, random(), random()))
            .collect();
        cases.push((file.text.clone(), edits::edited(&file.text, &changes)));
    }
    let house = dialect::Dialect::house();
    let mut written = Vec::new();
    for (number, (old, new)) in cases.iter().enumerate() {
        let kind = house.documents.first().filter(|_| number % 2 == 0);
        let trees = (syntax::parse(old), syntax::parse(new));
        let version = |text, tree| Version {
            text,
            tree,
            meaning: kind.map(|kind| (&*house, &**kind)),
        };
        let patch = compare::patch(&version(old, &trees.0), &version(new, &trees.1)).unwrap();
        written.push(json!({ "old": old, "new": new, "patch": patch.text }));
    }
    let script = outside::project().join("tests/patch-oracle/apply.py");
    let answer = outside::run(
        Command::new(python).arg(script),
        &serde_json::Value::from(written).to_string(),
    );
    println!("{}", answer.unwrap_or_else(|error| panic!("{error}")));
}
