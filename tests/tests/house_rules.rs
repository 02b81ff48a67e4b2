//! The rules of the house that a machine can check.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// From the ground up: a room may use only rooms before it.
const ROOMS: [&str; 14] = [
    "syntax", "whole", "archive", "dialect", "schema", "scene", "machine", "motion", "patch",
    "compare", "learn", "project", "ide", "trunnion",
];

fn top() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

fn room(name: &str) -> PathBuf {
    top().join("server").join(name)
}

/// The Rust files below a folder, without those that only tests use.
fn sources(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut open = vec![folder.to_path_buf()];
    while let Some(folder) = open.pop() {
        for entry in fs::read_dir(folder).unwrap().flatten() {
            let (path, name) = (entry.path(), entry.file_name().into_string().unwrap());
            let is_test = ["tests", "tests.rs", "fixture", "fixture.rs"].contains(&name.as_str());
            if path.is_dir() && !is_test {
                open.push(path);
            } else if name.ends_with(".rs") && !is_test {
                found.push(path);
            }
        }
    }
    found
}

/// A file's code without its comments and its own tests.
fn code(path: &Path) -> String {
    let text = fs::read_to_string(path).unwrap();
    let code = text.split("#[cfg(test)]\nmod tests {").next().unwrap();
    let lines = code
        .lines()
        .map(|line| match line.trim_start().starts_with("//") {
            true => "",
            false => line,
        });
    lines.collect::<Vec<_>>().join("\n")
}

fn literals(code: &str) -> impl Iterator<Item = &str> {
    // Good enough for words: a literal with an escape is none.
    code.split('"').skip(1).step_by(2)
}

#[test]
fn a_room_uses_only_rooms_before_it() {
    for (at, name) in ROOMS.iter().enumerate() {
        let manifest = fs::read_to_string(room(name).join("Cargo.toml")).unwrap();
        for later in &ROOMS[at..] {
            let uses = manifest.lines().any(|line| {
                let package = line.split(['.', '=', ' ']).next().unwrap_or_default();
                package == *later
            });
            assert!(!uses, "{name} must not use {later}");
        }
    }
}

#[test]
fn a_library_is_known_in_one_room_only() {
    let homes = [
        ("rowan", "syntax"),
        ("tower_lsp", "trunnion"),
        ("tokio", "trunnion"),
        ("clap", "trunnion"),
        ("svg", "ide"),
    ];
    for (library, home) in homes {
        for name in ROOMS.iter().filter(|name| **name != home) {
            for path in sources(&room(name).join("src")) {
                assert!(
                    !code(&path).contains(&format!("{library}::")),
                    "{} uses {library}, which only {home} may know",
                    path.display()
                );
            }
        }
    }
}

#[test]
fn only_the_command_line_prints() {
    for name in ROOMS {
        for path in sources(&room(name).join("src")) {
            let prints = ["println!", "eprintln!", "print!(", "stdout()", "stderr()"];
            let found = prints.iter().find(|print| code(&path).contains(**print));
            let may = path.to_string_lossy().contains("/trunnion/src/cli");
            assert!(
                may || found.is_none(),
                "{} has {}",
                path.display(),
                found.unwrap()
            );
        }
    }
}

/// Words that a dialect uses too, where Rust means something else by them: where, and what.
const NOT_A_DIALECT_S: &[(&str, &[&str])] = &[
    // The XML declaration.
    ("syntax/src/markup.rs", &["version"]),
    // Groups of codes.
    ("ide/src/codes.rs", &["scene", "controls", "mod"]),
    // English verbs from which names of animations are proposed.
    (
        "ide/src/assists/motion_word.rs",
        &["move", "turn", "show", "slide", "shift", "tilt", "swing"],
    ),
    // Attributes of SVG.
    ("ide/src/plot/canvas.rs", &["width", "end", "stroke"]),
    // The name for a node that has none.
    ("ide/src/assists/new_alias.rs", &["node"]),
    // The types of dialect files, as their reference calls them.
    ("ide/src/hover/value.rs", &["input", "name", "node", "file"]),
    (
        "learn/src/report.rs",
        &["input", "name", "node", "file", "text"],
    ),
    // A key of dialect files.
    ("learn/src/again/parts.rs", &["open"]),
    // Roles and their parts, as the reference of dialect files calls them.
    (
        "learn/src/roles/proposal.rs",
        &[
            "alias",
            "analog",
            "animation",
            "begin",
            "channel",
            "control",
            "digital",
            "duration",
            "easing",
            "end",
            "ends",
            "file",
            "from",
            "gain",
            "input",
            "kind",
            "linear",
            "listing",
            "name",
            "node",
            "path",
            "property",
            "radius",
            "rate",
            "rotation",
            "scene",
            "smooth",
            "sound",
            "sounds",
            "step",
            "text",
            "to",
            "wheel",
            "wheels",
            "width",
            "window",
        ],
    ),
    // A plural in a message.
    ("ide/src/checks/motion/wheels.rs", &["wheels"]),
    // A count in a title.
    ("ide/src/assists/carry_wheels.rs", &["wheel", "wheels"]),
];

#[test]
fn no_word_of_a_dialect_stands_in_rust() {
    let mut words = BTreeSet::new();
    let yard = top().join("corpus/dialects/yard");
    let yard = fs::read_dir(yard)
        .unwrap()
        .flatten()
        .map(|entry| entry.path())
        .find(|path| path.to_string_lossy().ends_with(".dialect.toml"))
        .map(|path| dialect::Dialect::read(&fs::read_to_string(path).unwrap(), None).unwrap())
        .expect("the second dialect is there");
    for dialect in [&*dialect::Dialect::house(), &yard] {
        for element in dialect.elements() {
            words.insert(element.name.clone());
            words.extend(
                element
                    .attributes
                    .iter()
                    .map(|attribute| attribute.name.clone()),
            );
        }
        for list in &dialect.word_lists {
            words.extend(list.words.iter().map(|word| word.text.clone()));
        }
    }
    assert!(words.len() > 80, "both dialects were read");
    let mut said = Vec::new();
    for name in [
        "syntax", "machine", "motion", "compare", "project", "learn", "ide",
    ] {
        for path in sources(&room(name).join("src")) {
            let shown = path.to_string_lossy().replace('\\', "/");
            let allowed = NOT_A_DIALECT_S
                .iter()
                .find(|(file, _)| shown.ends_with(file));
            for literal in literals(&code(&path)) {
                let excused = allowed.is_some_and(|(_, words)| words.contains(&literal));
                if words.contains(literal) && !excused {
                    said.push(format!("{shown} says \"{literal}\""));
                }
            }
        }
    }
    assert!(said.is_empty(), "{}", said.join("\n"));
}

#[test]
fn files_stay_small() {
    for name in ROOMS {
        for path in sources(&room(name).join("src")) {
            let lines = code(&path).lines().count();
            assert!(
                lines <= 700,
                "{} has {lines} lines: is it one thing?",
                path.display()
            );
        }
    }
}
