//! New controls as the library's machines write theirs.

use super::{difference, offered, text_after};
use crate::{
    Trust,
    assists::{Wish, adjust},
    fixture::Fixture,
};
use dialect::Dialect;
use expect_test::{Expect, expect};
use std::sync::Arc;

const SCENE: &str = "
rig
  arm.left 1 0 0 box
    float.left 0 0.5 0
  arm.right -1 0 0 box
    float.right 0 0.5 0
  mast 0 1 0
";

const BARGE: &str = r#"<barge hull="rig.gltf">
  <marks>
    <mark call="left" at="1-1"/>
    <mark call="right" at="1-2"/>
  </marks>
  <floats>
    <float call="f1" at="1-1-1"/>
    <float call="f2" at="1-2-1"/>
  </floats>
  <turns>
    <turn call="rise">
      <step of="1-3" since="0" until="6" low="0 1 0" high="0 3 0"/>
      <st$0ep of="left" since="0" until="2" low="1 0 0" high="1.4 0 0"/>
      <step of="right" since="0" until="2" low="-1 0 0" high="-1.4 0 0"/>
    </turn>
  </turns>
  <hands>
    <latch drives="rise" by="heel"/>
  </hands>
</barge>
"#;

fn fixture(text: &str, others: &[&str]) -> Fixture {
    let dialect = include_str!("../../precedents/barge.dialect.toml");
    let dialect = Dialect::read(dialect, None).expect("it is sound");
    let others: Vec<String> = others
        .iter()
        .map(|hands| format!("<barge><turns/><hands>{hands}</hands></barge>"))
        .collect();
    let others: Vec<&str> = others.iter().map(String::as_str).collect();
    let fixture = Fixture::of(text, vec![Arc::new(dialect)]);
    let fixture = fixture.scene(SCENE).file("rig.gltf").file("gong.ogg");
    match others.as_slice() {
        [] => fixture,
        others => fixture.library(others),
    }
}

const TITLE: &str = "Make adjustable: `left` and `right`";

fn control(text: &str, others: &[&str]) -> String {
    let after = text_after(&fixture(text, others), TITLE);
    let from = after.find("    <crank").expect("there is a crank");
    let to = after[from..]
        .find("    <latch")
        .unwrap_or(after.len() - from);
    after[from..from + to]
        .replace("\n    ", "\n")
        .trim_start()
        .to_owned()
}

fn check(others: &[&str], expected: &Expect) {
    expected.assert_eq(&control(BARGE, others));
}

