//! A dialect in which a control holds the animation that it plays.

use super::{difference, reason};
use crate::fixture::Fixture;
use dialect::Dialect;
use expect_test::expect;
use std::sync::Arc;

const BENCH: &str = r#"
[dialect]
name = "bench"
format = 1

[notation]
vector-separator = "/"

[[document]]
name = "note"
root = "note"
files = "*.note.xml"

[inputs]
analog = ["a1", "a2"]
digital = ["d1", "d2"]

[element.note]
children = ["roller*", "grip*"]
attributes.model = { type = "file", required = true }

[element.roller.attributes]
n = { type = "name", of = "roller", required = true }
at = { type = "node", required = true }

[element.grip]
children = ["plan?", "rollers?"]
attributes.in = { type = "input", required = true }
attributes.kind = { type = "word", words = ["pull", "tap"], required = true }

[element.plan]
children = ["run"]

[element.run]
children = ["step+"]
attributes.n = { type = "name", of = "run", required = true }

[element.step.attributes]
who = { type = "node", required = true }
from = { type = "number", required = true }
till = { type = "number", required = true }
shift = { type = "moved-value", list = { separator = " ", min = 2, max = 2 } }

[element.rollers]
text = { type = "reference", of = "roller", list = { separator = "," }, required = true }

[[role.scene]]
at = "note"
file = "@model"

[[role.wheel]]
at = "note/roller"
name = "@n"
node = "@at"

[[role.animation]]
at = "note/grip/plan/run"
name = "@n"

[[role.channel]]
at = "step"
node = "@who"
begin = "@from"
end = "@till"
[[role.channel.motion]]
property = "translation"
ends = "@shift"

[[role.control]]
at = "note/grip"
kind = { at = "@kind", analog = "pull", digital = "tap" }
animation = "plan/run/@n"
input = "@in"
wheels = "rollers"
"#;

fn note(text: &str) -> Fixture {
    let dialect = Dialect::read(BENCH, None).unwrap_or_else(|problems| panic!("{problems:#?}"));
    Fixture::of(text, vec![Arc::new(dialect)])
        .at("x.note.xml")
        .scene("cart\n  legL\n    wheelL\n  legR\n    wheelR\n")
        .file("machines/rig.gltf")
}

const NOTE: &str = r#"<note model="machines/rig.gltf">
  <roller n="l" at="0/0/0"/>
  <roller n="r" at="0/1/0"/>
  <grip in="d1" kind="tap">
    <plan>
      <run n="open">
        <step$0 who="0/0" from="0" till="2" shift="0/0/0 1/0/0"/>
        <step who="0/1" from="0" till="2" shift="0/0/0 0/1/0"/>
      </run>
    </plan>
    <rollers>l, r</rollers>
  </grip>
</note>
"#;

#[test]
fn a_control_of_its_own_is_written_around_the_new_animation() {
    expect![[r#"
        -        <step who="0/0" from="0" till="2" shift="0/0/0 1/0/0"/>
        ...
        -    <rollers>l, r</rollers>
        +    <rollers>r</rollers>
        ...
        +  <grip in="a1" kind="pull">
        +    <plan>
        +      <run n="leg.L.shift">
        +        <step who="0/0" from="0" till="2" shift="0/0/0 1/0/0"/>
        +      </run>
        +    </plan>
        +    <rollers>l</rollers>
        +  </grip>
    "#]]
    .assert_eq(&difference(&note(NOTE), "Make adjustable"));
}

/// A second animation would be nobody's, and the grammar has no room for it.
#[test]
fn an_animation_is_not_taken_out_where_a_control_holds_only_one() {
    assert_eq!(
        reason(&note(NOTE), "Extract"),
        "`<plan>` cannot hold another `<run>`."
    );
}
