use super::*;
use crate::{completion, fixture::Fixture, hover};
use dialect::Dialect;
use expect_test::{Expect, expect};
use std::sync::Arc;

/// A crank in a barge of its own.
fn barge(crank: &str) -> String {
    format!("<barge><turns/><hands>{crank}</hands></barge>")
}

fn fixture(body: &str) -> Fixture {
    let dialect = Dialect::read(include_str!("barge.dialect.toml"), None).expect("it is sound");
    Fixture::of(body, vec![Arc::new(dialect)])
}

fn others() -> Vec<String> {
    [
        r#"<crank drives="a" by="knee" pull="0.4" side="port"/>"#,
        r#"<crank drives="b" by="chin" pull="0.4" side="port"><plate shape="oval"/></crank>"#,
        r#"<crank drives="c" by="chin" pull="0.4"/><latch by="toe"/>"#,
        r#"<crank drives="d" by="chin" pull="1" side="starboard"><plate shape="round"/></crank>"#,
    ]
    .map(barge)
    .to_vec()
}

fn with_others(body: &str) -> Fixture {
    let others = others();
    let others: Vec<&str> = others.iter().map(String::as_str).collect();
    fixture(body).library(&others)
}

fn hovered(fixture: &Fixture) -> String {
    let hover = hover::hover(&fixture.view(), fixture.offset());
    hover.map_or_else(String::new, |hover| hover.text.plain())
}

fn in_library(fixture: &Fixture) -> String {
    let text = hovered(fixture);
    let lines = text.lines().filter(|line| line.contains("library"));
    lines.collect::<Vec<_>>().join("\n")
}

fn check_hover(crank: &str, expected: &Expect) {
    expected.assert_eq(&in_library(&with_others(&barge(crank))));
}

#[test]
fn a_hover_tells_what_is_usual() {
    check_hover(
        "<crank pu$0ll='2'/>",
        &expect!["• In the library: 0.4 in 3 of 4 machines"],
    );
    check_hover(
        "<crank side='$0port'/>",
        &expect!["• In the library: port in 2 of 3 machines; left out in 1"],
    );
    check_hover(
        "<cra$0nk/>",
        &expect!["• In the library: in 4 machines, usually with by, drives, pull, side (3)"],
    );
}

#[test]
fn names_of_other_machines_are_nothing_to_go_by() {
    check_hover("<crank dri$0ves='a'/>", &expect![""]);
    // Seen in one machine only.
    check_hover("<plate sh$0ape='oval'/>", &expect![""]);
}

#[test]
fn without_a_library_nothing_is_said() {
    assert!(!hovered(&fixture(&barge("<crank pu$0ll='2'/>"))).is_empty());
    assert_eq!(in_library(&fixture(&barge("<crank pu$0ll='2'/>"))), "");
}

fn proposed(fixture: &Fixture) -> Vec<String> {
    let found = completion::complete(&fixture.view(), fixture.offset());
    let items = found.into_iter().flat_map(|found| found.items);
    items
        .map(|item| format!("{} ({})", item.label, item.detail))
        .collect()
}

#[test]
fn values_come_in_the_order_of_their_use() {
    assert_eq!(
        proposed(&with_others(&barge("<crank pull='$0'/>"))),
        ["0.4 (3 of 4 machines)"]
    );
    // The dialect lists the knee first; two machines of four use the chin.
    let by = "<crank by='$0'/><crank by='elbow'/>";
    assert_eq!(
        proposed(&with_others(&barge(by))),
        [
            "chin (free, 3 of 4 machines)",
            "knee (free, 1 of 4 machines)",
            "elbow (used by a control)"
        ]
    );
    assert_eq!(
        proposed(&fixture(&barge(by)))[0],
        "knee (free)",
        "as the dialect lists them"
    );
}