/// What the dialect alone gives.
#[test]
fn without_a_library_nothing_changes() {
    check(
        &[],
        &expect![[r#"
                <crank drives="rig.spread" by="knee" speed="2" say="Rig spread">
                  <with float="f1"/>
                  <with float="f2"/>
                </crank>
        "#]],
    );
}

#[test]
fn a_control_is_written_as_the_others_write_theirs() {
    let others = [
        r#"<crank by="chin" drives="a" key="say.a" side="port" pull="0.4" say="Fold" grease="tallow"><with float="x" rope="wire"/><plate lit="true" shape="round"/></crank>"#,
        r#"<crank by="chin" drives="bb" key="say.bb" side="port" pull="0.4" say="Lift it" grease="soap"><plate lit="true" shape="round"/></crank>"#,
        r#"<crank by="elbow" drives="c" key="say.c" side="starboard" pull="0.4" grease="none"><with float="y" rope="wire"/></crank>"#,
        // A latch is no crank.
        r#"<latch drives="d" by="toe" spring="yes"/><latch drives="e" by="heel" spring="yes"/>"#,
    ];
    check(
        &others,
        &expect![[r#"
                <crank by="chin" drives="rig.spread" key="say.rig.spread" side="port" pull="0.4" say="Rig spread" grease="tallow">
                  <with float="f1" rope="wire"/>
                  <with float="f2" rope="wire"/>
                  <plate lit="true" shape="round"/>
                </crank>
        "#]],
    );
    let offers = offered(&fixture(BARGE, &others));
    let offer = offers
        .iter()
        .find(|offer| offer.title.starts_with(TITLE))
        .unwrap();
    assert_eq!(offer.trust, Trust::Draft, "the grease is left to choose");
    let view = fixture(BARGE, &others).view();
    let wish = Wish {
        parts: vec!["left".to_owned(), "right".to_owned()],
        ..Wish::default()
    };
    let adjustment = adjust(&view, &wish).unwrap();
    let places = adjustment.places.iter();
    let places: Vec<&str> = places.map(|place| &adjustment.text[*place]).collect();
    assert_eq!(places, ["tallow"]);
    assert_eq!(adjustment.difference.map(|found| found.metres), Some(0.0));
}

#[test]
fn what_others_agree_on_leaves_nothing_to_fill_in() {
    let others = [
        r#"<crank drives="a" by="chin" side="port"/>"#,
        r#"<crank drives="b" by="chin" side="port"/>"#,
    ];
    check(
        &others,
        &expect![[r#"
                <crank drives="rig.spread" by="chin" side="port">
                  <with float="f1"/>
                  <with float="f2"/>
                </crank>
        "#]],
    );
    let offers = offered(&fixture(BARGE, &others));
    let offer = offers
        .iter()
        .find(|offer| offer.title.starts_with(TITLE))
        .unwrap();
    assert_eq!(offer.trust, Trust::Review);
}

#[test]
fn names_of_other_machines_are_not_taken_over() {
    let others = [
        r#"<crank id="ka" drives="a" by="chin" side="port"><ring bell="pling"/></crank>"#,
        r#"<crank id="kb" drives="b" by="chin" side="upside"><ring bell="pling"/></crank>"#,
        r#"<crank id="kc" drives="c" by="chin" side="upside" paint="red"><ring bell="pling"/></crank>"#,
        r#"<crank id="kd" drives="d" by="chin" side="upside" paint="red"><ring bell="pling"/></crank>"#,
        r#"<crank id="ke" drives="e" by="chin" side="upside" paint="red"><ring bell="pling"/></crank>"#,
    ];
    // A name is given like the others', a value that the dialect does not know is not.
    check(
        &others,
        &expect![[r#"
                <crank id="krig.spread" drives="rig.spread" by="chin">
                  <with float="f1"/>
                  <with float="f2"/>
                </crank>
        "#]],
    );
    // With a bell of its own, it rings.
    let with_bell = BARGE.replace(
        "  <turns>",
        "  <bells>\n    <bell call=\"gong\" file=\"gong.ogg\"/>\n  </bells>\n  <turns>",
    );
    let control = control(&with_bell, &others);
    assert!(control.contains("<ring bell=\"gong\"/>"), "{control}");
}

#[test]
fn one_other_control_is_no_habit() {
    let one = [r#"<crank drives="a" by="chin" side="port"/>"#];
    assert_eq!(control(BARGE, &one), control(BARGE, &[]));
}

#[test]
fn the_house_dialect_learns_too() {
    let machine = |rest: &str| {
        format!(
            "<machine xmlns=\"urn:trunnion:machine:1\" id=\"rig\" scene=\"rig.gltf\">\n{rest}\n</machine>\n"
        )
    };
    let own = machine(
        "<animations>\n  <animation id=\"rise\">\n    <channel target=\"0/2\" property=\"translation\" begin=\"0\" end=\"6\" from=\"0 1 0\" to=\"0 3 0\"/>\n    <chan$0nel target=\"0/0\" property=\"translation\" begin=\"0\" end=\"2\" from=\"1 0 0\" to=\"1.4 0 0\"/>\n  </animation>\n</animations>\n<controls>\n  <switch animation=\"rise\" input=\"button.raise\"/>\n</controls>",
    );
    let lever = |name: &str| {
        machine(&format!(
            "<controls><lever animation=\"{name}\" input=\"stick.2.y\" gain=\"1.5\" rate=\"3\" sense=\"reversed\"/></controls>"
        ))
    };
    let (one, two) = (lever("a"), lever("b"));
    let fixture = Fixture::house(&own)
        .scene(SCENE)
        .file("rig.gltf")
        .library(&[&one, &two]);
    let changed = difference(&fixture, "Make adjustable");
    let line = changed.lines().find(|line| line.contains("<lever"));
    expect![[r#"+  <lever animation="arm.left.shift" input="stick.2.y" gain="1.5" rate="3" sense="reversed"/>"#]].assert_eq(line.unwrap_or_default());
}

/// The dialect names the crank first.
#[test]
fn what_most_others_have_is_taken() {
    let reels = [
        r#"<reel drives="a" by="knee" drum="oak"/><crank drives="b" by="chin"/>"#,
        r#"<reel drives="b" by="chin" drum="oak"/>"#,
    ];
    // Only a crank can carry floats.
    assert!(!text_after(&fixture(BARGE, &reels), TITLE).contains("<reel"));
    let (before, rest) = BARGE.split_once("  <floats>").unwrap();
    let (_, behind) = rest.split_once("</floats>\n").unwrap();
    let without_floats = format!("{before}{behind}");
    let after = text_after(&fixture(&without_floats, &reels), TITLE);
    let reel = after.lines().find(|line| line.contains("<reel"));
    expect![[r#"<reel drives="rig.spread" by="knee" drum="oak"/>"#]]
        .assert_eq(reel.unwrap_or_default().trim());
    // The document's own way goes before theirs.
    let own = without_floats.replace(
        "  <turns>\n",
        "  <turns>\n    <turn call=\"nod\">\n      <step of=\"1-3\" since=\"8\" until=\"9\" low=\"0 3 0\" high=\"0 3 1\"/>\n    </turn>\n",
    );
    let own = own.replace(
        "  <hands>\n",
        "  <hands>\n    <crank drives=\"nod\" by=\"elbow\"/>\n",
    );
    let after = text_after(&fixture(&own, &reels), TITLE);
    assert!(!after.contains("<reel"), "{after}");
}

#[test]
fn an_alias_is_written_as_others_write_theirs() {
    let marks = |seen: &str| {
        format!(
            "<barge><marks><mark call='a' at='1' seen='{seen}'/><mark call='b' at='2'/><mark call='c' at='3' seen='{seen}'/></marks></barge>"
        )
    };
    let (one, two) = (marks("night"), marks("night"));
    let two = two.replace("'a'", "'z'");
    let text = BARGE
        .replace("<st$0ep", "<step")
        .replace("of=\"1-3\"", "of=\"1$0-3\"");
    let dialect = include_str!("../../precedents/barge.dialect.toml");
    let dialect = Arc::new(Dialect::read(dialect, None).expect("it is sound"));
    let fixture = || {
        Fixture::of(&text, vec![dialect.clone()])
            .scene(SCENE)
            .file("rig.gltf")
    };
    let alias = |fixture: Fixture| {
        let after = text_after(&fixture, "Name this path");
        let mut lines = after.lines().filter(|line| line.contains("<mark"));
        lines.next_back().unwrap_or_default().trim().to_owned()
    };
    assert_eq!(alias(fixture()), r#"<mark call="mast" at="1-3"/>"#);
    assert_eq!(
        alias(fixture().library(&[&one, &two])),
        r#"<mark call="mast" at="1-3" seen="night"/>"#
    );
    // Where they differ it goes without.
    let (day, two) = (marks("day"), marks("night"));
    assert_eq!(alias(fixture().library(&[&day, &two])), alias(fixture()));
}

/// Values stand in elements, and a word says whether a control follows an axis.
#[test]
fn values_in_elements_are_written_as_others_write_them() {
    let body = r#"<strokes>
  <stroke>
    <call>rise</call>
    <move>
      <spot>#1:3</spot>
      <span>0 .. 6000</span>
      <shift>0;100;0 | 0;300;0</shift>
    </move>
    <move>
      <sp$0ot>#1:1</spot>
      <span>0 .. 2000</span>
      <shift>100;0;0 | 140;0;0</shift>
    </move>
  </stroke>
</strokes>
<hands>
  <hand way="key">
    <stroke>rise</stroke>
    <grip>key-a</grip>
  </hand>
</hands>"#;
    let hand = |stroke: &str, strength: &str| {
        format!(
            "<rig><hands><hand way='axis'><stroke>{stroke}</stroke><grip>palm</grip><strength>{strength}</strength>\
             <tempo>3</tempo><label>go {stroke}</label></hand>\
             <hand way='key'><stroke>x</stroke><grip>key-b</grip><tempo>9</tempo></hand></hands></rig>"
        )
    };
    let others = [hand("aa", "1,5"), hand("bb", "1,5"), hand("cc", "2")];
    let others: Vec<&str> = others.iter().map(String::as_str).collect();
    let control = |fixture: Fixture| {
        let after = text_after(&fixture, "Make adjustable");
        let hands = after
            .split("</hand>")
            .filter(|hand| hand.contains("way=\"axis\""));
        hands.map(|hand| hand.trim().to_owned()).collect::<String>()
    };
    expect![[r#"
        <hand way="axis">
            <stroke>arm.left.shift</stroke>
            <grip>palm</grip>
            <strength>1,5</strength>
            <tempo>3</tempo>
            <label>go arm.left.shift</label>"#]]
    .assert_eq(&control(Fixture::yard(body).library(&others)));
    expect![[r#"
        <hand way="axis">
            <stroke>arm.left.shift</stroke>
            <grip>thumb-left</grip>
            <strength>0,6</strength>
            <tempo>1</tempo>
            <label>Arm left shift</label>"#]]
    .assert_eq(&control(Fixture::yard(body)));
}
