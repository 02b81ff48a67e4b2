//! Names for index paths, and back.

use super::{difference, offered, titles};
use crate::{Trust, fixture::Fixture};
use expect_test::expect;

fn fixture(rest: &str) -> Fixture {
    let text = format!(
        "<machine xmlns=\"urn:trunnion:machine:1\" id=\"rig\" scene=\"rig.gltf\">\n{rest}</machine>\n"
    );
    Fixture::house(&text)
        .scene("rig\n  frame\n    hook 0 1 0\n  mast 0 1 0\n    hook 0 2 0\n")
        .file("machines/rig.gltf")
}

const LAMPS: &str = r#"  <lamps>
    <lamp id="a" node="0/1$0" kind="work"/>
    <lamp id="b" node='0/1' kind="tail"/>
  </lamps>
"#;

#[test]
fn a_path_gets_the_name_of_its_node() {
    let fixture = fixture(LAMPS);
    expect![[r#"
        [
            "Name this path `mast`",
            "Name this path `mast` in all 2 places",
        ]"#]]
    .assert_eq(&format!("{:#?}", titles(&fixture)));
    expect![[r#"
        +  <aliases>
        +    <alias name="mast" path="0/1"/>
        +  </aliases>
        ...
        -    <lamp id="a" node="0/1" kind="work"/>
        +    <lamp id="a" node="mast" kind="work"/>
    "#]]
    .assert_eq(&difference(&fixture, "Name this path `mast`"));
}

#[test]
fn all_places_with_the_path_get_the_name() {
    expect![[r#"
        +  <aliases>
        +    <alias name="mast" path="0/1"/>
        +  </aliases>
        ...
        -    <lamp id="a" node="0/1" kind="work"/>
        -    <lamp id="b" node='0/1' kind="tail"/>
        +    <lamp id="a" node="mast" kind="work"/>
        +    <lamp id="b" node='mast' kind="tail"/>
    "#]]
    .assert_eq(&difference(
        &fixture(LAMPS),
        "Name this path `mast` in all 2 places",
    ));
}

const ALIASED: &str = r#"  <aliases>
    <alias path="0/1" name="mast"/>
  </aliases>
"#;

#[test]
fn a_known_alias_is_written() {
    let fixture = fixture(&format!("{ALIASED}{LAMPS}"));
    expect![[r#"
        -    <lamp id="a" node="0/1" kind="work"/>
        +    <lamp id="a" node="mast" kind="work"/>
    "#]]
    .assert_eq(&difference(&fixture, "Write the name `mast`"));
}

#[test]
fn the_path_of_an_alias_itself_gets_no_name() {
    let fixture = fixture(&ALIASED.replace("0/1", "0/$01"));
    assert_eq!(titles(&fixture), ["Remove the alias `mast`"; 0]);
}

const NAMED: &str = r#"  <aliases>
    <alias name="mast" path="0/1"/>
  </aliases>
  <lamps>
    <lamp id="a" node="ma$0st" kind="work"/>
    <lamp id="b" node="mast" kind="tail"/>
  </lamps>
"#;

#[test]
fn a_path_is_put_back_in_one_place() {
    let fixture = fixture(NAMED);
    expect![[r#"
        [
            "Put the path `0/1` back here",
            "Put the path `0/1` back in all 2 places and remove the alias `mast`",
        ]"#]]
    .assert_eq(&format!("{:#?}", titles(&fixture)));
    assert_eq!(offered(&fixture)[0].trust, Trust::Safe);
    expect![[r#"
        -    <lamp id="a" node="mast" kind="work"/>
        +    <lamp id="a" node="0/1" kind="work"/>
    "#]]
    .assert_eq(&difference(&fixture, "Put the path `0/1` back here"));
}

#[test]
fn a_path_is_put_back_everywhere_and_the_alias_goes() {
    expect![[r#"
        -    <alias name="mast" path="0/1"/>
        ...
        -    <lamp id="a" node="mast" kind="work"/>
        -    <lamp id="b" node="mast" kind="tail"/>
        +    <lamp id="a" node="0/1" kind="work"/>
        +    <lamp id="b" node="0/1" kind="tail"/>
    "#]]
    .assert_eq(&difference(
        &fixture(NAMED),
        "Put the path `0/1` back in all 2 places",
    ));
}

#[test]
fn the_last_use_takes_the_alias_along() {
    let fixture = fixture(&NAMED.replace("    <lamp id=\"b\" node=\"mast\" kind=\"tail\"/>\n", ""));
    expect![[r#"
        -    <alias name="mast" path="0/1"/>
        ...
        -    <lamp id="a" node="mast" kind="work"/>
        +    <lamp id="a" node="0/1" kind="work"/>
    "#]]
    .assert_eq(&difference(
        &fixture,
        "Put the path `0/1` back here and remove the alias `mast`",
    ));
}

#[test]
fn an_unused_alias_can_be_removed() {
    let fixture = fixture(&ALIASED.replace("mast", "ma$0st"));
    expect![[r#"
        -    <alias path="0/1" name="mast"/>
    "#]]
    .assert_eq(&difference(&fixture, "Remove the alias `mast`"));
}

#[test]
fn a_missing_alias_is_made_for_the_node_of_that_name() {
    let fixture = fixture(&LAMPS.replace("node=\"0/1$0\"", "node=\"mast$0\""));
    assert_eq!(offered(&fixture)[0].trust, Trust::Safe);
    expect![[r#"
        +  <aliases>
        +    <alias name="mast" path="0/1"/>
        +  </aliases>
    "#]]
    .assert_eq(&difference(&fixture, "Add an alias `mast`"));
}

#[test]
fn of_several_nodes_of_that_name_one_is_chosen() {
    let fixture = fixture(&LAMPS.replace("node=\"0/1$0\"", "node=\"hook$0\""));
    expect![[r#"
        [
            "Add an alias `hook` for the node at 0/0/0 (`rig/frame/hook`)",
            "Add an alias `hook` for the node at 0/1/0 (`rig/mast/hook`)",
            "Accept `unknown-name` here, with a reason",
        ]"#]]
    .assert_eq(&format!("{:#?}", titles(&fixture)));
    assert!(
        offered(&fixture)
            .iter()
            .all(|offer| offer.trust != Trust::Safe && !offer.is_preferred)
    );
}

#[test]
fn a_name_that_no_node_has_gets_no_alias() {
    let fixture = fixture(&LAMPS.replace("node=\"0/1$0\"", "node=\"winch$0\""));
    assert_eq!(
        titles(&fixture),
        ["Accept `unknown-name` here, with a reason"]
    );
}

#[test]
fn a_missing_wheel_is_no_node() {
    let controls = "  <controls>\n    <lever animation=\"x\" input=\"pointer.x\">\n      <carry wheel=\"ma$0st\"/>\n    </lever>\n  </controls>\n";
    assert!(
        titles(&fixture(controls))
            .iter()
            .all(|title| !title.contains("alias"))
    );
}
