use super::*;
use crate::fixture::Fixture;
use expect_test::{Expect, expect};

fn check(fixture: Fixture, expected: Expect) {
    let view = fixture.view();
    let steps = selections(&view, fixture.offset());
    for pair in steps.windows(2) {
        assert!(
            pair[1].contains_range(pair[0]) && pair[1] != pair[0],
            "{pair:?}"
        );
    }
    assert_eq!(
        steps.last(),
        Some(&TextRange::up_to(TextSize::of(view.text())))
    );
    let steps: Vec<&str> = steps.iter().map(|range| &view.text()[*range]).collect();
    expected.assert_eq(&steps.join("\n--\n"));
}

#[test]
fn from_a_value_outwards() {
    check(
        Fixture::house(r#"<a><b c="leg.l$0eft" d="1"/>text</a>"#).at("a.xml"),
        expect![[r#"
        left
        --
        leg.left
        --
        "leg.left"
        --
        c="leg.left"
        --
        c="leg.left" d="1"
        --
        <b c="leg.left" d="1"/>
        --
        <b c="leg.left" d="1"/>text
        --
        <a><b c="leg.left" d="1"/>text</a>"#]],
    );
}

#[test]
fn a_member_of_a_list() {
    check(
        Fixture::yard("<hands><hand><follows>1, 1$02</follows></hand></hands>"),
        expect![[r#"
            12
            --
            1, 12
            --
            <follows>1, 12</follows>
            --
            <hand><follows>1, 12</follows></hand>
            --
            <hands><hand><follows>1, 12</follows></hand></hands>
            --

            <limbs-file>rig.limbs.xml</limbs-file>
            <hands><hand><follows>1, 12</follows></hand></hands>

            --
            <rig>
            <limbs-file>rig.limbs.xml</limbs-file>
            <hands><hand><follows>1, 12</follows></hand></hands>
            </rig>
            --
            <rig>
            <limbs-file>rig.limbs.xml</limbs-file>
            <hands><hand><follows>1, 12</follows></hand></hands>
            </rig>
        "#]],
    );
}

#[test]
fn from_the_name_of_a_tag() {
    check(
        Fixture::house("<a><b>x</b$0></a>").at("a.xml"),
        expect![[r#"
        b
        --
        </b>
        --
        <b>x</b>
        --
        <a><b>x</b></a>"#]],
    );
}

#[test]
fn from_white_space_between_elements() {
    check(
        Fixture::house("<a>\n$0\n<b/></a>").at("a.xml"),
        expect![[r#"


        <b/>
        --
        <a>

        <b/></a>"#]],
    );
}

#[test]
fn from_a_comment() {
    check(
        Fixture::house("<a><!-- some wo$0rds --></a>").at("a.xml"),
        expect![[r#"
        words
        --
        <!-- some words -->
        --
        <a><!-- some words --></a>"#]],
    );
}

#[test]
fn in_an_empty_document() {
    check(Fixture::house("$0"), expect![[""]]);
}

#[test]
fn in_half_a_tag() {
    check(
        Fixture::house("<a><b c=$0").at("a.xml"),
        expect![[r#"
        c=
        --
        <b c=
        --
        <a><b c="#]],
    );
}
