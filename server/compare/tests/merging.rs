//! Bringing changes over: what must come out where only one side changed, over random edits of the corpus.

#![allow(clippy::print_stdout)]

mod edits;

use compare::{Sort, Version};
use proptest::prelude::*;
use proptest::test_runner::{Config, TestRunner};
use syntax::Tree;

use edits::{File, corpus, edited};

fn version<'a>(text: &'a str, tree: &'a Tree) -> Version<'a> {
    Version {
        text,
        tree,
        meaning: None,
    }
}

fn told(old: &str, new: &str) -> Vec<(Sort, String)> {
    let trees = [syntax::parse(old), syntax::parse(new)];
    let changes = compare::changes(&version(old, &trees[0]), &version(new, &trees[1]));
    let told = changes.into_iter();
    told.map(|change| (change.sort, change.message)).collect()
}

#[test]
fn an_element_that_changed_places_with_its_only_child_is_brought_over() {
    let old = "<all><outer><inner at='1'><end/></inner></outer></all>";
    let new = "<all>\n  <inner at='1'><end/><outer/></inner>\n</all>";
    let trees = [syntax::parse(old), syntax::parse(new)];
    let [one, other] = [version(old, &trees[0]), version(new, &trees[1])];
    let merged = compare::merge(&one, &one, &other).unwrap();
    assert_eq!(merged.text, new);
    assert!(merged.conflicts.is_empty());
}

#[test]
fn a_comment_is_known_again_by_its_words_and_takes_its_blanks_along() {
    let old = "<all>\n  <one/> <!-- left -->\n  <two/> <!-- right -->\n  <!-- then the rest -->\n  <three/> <!-- last -->\n</all>\n";
    let new = "<all>\n  <!-- then all the rest -->\n  <three/>\n</all>\n";
    let trees = [syntax::parse(old), syntax::parse(new)];
    let [one, other] = [version(old, &trees[0]), version(new, &trees[1])];
    let merged = compare::merge(&one, &one, &other).unwrap();
    assert_eq!(merged.text, new);
    let told = told(old, new);
    assert!(
        told.iter()
            .any(|(_, what)| what == "`<!-- then the rest -->` is now `<!-- then all the rest -->`"),
        "{told:?}"
    );
}

/// A comment at the end of a line is about what stands there.
#[test]
fn what_comes_keeps_to_its_line() {
    let old = "<all>\n  <one/>\n  <two/> <!-- second -->\n  <three/>\n</all>\n";
    let theirs = old.replace("<one/>", "<one/> <!-- theirs -->");
    let mine = "<all>\n  <one/>\n  <more/> <!-- more -->\n  <two/> <!-- second -->\n  <!-- alone -->\n  <other/>\n  <three/> <!-- third -->\n</all>\n";
    let trees = [old, &theirs, mine].map(syntax::parse);
    let sides = [(old, 0), (&*theirs, 1), (mine, 2)];
    let [one, other, own] = sides.map(|(text, at)| version(text, &trees[at]));
    let merged = compare::merge(&one, &other, &own).unwrap();
    assert_eq!(
        merged.text,
        mine.replace("<one/>", "<one/> <!-- theirs -->")
    );
    // All in one line stays so.
    let [flat, flat_mine] = [old, mine].map(|text| text.replace('\n', "").replace("  ", ""));
    let trees = [syntax::parse(&flat), syntax::parse(&flat_mine)];
    let [one, own] = [version(&flat, &trees[0]), version(&flat_mine, &trees[1])];
    let merged = compare::merge(&one, &one, &own).unwrap();
    assert_eq!(merged.text, flat_mine);
}

#[test]
fn of_alike_elements_one_written_otherwise_stays_where_it_was() {
    let told = told(
        "<all><one a='1' b='2'/><one b='2' a='1'/><one b='2' a='1'/><end/></all>",
        "<all><one b='2' a='1'/><one b='2' a='1'/><one b='2' a='1'/><end></end></all>",
    );
    assert!(matches!(&told[..], [(Sort::Form, _)]), "{told:?}");
}

fn merged(old: &str, new: &str, own: &str) -> String {
    let trees = [old, new, own].map(syntax::parse);
    let [old, new, own] = [
        version(old, &trees[0]),
        version(new, &trees[1]),
        version(own, &trees[2]),
    ];
    compare::merge(&old, &new, &own).unwrap().text
}

#[test]
fn what_is_added_stays_before_a_comment_that_stands_behind_it() {
    let old = "<all>\n\t<one a='1'/> <!-- it -->\n</all>\n";
    let own = "<all>\n\t<one a='1'/>\n\t<two/> <!-- it -->\n</all>\n";
    assert_eq!(merged(old, old, own), own);
    // A comment of the author's own stays with what it is about.
    let new = "<all>\n\t<one a='1'/> <!-- new -->\n</all>\n";
    let old = "<all>\n\t<one a='1'/>\n</all>\n";
    let own = "<all>\n\t<one a='1'/>\n\t<two/>\n</all>\n";
    let both = "<all>\n\t<one a='1'/> <!-- new -->\n\t<two/>\n</all>\n";
    assert_eq!(merged(old, new, own), both);
}

