//! Dialects that write the same things in other ways.

use super::{difference, reason, text_after, titles};
use crate::fixture::Fixture;
use dialect::Dialect;
use expect_test::expect;
use std::sync::Arc;

fn dialect(toml: &str) -> Arc<Dialect> {
    Arc::new(Dialect::read(toml, None).unwrap_or_else(|problems| panic!("{problems:#?}")))
}

/// The control stands in the animation it plays and wants the node that holds
/// the parts by name; channels share their node and their times with others;
/// wheels are called by number.
const LOFT: &str = r#"
[dialect]
name = "loft"
format = 1

[[document]]
name = "crane"
root = "crane"
files = "*.crane.xml"

[inputs.analog]
dial-1 = "First dial."
dial-2 = "Second dial."

[[role.scene]]
at = "crane"
file = "@parts"

[element."/crane"]
attributes.parts = { type = "file", required = true }
children = ["pin*", "rolls?", "act*"]

[element.pin.attributes]
at = { type = "index-path", required = true }
call = { type = "name", of = "pin", required = true }

[element.rolls]
children = ["roll*"]

[element.roll.attributes]
at = { type = "node", required = true }

[element.act]
children = ["group*", "hand?"]

[element.act.attributes]
call = { type = "name", of = "act", required = true }
span = { type = "number", list = { separator = "~", min = 2, max = 2 } }
mood = { type = "text" }

[element.group]
children = ["go*"]

[element.group.attributes]
what = { type = "node", required = true }

[element.go.attributes]
by = { type = "word", words = ["way", "turn"], required = true }
start = { type = "moved-value", required = true }
stop = { type = "moved-value", required = true }

[element.hand]
children = ["take?"]

[element.hand.attributes]
axis = { type = "input", kind = "analog", required = true }
on = { type = "node", accepts = ["pin"], required = true }

[element.take]
text = { type = "position", of = "wheel", first = 0, list = { separator = " ", min = 1 }, required = true }

[[role.alias]]
at = "crane/pin"
name = "@call"
path = "@at"

[[role.wheel]]
at = "crane/rolls/roll"
node = "@at"

[[role.animation]]
at = "crane/act"
name = "@call"

[[role.channel]]
at = "group/go"
node = "../@what"
window = "../../@span"
[[role.channel.motion]]
property = { at = "@by", translation = "way", rotation = "turn" }
from = "@start"
to = "@stop"

[[role.control]]
at = "crane/act/hand"
kind = "analog"
animation = "../@call"
input = "@axis"
node = "@on"
wheels = "take"
"#;

const CRANE: &str = r#"<crane parts="machines/rig.gltf">
  <rolls>
    <roll at="0/1/0"/>
    <roll at="0/0/0"/>
  </rolls>
  <act call="unfold" span="2 ~ 4.5" mood="calm">
    <group what="0/1">
      <go by="way" start="0 0 0" stop="0 0 1"/>
      <!-- and round -->
      <go$0 by="turn" start="0 0 0" stop="0 40 0"/>
    </group>
    <group what="0/0">
      <go by="way" start="0 0 0" stop="1 0 0"/>
    </group>
    <hand axis="dial-1" on="top">
      <take>1 0</take>
    </hand>
  </act>
  <pin at="0" call="top"/>
</crane>
"#;

fn crane(text: &str) -> Fixture {
    crane_in(LOFT, text)
}

fn crane_in(toml: &str, text: &str) -> Fixture {
    Fixture::of(text, vec![dialect(toml)])
        .at("x.crane.xml")
        .scene("tower\n  jib box\n    a\n  trolley box\n    b\n")
        .file("machines/rig.gltf")
}

