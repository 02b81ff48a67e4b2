//! A checker that went along with a document through many edits says what a fresh one says.

mod fresh;
mod random;

use std::fs;
use std::path::{Path, PathBuf};

use fresh::as_if_fresh;
use ide::Finding;
use ide::checks::{self, Checker};
use project::{ContentChange, Workspace};
use random::Random;
use syntax::{Encoding, Position};
use tempfile::TempDir;

const PIECES: [&str; 31] = [
    "<",
    ">",
    "/>",
    "\"",
    "'",
    "&",
    "<!--",
    "-->",
    "]]>",
    "<![CDATA[",
    "<alias",
    "</machine>",
    "</animation>",
    "<animation id=\"a1\">",
    "\n",
    "0/0",
    "part1",
    "part2",
    "a2",
    "xmlns=\"urn:x\"",
    "<alias name=\"part3\" path=\"3/0\"/>",
    "<carry wheel=\"wheel2\"/>",
    " ",
    "7",
    "<!-- trunnion: accept unknown-name, still-channel because it is so -->",
    "trunnion: accept jump because",
    "unused-alias",
    "post",
    "crew",
    "hand",
    "<item sort=\"post\" name=\"post7\"/>",
];

fn position(text: &str, offset: usize) -> Position {
    let line_start = text[..offset].rfind('\n').map_or(0, |at| at + 1);
    Position {
        line: text[..offset].matches('\n').count() as u32,
        column: (offset - line_start) as u32,
    }
}

/// Types at random in a document and compares.
fn walk(path: &Path, text: &str, seed: u64, steps: usize) {
    let mut random = Random(seed);
    let mut text = text.to_owned();
    let original = text.clone();
    let mut workspace = Workspace::default();
    workspace.open(path.to_path_buf(), Some(0), text.clone());
    let mut checker = Checker::default();
    for step in 0..steps {
        let mut changes = Vec::new();
        for _ in 0..=random.below(2) {
            let start = text.floor_char_boundary(random.below(text.len() + 1));
            let longest = if random.below(6) == 0 { 600 } else { 8 };
            let end = text.ceil_char_boundary((start + random.below(longest)).min(text.len()));
            let (start, end) = if random.below(2) == 0 {
                (start, start)
            } else {
                (start, end)
            };
            let copied = text[end..text.ceil_char_boundary((end + 150).min(text.len()))].to_owned();
            let insert = match random.below(5) {
                0 => String::new(),
                1 => copied,
                _ => PIECES[random.below(PIECES.len())].to_owned(),
            };
            changes.push(ContentChange::Part {
                start: position(&text, start),
                end: position(&text, end),
                text: insert.clone(),
            });
            text.replace_range(start..end, &insert);
        }
        if random.below(15) == 0 {
            text = original.clone();
            changes = vec![ContentChange::Whole(text.clone())];
        }
        let changed = workspace.change(path, Some(step as i32), changes, Encoding::Utf8);
        changed.unwrap_or_else(|error| panic!("seed {seed}, step {step}: {error}"));
        if random.below(3) == 0 {
            continue;
        }
        let when = format!("seed {seed}, step {step}");
        as_if_fresh(&workspace, &mut checker, path, &text, &when);
    }
}

fn corpus() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../corpus")
}