#[test]
fn what_is_added_has_the_author_s_quotes_where_they_may_stand() {
    let old = "<all>\n  <one a=\"1\"/>\n</all>\n";
    let new = old.replace("\"1\"", "\"2\"");
    let own = "<all>\n  <one a=\"1\"/>\n  <two b='3' c='\"' d=\"4\"/>\n</all>\n";
    let both = "<all>\n  <one a=\"2\"/>\n  <two b=\"3\" c='\"' d=\"4\"/>\n</all>\n";
    assert_eq!(merged(old, &new, own), both);
}

#[test]
fn how_my_file_is_encoded_is_not_said_of_the_author_s() {
    let [plain, wide] =
        ["UTF-8", "UTF-16"].map(|name| format!("<?xml version='1.0' encoding='{name}'?>"));
    let mark = '\u{feff}';
    for (old, own) in [
        (
            format!("{mark}{plain}\n<a/>"),
            format!("{mark}{wide}\n<a b=\"1\"/>"),
        ),
        (
            format!("{plain}\n<a/>"),
            format!("{mark}{wide}\n<a b=\"1\"/>"),
        ),
        (
            format!("{plain}\n<a/>"),
            format!("{mark}{plain}\n<a b=\"1\"/>"),
        ),
    ] {
        let both = old.replace("<a/>", "<a b=\"1\"/>");
        assert_eq!(merged(&old, &old, &own), both);
    }
    let marked = format!("{mark}{plain}<a/>");
    let said = told(&format!("{plain}<a/>"), &marked);
    assert!(
        matches!(&said[..], [(_, what)] if what == "the byte order mark is new"),
        "{said:?}"
    );
}

#[test]
fn of_alike_elements_the_one_that_is_gone_is_told_by_what_it_says() {
    let told = told(
        "<all><one a='1'/><one a='2'/><one a='3'/></all>",
        "<all><one a='1'/><one a='3'/></all>",
    );
    assert!(
        matches!(&told[..], [(Sort::Removed, what)] if what.contains('2')),
        "{told:?}"
    );
}

/// Without names, that is: one gets what the other lost, and stays where it was.
#[test]
fn elements_that_changed_places_and_a_value_are_known_by_the_values_they_kept() {
    let told = told(
        "<all><one a='1' b='1' c='1'/><one a='2' b='2' c='2'/></all>",
        "<all><one a='2' b='2' c='9'/><one a='1' b='1' c='8'/></all>",
    );
    let told: Vec<&str> = told.iter().map(|(_, what)| what.as_str()).collect();
    assert_eq!(
        told,
        [
            "`one` with a `2`: `c` is `9`, was `2`",
            "`one` with a `1` stands in another order: in place 2, was in 1",
            "`one` with a `1`: `c` is `8`, was `1`",
        ]
    );
}

#[test]
fn where_one_side_changed_nothing_the_result_is_the_other_side() {
    let cases = std::env::var("DIFFS").map_or(300, |cases| cases.parse().unwrap());
    let files: Vec<File> = corpus()
        .into_iter()
        .filter(|file| file.text.len() < 20_000 && !file.name.is_empty())
        .collect();
    let mut runner = TestRunner::new(Config::with_cases(cases));
    let edits = proptest::collection::vec((any::<u8>(), any::<u32>(), any::<u32>()), 1..6);
    let strategy = (any::<proptest::sample::Index>(), edits);
    let made = std::cell::Cell::new(0);
    let outcome = runner.run(&strategy, |(file, edits)| {
        let old = &files[file.index(files.len())].text;
        let new = edited(old, &edits);
        let trees = [syntax::parse(old), syntax::parse(&new)];
        let [one, other] = [version(old, &trees[0]), version(&new, &trees[1])];
        // Mine is what it was: the author's, byte for byte.
        let merged = compare::merge(&one, &other, &one).unwrap();
        prop_assert_eq!(&merged.text, &new);
        prop_assert!(merged.conflicts.is_empty());
        // The author's is what it was: mine, but for its form.
        let merged = compare::merge(&one, &one, &other).unwrap();
        let tree = syntax::parse(&merged.text);
        let changes = compare::changes(&version(&merged.text, &tree), &other);
        let is_form = changes.iter().all(|change| change.sort == Sort::Form);
        prop_assert!(
            is_form && merged.conflicts.is_empty(),
            "{:#?}\n{changes:#?}\n{old}\n--- mine\n{new}\n--- merged\n{}",
            merged.conflicts,
            merged.text
        );
        made.set(made.get() + 1);
        Ok(())
    });
    outcome.unwrap();
    println!(
        "{} changed versions merged with what they came from",
        made.get()
    );
}
