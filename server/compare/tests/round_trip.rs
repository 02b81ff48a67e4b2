//! A patch between two versions gives the second one back: over the definitions of the corpus, each against its neighbours,
//! and over random edits of them.

#![allow(clippy::print_stdout)]

use std::cell::Cell;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use compare::{Gives, Version};
use dialect::{Dialect, DocumentKind};
use proptest::prelude::*;
use proptest::test_runner::{Config, TestRunner};
use syntax::{Element, TextEdit, TextRange, Tree};

struct File {
    name: String,
    text: String,
}

/// All well-formed XML of the corpus.
fn corpus() -> Vec<File> {
    let mut files = Vec::new();
    let mut open = vec![Path::new(env!("CARGO_MANIFEST_DIR")).join("../../corpus")];
    while let Some(folder) = open.pop() {
        let mut entries: Vec<PathBuf> = std::fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap().path())
            .collect();
        entries.sort();
        for path in entries {
            if path.is_dir() {
                open.push(path);
                continue;
            }
            let Ok(text) = std::fs::read_to_string(&path) else {
                continue;
            };
            let tree = syntax::parse(&text);
            if text.trim_start().starts_with('<') && tree.errors().is_empty() {
                let name = path.file_name().unwrap().to_string_lossy().into_owned();
                files.push(File { name, text });
            }
        }
    }
    assert!(files.len() > 50, "{}", files.len());
    files
}

fn patched(old: &str, new: &str, name: &str, dialect: Option<&Dialect>) -> Gives {
    let (old_tree, new_tree) = (syntax::parse(old), syntax::parse(new));
    let meaning = |tree: &Tree| {
        let root = tree.root()?;
        let namespace = root.attribute("xmlns").map(|one| one.value());
        let root = (namespace.as_deref(), root.local_name());
        dialect.zip(dialect?.document_for(Some(root), name).cloned())
    };
    let meanings = (meaning(&old_tree), meaning(&new_tree));
    fn said<'m>(
        meaning: &'m Option<(&'m Dialect, DocumentKind)>,
    ) -> Option<(&'m Dialect, &'m DocumentKind)> {
        meaning.as_ref().map(|(dialect, kind)| (*dialect, kind))
    }
    let old_version = Version {
        text: old,
        tree: &old_tree,
        meaning: said(&meanings.0),
    };
    let new_version = Version {
        text: new,
        tree: &new_tree,
        meaning: said(&meanings.1),
    };
    let patch = compare::patch(&old_version, &new_version)
        .unwrap_or_else(|reason| panic!("{name}: {reason}\n{old}\n---\n{new}"));
    if std::env::var_os("DIFFS_SHOW").is_some() && patch.gives != Gives::Bytes {
        println!("=== {name} {:?}\n{old}\n--- new\n{new}\n--- patch\n{}", patch.gives, patch.text);
    }
    let root = old_tree.root().map_or("", |root| root.name());
    if patch.text.contains(&format!("replace sel=\"{root}\"")) {
        println!("written anew: {name}");
    }
    let result = patch::apply(old, &patch.text).unwrap();
    if patch.gives == Gives::Bytes {
        assert_eq!(result, new);
    }
    patch.gives
}

/// The text after these edits, one by one.
fn edited(text: &str, edits: &[(u8, u32, u32)]) -> String {
    let mut text = text.to_owned();
    for (what, at, with) in edits {
        let tree = syntax::parse(&text);
        let all = elements(&tree);
        let pick = |number: u32| all[number as usize % all.len()];
        let (one, other) = (pick(*at), pick(*with));
        if let Some(edit) = edit(*what, one, other, *with, &text, &tree) {
            let next = syntax::apply(&text, &edit).unwrap();
            if syntax::parse(&next).errors().is_empty() {
                text = next;
            }
        }
    }
    text
}

fn elements(tree: &Tree) -> Vec<Element<'_>> {
    let mut all: Vec<Element<'_>> = tree.root().into_iter().collect();
    let mut at = 0;
    while at < all.len() {
        let children: Vec<Element<'_>> = all[at].children().collect();
        all.extend(children);
        at += 1;
    }
    all
}

