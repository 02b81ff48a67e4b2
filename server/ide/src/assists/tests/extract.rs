//! "Extract into an animation of its own" in the house dialect.

use super::{difference, reason, text_after, titles};
use crate::fixture::Fixture;
use expect_test::expect;

fn fixture(animation: &str) -> Fixture {
    let text = format!(
        "<machine xmlns=\"urn:trunnion:machine:1\" id=\"rig\" scene=\"rig.gltf\">\n  <animations>\n{animation}  </animations>\n</machine>\n"
    );
    Fixture::house(&text)
        .scene("rig\n  boom 0 1 0 box\n  hook 0 2 0 box\n")
        .file("machines/rig.gltf")
}

const HOOK: &str = r#"      <channel$0 target="0/1" property="translation" begin="2.50" end="4" from="0 2 0" to="0 1 0"/>
"#;

fn with_boom(head: &str, boom_end: &str) -> Fixture {
    fixture(&format!(
        "    <animation {head}>\n      <channel target=\"0/0\" property=\"rotation\" begin=\"0\" end=\"{boom_end}\" from=\"0 0 0\" to=\"40 0 0\"/>\n{HOOK}    </animation>\n"
    ))
}

#[test]
fn times_start_at_zero_in_the_habit_they_are_written() {
    expect![[r#"
        -      <channel target="0/1" property="translation" begin="2.50" end="4" from="0 2 0" to="0 1 0"/>
        ...
        +    <animation id="hook.lower">
        +      <channel target="0/1" property="translation" begin="0" end="1.5" from="0 2 0" to="0 1 0"/>
        +    </animation>
    "#]].assert_eq(&difference(&with_boom("id=\"unfold\"", "8"), "Extract"));
}

#[test]
fn a_duration_that_lies_behind_the_end_stays() {
    expect![[r#"
        -      <channel target="0/1" property="translation" begin="2.50" end="4" from="0 2 0" to="0 1 0"/>
        ...
        +    <animation id="hook.lower" duration="1.5">
        +      <channel target="0/1" property="translation" begin="0" end="1.5" from="0 2 0" to="0 1 0"/>
        +    </animation>
    "#]].assert_eq(&difference(&with_boom("id=\"unfold\" duration=\"9\"", "3"), "Extract"));
}

#[test]
fn a_duration_that_said_when_the_moved_channel_ends_follows() {
    expect![[r#"
        -    <animation id="unfold" duration="4">
        +    <animation id="unfold" duration="3">
        ...
        -      <channel target="0/1" property="translation" begin="2.50" end="4" from="0 2 0" to="0 1 0"/>
        ...
        +    <animation id="hook.lower" duration="1.5">
        +      <channel target="0/1" property="translation" begin="0" end="1.5" from="0 2 0" to="0 1 0"/>
        +    </animation>
    "#]].assert_eq(&difference(&with_boom("id=\"unfold\" duration=\"4\"", "3"), "Extract"));
}

#[test]
fn a_duration_that_went_without_saying_is_said() {
    expect![[r#"
        -    <animation id="unfold">
        +    <animation id="unfold" duration="4">
        ...
        -      <channel target="0/1" property="translation" begin="2.50" end="4" from="0 2 0" to="0 1 0"/>
        ...
        +    <animation id="hook.lower">
        +      <channel target="0/1" property="translation" begin="0" end="1.5" from="0 2 0" to="0 1 0"/>
        +    </animation>
    "#]].assert_eq(&difference(&with_boom("id=\"unfold\"", "3"), "Extract"));
}

#[test]
fn other_attributes_of_the_animation_go_along() {
    expect![[r#"
        -      <channel target="0/1" property="translation" begin="2.50" end="4" from="0 2 0" to="0 1 0"/>
        ...
        +    <animation id="hook.lower" loop="true">
        +      <channel target="0/1" property="translation" begin="0" end="1.5" from="0 2 0" to="0 1 0"/>
        +    </animation>
    "#]].assert_eq(&difference(&with_boom("id=\"unfold\" loop=\"true\"", "8"), "Extract"));
}

#[test]
fn the_only_channel_is_not_taken_out() {
    let fixture = fixture(&format!(
        "    <animation id=\"unfold\">\n{HOOK}    </animation>\n"
    ));
    expect!["The animation has no other channels: it is one of their own already."]
        .assert_eq(&reason(&fixture, "Extract"));
}

#[test]
fn a_channel_without_a_time_is_not_taken_out() {
    let broken = with_boom("id=\"unfold\"", "8")
        .text()
        .replace("begin=\"2.50\"", "begin=\"soon\"")
        .replace("<channel target=\"0/1\"", "<channel$0 target=\"0/1\"");
    let fixture = Fixture::house(&broken);
    expect!["The times of the channel on line 5 cannot be read."]
        .assert_eq(&reason(&fixture, "Extract"));
}

