use expect_test::expect;

use super::*;

const TWO: &str = r#"<animations>
  <animation id="raise"><channel target="0/2" property="translation" begin="0" end="1" from="0 1 0" to="0 2 0"/></animation>
  <animation id="turn"><channel target="0/2" property="rotation" begin="0" end="1" from="0 0 0" to="0 9 0"/></animation>
</animations>"#;

#[test]
fn the_later_of_two_controls_with_one_input_is_told() {
    check(
        &format!(
            r#"{TWO}<controls><switch animation="raise" input="button.raise"/><switch animation="turn" input="button.raise"/></controls>"#
        ),
        expect![[r#"
            warning input-clash at `button.raise`: The input `button.raise` is taken already (for `raise`): both would move at once.
              see `button.raise`: taken here
        "#]],
    );
}

#[test]
fn controls_with_inputs_of_their_own_are_fine() {
    check(
        &format!(
            r#"{TWO}<controls><switch animation="raise" input="button.raise"/><lever animation="turn" input="stick.1.x"/></controls>"#
        ),
        expect![""],
    );
}

#[test]
fn an_input_of_the_other_kind() {
    check(
        &format!(
            r#"{TWO}<controls><switch animation="raise" input="stick.1.x"/><lever animation="turn" input="button.raise"/></controls>"#
        ),
        expect![[r#"
            error wrong-input-kind at `stick.1.x`: `stick.1.x` is an axis, but `<switch>` needs a digital input (a button).
            error wrong-input-kind at `button.raise`: `button.raise` is a button, but `<lever>` needs an analog input (an axis).
        "#]],
    );
}

#[test]
fn an_input_that_only_the_role_can_judge() {
    let hand = |way: &str, grip: &str| {
        let body = format!(
            "<called>x</called><strokes><stroke><call>s</call></stroke></strokes>
             <hands><hand way=\"{way}\"><stroke>s</stroke><grip>{grip}</grip><tempo>1</tempo><label>x</label></hand></hands>"
        );
        let said = said(&Fixture::yard(&body).file("rig.limbs.xml"));
        said.lines()
            .filter(|line| line.contains("wrong-input-kind"))
            .map(str::to_owned)
            .collect::<Vec<_>>()
            .join("\n")
    };
    expect!["error wrong-input-kind at `key-a`: `key-a` is a button, but `<hand>` needs an analog input (an axis)."].assert_eq(&hand("axis", "key-a"));
    assert_eq!(hand("key", "key-a"), "");
}

#[test]
fn an_animation_that_nothing_plays_is_worth_a_note() {
    check(
        &format!(r#"{TWO}<controls><switch animation="raise" input="button.raise"/></controls>"#),
        expect![[r#"
            information unreachable-animation at `turn`: No control plays the animation `turn`.
        "#]],
    );
}

#[test]
fn an_animation_that_a_misspelled_name_means_is_played() {
    let said = said(&rig(&format!(
        r#"{TWO}<controls><switch animation="raise" input="button.raise"/><switch animation="trun" input="button.lower"/></controls>"#
    )));
    assert!(!said.contains("unreachable-animation"), "{said}");
}

/// Channels stand beside their animation, which they name.
const BESIDE: &str = r#"
[dialect]
name = "tow"
format = 1
[[document]]
name = "tow"
root = "tow"
[element.tow]
children = ["run*", "move*", "grip*"]
[element.run.attributes]
tag = { type = "name", of = "run", required = true }
then = { type = "reference", of = "run" }
[element.move.attributes]
in = { type = "reference", of = "run", list = true, required = true }
who = { type = "index-path", required = true }
from = "number"
until = "number"
to = "moved-value"
[element.grip.attributes]
of = { type = "reference", of = "run", required = true }
by = { type = "input", required = true }
[[role.animation]]
at = "tow/run"
name = "@tag"
[[role.channel]]
at = "tow/move"
animation = "@in"
node = "@who"
begin = "@from"
end = "@until"
[[role.channel.motion]]
property = "translation"
to = "@to"
[[role.control]]
at = "tow/grip"
kind = "analog"
animation = "@of"
input = "@by"
"#;

#[test]
fn that_its_channels_name_an_animation_plays_nothing() {
    let text = r#"<tow>
  <run tag="out"/><run tag="in"/><run tag="up" then="down"/><run tag="down"/>
  <move in="out" who="0" from="0" until="1" to="0 0 1"/><move in="in" who="1" from="0" until="1" to="0 0 1"/>
  <move in="up" who="2" from="0" until="1" to="0 0 1"/><move in="down" who="3" from="0" until="1" to="0 0 1"/>
  <grip of="out" by="a"/>
</tow>"#;
    expect![[r#"
        information unreachable-animation at `in`: No control plays the run `in`.
        information unreachable-animation at `up`: No control plays the run `up`.
    "#]]
    .assert_eq(&said(&in_dialect(BESIDE, text)));
}
