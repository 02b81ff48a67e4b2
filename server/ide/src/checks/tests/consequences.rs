//! One mistake, one error; and what is another mistake is told beside it.

use super::{Fixture, in_dialect, rig, said};

/// The codes of the errors, in the order of the text.
fn errors(fixture: &Fixture) -> Vec<String> {
    let said = said(fixture);
    let errors = said.lines().filter_map(|line| line.strip_prefix("error "));
    errors
        .filter_map(|line| Some(line.split(' ').next()?.to_owned()))
        .collect()
}

/// The codes of all findings.
fn codes(fixture: &Fixture) -> Vec<String> {
    let said = said(fixture);
    let findings = said.lines().filter(|line| !line.starts_with(' '));
    findings
        .filter_map(|line| Some(line.split(' ').nth(1)?.to_owned()))
        .collect()
}

/// A machine with two aliases that two channels use, with one change.
fn changed(from: &str, to: &str) -> Vec<String> {
    let body = r#"  <aliases>
    <alias name="mast" path="0/2"/>
    <alias name="hook" path="0/2/0"/>
  </aliases>
  <sounds>
    <sound id="pump" file="pump.ogg"/>
  </sounds>
  <animations>
    <animation id="raise">
      <channel target="mast" property="translation" begin="0" end="1" from="0 1 0" to="0 2 0"/>
      <channel target="hook" property="translation" begin="0" end="1" from="0 0 0" to="0 1 0"/>
    </animation>
  </animations>
  <controls>
    <switch animation="raise" input="button.raise">
      <cue sound="pump"/>
    </switch>
  </controls>"#;
    assert!(body.contains(from), "{from}");
    errors(&rig(&body.replacen(from, to, 1)))
}

#[test]
fn a_value_that_is_broken_as_xml_is_not_judged() {
    assert_eq!(
        changed("target=\"mast\"", "target=\"mast & \""),
        ["bad-reference"]
    );
    assert_eq!(
        changed("file=\"pump.ogg\"", "file=\"pump.ogg < \""),
        ["bad-character"]
    );
    assert_eq!(
        changed("target=\"mast\"", "target=\"mst\""),
        ["unknown-name"]
    );
}

#[test]
fn a_name_that_was_lost_explains_one_unknown_name() {
    assert_eq!(
        changed("alias name=\"mast\"", "alias name="),
        ["unfinished-attribute"]
    );
    assert_eq!(changed("sound id=\"pump\"", "sound"), ["missing-attribute"]);
    assert_eq!(
        changed("sound id=\"pump\"", "sound zzz=\"pmup\""),
        ["unknown-attribute"]
    );
    assert_eq!(
        changed("sound id=\"pump\"", "sound id=\"\""),
        ["wrong-type"]
    );
    assert_eq!(
        changed("name=\"hook\"", "name=\"mast\""),
        ["duplicate-name"]
    );
    assert_eq!(
        changed(
            "<alias name=\"mast\" path=\"0/2\"/>\n    <alias name=\"hook\" path=\"0/2/0\"/>",
            "<alias path=\"0/2\"/>"
        ),
        ["missing-attribute", "unknown-name", "unknown-name"],
        "one alias without a name is not enough for two names"
    );
    assert_eq!(
        changed(
            "alias name=\"mast\" path=\"0/2\"/>",
            "alias path=\"0/2\"/><alias name=\"mast\" path=\"0/2\"/>"
        ),
        ["missing-attribute"],
    );
}

#[test]
fn an_unknown_name_of_another_kind_than_what_was_lost_is_told() {
    assert_eq!(
        changed("name=\"mast\" path=\"0/2\"/>", "name=\"mast\"/>"),
        ["missing-attribute"]
    );
    assert_eq!(
        changed(
            "<alias name=\"mast\" path=\"0/2\"/>",
            "<alias path=\"0/2\"/><alias name=\"mast\"  path=\"0/2\"/>\n  </aliases>\n  <lamps><lamp id=\"a\" node=\"lost\" kind=\"work\"/></lamps>\n  <aliases>"
        ),
        ["missing-attribute", "too-many"],
    );
    assert_eq!(
        changed("sound id=\"pump\" file=\"pump.ogg\"/>", "sound file=\"pump.ogg\"/><sound id=\"pump\" file=\"pump.ogg\"/>\n  </sounds>\n  <lamps><lamp id=\"a\" node=\"lost\" kind=\"work\"/></lamps>\n  <wheels>")
            .iter()
            .filter(|code| *code == "unknown-name")
            .count(),
        1,
        "a sound without a name is no alias"
    );
}

