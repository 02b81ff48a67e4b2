use super::*;
use crate::fixture::Fixture;
use expect_test::{Expect, expect};

/// Each place with the attribute or text it stands in.
fn check(fixture: Fixture, with_definition: bool, expected: Expect) {
    let view = fixture.view();
    let found = references(&view, fixture.offset(), with_definition);
    let text = view.text();
    let lines: Vec<String> = found
        .iter()
        .map(|range| {
            let start = text[..usize::from(range.start())]
                .rfind([' ', '>'])
                .map_or(0, |at| at + 1);
            let end = usize::from(range.end());
            text[start..end].to_owned()
        })
        .collect();
    expected.assert_eq(&lines.join("\n"));
}

const RIG: &str = r#"<aliases><alias name="mast" path="0/2"/><alias name="pole" path="0/2"/></aliases>
<lamps><lamp id="a" node="mast" kind="work"/><lamp id="b" node="pole" kind="work"/><lamp id="c" node="0/2" kind="work"/>
<lamp id="d" node="0/2/0" kind="work"/></lamps>"#;

#[test]
fn of_a_name_are_the_places_of_the_name() {
    let used = RIG.replace(r#"node="mast""#, r#"node="ma$0st""#);
    check(
        Fixture::rig(&used),
        true,
        expect![[r#"
            name="mast
            node="mast"#]],
    );
    let given = RIG.replace(r#"name="mast""#, r#"name="mast$0""#);
    check(Fixture::rig(&given), false, expect![[r#"node="mast"#]]);
}

#[test]
fn of_an_index_path_are_all_that_ask_for_the_node() {
    let marked = RIG.replace(r#"node="0/2""#, r#"node="0/2$0""#);
    check(
        Fixture::rig(&marked),
        true,
        expect![[r#"
            name="mast
            path="0/2
            name="pole
            path="0/2
            node="mast
            node="pole
            node="0/2"#]],
    );
}

#[test]
fn a_namesake_of_another_kind_is_another_thing() {
    check(
        Fixture::rig(
            r#"<wheels><wheel id="pump" node="0/0/0" radius="1" width="1"/></wheels>
            <sounds><sound id="pump$0" file="pump.ogg"/></sounds>
            <controls><switch animation="go" input="button.open"><carry wheel="pump"/><cue sound="pump"/></switch></controls>"#,
        ),
        true,
        expect![[r#"
            id="pump
            sound="pump"#]],
    );
}

#[test]
fn of_a_name_that_nothing_gives_are_its_uses() {
    check(
        Fixture::rig(
            r#"<controls><switch animation="go$0" input="button.open"/><switch animation="go" input="button.lamp"/></controls>"#,
        ),
        true,
        expect![[r#"
            animation="go
            animation="go"#]],
    );
}

#[test]
fn of_an_input_are_the_controls_that_share_it() {
    check(
        Fixture::rig(
            r#"<controls><switch animation="a" input="button$0.open"/><switch animation="b" input="button.open"/>
            <switch animation="c" input="button.lamp"/></controls>"#,
        ),
        false,
        expect![[r#"
            input="button.open
            input="button.open"#]],
    );
}

#[test]
fn positions_count_as_places_of_a_name() {
    let noise = "<noises><noise><call>pu$0mp</call></noise></noises><hands><hand><noise>pump</noise></hand></hands>";
    check(
        Fixture::yard(noise),
        true,
        expect![[r#"
            pump
            pump"#]],
    );
}

#[test]
fn nothing_refers_to_free_text() {
    check(
        Fixture::rig(r#"<controls><switch animation="a" input="b" text="Go$0"/></controls>"#),
        true,
        expect![""],
    );
}

const YARD: &str = "<rollers><roller><spot>#1:1</spot><half>1</half><tread>1</tread></roller><roller><spot>#1:2</spot><half>1</half><tread>1</tread></roller></rollers>
<hands><hand way=\"key\"><follows>1, 2</follows></hand><hand way=\"key\"><follows>2</follows></hand></hands>";

#[test]
fn of_a_thing_without_a_name_are_the_positions_that_count_up_to_it() {
    let found = |marked: String| {
        let fixture = Fixture::yard(&marked);
        references(&fixture.view(), fixture.offset(), true)
    };
    let from_one = found(YARD.replace(">2</follows>", ">2$0</follows>"));
    assert_eq!(from_one, found(YARD.replace("1, 2<", "1, $02<")));
    let at_the_tag = YARD.replace("</roller><roller>", "</roller><rol$0ler>");
    assert_eq!(from_one, found(at_the_tag.clone()));
    check(
        Fixture::yard(&at_the_tag),
        true,
        expect![[r#"
        <roller
        2
        2"#]],
    );
}

/// Only the tag speaks of the thing; what stands in it speaks of itself.
#[test]
fn inside_of_a_thing_without_a_name_is_something_else() {
    let marked = YARD.replacen("<half>1", "<half>1$0", 1);
    check(Fixture::yard(&marked), true, expect![[r#""#]]);
}
