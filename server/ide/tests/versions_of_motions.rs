//! What a checker that went along says of motions that have to do with each other, of parts opposite each other and of parts
//! that hang on each other, is what a fresh one says.

mod fresh;
mod random;

use std::fs;
use std::path::PathBuf;

use fresh::as_if_fresh;
use ide::Finding;
use ide::checks::Checker;
use project::{ContentChange, Workspace};
use random::Random;
use syntax::{Encoding, Position};
use tempfile::TempDir;

const GROUPS: usize = 20;

/// A part at rest: its place in the scene, and where its parent's coordinates have it.
struct Part {
    path: String,
    rest: [f64; 3],
}

/// Groups one behind the other: an arm on the left, two on the right of which one may take the other's place, and on each arm
/// a tool with a tip.
fn parts() -> Vec<Part> {
    let mut parts = Vec::new();
    for group in 0..GROUPS {
        let along = group as f64;
        let arms = [[1.0, 0.0, along], [-1.0, 0.0, along], [-1.0, 0.01, along]];
        for (arm, rest) in arms.into_iter().enumerate() {
            let path = (3 * group + arm).to_string();
            for (below, rest) in
                ["", "/0", "/0/0"]
                    .into_iter()
                    .zip([rest, [0.0, 1.0, 0.0], [0.0, 0.5, 0.0]])
            {
                let path = format!("{path}{below}");
                parts.push(Part { path, rest });
            }
        }
    }
    parts
}

fn scene(parts: &[Part]) -> String {
    let node = |(at, part): (usize, &Part)| {
        let children = match part.path.matches('/').count() {
            2 => String::new(),
            _ => format!(",\"children\":[{}]", at + 1),
        };
        format!("{{\"translation\":{:?}{children}}}", part.rest)
    };
    let nodes: Vec<String> = parts.iter().enumerate().map(node).collect();
    let roots: Vec<usize> = (0..parts.len()).step_by(3).collect();
    format!(
        "{{\"asset\":{{\"version\":\"2.0\"}},\"scene\":0,\"scenes\":[{{\"nodes\":{roots:?}}}],\"nodes\":[{}]}}",
        nodes.join(",")
    )
}

/// A channel in one of the states that somebody's typing leaves it in. They start where their parts rest, so that nothing is
/// to be told of most of them.
fn channel(part: &Part, random: &mut Random) -> String {
    let [x, y, z] = part.rest;
    let to = match random.below(6) {
        0 => [x - 1.0, y, z],
        1 => [x, y + 1.0, z],
        2 => [x, y - 1.0, z],
        _ => [x + x.signum(), y, z],
    };
    let [mark, begin] = match random.below(8) {
        0 | 3 => return "      \n".to_owned(),
        1 => ["<", "0"],
        2 => ["", "1"],
        _ => ["", "0"],
    };
    motion(part, mark, begin, to)
}

/// `mark`: what stands where the first attribute should.
fn motion(part: &Part, mark: &str, begin: &str, to: [f64; 3]) -> String {
    let [x, y, z] = part.rest;
    format!(
        "      <channel {mark}target=\"{}\" property=\"translation\" begin=\"{begin}\" end=\"2\" from=\"{x} {y} {z}\" to=\"{} {} {}\"/>\n",
        part.path, to[0], to[1], to[2]
    )
}

/// A document of these channels, looked at after each change of one of them.
struct Typing {
    _folder: TempDir,
    path: PathBuf,
    rows: Vec<String>,
    workspace: Workspace,
    checker: Checker,
    version: i32,
}

impl Typing {
    fn new(scene: &str, rows: Vec<String>) -> Self {
        let folder = TempDir::with_prefix("trunnion-").expect("a folder can be made");
        fs::write(folder.path().join("s.gltf"), scene).expect("the scene can be written");
        let path = folder.path().join("m.machine.xml");
        let mut workspace = Workspace::default();
        workspace.open(path.clone(), Some(0), document(&rows));
        Self {
            _folder: folder,
            path,
            rows,
            workspace,
            checker: Checker::default(),
            version: 0,
        }
    }

    /// What is found, which must be what is found in a fresh document of the same text.
    fn found(&mut self) -> Vec<Finding> {
        let (text, when) = (document(&self.rows), format!("version {}", self.version));
        as_if_fresh(&self.workspace, &mut self.checker, &self.path, &text, &when)
    }

    fn replace(&mut self, at: usize, row: String) -> Vec<Finding> {
        // The first lines of the file come before them.
        let line = |row: usize| Position {
            line: 3 + row as u32,
            column: 0,
        };
        let part = ContentChange::Part {
            start: line(at),
            end: line(at + 1),
            text: row.clone(),
        };
        self.rows[at] = row;
        self.version += 1;
        let changed =
            self.workspace
                .change(&self.path, Some(self.version), vec![part], Encoding::Utf8);
        changed.expect("it is possible");
        self.found()
    }
}

fn document(rows: &[String]) -> String {
    format!(
        "<machine xmlns=\"urn:trunnion:machine:1\" id=\"m\" scene=\"s.gltf\">\n  <animations>\n    <animation id=\"a\" duration=\"4\">\n{}    </animation>\n  </animations>\n</machine>\n",
        rows.concat()
    )
}

fn count(found: &[Finding], code: &str) -> usize {
    found.iter().filter(|one| one.code == code).count()
}

#[test]
fn motions_that_have_to_do_with_each_other() {
    for seed in 0..3 {
        let mut random = Random(seed);
        let mut parts = parts();
        let scene = scene(&parts);
        // Neighbours in the text are looked at together: what belongs together stands far apart.
        for at in 1..parts.len() {
            parts.swap(at, random.below(at + 1));
        }
        let rows = parts.iter().map(|part| channel(part, &mut random));
        let mut typing = Typing::new(&scene, rows.collect());
        let mut told = [0; 2];
        for _ in 0..100 {
            let at = random.below(parts.len());
            let found = typing.replace(at, channel(&parts[at], &mut random));
            told[0] += count(&found, "lopsided");
            told[1] += count(&found, "against-carrier");
        }
        assert!(told.iter().all(|told| *told > 0), "{told:?}");
    }
}

/// When a part goes, the one opposite it may get another one opposite: neither of these two has changed.
#[test]
fn a_part_that_another_one_stands_behind() {
    let parts = parts();
    let row = |part: &Part, by: [f64; 3]| {
        let [x, y, z] = part.rest;
        let to = [x + by[0], y + by[1], z + by[2]];
        motion(part, "", "0", to)
    };
    let mut arms: Vec<&Part> = parts
        .iter()
        .filter(|part| !part.path.contains('/'))
        .collect();
    // The left ones first, then those opposite them, then those that stand behind these.
    arms.sort_by_key(|part| part.path.parse::<usize>().expect("it is a number") % 3);
    let rows = arms.iter().enumerate().map(|(at, arm)| match at / GROUPS {
        2 => row(arm, [0.0, 1.0, 0.0]),
        _ => row(arm, [arm.rest[0].signum(), 0.0, 0.0]),
    });
    let mut typing = Typing::new(&scene(&parts), rows.collect());
    assert_eq!(count(&typing.found(), "lopsided"), 0);
    let without = typing.replace(GROUPS, "\n".to_owned());
    assert_eq!(count(&without, "lopsided"), 1);
    let again = typing.replace(GROUPS, row(arms[GROUPS], [-1.0, 0.0, 0.0]));
    assert_eq!(count(&again, "lopsided"), 0);
}