/// Long enough that animations, controls and lists are cut up, with its scene, in a folder of its own.
fn long_machine(groups: usize) -> (TempDir, PathBuf, String) {
    let each = |line: &dyn Fn(usize) -> String| (0..groups).map(line).collect::<String>();
    let aliases = each(&|n| format!("    <alias name=\"part{n}\" path=\"{n}/0\"/>\n"));
    let wheels = each(&|n| {
        format!("    <wheel id=\"wheel{n}\" node=\"{n}/0/0\" radius=\"0.5\" width=\"0.3\"/>\n")
    });
    let channels = |from: usize| {
        each(&|n| match n % 3 == from {
            // Some are accepted, rightly or not.
            true => format!(
                "{}      <channel target=\"part{n}\" property=\"translation\" begin=\"0\" end=\"2\" from=\"0 0 0\" to=\"{}.5 0 0\"/>\n",
                match n % 5 {
                    0 => "      <!-- trunnion: accept jump, rest-mismatch because it is so -->\n",
                    _ => "",
                },
                n % 7
            ),
            false => String::new(),
        })
    };
    let carries = |from: usize| {
        each(&|n| match n % 3 == from {
            true => format!("      <carry wheel=\"wheel{n}\"/>\n"),
            false => String::new(),
        })
    };
    let mut text = String::from(
        "<machine xmlns=\"urn:trunnion:machine:1\" id=\"long\" title=\"Long\" scene=\"long.gltf\">\n",
    );
    text += &format!(
        "  <!-- trunnion: accept unused-alias because they are for others -->\n  <aliases>\n{aliases}  </aliases>\n  <wheels>\n{wheels}  </wheels>\n  <animations>\n"
    );
    for a in 0..3 {
        text += &format!(
            "    <animation id=\"a{a}\" duration=\"4\">\n{}    </animation>\n",
            channels(a)
        );
    }
    text += "  </animations>\n  <controls>\n";
    for a in 0..3 {
        let axis = ["stick.1.x", "stick.1.y", "pointer.x"][a];
        text += &format!(
            "    <lever animation=\"a{a}\" input=\"{axis}\" gain=\"1\" rate=\"1\">\n{}    </lever>\n",
            carries(a)
        );
    }
    text += "  </controls>\n</machine>\n";
    let mut nodes = Vec::new();
    let mut roots = Vec::new();
    for n in 0..groups {
        let at = nodes.len();
        let side = if n % 2 == 0 { 1 } else { -1 };
        nodes.push(format!(
            "{{\"name\":\"group{n}\",\"children\":[{}]}}",
            at + 1
        ));
        nodes.push(format!(
            "{{\"name\":\"part{n}\",\"translation\":[{side},0,{}],\"children\":[{}]}}",
            n / 2,
            at + 2
        ));
        nodes.push(format!("{{\"name\":\"wheel{n}\"}}"));
        roots.push(at.to_string());
    }
    let scene = format!(
        "{{\"asset\":{{\"version\":\"2.0\"}},\"scene\":0,\"scenes\":[{{\"nodes\":[{}]}}],\"nodes\":[{}]}}",
        roots.join(","),
        nodes.join(",")
    );
    let folder = TempDir::with_prefix("trunnion-").expect("a folder can be made");
    fs::write(folder.path().join("long.gltf"), scene).expect("the scene can be written");
    let path = folder.path().join("long.machine.xml");
    (folder, path, text)
}

/// How many times as long as usual; more in a long run.
fn times() -> usize {
    std::env::var("WALKS")
        .ok()
        .and_then(|times| times.parse().ok())
        .unwrap_or(1)
}

#[test]
fn the_machines_of_the_corpus() {
    let files = [
        "ternholt/machines/bram-6.machine.xml",
        "ternholt/machines/ostrel-12.machine.xml",
        "ternholt/mod.xml",
        "dialects/yard/rigs",
        "dialects/slip/cards",
    ];
    for file in files {
        let path = corpus().join(file);
        let all = match fs::read_dir(&path) {
            Ok(entries) => entries.flatten().map(|entry| entry.path()).collect(),
            Err(_) => vec![path],
        };
        for path in all {
            if let Ok(text) = fs::read_to_string(&path) {
                for seed in 0..3 * times() as u64 {
                    walk(&path, &text, seed, 40);
                }
            }
        }
    }
}

#[test]
fn a_long_machine() {
    let (_folder, path, text) = long_machine(150);
    for seed in 0..4 * times() as u64 {
        walk(&path, &text, seed, 60);
    }
}

