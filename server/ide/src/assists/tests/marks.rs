//! Names with marks around them where they are referred to: `[unfold]`, `#left;#right`.

use super::{difference, text_after};
use crate::assists::{Wish, adjust};
use crate::fixture::Fixture;
use dialect::Dialect;
use expect_test::expect;
use std::sync::Arc;

const DAVIT: &str = r##"
[dialect]
name = "davit"
format = 1
[inputs]
analog = ["roll", "pitch"]
[[document]]
name = "davit"
root = "davit"
files = "*.davit"
[element.davit]
children = ["tyre*", "hum*", "score*", "move*", "grip*"]
attributes.form = "file"
[element.tyre.attributes]
at = { type = "index-path", required = true }
tag = { type = "name", of = "tyre", required = true }
[element.hum.attributes]
tag = { type = "name", of = "hum", required = true }
[element.score.attributes]
tag = { type = "name", of = "score", required = true }
[element.move.attributes]
in = { type = "reference", of = "score", before = "[", after = "]", begins-after = "/", list = { separator = "," }, required = true }
who = { type = "index-path", required = true }
when = { type = "number", list = { separator = "~", min = 2, max = 2 }, required = true }
what = { type = "word", words = ["shift", "turn"], default = "shift" }
a = "moved-value"
b = "moved-value"
more = "moved-value"
[element.grip]
children = ["of", "hears?"]
attributes.by = { type = "input", kind = "analog", required = true }
attributes.takes = { type = "reference", of = "tyre", before = "#", after = "!", list = { separator = ";" } }
[element.of]
text = { type = "reference", of = "score", before = "[", after = "]", required = true }
[element.hears]
text = { type = "reference", of = "hum", before = "#", list = true, required = true }
[[role.scene]]
at = "davit"
file = "@form"
[[role.wheel]]
at = "davit/tyre"
name = "@tag"
node = "@at"
[[role.sound]]
at = "davit/hum"
name = "@tag"
[[role.animation]]
at = "davit/score"
name = "@tag"
[[role.channel]]
at = "davit/move"
animation = "@in"
node = "@who"
window = "@when"
[[role.channel.motion]]
property = { at = "@what", translation = "shift", rotation = "turn" }
from = "@a"
to = "@b"
[[role.channel.motion]]
property = { at = "@what", translation = "shift", rotation = "turn" }
by = "@more"
[[role.control]]
at = "davit/grip"
kind = "analog"
animation = "of"
input = "@by"
wheels = "@takes"
sounds = "hears"
"##;

const RIG: &str = r#"<davit form="rig.gltf">
  <tyre at="0/0/0" tag="left"/>
  <tyre at="0/1/0" tag="right"/>
  <hum tag="pump"/>
  <score tag="unfold"/>
  <score tag="park"/>
  <move in="[unfold]" who="0/0" when="0 ~ 2" a="0 0 0" b="1 0 0"/>
  <move in="[unfold]" who="0/0" when="2 ~ 3" more="0 1 0"/>
  <move in="[park],[rig/unfold]" who="0/1" when="0 ~ 2" more="0 2 0"/>
  <move in="[unfold]" who="0/2" when="0 ~ 4" what="turn" a="0 0 0" b="0 90 0"/>
  <grip by="roll" takes="TAKES">
    <of>[unfold]</of>
    <hears>#pump</hears>
  </grip>
</davit>
"#;

fn davit(text: &str) -> Fixture {
    let dialect = Dialect::read(DAVIT, None).unwrap_or_else(|problems| panic!("{problems:#?}"));
    Fixture::of(text, vec![Arc::new(dialect)])
        .at("x.davit")
        .scene("tower\n  a box\n    tyre box\n  b box\n    tyre box\n  hook box\n")
        .file("rig.gltf")
}

fn rig(takes: &str) -> String {
    RIG.replace("TAKES", takes)
}

#[test]
fn what_a_new_control_plays_carries_and_hears_is_written_with_its_marks() {
    let text = rig("#left!; #right!").replacen("<move", "<move$0", 1);
    expect![[r##"
        +  <score tag="a.raise"/>
        ...
        -  <move in="[unfold]" who="0/0" when="0 ~ 2" a="0 0 0" b="1 0 0"/>
        -  <move in="[unfold]" who="0/0" when="2 ~ 3" more="0 1 0"/>
        +  <move in="[a.raise]" who="0/0" when="0 ~ 2" a="0 0 0" b="1 0 0"/>
        +  <move in="[a.raise]" who="0/0" when="2 ~ 3" more="0 1 0"/>
        ...
        -  <grip by="roll" takes="#left!; #right!">
        +  <grip by="roll" takes="#right!">
        ...
        +  <grip by="pitch" takes="#left!">
        +    <of>[a.raise]</of>
        +    <hears>#pump</hears>
        +  </grip>
    "##]]
    .assert_eq(&difference(&davit(&text), "Make adjustable"));
}

#[test]
fn what_separates_marked_members_of_others_separates_new_ones() {
    let text = rig("#left!; #right!");
    let wish = Wish {
        parts: vec!["a".to_owned(), "b".to_owned()],
        animation: Some("unfold".to_owned()),
        ..Wish::default()
    };
    let adjusted = adjust(&davit(&text).view(), &wish).unwrap_or_else(|reason| panic!("{reason}"));
    let grips = adjusted.text.lines().filter(|line| line.contains("<grip"));
    assert_eq!(
        grips.map(str::trim).collect::<Vec<_>>(),
        [
            r##"<grip by="roll">"##,
            r##"<grip by="pitch" takes="#left!; #right!">"##
        ]
    );
}

#[test]
fn a_channel_of_several_animations_keeps_what_stands_around_their_names() {
    let text = rig("#left!; #right!").replace("<move in=\"[park", "<move$0 in=\"[park");
    expect![[r##"
        +  <score tag="b.raise"/>
        ...
        -  <move in="[park],[rig/unfold]" who="0/1" when="0 ~ 2" more="0 2 0"/>
        +  <move in="[park],[rig/b.raise]" who="0/1" when="0 ~ 2" more="0 2 0"/>
        ...
        -  <grip by="roll" takes="#left!; #right!">
        +  <grip by="roll" takes="#left!">
        ...
        +  <grip by="pitch" takes="#right!">
        +    <of>[b.raise]</of>
        +    <hears>#pump</hears>
        +  </grip>
    "##]]
    .assert_eq(&difference(
        &davit(&text),
        "Make adjustable: `b` from `unfold`",
    ));
}

#[test]
fn wheels_are_added_to_marked_ones_behind_the_marks() {
    for takes in ["", "#left!"] {
        let text = rig(takes).replace("<of>[", "<of>[$0");
        let after = text_after(&davit(&text), "Carry the wheel");
        let line = after.lines().find(|line| line.contains("<grip"));
        assert_eq!(line, Some(r##"  <grip by="roll" takes="#left!;#right!">"##));
    }
}

/// The property is read from a word, and only one of two forms is written.
#[test]
fn a_motion_whose_values_are_absent_does_not_run_beside_the_other() {
    let text = rig("#left!;#right!");
    let found = crate::checks::run(&davit(&text).view());
    let jumps = found.iter().filter(|finding| finding.code == "jump");
    assert_eq!(jumps.count(), 0, "{found:#?}");
}
