use super::*;
use crate::fixture::Fixture;
use expect_test::{Expect, expect};

fn check(fixture: Fixture, expected: Expect) {
    let view = fixture.view();
    let mut lines = String::new();
    let mut open: Vec<(usize, Symbol)> = symbols(&view)
        .into_iter()
        .map(|symbol| (0, symbol))
        .collect();
    while let Some((depth, symbol)) = open.pop() {
        assert!(symbol.range.contains_range(symbol.name_range));
        let indent = "  ".repeat(depth);
        lines.push_str(&format!(
            "{indent}{:?} {} ({})\n",
            symbol.kind, symbol.name, symbol.detail
        ));
        open.extend(
            symbol
                .children
                .into_iter()
                .rev()
                .map(|child| (depth + 1, child)),
        );
    }
    expected.assert_eq(&lines);
}

#[test]
fn what_has_a_name_or_a_role() {
    check(
        Fixture::rig(
            r#"<aliases><alias name="mast" path="0/2"/></aliases>
            <bodies><body node="0" mass="1"/></bodies>
            <wheels><wheel id="w" node="0/0/0" radius="1" width="1"/></wheels>
            <lamps><lamp id="top" node="mast" kind="work"/></lamps>
            <sounds><sound id="pump" file="pump.ogg"/></sounds>
            <animations><animation id="raise">
              <channel target="mast" property="translation" begin="0" end="1" from="0 0 0" to="0 1 0"/>
              <channel property="rotation"/>
            </animation></animations>
            <controls>
              <switch animation="raise" input="button.raise" text="Raise"><cue sound="pump"/></switch>
              <lever animation="raise" input="pointer.x"/>
              <lever/>
            </controls>"#,
        ),
        expect![[r#"
            Document machine ()
              Section aliases ()
                Alias mast (alias 0/2)
              Section bodies ()
                Element body (0)
              Section wheels ()
                Wheel w (wheel 0/0/0)
              Section lamps ()
                Named top (lamp mast)
              Section sounds ()
                Sound pump (sound pump.ogg)
              Section animations ()
                Animation raise (animation)
                  Channel mast (channel translation)
                  Channel channel (rotation)
              Section controls ()
                Control Raise (switch button.raise)
                Control raise (lever pointer.x)
                Control lever ()
        "#]],
    );
}

#[test]
fn names_in_elements() {
    check(
        Fixture::yard(
            "<handles><handle><call>mast</call><spot>#1:3</spot></handle></handles>
            <rollers><roller><spot>#1:1</spot></roller></rollers>
            <strokes><stroke><call>lift</call><move><spot>mast</spot><shift>0;0;0 | 1;1;1</shift><swing>0;0;0 | 1;1;1</swing></move></stroke></strokes>
            <hands><hand way=\"key\"><stroke>lift</stroke><grip>key-a</grip><label>Lift</label></hand></hands>",
        ),
        expect![[r#"
            Document rig ()
              Section handles ()
                Alias mast (handle #1:3)
              Section rollers ()
                Wheel roller (#1:1)
              Section strokes ()
                Animation lift (stroke)
                  Channel mast (move translation, rotation)
              Section hands ()
                Control Lift (hand key-a)
        "#]],
    );
}

#[test]
fn every_element_where_no_dialect_fits() {
    check(
        Fixture::house("<a><b/><c><d/></c><").at("a.xml"),
        expect![[r#"
            Document a ()
              Element b ()
              Section c ()
                Element d ()
              Element ? ()
        "#]],
    );
}

#[test]
fn nothing_in_an_empty_document() {
    check(Fixture::house(""), expect![[""]]);
}
