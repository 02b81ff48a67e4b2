//! The reference (DIALECT.md) and its worked example hold what they say.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use dialect::Dialect;

const REFERENCE: &str = include_str!("../DIALECT.md");

fn yard() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../corpus/dialects/yard")
}

fn file_of_the_yard(name: &str) -> String {
    let path = yard().join(name);
    std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// The three parts of the page: first steps, worked example, reference.
fn parts() -> [&'static str; 3] {
    let (first, rest) = REFERENCE.split_once("\n# Worked example").unwrap();
    let (example, reference) = rest.split_once("\n# Reference").unwrap();
    [first, example, reference]
}

/// The code blocks of a language.
fn blocks<'p>(part: &'p str, language: &str) -> Vec<&'p str> {
    let fence = format!("```{language}\n");
    let found = part.split(&fence).skip(1);
    found
        .map(|block| block.split("```").next().unwrap())
        .collect()
}

fn assert_reads(toml: &str) -> Dialect {
    Dialect::read(toml, None).unwrap_or_else(|problems| {
        let lines: Vec<String> = problems.iter().map(ToString::to_string).collect();
        panic!("{}\nin\n{toml}", lines.join("\n"));
    })
}

fn smallest() -> &'static str {
    let blocks = blocks(parts()[0], "toml");
    assert_eq!(blocks.len(), 1);
    blocks[0]
}

#[test]
fn the_smallest_dialect_reads_without_problems() {
    assert_reads(smallest());
}

#[test]
fn the_blocks_of_the_worked_example_are_its_file() {
    let file = file_of_the_yard("yard.dialect.toml");
    let (comment, body) = file.split_once("\n\n").unwrap();
    assert!(comment.lines().all(|line| line.starts_with('#')));
    assert_eq!(blocks(parts()[1], "toml").join("\n"), body);
    assert_reads(&file);
}

#[test]
fn the_xml_of_the_worked_example_is_in_its_files() {
    let rig = file_of_the_yard("rigs/dorrik-9.rig.xml");
    let scene = file_of_the_yard("rigs/dorrik-9.limbs.xml");
    let blocks = blocks(parts()[1], "xml");
    assert!(blocks.len() > 3);
    for block in blocks {
        assert!(rig.contains(block) || scene.contains(block), "{block}");
    }
}

#[test]
fn every_block_of_the_reference_goes_with_the_smallest_dialect() {
    let blocks = blocks(parts()[2], "toml");
    assert!(blocks.len() > 10);
    for block in blocks {
        assert_reads(&format!("{}\n{block}", smallest()));
    }
}

/// A dialect with a key in every table that none knows; the reader answers with those it knows.
const UNKNOWN_KEYS: &str = r#"
qqqqqqqq = 1
[dialect]
qqqqqqqq = 1
[[document]]
qqqqqqqq = 1
[units]
qqqqqqqq = 1
[unit.own]
qqqqqqqq = 1
[notation]
qqqqqqqq = 1
[notation.index-path]
qqqqqqqq = 1
[notation.axes]
qqqqqqqq = 1
[files]
qqqqqqqq = 1
[inputs]
qqqqqqqq = 1
[element.a]
qqqqqqqq = 1
learnt = { qqqqqqqq = 1 }
[element.a.attributes]
a = { qqqqqqqq = 1 }
b = { type = "number", list = { qqqqqqqq = 1 } }
[role]
qqqqqqqq = 1
[[role.scene]]
qqqqqqqq = 1
[[role.alias]]
qqqqqqqq = 1
[[role.wheel]]
qqqqqqqq = 1
[[role.sound]]
qqqqqqqq = 1
[[role.animation]]
qqqqqqqq = 1
[[role.channel]]
qqqqqqqq = 1
easing = { qqqqqqqq = 1 }
[[role.channel.motion]]
qqqqqqqq = 1
property = { qqqqqqqq = 1 }
[[role.control]]
qqqqqqqq = 1
kind = { qqqqqqqq = 1 }
[[role.listing]]
qqqqqqqq = 1
[[role.wording]]
qqqqqqqq = 1
[scene]
qqqqqqqq = 1
[scene.units]
qqqqqqqq = 1
"#;

#[test]
fn the_reference_names_every_key() {
    let problems = Dialect::read(UNKNOWN_KEYS, None).unwrap_err();
    let mut tables = 0;
    let mut keys = BTreeSet::new();
    for problem in &problems {
        let Some((_, known)) = problem.message.split_once("known here: ") else {
            continue;
        };
        tables += 1;
        keys.extend(known.split('`').skip(1).step_by(2));
    }
    assert_eq!(tables, UNKNOWN_KEYS.matches("qqqqqqqq").count());
    assert!(keys.len() > 60, "{keys:?}");
    let reference = parts()[2];
    // Tables of the file are shown with their brackets.
    let missing: Vec<&str> = keys
        .into_iter()
        .filter(|key| {
            let forms = [format!("`{key}`"), format!("`[{key}"), format!("`[[{key}")];
            !forms.iter().any(|form| reference.contains(form))
                && !reference.contains(&format!("[[role.{key}]]"))
        })
        .collect();
    assert_eq!(missing, Vec::<&str>::new());
}