/// One whose elements have a prefix; those that are typed have none.
#[test]
fn a_long_machine_with_a_prefix() {
    let (_folder, path, text) = long_machine(60);
    let text = text.replace("</", "</m:").replace("xmlns=", "xmlns:m=");
    let text = text.replace('<', "<m:").replace("<m:/m:", "</m:");
    let text = text.replace("<m:!--", "<!--");
    for seed in 0..4 * times() as u64 {
        walk(&path, &text, seed, 60);
    }
}

/// So long that it is read and checked on all cores.
#[test]
fn a_very_long_machine() {
    let (_folder, path, text) = long_machine(2000);
    for seed in 0..times() as u64 {
        walk(&path, &text, seed, 8);
    }
}

/// In dialects in which names, values and nesting are otherwise, made long by saying all of it again and again.
#[test]
fn long_documents_of_other_dialects() {
    for folder in ["dialects/yard/rigs", "dialects/slip/cards"] {
        let entries = fs::read_dir(corpus().join(folder)).expect("the corpus is there");
        for path in entries.flatten().map(|entry| entry.path()) {
            let Ok(text) = fs::read_to_string(&path) else {
                continue;
            };
            let tree = syntax::parse(&text);
            let Some(content) = tree.root().and_then(|root| root.content_range()) else {
                continue;
            };
            let (start, end) = (usize::from(content.start()), usize::from(content.end()));
            let long = text[..start].to_owned() + &text[start..end].repeat(15) + &text[end..];
            for seed in 0..2 * times() as u64 {
                walk(&path, &long, seed, 25);
            }
        }
    }
}

/// In a dialect in which an attribute says what elements are.
#[test]
fn a_document_of_sorts() {
    let dialect = include_str!("deck.dialect.toml");
    let folder = TempDir::with_prefix("trunnion-").expect("a folder can be made");
    let folder = folder.path();
    fs::write(folder.join("deck.toml"), dialect).expect("the dialect can be written");
    let settings = "dialects = [\"deck.toml\"]\n";
    fs::write(folder.join("trunnion.toml"), settings).expect("the settings can be written");
    let posts: String = (0..150)
        .map(|n| format!("  <item sort=\"post\" name=\"post{n}\"/>\n"))
        .collect();
    let uses: String = (0..200)
        .map(|n| format!("    <item sort=\"hand\" grips=\"post{}\"/>\n", n % 160))
        .collect();
    let text = format!("<deck>\n{posts}  <item sort=\"crew\">\n{uses}  </item>\n</deck>\n");
    let path = folder.join("a.deck.xml");
    let mut workspace = Workspace::default();
    workspace.open(path.clone(), Some(0), text.clone());
    let found = checks::run(&workspace.snapshot().view(&path).expect("it is open"));
    assert_eq!(found.len(), 10, "{found:#?}");
    // The outer tag, then anything.
    let at = text.find("crew").expect("it is there");
    let mut checker = Checker::default();
    let mut now = text.clone();
    for (version, (from, to)) in [("crew", "post"), ("post", "crew")].iter().enumerate() {
        let part = ContentChange::Part {
            start: position(&now, at),
            end: position(&now, at + from.len()),
            text: (*to).to_owned(),
        };
        let changed = workspace.change(&path, Some(version as i32), vec![part], Encoding::Utf8);
        changed.expect("it is possible");
        now.replace_range(at..at + from.len(), to);
        as_if_fresh(&workspace, &mut checker, &path, &now, to);
    }
    for seed in 0..2 * times() as u64 {
        walk(&path, &text, seed, 30);
    }
}

