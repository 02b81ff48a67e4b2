//! Quick fixes for findings.

use super::{difference, offered, titles};
use crate::{Trust, assists::OfferKind, fixture::Fixture};
use expect_test::expect;

fn fixture(rest: &str) -> Fixture {
    let text = format!(
        "<machine xmlns=\"urn:trunnion:machine:1\" id=\"rig\" scene=\"rig.gltf\">\n{rest}</machine>\n"
    );
    Fixture::house(&text)
        .scene("rig\n  mast 0 1 0\n")
        .file("machines/rig.gltf")
}

#[test]
fn an_open_element_is_closed() {
    let text = "<machine xmlns=\"urn:trunnion:machine:1\" id=\"rig\" scene=\"rig.gltf\">\n  <lam$0ps>\n</machine>\n";
    let fixture = Fixture::house(text).file("machines/rig.gltf");
    let offers = offered(&fixture);
    assert!(
        offers
            .iter()
            .any(|offer| offer.code == Some("unclosed-element")),
        "{offers:#?}"
    );
}

#[test]
fn missing_attributes_are_added_in_order_with_what_is_usual() {
    let fixture = fixture("  <couplings>\n    <coup$0ling reach=\"0.3\"/>\n  </couplings>\n");
    let offers = offered(&fixture);
    let offer = offers
        .iter()
        .find(|offer| offer.title.starts_with("Add"))
        .expect("it is offered");
    assert_eq!(
        (offer.trust, offer.code),
        (Trust::Draft, Some("missing-attribute"))
    );
    expect!["Add `id`, `node` and `kind`"].assert_eq(&offer.title);
    expect![[r#"
        -    <coupling reach="0.3"/>
        +    <coupling id="" node="" kind="pin" reach="0.3"/>
    "#]]
    .assert_eq(&difference(&fixture, "Add"));
}

#[test]
fn attributes_with_lines_of_their_own_get_lines_of_their_own() {
    let fixture = fixture(
        "  <lamps>\n    <lamp id='a'\n          no$0de='0/0'/>\n  </lamps>\n"
            .replace("no$0de", "node")
            .replace("<lamp id", "<la$0mp id")
            .as_str(),
    );
    expect![[r#"
        -          node='0/0'/>
        +          node='0/0'
        +          kind='work'/>
    "#]]
    .assert_eq(&difference(&fixture, "Add"));
}

#[test]
fn a_misspelled_word_is_offered_as_meant() {
    let fixture =
        fixture("  <lamps>\n    <lamp id=\"a\" node=\"0/0\" kind=\"wo$0rg\"/>\n  </lamps>\n");
    assert_eq!(
        titles(&fixture)
            .iter()
            .filter(|title| title.contains("`work`"))
            .count(),
        1,
        "{:?}",
        titles(&fixture)
    );
}

#[test]
fn nothing_is_repaired_where_nothing_is_wrong() {
    let fixture =
        fixture("  <lamps>\n    <lamp id=\"a\" node=\"0/0\" ki$0nd=\"work\"/>\n  </lamps>\n");
    assert_eq!(titles(&fixture), Vec::<String>::new());
}

/// A lever that moves both arms, with the wheels on them.
fn with_lever(lever: &str) -> Fixture {
    let text = format!(
        r#"<machine xmlns="urn:trunnion:machine:1" id="rig" scene="rig.gltf">
  <wheels>
    <wheel id="a" node="0/0/0" radius="1" width="1"/>
    <wheel id="b" node="0/1/0" radius="1" width="1"/>
  </wheels>
  <animations>
    <animation id="spread">
      <channel target="0/0" property="translation" begin="0" end="1" from="1 0 0" to="2 0 0"/>
      <channel target="0/1" property="translation" begin="0" end="1" from="-1 0 0" to="-2 0 0"/>
    </animation>
  </animations>
  <controls>
{lever}  </controls>
</machine>
"#
    );
    Fixture::house(&text)
        .scene("rig\n  left 1 0 0\n    wheel\n  right -1 0 0\n    wheel\n")
        .file("machines/rig.gltf")
}

#[test]
fn wheels_that_are_left_behind_are_carried() {
    let fixture = with_lever("    <lever animation=\"spre$0ad\" input=\"pointer.x\"/>\n");
    expect![[r#"
        -    <lever animation="spread" input="pointer.x"/>
        +    <lever animation="spread" input="pointer.x">
        +      <carry wheel="a"/>
        +      <carry wheel="b"/>
        +    </lever>
    "#]]
    .assert_eq(&difference(&fixture, "Carry the wheels `a` and `b`"));
}

#[test]
fn a_wheel_joins_those_that_are_carried() {
    let fixture = with_lever(
        "    <lever animation=\"spre$0ad\" input=\"pointer.x\">\n      <carry wheel=\"b\"/> <!-- the right one -->\n    </lever>\n",
    );
    expect![[r#"
        +      <carry wheel="a"/>
    "#]]
    .assert_eq(&difference(&fixture, "Carry the wheel `a`"));
}

#[test]
fn several_are_set_apart_as_those_around_them() {
    let with = |carried: &str| {
        let text = format!(
            r#"<machine xmlns="urn:trunnion:machine:1" id="rig" scene="rig.gltf">
  <wheels>
    <wheel id="a" node="0/0/0" radius="1" width="1"/>
    <wheel id="b" node="0/0/1" radius="1" width="1"/>
    <wheel id="c" node="0/0/2" radius="1" width="1"/>
    <wheel id="d" node="0/0/3" radius="1" width="1"/>
  </wheels>
  <animations>
    <animation id="spread">
      <channel target="0/0" property="translation" begin="0" end="1" from="1 0 0" to="2 0 0"/>
    </animation>
  </animations>
  <controls>
    <lever animation="spre$0ad" input="pointer.x">{carried}</lever>
  </controls>
</machine>
"#
        );
        let fixture = Fixture::house(&text)
            .scene("rig\n  arm 1 0 0\n    w1\n    w2\n    w3\n    w4\n")
            .file("machines/rig.gltf");
        let after = super::text_after(&fixture, "Carry the wheels `c` and `d`");
        let start = after.find("pointer.x\">").expect("it is there") + "pointer.x\">".len();
        after[start..after.find("</lever>").expect("it is there")].to_owned()
    };
    assert_eq!(
        with("\n      <carry wheel=\"a\"/>\n\n      <carry wheel=\"b\"/>\n    "),
        "\n      <carry wheel=\"a\"/>\n\n      <carry wheel=\"b\"/>\n\n      <carry wheel=\"c\"/>\n\n      <carry wheel=\"d\"/>\n    "
    );
    assert_eq!(
        with("\n      <carry wheel=\"a\"/>\n      <carry wheel=\"b\"/>\n    "),
        "\n      <carry wheel=\"a\"/>\n      <carry wheel=\"b\"/>\n      <carry wheel=\"c\"/>\n      <carry wheel=\"d\"/>\n    "
    );
    assert_eq!(
        with("<carry wheel=\"a\"/> <carry wheel=\"b\"/>"),
        "<carry wheel=\"a\"/> <carry wheel=\"b\"/> <carry wheel=\"c\"/> <carry wheel=\"d\"/>"
    );
}

#[test]
fn what_nothing_plays_gets_a_control_as_a_repair() {
    let fixture = with_lever("    <lever animation=\"other\" input=\"pointer.x\"/>\n");
    let text = fixture.text().replace("id=\"spread\"", "id=\"spre$0ad\"");
    let fixture = Fixture::house(&text)
        .scene("rig\n  left 1 0 0\n    wheel\n  right -1 0 0\n    wheel\n")
        .file("machines/rig.gltf");
    let offers = offered(&fixture);
    let offer = offers
        .iter()
        .find(|offer| offer.title.starts_with("Make adjustable"))
        .expect("it is offered");
    assert_eq!(
        (offer.kind, offer.code),
        (OfferKind::Quick, Some("unreachable-animation"))
    );
    expect![[r#"
        +    <lever animation="spread" input="pointer.y" gain="0.6" rate="1" text="Spread">
        +      <carry wheel="a"/>
        +      <carry wheel="b"/>
        +    </lever>
    "#]]
    .assert_eq(&difference(&fixture, "Make adjustable"));
}