#[test]
fn attributes_and_elements_come_in_the_order_of_their_use() {
    let attributes = proposed(&with_others(&barge("<crank drives='a' $0/>")));
    assert_eq!(
        attributes[..3],
        [
            "by (required, 4 of 4 machines)",
            "pull (4 of 4 machines)",
            "side (3 of 4 machines)"
        ]
    );
    assert_eq!(attributes[3], "speed ()");
    let children = proposed(&with_others(&barge("<latch/><$0")));
    assert_eq!(
        children[..2],
        ["crank (4 of 4 machines)", "latch (1 of 4 machines)"]
    );
}

#[test]
fn examples_are_different_and_tell_where_they_are() {
    let fixture = with_others(&barge("<crank drives='x' pull='0.4' by='knee'>$0</crank>"));
    let found = precedents(&fixture.view(), fixture.offset(), 3).expect("there are cranks");
    assert_eq!((found.element.as_str(), found.machines), ("crank", 4));
    let shown: Vec<_> = found
        .examples
        .iter()
        .map(|example| (example.source.file.display().to_string(), example.alike))
        .collect();
    assert_eq!(
        shown,
        [
            ("/library/0.xml".to_owned(), 1),
            ("/library/2.xml".to_owned(), 1),
            ("/library/1.xml".to_owned(), 2)
        ]
    );
    let pull = found
        .habits
        .iter()
        .find(|habit| habit.at == HabitAt::Attribute("pull".to_owned()));
    assert_eq!(
        pull.map(|pull| (pull.machines, pull.values.clone())),
        Some((4, vec![("0.4".to_owned(), 3)]))
    );
}

#[test]
fn what_nobody_does_has_no_precedents() {
    let fixture = with_others(&barge("<crank><ring b$0ell='x'/></crank>"));
    assert_eq!(precedents(&fixture.view(), fixture.offset(), 3), None);
    assert_eq!(machines_at(&fixture.view(), fixture.offset()), None);
    let outside = with_others("<!-- $0 --><barge/>");
    assert_eq!(machines_at(&outside.view(), outside.offset()), None);
}

/// Values in elements, as the yard book has them; the last hand has a comment and a mark of its own.
fn hands() -> Fixture {
    let hand = |stroke: &str, grip: &str, strength: &str| {
        format!(
            "<rig><hands><hand><stroke>{stroke}</stroke><grip>{grip}</grip><strength>{strength}</strength></hand></hands></rig>"
        )
    };
    let others = [
        hand("lift", "palm", "0,6"),
        hand("tilt", "thumb-left", "0,6"),
        hand("fold", "thumb-right", "1"),
    ];
    let others: Vec<&str> = others.iter().map(String::as_str).collect();
    Fixture::yard("<hands><ha$0nd><stroke>a</stroke><grip>thumb-right</grip><stren$0gth><![CDATA[1$0]]></strength></hand></hands>")
        .library(&others)
}

#[test]
fn values_in_elements_are_as_good_as_values_in_attributes() {
    let fixture = hands();
    let (view, marks) = (fixture.view(), fixture.marks());
    let found = precedents(&view, marks[0], 3).expect("there are hands");
    let strength = found
        .habits
        .iter()
        .find(|habit| habit.at == HabitAt::Child("strength".to_owned()));
    assert_eq!(
        strength.map(|strength| (strength.machines, strength.values.clone())),
        Some((3, vec![("0,6".to_owned(), 2)]))
    );
    // The closest has the same grip and strength; the others say something else.
    let files: Vec<_> = found
        .examples
        .iter()
        .map(|example| example.source.file.display().to_string())
        .collect();
    assert_eq!(
        files,
        ["/library/2.xml", "/library/0.xml", "/library/1.xml"]
    );
    // Of an element that is its text, too.
    let found = precedents(&view, marks[2], 3).expect("there are strengths");
    assert_eq!(
        (
            found.element.as_str(),
            found.examples[0].source.file.display().to_string()
        ),
        ("strength", "/library/2.xml".to_owned())
    );
    let hover = hover::hover(&view, marks[1]).expect("a hover").text.plain();
    assert!(
        hover.contains("In the library: 0,6 in 2 of 3 machines"),
        "{hover}"
    );
}
