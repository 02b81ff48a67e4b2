use super::*;
use crate::fixture::Fixture;
use expect_test::{Expect, expect};

fn check(fixture: Fixture, expected: Expect) {
    let view = fixture.view();
    let found = definition(&view, fixture.offset());
    expected.assert_eq(&shown(&fixture, found));
}

/// Where the question started, then each place: the file if it is another, the
/// construct and the part of it to select.
fn shown(fixture: &Fixture, found: Option<Definition>) -> String {
    let view = fixture.view();
    let Some(found) = found else {
        return "nothing".to_owned();
    };
    let mut shown = format!("at {}", &view.text()[found.origin]);
    for target in found.targets {
        let line = match &target.path {
            None => format!(
                "{} in {}",
                &view.text()[target.name],
                &view.text()[target.range]
            ),
            Some(path) => {
                let bytes = std::ops::Range::<usize>::from(target.range);
                let text = crate::fixture::RIG.get(bytes).unwrap_or_default();
                format!("{text:?} of {}", path.display())
            }
        };
        shown.push_str(&format!("\n-> {line}"));
    }
    shown
}

const ALIAS: &str = r#"<aliases><alias name="mast" path="0/2"/></aliases>"#;

#[test]
fn a_name_at_a_node_place_leads_to_the_alias() {
    let body = format!(r#"{ALIAS}<lamps><lamp id="l" node="ma$0st" kind="work"/></lamps>"#);
    check(
        Fixture::rig(&body),
        expect![[r#"
            at mast
            -> mast in <alias name="mast" path="0/2"/>"#]],
    );
}

#[test]
fn an_alias_leads_to_the_node_in_the_scene() {
    for marked in [
        r#"<aliases><alias name="ma$0st" path="0/2"/></aliases>"#,
        r#"<aliases><alias name="mast" path="0/2$0"/></aliases>"#,
    ] {
        let fixture = Fixture::rig(marked);
        let found = definition(&fixture.view(), fixture.offset()).unwrap();
        assert_eq!(
            shown(&fixture, Some(found)).lines().last(),
            Some(r#"-> "mast 0 1 0" of /mod/rig.gltf"#)
        );
    }
}

#[test]
fn an_index_path_leads_to_the_node() {
    check(
        Fixture::rig(r#"<lamps><lamp id="l" node="$00/2/0" kind="work"/></lamps>"#),
        expect![[r#"
            at 0/2/0
            -> "hook 0 0.25 -0.1" of /mod/rig.gltf"#]],
    );
}

#[test]
fn an_index_path_into_nothing_leads_nowhere() {
    check(
        Fixture::rig(r#"<lamps><lamp id="l" node="0/9$0" kind="work"/></lamps>"#),
        expect!["nothing"],
    );
}

#[test]
fn an_implementation_goes_through_the_alias() {
    let fixture = Fixture::rig(&format!(
        r#"{ALIAS}<lamps><lamp id="l" node="mast$0" kind="work"/></lamps>"#
    ));
    let found = node(&fixture.view(), fixture.offset());
    expect![[r#"
        at mast
        -> "mast 0 1 0" of /mod/rig.gltf"#]]
    .assert_eq(&shown(&fixture, found));
}

#[test]
fn a_name_that_is_given_twice_leads_to_both() {
    check(
        Fixture::rig(
            r#"<aliases><alias name="a" path="0"/><alias name="a" path="0/2"/></aliases>
            <lamps><lamp id="l" node="a$0" kind="work"/></lamps>"#,
        ),
        expect![[r#"
            at a
            -> a in <alias name="a" path="0"/>
            -> a in <alias name="a" path="0/2"/>"#]],
    );
}

#[test]
fn animations_wheels_and_sounds_are_found() {
    let body = |control: &str| {
        format!(
            r#"<wheels><wheel id="w" node="0/0/0" radius="1" width="1"/></wheels>
            <sounds><sound id="pump" file="pump.ogg"/></sounds>
            <animations><animation id="go"/></animations>
            <controls>{control}</controls>"#
        )
    };
    for (marked, target) in [
        (
            r#"<switch animation="g$0o" input="button.open"/>"#,
            "-> go in <animation id=\"go\"/>",
        ),
        (
            r#"<switch animation="go" input="button.open"><carry wheel="$0w"/></switch>"#,
            "-> w in <wheel id=\"w\" node=\"0/0/0\" radius=\"1\" width=\"1\"/>",
        ),
        (
            r#"<switch animation="go" input="button.open"><cue sound="pump$0"/></switch>"#,
            "-> pump in <sound id=\"pump\" file=\"pump.ogg\"/>",
        ),
    ] {
        let fixture = Fixture::rig(&body(marked));
        let found = definition(&fixture.view(), fixture.offset());
        assert_eq!(shown(&fixture, found).lines().last(), Some(target));
    }
}

#[test]
fn an_input_comes_from_nowhere_in_the_file() {
    check(
        Fixture::rig(r#"<controls><switch animation="go" input="button$0.open"/></controls>"#),
        expect!["nothing"],
    );
}

#[test]
fn a_file_name_leads_to_the_file() {
    let body = r#"<sounds><sound id="pump" file="pump$0.ogg"/></sounds>"#;
    check(
        Fixture::rig(body).file("pump.ogg"),
        expect![[r#"
            at pump.ogg
            -> "" of /mod/pump.ogg"#]],
    );
    check(Fixture::rig(body), expect!["nothing"]);
}

#[test]
fn an_end_tag_leads_to_its_start_tag() {
    check(
        Fixture::rig("<lamps>\n</lam$0ps>"),
        expect![[r#"
            at lamps
            -> lamps in <lamps>"#]],
    );
}

#[test]
fn values_in_elements_lead_to_their_constructs() {
    let handles = "<handles><handle><call>mast</call><spot>#1:3</spot></handle></handles>";
    check(
        Fixture::yard(&format!(
            "{handles}<weights><weight><spot>ma$0st</spot></weight></weights>"
        )),
        expect![[r#"
            at mast
            -> mast in <handle><call>mast</call><spot>#1:3</spot></handle>"#]],
    );
    check(
        Fixture::yard("<handles><handle><call>ma$0st</call><spot>#1:3</spot></handle></handles>"),
        expect![[r#"
            at mast
            -> "mast 0 1 0" of /mod/rig.gltf"#]],
    );
}

#[test]
fn a_number_leads_to_the_wheel_at_that_position() {
    check(
        Fixture::yard(
            "<rollers><roller><half>1</half></roller><roller><half>2</half></roller></rollers>
            <hands><hand way=\"key\"><follows>1, 2$0</follows></hand></hands>",
        ),
        expect![[r#"
            at 2
            -> roller in <roller><half>2</half></roller>"#]],
    );
}

#[test]
fn a_position_past_the_last_leads_nowhere() {
    check(
        Fixture::yard(
            "<rollers><roller/></rollers><hands><hand><follows>2$0</follows></hand></hands>",
        ),
        expect!["nothing"],
    );
}
