use super::*;
use crate::fixture::Fixture;
use expect_test::{Expect, expect};

fn told(fixture: &Fixture, within: Option<(usize, usize)>) -> String {
    let view = fixture.view();
    let whole = TextRange::up_to(TextSize::of(view.text()));
    let within = within.map_or(whole, |(start, end)| {
        let at = |offset: usize| TextSize::try_from(offset).unwrap();
        TextRange::new(at(start), at(end))
    });
    let mut end = TextSize::new(0);
    let mut lines = String::new();
    for token in tokens(&view, within) {
        assert!(!token.range.is_empty() && token.range.start() >= end);
        end = token.range.end();
        if matches!(token.kind, TokenKind::Element | TokenKind::Attribute) && !token.is_unresolved {
            continue;
        }
        let given = if token.is_given { " given" } else { "" };
        let lost = if token.is_unresolved {
            " unresolved"
        } else {
            ""
        };
        lines.push_str(&format!(
            "{:?}{given}{lost}: {}\n",
            token.kind,
            &view.text()[token.range]
        ));
    }
    lines
}

fn check(fixture: &Fixture, expected: Expect) {
    expected.assert_eq(&told(fixture, None));
}

#[test]
fn names_lead_somewhere_or_not() {
    let body = r#"<aliases><alias name="mast" path="0/2"/><alias name="gone" path="0/9"/></aliases>
<wheels><wheel id="w" node="0/0/0" radius="1" width="1" drive="true"/></wheels>
<sounds><sound id="pump" file="pump.ogg"/><sound id="horn" file="horn.ogg"/></sounds>
<animations><animation id="raise" duration="2">
<channel target="mast" property="translation" begin="0" end="1" from="0 0 0" to="0 1 0"/>
<channel target="boom" property="visibility" begin="0" end="1" from="true" to="false"/>
</animation></animations>
<controls><lever animation="raise" input="pointer.x"><carry wheel="w"/></lever><switch animation="lower" input="button.lower"/></controls>"#;
    check(
        &Fixture::rig(body).file("pump.ogg"),
        expect![[r#"
            File unresolved: rig.gltf
            Name given: mast
            IndexPath: 0/2
            Name given: gone
            IndexPath unresolved: 0/9
            Name given: w
            IndexPath: 0/0/0
            Number: 1
            Number: 1
            Word: true
            Name given: pump
            File: pump.ogg
            Name given: horn
            File unresolved: horn.ogg
            Animation given: raise
            Number: 2
            Name: mast
            Word: translation
            Number: 0
            Number: 1
            Number: 0 0 0
            Number: 0 1 0
            Name unresolved: boom
            Word: visibility
            Number: 0
            Number: 1
            Number: true
            Number: false
            Animation: raise
            Input: pointer.x
            Name: w
            Name unresolved: lower
            Input: button.lower
        "#]],
    );
}

#[test]
fn what_the_dialect_does_not_know_is_unresolved() {
    check(
        &Fixture::rig(
            r#"<aliasses><alias nam="mast" path="0/2" xmlns:n="urn:n" n:note="x"/></aliasses><n:note xmlns:n="urn:n" a="1"/>"#,
        ),
        expect![[r#"
            File unresolved: rig.gltf
            Element unresolved: aliasses
            Attribute unresolved: nam
            IndexPath: 0/2
            Element unresolved: aliasses
        "#]],
    );
}

#[test]
fn in_a_dialect_with_values_in_elements_and_wheels_by_number() {
    let text = include_str!("../../../../corpus/dialects/yard/rigs/dorrik-9.rig.xml");
    let body = text
        .split_once("</limbs-file>")
        .and_then(|(_, rest)| rest.rsplit_once("</rig>"));
    let Some((body, _)) = body else {
        panic!("{text}")
    };
    check(
        &Fixture::yard(body),
        expect![[r#"
        File unresolved: rig.limbs.xml
        Name given: mast
        IndexPath: #1:1.1
        Name given: forks
        IndexPath unresolved: #1:1.1.1
        Name given: beam left
        IndexPath unresolved: #1:1.5
        Name given: beam right
        IndexPath unresolved: #1:1.6
        IndexPath: #1
        Number: 9,4
        Word: aye
        IndexPath unresolved: #1:1.3
        Number: 55
        Number: 38
        Word: aye
        IndexPath unresolved: #1:1.4
        Number: 55
        Number: 38
        IndexPath unresolved: #1:1.5.1
        Number: 55
        Number: 38
        Number: 0,61
        IndexPath unresolved: #1:1.6.1
        Number: 55
        Number: 38
        Number: 0,61
        Name given: pump
        File unresolved: yard:noises\pump.ogg
        Name given: clunk
        File unresolved: noises\clunk.ogg
        Animation given: unfold
        Number: 5000
        Name: mast
        Number: 0
        Number: 2000
        Word: soft
        Number: 0;150;30
        Number: 0;165;30
        Number: 0,35;0;0
        Number: 0;0;0
        Name: beam left
        Number: 2000
        Number: 4000
        Number: -60;-110;-10
        Number: -92,5;-110;-10
        Name: beam right
        Number: 2000
        Number: 4000
        Number: 60;-110;-10
        Number: 92,5;-110;-10
        IndexPath unresolved: #1:1.2.1
        Number: 4000
        Number: 5000
        Word: sudden
        Number: nay
        Number: aye
        Animation given: lift
        Name: forks
        Number: 0
        Number: 4000
        Word: soft
        Number: 0;20;10
        Number: 0;20;240
        Word: key
        Animation: unfold
        Input: key-a
        Number: 1
        Name: 3
        Name: 4
        Name: pump
        Name: clunk
        Word: axis
        Animation: lift
        Input: thumb-left
        Number: 0,6
        Name: pump
    "#]],
    );
}

#[test]
fn a_range_has_the_tokens_that_reach_into_it() {
    let fixture = Fixture::rig(
        r#"<aliases><alias name="mast" path="0/2"/><alias name="arm" path="0/0"/></aliases>"#,
    );
    let text = fixture.view().text().to_owned();
    let (start, end) = (
        text.find("mast").unwrap() + 2,
        text.find("0/2").unwrap() + 1,
    );
    assert_eq!(
        told(&fixture, Some((start, end))),
        "Name given: mast\nIndexPath: 0/2\n"
    );
    let between = text.find("0/2").unwrap() + "0/2".len();
    assert_eq!(told(&fixture, Some((between, between + 3))), "");
}

#[test]
fn without_a_dialect_there_is_nothing_to_say() {
    let view = Fixture::house("<list><item name=\"a\"/></list>")
        .at("list.xml")
        .view();
    assert_eq!(
        tokens(&view, TextRange::up_to(TextSize::of(view.text()))),
        []
    );
}
