//! An outline made from the one before says what a fresh one says.

mod edits;
mod long;

use dialect::Dialect;
use edits::{Numbers, edit};
use long::long_machine;
use machine::Outline;
use syntax::Tree;

fn walk(dialect: &Dialect, mut text: String, seed: u64, edits: usize) {
    let mut numbers = Numbers(seed);
    let fit = |tree: &Tree| {
        let root = tree
            .root()
            .map(|root| (Some("urn:trunnion:machine:1"), root.local_name()));
        dialect
            .fit(root, None, "long.machine.xml")
            .map(|(kind, _)| kind.clone())
    };
    let mut tree = syntax::parse(&text);
    let kind = fit(&tree).expect("the house dialect fits");
    let mut outline = Outline::read(&tree, dialect, &kind, None);
    let pieces = [
        "<",
        ">",
        "/",
        "\"",
        " ",
        "x",
        "</animation>",
        "<animation id=\"n\">",
        "<!-- ",
        "-->",
        "<channel target=\"part1\" property=\"scale\" begin=\"0\" end=\"1\" from=\"1 1 1\" to=\"2 2 2\"/>",
        "<alias name=\"new\" path=\"0\"/>",
        " xmlns:a=\"urn:b\"",
        "a:",
    ];
    for step in 0..edits {
        for _ in 0..=numbers.below(3) {
            let mut start = numbers.below(text.len());
            let mut end = (start + numbers.below(3) * numbers.below(40)).min(text.len());
            start = text.floor_char_boundary(start);
            end = text.ceil_char_boundary(end);
            let insert = if numbers.below(3) == 0 {
                ""
            } else {
                pieces[numbers.below(pieces.len())]
            };
            tree = edit(&mut text, &tree, start..end, insert);
        }
        outline = Outline::read(&tree, dialect, &kind, Some(&outline));
        let fresh = machine::read(&syntax::parse(&text), dialect, &kind);
        assert_eq!(
            outline.machine(dialect, &kind),
            fresh,
            "seed {seed}, step {step}"
        );
        let labels: Vec<u64> = outline.entries().iter().map(|entry| entry.label).collect();
        assert!(
            labels.is_sorted_by(|a, b| a < b),
            "seed {seed}, step {step}"
        );
        if numbers.below(12) == 0 {
            // Back to something sound.
            text = long_machine(20 + numbers.below(100));
            tree = syntax::parse(&text);
        }
    }
}

#[test]
fn an_edited_outline_says_what_a_fresh_one_says() {
    for seed in 0..3 {
        walk(&Dialect::house(), long_machine(80), seed, 30);
    }
}

#[test]
fn a_keystroke_reads_one_portion_anew() {
    let dialect = Dialect::house();
    let mut text = long_machine(400);
    let tree = syntax::parse(&text);
    let root = Some((Some("urn:trunnion:machine:1"), "machine"));
    let kind = dialect
        .fit(root, None, "long.machine.xml")
        .expect("fits")
        .0
        .clone();
    let before = Outline::read(&tree, &dialect, &kind, None);
    let at = text.find("to=\"200 0 0\"").expect("a channel") + 4;
    let after = edit(&mut text, &tree, at..at, "7");
    let after = Outline::read(&after, &dialect, &kind, Some(&before));
    let same = |(one, other): (&machine::Entry, &machine::Entry)| {
        one.label == other.label && std::sync::Arc::ptr_eq(&one.facts, &other.facts)
    };
    let all = before.entries().len();
    let kept = before
        .entries()
        .iter()
        .zip(after.entries())
        .filter(|pair| same(*pair))
        .count();
    assert!(all > 20 && kept == all - 1, "{kept} of {all}");
}

#[test]
fn what_the_root_was_means_nothing_behind_another_root() {
    let dialect = Dialect::house();
    let mut text = long_machine(400);
    let tree = syntax::parse(&text);
    let root = Some((Some("urn:trunnion:machine:1"), "machine"));
    let fit = dialect.fit(root, None, "long.machine.xml");
    let kind = fit.expect("fits").0.clone();
    let outline = Outline::read(&tree, &dialect, &kind, None);
    let at = text.find("<machine").unwrap();
    let tree = edit(&mut text, &tree, at..at, "<other/>");
    let after = Outline::read(&tree, &dialect, &kind, Some(&outline));
    assert_eq!(
        after.machine(&dialect, &kind),
        machine::read(&tree, &dialect, &kind)
    );
    let aliases = |outline: &Outline| outline.machine(&dialect, &kind).aliases.len();
    assert!(aliases(&outline) > 100);
    assert_eq!(aliases(&after), 0);
}