#[test]
fn a_misspelled_start_tag_is_told_by_its_end_tag() {
    assert_eq!(changed("<switch ", "<switchx "), ["mismatched-end-tag"]);
    let place = |from: &str, to: &str| {
        let body = "<aliases>\n    <alias name=\"mast\" path=\"0/2\"></alias>\n  </aliases>";
        let said = said(&rig(&body.replacen(from, to, 1)));
        let told = said.lines().find(|line| line.contains("mismatched"));
        told.unwrap_or_default().to_owned()
    };
    expect_test::expect!["error mismatched-end-tag at `aliasse`: `<aliasse>` may not stand in `<machine>`, but `<aliases>` may, and so says its end tag. Write `<aliases>`."]
        .assert_eq(&place("<aliases>", "<aliasse>"));
    // Where the end tag is wrong, or neither is right, the end tag is told.
    assert!(place("</aliases>", "</aliasse>").contains("at `</aliasse>`"));
    assert!(place("<aliases>", "<wheels>").contains("at `</aliases>`"));
    assert_eq!(
        changed("<cue sound=\"pump\"/>", "<cux sound=\"pump\"/>"),
        ["unknown-element"]
    );
}

#[test]
fn what_lost_its_parent_is_told_by_the_end_tag_that_is_left() {
    assert_eq!(changed("  <animations>\n", ""), ["stray-end-tag"]);
    assert_eq!(
        changed("  <animations>\n", "  <oddity/>\n"),
        ["unknown-element", "stray-end-tag"],
        "but not what could not have stood in it"
    );
}

#[test]
fn text_that_was_a_tag_is_told_once() {
    assert_eq!(
        changed("<alias name=\"mast\"", "alias name=\"mast\""),
        ["unexpected-text"]
    );
    assert_eq!(changed("<animations>", "animations>"), ["unexpected-text"]);
    assert_eq!(
        changed("<alias name=\"mast\" path=\"0/2\"/>", "something else"),
        ["unexpected-text", "unknown-name"],
        "other text explains nothing"
    );
}

#[test]
fn what_is_missing_may_be_what_is_broken() {
    // The rig of the fixture has no `<called>`; that comes first and is left out here.
    let yard = |handle: &str| {
        let weights = "<weights><weight><spot>mast</spot><tons>1</tons></weight></weights>";
        let body = format!("<handles><handle>{handle}</handle></handles>{weights}");
        errors(&Fixture::yard(&body).file("rig.limbs.xml"))[1..].to_vec()
    };
    assert_eq!(
        yard("<call>mast</call><spot>#1:1</spot>"),
        Vec::<String>::new()
    );
    assert_eq!(yard("<call>mast</call>#1:1</spot>"), ["stray-end-tag"]);
    assert_eq!(yard("<callmast</call><spot>#1:1</spot>"), ["unclosed-tag"]);
    assert_eq!(yard("<spot>#1:1</spot>"), ["missing-child"]);
    assert_eq!(yard("<call>mast</call>"), ["missing-child"]);
}

#[test]
fn a_time_out_of_range_is_no_empty_window_as_well() {
    assert_eq!(changed("end=\"1\"", "end=\"-1\""), ["out-of-range"]);
    assert_eq!(
        changed("begin=\"0\" end=\"1\"", "begin=\"2\" end=\"1\""),
        ["empty-window"]
    );
}

#[test]
fn a_length_out_of_range_is_not_too_short_as_well() {
    let short = |length: &str| {
        let animation = format!(
            r#"<animations><animation id="raise" duration="{length}">
                 <channel target="0/2" property="translation" begin="0" end="1" from="0 1 0" to="0 2 0"/>
               </animation></animations>
               <controls><switch animation="raise" input="button.raise"/></controls>"#
        );
        codes(&rig(&animation))
    };
    assert_eq!(short("-3"), ["out-of-range"]);
    assert_eq!(short("0.5"), ["past-duration"]);
}