#[test]
fn a_control_is_written_into_the_animation_it_plays() {
    expect![[r#"
        -      <!-- and round -->
        -      <go by="turn" start="0 0 0" stop="0 40 0"/>
        ...
        +  <act call="trolley.turn" span="0 ~ 2.5">
        +    <group what="0/1">
        +      <!-- and round -->
        +      <go by="turn" start="0 0 0" stop="0 40 0"/>
        +    </group>
        +    <hand axis="dial-2" on="top">
        +      <take>0</take>
        +    </hand>
        +  </act>
    "#]]
    .assert_eq(&difference(&crane(CRANE), "Make adjustable"));
}

#[test]
fn what_a_control_leaves_behind_does_not_point_at_itself() {
    let text = CRANE.replace("<take>1 0</take>", "<take>1</take>");
    let findings = crate::checks::run(&crane(&text).view());
    let mut left = findings.iter();
    let left = left.find(|finding| finding.code == "wheel-left-behind");
    let left = left.expect("the other wheel stays");
    let places: Vec<&str> = left.related.iter().map(|one| &*one.message).collect();
    assert_eq!(places, ["left behind"]);
}

#[test]
fn a_list_of_wheels_that_is_there_and_empty_is_filled() {
    let may_be_empty = LOFT.replace(", min = 1 }, required = true", " }");
    let text = CRANE.replace("$0", "").replace("unfold", "unf$0old");
    let filled = |toml: &str, from: &str, to: &str| {
        let text = text.replace(from, to);
        text_after(&crane_in(toml, &text), "Carry the wheels")
    };
    let take = "<take>1 0</take>";
    for empty in [
        "<take/>",
        "<take />",
        "<take></take>",
        "<take>\n      </take>",
    ] {
        let after = filled(&may_be_empty, take, empty);
        assert!(
            after.contains("      <take>0 1</take>\n    </hand>"),
            "{after}"
        );
    }
    let attribute = may_be_empty
        .replace("wheels = \"take\"", "wheels = \"@take\"")
        .replace(
            "on = { type = \"node\"",
            "take = { type = \"position\", of = \"wheel\", first = 0, list = { separator = \" \" } }\non = { type = \"node\"",
        );
    let text = filled(
        &attribute,
        "on=\"top\">\n      <take>1 0</take>",
        "take=\"\" on=\"top\">",
    );
    assert!(text.contains("take=\"0 1\" on=\"top\""), "{text}");
}

#[test]
fn a_control_that_can_carry_the_wheels_is_written_though_another_one_comes_first() {
    let (roles, hand) = LOFT.split_at(LOFT.find("[[role.control]]").unwrap());
    let nudge = "[element.nudge.attributes]\naxis = { type = \"input\", kind = \"analog\", required = true }\n
[[role.control]]\nat = \"crane/act/nudge\"\nkind = \"analog\"\nanimation = \"../@call\"\ninput = \"@axis\"\n\n";
    let two = format!("{roles}{nudge}{hand}").replace("\"hand?\"", "\"nudge?\", \"hand?\"");
    assert_eq!(
        difference(&crane_in(&two, CRANE), "Make adjustable"),
        difference(&crane(CRANE), "Make adjustable")
    );
    let unused = CRANE.replace(
        "    <hand axis=\"dial-1\" on=\"top\">\n      <take>1 0</take>\n    </hand>\n",
        "",
    );
    let writes_nudge = |text: &str| {
        let after = text_after(&crane_in(&two, text), "Make adjustable");
        after.contains("<nudge axis=\"dial-1\"/>")
    };
    assert!(!writes_nudge(&unused));
    assert!(writes_nudge(&unused.replace("<roll at=\"0/1/0\"/>", "")));
}

#[test]
fn a_control_that_an_animation_must_have_is_written_once() {
    let must = LOFT.replace("\"hand?\"", "\"hand\"");
    assert_ne!(must, LOFT);
    assert_eq!(
        difference(&crane_in(&must, CRANE), "Make adjustable"),
        difference(&crane(CRANE), "Make adjustable")
    );
}

#[test]
fn shared_times_are_copied_and_the_wrapper_moves_if_it_holds_nothing_else() {
    let text = CRANE.replace(
        "      <go by=\"way\" start=\"0 0 0\" stop=\"0 0 1\"/>\n",
        "",
    );
    expect![[r#"
        -    <group what="0/1">
        -      <!-- and round -->
        -      <go by="turn" start="0 0 0" stop="0 40 0"/>
        -    </group>
        ...
        -      <take>1 0</take>
        +      <take>1</take>
        ...
        +  <act call="trolley.turn" span="0 ~ 2.5">
        +    <group what="0/1">
        +      <!-- and round -->
        +      <go by="turn" start="0 0 0" stop="0 40 0"/>
        +    </group>
        +    <hand axis="dial-2" on="top">
        +      <take>0</take>
        +    </hand>
        +  </act>
    "#]]
    .assert_eq(&difference(&crane(&text), "Make adjustable"));
}

#[test]
fn a_node_that_has_no_name_gets_one_for_the_control() {
    let text = CRANE
        .replace("  <pin at=\"0\" call=\"top\"/>\n", "")
        .replace(" on=\"top\"", " on=\"jib\"")
        .replace("<rolls>", "<pin at=\"0/0\" call=\"jib\"/>\n  <rolls>");
    expect![[r#"
        +  <pin at="0" call="tower"/>
        ...
        -      <!-- and round -->
        -      <go by="turn" start="0 0 0" stop="0 40 0"/>
        ...
        +  <act call="trolley.turn" span="0 ~ 2.5">
        +    <group what="0/1">
        +      <!-- and round -->
        +      <go by="turn" start="0 0 0" stop="0 40 0"/>
        +    </group>
        +    <hand axis="dial-2" on="tower">
        +      <take>0</take>
        +    </hand>
        +  </act>
    "#]]
    .assert_eq(&difference(&crane(&text), "Make adjustable"));
}

/// By an alias or by its name in the scene, a place leads to the same node.
#[test]
fn a_path_gets_the_name_by_which_other_places_call_its_node() {
    let toml = LOFT.replace(
        "at = { type = \"node\", required",
        "at = { type = \"node\", accepts = [\"pin\", \"index-path\", \"node-name\"], required",
    );
    let text = CRANE
        .replace("$0", "")
        .replace("what=\"0/1\"", "what=\"$00/1\"")
        .replace("<roll at=\"0/0/0\"/>", "<roll at=\"trolley\"/>");
    expect![[r#"
        -    <group what="0/1">
        +    <group what="trolley">
        ...
        +  <pin at="0/1" call="trolley"/>
    "#]]
    .assert_eq(&difference(
        &crane_in(&toml, &text),
        "Name this path `trolley`",
    ));
}

/// All of a crane's parts in one element, one control element for all kinds,
/// numbers with a comma, and times the channel shares with nobody.
const FLAT: &str = r#"
[dialect]
name = "flat"
format = 1

[[document]]
name = "jib"
root = "jib"
files = "*.jib.xml"

[units]
time = "ms"

[notation]
decimal-mark = ","
vector-separator = ";"

[notation.index-path]
separator = "."
first = 1

[inputs.analog]
rail = "A rail."
[inputs.digital]
knob = "A knob."

[[role.scene]]
at = "jib"
file = "@parts"

[element."/jib"]
attributes.parts = { type = "file", required = true }
order = "listed"
children = ["clip*", "link*"]

[element.clip]
children = ["key*"]
[element.clip.attributes]
n = { type = "name", of = "clip", required = true }
[element.key.attributes]
limb = { type = "node", required = true }
t0 = { type = "number", required = true }
t1 = { type = "number", required = true }
size = { type = "moved-value", list = { separator = "|", min = 2, max = 2 } }
move = { type = "moved-value", list = { separator = "|", min = 2, max = 2 } }
m0 = { type = "number" }
m1 = { type = "number" }

[element.link]
children = ["slot*"]
[element.link.attributes]
kind = { type = "word", words = ["soft", "hard"], required = true }

[element.slot]
text = { type = "text" }
[element.slot.attributes]
key = { type = "word", words = ["clip", "input", "gain", "title"], required = true }
clip = { type = "reference", of = "clip" }
input = { type = "input" }
number = { type = "number" }

[[role.animation]]
at = "jib/clip"
name = "@n"

[[role.channel]]
at = "key"
node = "@limb"
begin = "@t0"
end = "@t1"
[[role.channel.motion]]
property = "scale"
ends = "@size"
[[role.channel.motion]]
property = "translation"
ends = "@move"
begin = "@m0"
end = "@m1"

[[role.control]]
at = "jib/link"
kind = { at = "@kind", analog = "soft", digital = "hard" }
animation = "slot[@key='clip']/@clip"
input = "slot[@key='input']/@input"
gain = "slot[@key='gain']/@number"
text = "slot[@key='title']/text()"
"#;

const JIB: &str = r#"<jib parts="machines/rig.gltf">
  <clip n="AllTheWay">
    <key limb="1.1" t0="0" t1="2000" move="0;0;0|1;0;0"/>
    <key$0 limb="1.2" t0="500,50" t1="1500" size="1;1;1|2;2;2" move="0;0;0|0;1;0" m0="1000" m1="2500"/>
  </clip>
  <link kind="hard">
    <slot key="clip" clip="AllTheWay"/>
    <slot input="knob" key="input"/>
    <slot key="gain" number="0,7"/>
  </link>
</jib>
"#;

fn jib(text: &str) -> Fixture {
    Fixture::of(text, vec![dialect(FLAT)])
        .at("x.jib.xml")
        .scene("base\n  arm box\n  Head_Light box\n")
        .file("machines/rig.gltf")
}

#[test]
fn conditions_of_paths_are_written_and_all_times_of_an_element_move() {
    expect![[r#"
        -    <key limb="1.2" t0="500,50" t1="1500" size="1;1;1|2;2;2" move="0;0;0|0;1;0" m0="1000" m1="2500"/>
        ...
        +  <clip n="HeadLightMove">
        +    <key limb="1.2" t0="0" t1="999,5" size="1;1;1|2;2;2" move="0;0;0|0;1;0" m0="499,5" m1="1999,5"/>
        +  </clip>
        ...
        +  <link kind="soft">
        +    <slot key="clip" clip="HeadLightMove"/>
        +    <slot key="input" input="rail"/>
        +    <slot key="gain" number="0,7"/>
        +    <slot key="title">Head light move</slot>
        +  </link>
    "#]].assert_eq(&difference(&jib(JIB), "Make adjustable"));
}

#[test]
fn a_word_for_the_kind_changes_the_kind() {
    let text = JIB.replace(
        "    <key limb=\"1.1\" t0=\"0\" t1=\"2000\" move=\"0;0;0|1;0;0\"/>\n",
        "",
    );
    expect![[r#"
        -  <link kind="hard">
        +  <link kind="soft">
        ...
        -    <slot input="knob" key="input"/>
        +    <slot input="rail" key="input"/>
    "#]]
    .assert_eq(&difference(&jib(&text), "Make adjustable"));
}

#[test]
fn times_that_stand_elsewhere_are_a_reason_not_to() {
    let toml = LOFT.replace(
        "window = \"../../@span\"",
        "window = \"/crane/act[1]/@span\"",
    );
    let fixture = Fixture::of(CRANE, vec![dialect(&toml)])
        .at("x.crane.xml")
        .scene("tower\n  jib box\n    a\n  trolley box\n    b\n")
        .file("machines/rig.gltf");
    expect![
        "[] A time of theirs stands on line 6, outside of the channels, where others may share it."
    ]
    .assert_eq(&format!(
        "{:?} {}",
        titles(&fixture),
        reason(&fixture, "Extract")
    ));
}

#[test]
fn a_control_is_written_into_an_animation_that_has_none() {
    let text = CRANE
        .replace("    <hand axis=\"dial-1\" on=\"top\">\n      <take>1 0</take>\n    </hand>\n", "")
        .replace("    <group what=\"0/0\">\n      <go by=\"way\" start=\"0 0 0\" stop=\"1 0 0\"/>\n    </group>\n", "")
        .replace("      <go by=\"way\" start=\"0 0 0\" stop=\"0 0 1\"/>\n", "");
    expect![[r#"
        +    <hand axis="dial-1" on="top">
        +      <take>0</take>
        +    </hand>
    "#]]
    .assert_eq(&difference(&crane(&text), "Make adjustable"));
}

#[test]
fn a_wheel_joins_a_list_of_numbers() {
    let text = CRANE.replace("go$0 by", "go by").replace(
        "<hand axis=\"dial-1\" on=\"top\">\n      <take>1 0</take>",
        "<hand axis=\"dial-1\" on=\"top\">\n      <take> 1 </take>",
    );
    let text = text.replace("call=\"unfold\"", "call=\"un$0fold\"");
    expect![[r#"
        -      <take> 1 </take>
        +      <take> 1 0 </take>
    "#]]
    .assert_eq(&difference(&crane(&text), "Carry"));
}

/// Where the dialect lists no inputs, the person has to say one.
#[test]
fn an_input_nobody_can_guess_is_left_to_fill_in() {
    let toml = LOFT.replace(
        "[inputs.analog]\ndial-1 = \"First dial.\"\ndial-2 = \"Second dial.\"\n",
        "",
    );
    let fixture = Fixture::of(CRANE, vec![dialect(&toml)])
        .at("x.crane.xml")
        .scene("tower\n  jib box\n    a\n  trolley box\n    b\n")
        .file("machines/rig.gltf");
    let view = fixture.view();
    let offer = super::offered(&fixture)
        .into_iter()
        .find(|offer| offer.title.starts_with("Make adjustable"))
        .expect("it is offered");
    assert_eq!(offer.trust, crate::Trust::Draft);
    let change = crate::assists::make(&view, &offer.key).expect("it can be made");
    let text = syntax::apply(view.text(), &change.edits).expect("the edits fit");
    let places: Vec<&str> = change
        .places
        .iter()
        .map(|place| &text[usize::from(place.start()) - 6..usize::from(place.end()) + 1])
        .collect();
    assert_eq!(places, ["axis=\"\""]);
}

#[test]
fn an_animation_gets_no_other_channels_though_they_are_required() {
    let toml = include_str!("../../../../dialect/src/house.dialect.toml").replace(
        "children = [\"channel*\"]",
        "children = [\"channel*\", \"turn+\"]\nstrict = false",
    );
    let turn = r#"
[element.turn]
doc = "A turn."
[element.turn.attributes]
of = { type = "node", required = true }
at = { type = "number", required = true }
till = { type = "number", required = true }
by = { type = "moved-value", required = true }

[[role.channel]]
at = "turn"
node = "@of"
begin = "@at"
end = "@till"
[[role.channel.motion]]
property = "rotation"
by = "@by"
"#;
    let toml = format!("{toml}{turn}");
    let text = r#"<machine xmlns="urn:trunnion:machine:1" id="rig" scene="rig.gltf">
  <animations>
    <animation id="all" duration="3">
      <channel$0 target="0/2" property="translation" begin="1" end="3" from="0 1 0" to="0 2 0"/>
      <turn of="0/0" at="0" till="1" by="0 45 0"/>
    </animation>
  </animations>
</machine>
"#;
    let fixture = Fixture::of(text, vec![dialect(&toml)])
        .at("rig.machine.xml")
        .scene(crate::fixture::RIG);
    expect![[r#"
        -    <animation id="all" duration="3">
        -      <channel target="0/2" property="translation" begin="1" end="3" from="0 1 0" to="0 2 0"/>
        +    <animation id="all" duration="1">
        ...
        +    <animation id="mast.raise" duration="2">
        +      <channel target="0/2" property="translation" begin="0" end="2" from="0 1 0" to="0 2 0"/>
        +    </animation>
        ...
        +  <controls>
        +    <lever animation="mast.raise" input="pointer.x" gain="0.6" rate="1" text="Mast raise"/>
        +  </controls>
    "#]]
    .assert_eq(&difference(&fixture, "Make adjustable"));
}
