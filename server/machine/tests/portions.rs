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
    // The tags of the long elements around the edit are among them, though these have other content now.
    let (front, back) = after.taken_over(&before);
    assert_eq!(front + back, all - 1);
    assert!(after.entries()[front].portion.element().is_none());
}

#[test]
fn edits_far_apart_leave_what_is_between_even_among_tags_that_are_alike() {
    let dialect = Dialect::house();
    let section = |at: usize| {
        let alias = |n| format!("<alias name=\"a{at}.{n}\" path=\"0/{n}\"/>\n");
        let aliases: String = (0..200).map(alias).collect();
        format!("<aliases>\n{aliases}</aliases>\n")
    };
    let sections: String = (0..12).map(section).collect();
    let head = "<machine xmlns=\"urn:trunnion:machine:1\" id=\"m\" scene=\"m.gltf\">";
    let mut text = format!("{head}\n{sections}</machine>\n");
    let tree = syntax::parse(&text);
    let root = Some((Some("urn:trunnion:machine:1"), "machine"));
    let fit = dialect.fit(root, None, "long.machine.xml");
    let kind = fit.expect("fits").0.clone();
    let before = Outline::read(&tree, &dialect, &kind, None);
    let mut tree = tree;
    for name in ["a1.100", "a10.100"] {
        let at = text.find(name).expect("an alias");
        tree = edit(&mut text, &tree, at..at, "new.");
    }
    let after = Outline::read(&tree, &dialect, &kind, Some(&before));
    let items = |outline: &Outline| -> Vec<std::sync::Arc<machine::Facts>> {
        let items = outline.entries().iter();
        // Line breaks between the sections are alike, too, but say nothing.
        let items = items
            .filter(|entry| entry.portion.element().is_none())
            .filter(|entry| entry.portion.items().count() > 1);
        items.map(|entry| entry.facts.clone()).collect()
    };
    let (before, after) = (items(&before), items(&after));
    assert!(before.len() == after.len() && before.len() > 40);
    let pairs = before.iter().zip(&after);
    let anew = pairs.filter(|(one, other)| !std::sync::Arc::ptr_eq(one, other));
    assert_eq!(anew.count(), 2);
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
