//! A patch between two versions gives the second one back: over the definitions of the corpus, each against its neighbours,
//! and over random edits of them.

#![allow(clippy::print_stdout)]

mod edits;

use std::cell::Cell;
use std::sync::Arc;

use compare::{Gives, Version};
use dialect::{Dialect, DocumentKind};
use proptest::prelude::*;
use proptest::test_runner::{Config, TestRunner};
use syntax::Tree;

use edits::{File, corpus, edited};

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
    let result = patch::apply(old, &patch.text).unwrap();
    if patch.gives == Gives::Bytes {
        assert_eq!(result, new);
    }
    patch.gives
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