/// Mistakes that are not looked for behind so many others come to light once those are gone.
#[test]
fn more_mistakes_than_are_told() {
    let path = corpus().join("nowhere/a.machine.xml");
    let half = "<x/>\n".repeat(20_000);
    let text = format!(
        "<machine xmlns=\"urn:trunnion:machine:1\" id=\"m\" scene=\"s.gltf\">\n<aliases>\n{half}</aliases>\n\
         <bodies>\n{half}<body node=\"nowhere\" mass=\"1\"/>\n</bodies>\n</machine>\n"
    );
    let told = |found: &[Finding], code: &str| found.iter().filter(|one| one.code == code).count();
    let mut text = text;
    let mut workspace = Workspace::default();
    workspace.open(path.clone(), Some(0), text.clone());
    let mut checker = Checker::default();
    let found = as_if_fresh(&workspace, &mut checker, &path, &text, "at first");
    assert_eq!(found.len(), checks::MOST_FINDINGS + 1);
    // A comment grows over the mistakes from the start, line by line, and is taken away again.
    let (begin, end) = (2, [13_000, 18_000, 4_005]);
    let lines = |text: &str, line: u32| {
        let before: usize = text
            .lines()
            .take(line as usize)
            .map(|line| line.len() + 1)
            .sum();
        before
    };
    let mut version = 0;
    let mut change =
        |text: &mut String, workspace: &mut Workspace, line: u32, removed: u32, insert: &str| {
            version += 1;
            let start = lines(text, line);
            text.replace_range(start..start + removed as usize, insert);
            let at = |column| Position { line, column };
            let part = ContentChange::Part {
                start: at(0),
                end: at(removed),
                text: insert.to_owned(),
            };
            let changed = workspace.change(&path, Some(version), vec![part], Encoding::Utf8);
            changed.expect("it is possible");
        };
    for end in end {
        change(&mut text, &mut workspace, end, 0, "-->");
        change(&mut text, &mut workspace, begin, 0, "<!--");
        let found = as_if_fresh(&workspace, &mut checker, &path, &text, "commented out");
        assert_eq!(found.len(), checks::MOST_FINDINGS + 1);
        assert_eq!(told(&found, "too-many-errors"), 1);
        change(&mut text, &mut workspace, begin, 4, "");
        change(&mut text, &mut workspace, end, 3, "");
        as_if_fresh(&workspace, &mut checker, &path, &text, "back again");
    }
}

/// Who types beside an alias changes nothing of what is told of another one, far away, that leads to a node of its name.
#[test]
fn an_alias_that_another_finding_points_at() {
    let folder = TempDir::with_prefix("trunnion-").expect("a folder can be made");
    let folder = folder.path();
    let scene = r#"{"asset":{"version":"2.0"},"scene":0,"scenes":[{"nodes":[0,1]}],"nodes":[{"name":"mast"},{"name":"mast"}]}"#;
    fs::write(folder.join("s.gltf"), scene).expect("the scene can be written");
    let path = folder.join("see.machine.xml");
    let between = "<alias name=\"nowhere\" path=\"9\"/>\n".repeat(400);
    let own = "<alias name=\"mast\" path=\"1\"/>\n";
    let mut text = format!(
        "<machine xmlns=\"urn:trunnion:machine:1\" id=\"m\" scene=\"s.gltf\">\n<aliases>\n\
         <alias name=\"boom\" path=\"0\"/>\n{between}{own}</aliases>\n</machine>\n"
    );
    let mut workspace = Workspace::default();
    workspace.open(path.clone(), Some(0), text.clone());
    let mut checker = Checker::default();
    let points = |found: &[Finding]| {
        let stale = found.iter().find(|one| one.code == "stale-path");
        stale.map(|stale| stale.related.len())
    };
    let found = as_if_fresh(&workspace, &mut checker, &path, &text, "at first");
    assert_eq!(points(&found), Some(1));
    let typed = text.find(own).expect("it is there");
    for (version, insert) in ["<alias path=\"9\"/>", " "].into_iter().enumerate() {
        let at = position(&text, typed);
        let (start, end) = (at, at);
        text.insert_str(typed, insert);
        let part = ContentChange::Part {
            start,
            end,
            text: insert.to_owned(),
        };
        let changed = workspace.change(&path, Some(version as i32 + 1), vec![part], Encoding::Utf8);
        changed.expect("it is possible");
        let found = as_if_fresh(&workspace, &mut checker, &path, &text, "beside it");
        assert_eq!(points(&found), Some(1));
    }
}