#[test]
fn without_a_scene_the_channels_are_compared() {
    let text = with_boom("id=\"unfold\"", "8")
        .text()
        .replace("<channel target=\"0/1\"", "<channel$0 target=\"0/1\"");
    let fixture = Fixture::house(&text).file("machines/rig.gltf");
    expect![[r#"
        [
            "Make adjustable: `0/1` (Part move)",
            "Extract `0/1` into an animation of its own",
        ]"#]]
    .assert_eq(&format!("{:#?}", titles(&fixture)));
    expect![[r#"
        -      <channel target="0/1" property="translation" begin="2.50" end="4" from="0 2 0" to="0 1 0"/>
        ...
        +    <animation id="part.move">
        +      <channel target="0/1" property="translation" begin="0" end="1.5" from="0 2 0" to="0 1 0"/>
        +    </animation>
    "#]].assert_eq(&difference(&fixture, "Extract"));
}

#[test]
fn comments_that_accept_something_of_it_go_along() {
    let accept = "<!-- trunnion: accept still-channel because the hook waits -->";
    let hook = HOOK.replace("to=\"0 1 0\"", "to=\"0 2 0\"");
    let fixture = fixture(&format!(
        "    <animation id=\"unfold\">\n      <channel target=\"0/0\" property=\"rotation\" begin=\"0\" end=\"8\" from=\"0 0 0\" to=\"40 0 0\"/>\n      {accept}\n      <!-- as in the book -->\n{hook}    </animation>\n"
    ));
    expect![[r#"
        +    </animation>
        +    <animation id="hook.move">
        ...
        -      <channel target="0/1" property="translation" begin="2.50" end="4" from="0 2 0" to="0 2 0"/>
        +      <channel target="0/1" property="translation" begin="0" end="1.5" from="0 2 0" to="0 2 0"/>
    "#]].assert_eq(&difference(&fixture, "Extract"));
}

#[test]
fn comments_on_its_lines_go_along() {
    let hook = HOOK.trim();
    let fixture = fixture(&format!(
        "    <animation id=\"unfold\">\n      <channel target=\"0/0\" property=\"rotation\" begin=\"0\" end=\"8\" from=\"0 0 0\" to=\"40 0 0\"/>\n      <!-- the hook --> {hook} <!-- as in the book -->\n    </animation>\n"
    ));
    expect![[r#"
        -      <!-- the hook --> <channel target="0/1" property="translation" begin="2.50" end="4" from="0 2 0" to="0 1 0"/> <!-- as in the book -->
        ...
        +    <animation id="hook.lower">
        +      <!-- the hook --> <channel target="0/1" property="translation" begin="0" end="1.5" from="0 2 0" to="0 1 0"/> <!-- as in the book -->
        +    </animation>
    "#]]
    .assert_eq(&difference(&fixture, "Extract"));
}

#[test]
fn comments_on_a_line_with_others_stay() {
    let hook = HOOK.trim();
    let fixture = fixture(&format!(
        "    <animation id=\"unfold\">\n      <channel target=\"0/0\" property=\"rotation\" begin=\"0\" end=\"8\" from=\"0 0 0\" to=\"40 0 0\"/> <!-- whose? --> {hook} <!-- this, and\n      that --></animation>\n"
    ));
    expect![[r#"
        -      <channel target="0/0" property="rotation" begin="0" end="8" from="0 0 0" to="40 0 0"/> <!-- whose? --> <channel target="0/1" property="translation" begin="2.50" end="4" from="0 2 0" to="0 1 0"/> <!-- this, and
        +      <channel target="0/0" property="rotation" begin="0" end="8" from="0 0 0" to="40 0 0"/> <!-- whose? --> <!-- this, and
        ...
        +    <animation id="hook.lower">
        +      <channel target="0/1" property="translation" begin="0" end="1.5" from="0 2 0" to="0 1 0"/>
        +    </animation>
    "#]]
    .assert_eq(&difference(&fixture, "Extract"));
}

#[test]
fn times_in_a_character_data_section_are_written_anew() {
    let fixture = |span: &str| {
        let stroke = |spot: &str, span: &str| {
            format!(
                "<move><spot>{spot}</spot><span>{span}</span><shift>0;0;0 | 0;150;0</shift></move>"
            )
        };
        let moves = [stroke("#1:1", "0 .. 3000"), stroke("#1:2$0", span)].join("\n");
        let body =
            format!("<called>x</called><strokes><stroke><call>s</call>{moves}</stroke></strokes>");
        Fixture::yard(&body).file("rig.limbs.xml")
    };
    for span in ["<![CDATA[1000 .. 2500]]>", "1000 .. <![CDATA[2500]]>"] {
        let after = text_after(&fixture(span), "Extract");
        assert!(after.contains("<span>0..1500</span>"), "{after}");
    }
    let after = text_after(&fixture("1000 .. <!-- then --> 2500"), "Extract");
    assert!(
        after.contains("<span>0 .. <!-- then --> 1500</span>"),
        "{after}"
    );
}