fn edit(
    what: u8,
    one: Element<'_>,
    other: Element<'_>,
    number: u32,
    text: &str,
    tree: &Tree,
) -> Option<Vec<TextEdit>> {
    let slice = |range: TextRange| text[std::ops::Range::<usize>::from(range)].to_owned();
    let is_root = Some(one) == tree.root();
    let attributes: Vec<_> = one
        .attributes()
        .filter(|one| one.declared_prefix().is_none())
        .collect();
    let attribute = attributes.get(number as usize % attributes.len().max(1));
    let end = one.range().end();
    Some(match what % 12 {
        0 if !is_root => vec![TextEdit::delete(one.range())],
        1 if !is_root => vec![TextEdit::insert(end, format!("\n\t{}", slice(one.range())))],
        2 => vec![TextEdit::replace(
            attribute?.value_range()?,
            format!("v{}&lt;", number % 7),
        )],
        3 => vec![TextEdit::insert(
            one.name_range().end(),
            format!(" new{}=\"{number}\"", number % 3),
        )],
        4 => vec![TextEdit::delete(attribute?.range())],
        5 => vec![TextEdit::insert(end, "<!-- said -->")],
        6 => vec![TextEdit::insert(one.range().start(), "\n  ")],
        7 => vec![TextEdit::insert(
            one.content_range()?.start(),
            "some <![CDATA[<text>]]> &amp; more",
        )],
        // Moved below or beside another.
        8 if !is_root
            && !one.range().contains_range(other.range())
            && !other.range().contains_range(one.range()) =>
        {
            let mut edits = vec![
                TextEdit::delete(one.range()),
                TextEdit::insert(other.range().end(), slice(one.range())),
            ];
            edits.sort_by_key(|edit| edit.range.start());
            edits
        }
        9 if !is_root => {
            let before = &text[..usize::from(one.range().start())];
            let blanks = before.len() - before.trim_end().len();
            let start = one.range().start() - syntax::TextSize::new(blanks as u32);
            vec![TextEdit::delete(TextRange::new(start, end))]
        }
        10 => vec![TextEdit::insert(end, "<?tool some words?>")],
        11 => vec![TextEdit::replace(one.content_range()?, "")],
        _ => return None,
    })
}

#[derive(Default)]
struct Counts {
    bytes: Cell<usize>,
    trees: Cell<usize>,
}

impl Counts {
    fn count(&self, gives: &Gives) {
        let which = match gives {
            Gives::Bytes => &self.bytes,
            Gives::Tree { .. } => &self.trees,
        };
        which.set(which.get() + 1);
    }

    fn told(&self, what: &str) {
        let (bytes, trees) = (self.bytes.get(), self.trees.get());
        println!("{what}: {bytes} byte for byte, {trees} as equal trees");
    }
}

#[test]
fn neighbours_of_the_corpus() {
    let house = Dialect::house();
    let files = corpus();
    let counts = Counts::default();
    for pair in files.windows(2) {
        let [old, new] = pair else { continue };
        counts.count(&patched(&old.text, &new.text, &new.name, Some(&house)));
        counts.count(&patched(&new.text, &old.text, &old.name, None));
    }
    counts.told("corpus, each file and its neighbour");
    assert!(counts.bytes.get() > 100);
}

#[test]
fn random_edits_of_the_corpus() {
    let cases = std::env::var("DIFFS").map_or(300, |cases| cases.parse().unwrap());
    let house: Arc<Dialect> = Dialect::house();
    let files: Vec<File> = corpus()
        .into_iter()
        .filter(|file| file.text.len() < 20_000)
        .collect();
    let counts = Counts::default();
    let mut runner = TestRunner::new(Config::with_cases(cases));
    let edits = proptest::collection::vec((any::<u8>(), any::<u32>(), any::<u32>()), 1..8);
    let strategy = (any::<proptest::sample::Index>(), edits, any::<bool>());
    let outcome = runner.run(&strategy, |(file, edits, with_dialect)| {
        let file = &files[file.index(files.len())];
        let new = edited(&file.text, &edits);
        let dialect = with_dialect.then_some(&*house);
        counts.count(&patched(&file.text, &new, &file.name, dialect));
        counts.count(&patched(&new, &file.text, &file.name, dialect));
        Ok(())
    });
    outcome.unwrap();
    counts.told("random edits, forth and back");
}
