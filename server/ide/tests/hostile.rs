//! Documents that were cut up and put together again at random: the checks survive them, what they point at is there,
//! and what they offer as a repair can be applied.

mod random;

use std::ops::Range;
use std::path::{Path, PathBuf};

use project::{Disk, SettingsStore};
use random::Random;

/// A short range of `text` that cuts no character.
fn short_range(random: &mut Random, text: &str) -> Range<usize> {
    let start = text.floor_char_boundary(random.below(text.len() + 1));
    let longest = if random.below(4) == 0 { 400 } else { 12 };
    let end = text.ceil_char_boundary((start + random.below(longest)).min(text.len()));
    start..end
}

const PIECES: [&str; 18] = [
    "<",
    ">",
    "/>",
    "\"",
    "'",
    "&",
    "&#0;",
    "<!--",
    "-->",
    "]]>",
    "<alias",
    "</machine>",
    " path=\"0/99999999999\"",
    "0/0",
    "1e400",
    "ö🌲",
    "\0",
    "\r",
];

fn mangled(text: &str, random: &mut Random) -> String {
    let mut mangled = text.to_owned();
    for _ in 0..=random.below(3) {
        let range = short_range(random, &mangled);
        match random.below(3) {
            0 => mangled.replace_range(range, ""),
            1 => mangled.insert_str(range.start, PIECES[random.below(PIECES.len())]),
            _ => {
                let copied = mangled[range].to_owned();
                let at = short_range(random, &mangled).start;
                mangled.insert_str(at, &copied);
            }
        }
    }
    mangled
}

fn documents(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).unwrap().flatten() {
        let path = entry.path();
        if path.is_dir() {
            documents(&path, found);
        } else if path.extension().is_some_and(|extension| extension == "xml") {
            found.push(path);
        }
    }
}

#[test]
fn mangled_documents_are_survived() {
    let corpus = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../corpus")
        .canonicalize()
        .unwrap();
    let mut paths = Vec::new();
    for folder in ["ternholt", "dialects"] {
        documents(&corpus.join(folder), &mut paths);
    }
    paths.sort();
    let (disk, settings) = (Disk::default(), SettingsStore::default());
    let mut random = Random(20);
    let (mut findings, mut fixes) = (0, 0);
    for path in &paths {
        let text = std::fs::read_to_string(path).unwrap();
        for _ in 0..60 {
            let mangled = mangled(&text, &mut random);
            let view = project::view_of(path.clone(), mangled.clone(), &disk, &settings);
            for finding in ide::checks::run(&view) {
                let related = finding
                    .related
                    .iter()
                    .filter(|related| related.path.is_none());
                for range in related.map(|related| related.range).chain([finding.range]) {
                    assert!(
                        mangled.get(Range::<usize>::from(range)).is_some(),
                        "{}: {finding:?}",
                        path.display()
                    );
                }
                for fix in &finding.fixes {
                    let fixed = syntax::apply(&mangled, &fix.edits);
                    assert!(
                        fixed.is_ok_and(|fixed| fixed != mangled),
                        "{}: {finding:?}",
                        path.display()
                    );
                    fixes += 1;
                }
                assert!(ide::codes::find(finding.code).is_some(), "{}", finding.code);
                findings += 1;
            }
        }
    }
    assert!(
        findings > 500 && fixes > 100,
        "only {findings} findings and {fixes} fixes"
    );
}

/// A repair that is called safe must take away the finding it comes with, and bring no worse one.
#[test]
fn safe_repairs_repair() {
    let corpus = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../corpus")
        .canonicalize()
        .unwrap();
    let mut paths = Vec::new();
    documents(&corpus.join("faults"), &mut paths);
    let (disk, settings) = (Disk::default(), SettingsStore::default());
    let mut repaired = 0;
    for path in &paths {
        let Ok(text) = std::fs::read_to_string(path) else {
            continue;
        };
        let errors = |text: &str| {
            let view = project::view_of(path.clone(), text.to_owned(), &disk, &settings);
            let findings = ide::checks::run(&view);
            findings
                .into_iter()
                .filter(|finding| finding.severity <= ide::Severity::Warning)
                .collect::<Vec<_>>()
        };
        let before = errors(&text);
        for finding in &before {
            for fix in finding
                .fixes
                .iter()
                .filter(|fix| fix.trust == ide::Trust::Safe)
            {
                let after = errors(&syntax::apply(&text, &fix.edits).unwrap());
                assert!(
                    after.len() < before.len(),
                    "{}: {finding:#?} leaves {after:#?}",
                    path.display()
                );
                repaired += 1;
            }
        }
    }
    assert!(repaired > 10, "only {repaired}");
}