#[test]
fn an_input_of_the_other_kind_is_not_taken_as_well() {
    let levers = |first: &str, second: &str| {
        let one = |id: &str, property: &str, rest: &str| {
            format!(
                r#"<animation id="{id}"><channel target="0/2" property="{property}" begin="0" end="1" from="{rest}" to="0 2 0"/></animation>"#
            )
        };
        codes(&rig(&format!(
            r#"<animations>{}{}</animations>
               <controls><switch animation="a" input="{first}"/><lever animation="b" input="{second}"/></controls>"#,
            one("a", "translation", "0 1 0"),
            one("b", "rotation", "0 0 0")
        )))
    };
    assert_eq!(levers("button.raise", "button.raise"), ["wrong-input-kind"]);
    assert_eq!(levers("stick.1.x", "stick.1.x"), ["wrong-input-kind"]);
    assert_eq!(levers("button.raise", "stick.1.x"), Vec::<String>::new());
}

/// In a dialect whose controls stand in what they play.
#[test]
fn what_nobody_knows_in_an_animation_may_be_its_control() {
    let toml = r#"
[dialect]
name = "reed"
format = 1
[[document]]
name = "reed"
root = "reed"
[element.reed]
children = ["bend*", "note*"]
[element.bend]
children = ["hold?"]
attributes.id = { type = "name", of = "bend", required = true }
[element.hold]
attributes.by = "input"
[element.note]
[[role.animation]]
at = "reed/bend"
name = "@id"
[[role.control]]
at = "reed/bend/hold"
kind = "analog"
animation = "../@id"
input = "@by"
"#;
    let reed = |body: &str| codes(&in_dialect(toml, &format!("<reed>{body}</reed>")));
    assert_eq!(
        reed(r#"<bend id="a"><hodl by="x"/></bend>"#),
        ["unknown-element"]
    );
    assert_eq!(
        reed(r#"<bend id="a"/><bend id="b"><hold by="x"/></bend>"#),
        ["unreachable-animation"]
    );
    assert_eq!(
        reed(r#"<bend id="a"/><nite/>"#),
        ["unreachable-animation", "unknown-element"]
    );
}

#[test]
fn what_a_foreign_prefix_hides_is_not_missed() {
    let hidden = changed("<sound ", "<x:sound ");
    assert_eq!(hidden, ["unbound-prefix"]);
    // A prefix at one of two tags is one mistake; another name is another one.
    let tags = |from: &str, to: &str| changed(from, to).join(" ");
    assert_eq!(tags("<sounds>", "<x:sounds>"), "unbound-prefix");
    assert_eq!(tags("</sounds>", "</x:sounds>"), "mismatched-end-tag");
    let other = tags("<sounds>", "<x:noises>");
    assert!(other.contains("mismatched-end-tag"), "{other}");
    // Nor where the name of a node could stand as well.
    let toml = r#"
[dialect]
name = "reed"
format = 1
[[document]]
name = "reed"
root = "reed"
[element.reed]
children = ["mark*", "lamp*"]
attributes.shape = "file"
[element.mark.attributes]
n = { type = "name", of = "mark" }
at = "node-name"
[element.lamp.attributes]
on = { type = "node", accepts = ["mark", "node-name"] }
[[role.scene]]
at = "reed"
file = "@shape"
[[role.alias]]
at = "reed/mark"
name = "@n"
path = "@at"
"#;
    let reed = |mark: &str| {
        let text = format!(r#"<reed shape="a.gltf">{mark}<lamp on="top"/></reed>"#);
        let fixture = in_dialect(toml, &text).scene("boom\n").file("a.gltf");
        codes(&fixture)
    };
    assert_eq!(reed(r#"<mark n="top" at="boom"/>"#), Vec::<String>::new());
    assert_eq!(reed(r#"<makr n="top" at="boom"/>"#), ["unknown-element"]);
    assert_eq!(reed(r#"<x:mark n="top" at="boom"/>"#), ["unbound-prefix"]);
    assert_eq!(reed(""), ["path-not-in-scene"]);
}

/// The codes of all findings of a machine with an animation that a switch plays and that carries a wheel, with one change.
fn of_all(from: &str, to: &str) -> Vec<String> {
    let body = r#"  <aliases><alias name="mast" path="0/2"/></aliases>
  <wheels><wheel id="front" node="0/2/0" radius="0.5" width="0.2"/></wheels>
  <animations>
    <animation id="raise">
      <channel target="mast" property="translation" begin="0" end="1" from="0 1 0" to="0 2 0"/>
    </animation>
  </animations>
  <controls>
    <switch animation="raise" input="button.raise"><carry wheel="front"/></switch>
  </controls>"#;
    assert!(body.contains(from), "{from}");
    codes(&rig(&body.replacen(from, to, 1)))
}

#[test]
fn what_may_be_used_where_nobody_can_read_it_is_not_called_unused() {
    assert_eq!(of_all("id=\"front\"", "id=\"front\""), [""; 0]);
    for to in ["", "animation=\"\"", "zzz=\"\""] {
        let codes = of_all("animation=\"raise\"", to);
        assert!(
            !codes.contains(&"unreachable-animation".to_owned()),
            "{codes:?}"
        );
        assert!(!codes.is_empty());
    }
    for to in ["", "target=\"\""] {
        let codes = of_all("target=\"mast\"", to);
        assert!(!codes.contains(&"unused-alias".to_owned()), "{codes:?}");
        assert!(!codes.is_empty());
    }
    // One place may be the use of one of them, not of two.
    let second = "<alias name=\"spare\" path=\"0\"/></aliases>";
    assert_eq!(of_all("</aliases>", second), ["unused-alias"]);
    let both = "<alias name=\"spare\" path=\"0\"/></aliases><lamps><lamp id=\"a\" node=\"\" kind=\"work\"/></lamps>";
    let third = both.replacen("<alias", "<alias name=\"other\" path=\"0/1\"/><alias", 1);
    assert_eq!(of_all("</aliases>", both), ["wrong-type"]);
    let told = ["unused-alias", "unused-alias", "wrong-type"];
    assert_eq!(of_all("</aliases>", &third), told);
}

#[test]
fn a_wheel_is_not_left_behind_by_a_control_whose_wheels_cannot_be_read() {
    for to in [
        "<cary wheel=\"front\"/>",
        "<carry/>",
        "<carry whel=\"front\"/>",
        "<carry wheel=\"zzz\"/>",
    ] {
        let codes = of_all("<carry wheel=\"front\"/>", to);
        assert!(
            !codes.contains(&"wheel-left-behind".to_owned()),
            "{codes:?}"
        );
        assert!(!codes.is_empty());
    }
    assert_eq!(
        of_all("<carry wheel=\"front\"/>", ""),
        ["wheel-left-behind"]
    );
    let cue = "<cue sound=\"zzz\"/>";
    assert_eq!(
        of_all("<carry wheel=\"front\"/>", cue),
        ["wheel-left-behind", "unknown-name"],
        "a sound is no wheel"
    );
}

/// What is only a hint has hints follow from it, and no mistake is kept back for it.
#[test]
fn hints_have_consequences_among_hints() {
    let told = |name_is_learnt: bool, use_is_learnt: bool, text: &str| {
        let strict = |is_learnt: bool| {
            if is_learnt {
                "strict = false"
            } else {
                "doc = \"\""
            }
        };
        let (name, used) = (strict(name_is_learnt), strict(use_is_learnt));
        let toml = format!(
            r#"
[dialect]
name = "yarn"
format = 1
[[document]]
name = "yarn"
root = "yarn"
[element.yarn]
children = ["knot*", "twist*"]
[element.knot]
{name}
[element.knot.attributes]
n = {{ type = "name", of = "knot", required = true, {name} }}
at = "index-path"
[element.twist]
{used}
[element.twist.attributes]
of = {{ type = "reference", of = "knot", required = true, {used} }}
[[role.alias]]
at = "yarn/knot"
name = "@n"
path = "@at"
"#
        );
        codes(&in_dialect(&toml, text))
    };
    let unused = r#"<yarn><knot n="mast" at="0"/><twist/></yarn>"#;
    assert_eq!(told(true, true, unused), ["missing-attribute"]);
    let unnamed = r#"<yarn><knot at="0"/><twist of="mast"/></yarn>"#;
    assert_eq!(told(false, false, unnamed), ["missing-attribute"]);
    assert_eq!(told(true, true, unnamed), ["missing-attribute"]);
    let both = ["missing-attribute", "unknown-name"];
    assert_eq!(told(true, false, unnamed), both);
}
