//! "Make adjustable" in the house dialect.

use super::{difference, offered, reason, text_after, titles};
use crate::{
    Trust,
    assists::{
        adjust::{Request, plan},
        parts::Parts,
        site::Site,
    },
    fixture::Fixture,
};
use expect_test::expect;

/// A carrier whose legs spread as a side effect of raising the mast.
const SCENE: &str = "
rig
  frame
    leg.left 1.3 0 0 box
      wheel.left 0 0 0
    leg.right -1.3 0 0 box
      wheel.right 0 0 0
  mast 0 1 0 box
  lamp 0 2 0 box
";

const HEAD: &str = r#"<machine xmlns="urn:trunnion:machine:1" id="rig" scene="rig.gltf">
  <aliases>
    <alias name="leg.left" path="0/0/0"/>
    <alias name="leg.right" path="0/0/1"/>
    <alias name="mast" path="0/1"/>
  </aliases>
  <wheels>
    <wheel id="left" node="0/0/0/0" radius="0.5" width="0.3"/>
    <wheel id="right" node="0/0/1/0" radius="0.5" width="0.3"/>
  </wheels>
  <sounds>
    <sound id="pump" file="pump.ogg"/>
  </sounds>
"#;

fn fixture(rest: &str) -> Fixture {
    Fixture::house(&format!("{HEAD}{rest}</machine>\n"))
        .scene(SCENE)
        .file("machines/rig.gltf")
        .file("machines/pump.ogg")
}

const LEGS: &str = r#"  <animations>
    <animation id="mast.raise" duration="6">
      <channel target="mast" property="translation" begin="0" end="6" from="0 1 0" to="0 3 0"/>
      <!-- the legs -->
      <chan$0nel target="leg.left" property="translation" begin="1" end="3.5" from="1.3 0 0" to="1.6 0 0"/> <!-- left -->
      <channel to="-1.6 0 0" target='leg.right' property="translation" begin="1" end="3.5" from="-1.3 0 0"/>
    </animation>
  </animations>
"#;

const SWITCH: &str = r#"  <controls>
    <switch animation="mast.raise" input="button.raise" text="Raise mast">
      <carry wheel="left"/>
      <carry wheel="right"/>
      <cue sound="pump"/>
    </switch>
  </controls>
"#;

#[test]
fn parts_get_an_animation_and_a_lever_of_their_own() {
    expect![[r#"
        +    </animation>
        +    <animation id="leg.spread" duration="2.5">
        ...
        -      <channel target="leg.left" property="translation" begin="1" end="3.5" from="1.3 0 0" to="1.6 0 0"/> <!-- left -->
        -      <channel to="-1.6 0 0" target='leg.right' property="translation" begin="1" end="3.5" from="-1.3 0 0"/>
        +      <channel target="leg.left" property="translation" begin="0" end="2.5" from="1.3 0 0" to="1.6 0 0"/> <!-- left -->
        +      <channel to="-1.6 0 0" target='leg.right' property="translation" begin="0" end="2.5" from="-1.3 0 0"/>
        ...
        +      <cue sound="pump"/>
        +    </switch>
        +    <lever animation="leg.spread" input="pointer.x" gain="0.6" rate="1" text="Leg spread">
        ...
        -    </switch>
        +    </lever>
    "#]]
    .assert_eq(&difference(&fixture(&format!("{LEGS}{SWITCH}")), "Make adjustable: `leg.left` and `leg.right`"));
}

#[test]
fn the_mirror_image_is_offered_first() {
    let fixture = fixture(&format!("{LEGS}{SWITCH}"));
    expect![[r#"
        [
            "Make adjustable: `leg.left` and `leg.right` (Leg spread)",
            "Make adjustable: `leg.left` alone (Leg left shift)",
            "Extract `leg.left` and `leg.right` into an animation of their own",
            "Extract `leg.left` into an animation of its own",
        ]"#]]
    .assert_eq(&format!("{:#?}", titles(&fixture)));
    let offers = offered(&fixture);
    assert!(offers[0].is_preferred && offers[0].trust == Trust::Review);
}

#[test]
fn one_side_alone_takes_its_own_wheel_only() {
    expect![[r#"
        -      <channel target="leg.left" property="translation" begin="1" end="3.5" from="1.3 0 0" to="1.6 0 0"/> <!-- left -->
        ...
        +    <animation id="leg.left.shift" duration="2.5">
        +      <channel target="leg.left" property="translation" begin="0" end="2.5" from="1.3 0 0" to="1.6 0 0"/> <!-- left -->
        +    </animation>
        ...
        -      <carry wheel="left"/>
        ...
        +    <lever animation="leg.left.shift" input="pointer.x" gain="0.6" rate="1" text="Leg left shift">
        +      <carry wheel="left"/>
        +      <cue sound="pump"/>
        +    </lever>
    "#]].assert_eq(&difference(&fixture(&format!("{LEGS}{SWITCH}")), "Make adjustable: `leg.left` alone"));
}

#[test]
fn a_missing_section_is_made_where_the_dialect_has_it() {
    expect![[r#"
        +    </animation>
        +    <animation id="leg.spread" duration="2.5">
        ...
        -      <channel target="leg.left" property="translation" begin="1" end="3.5" from="1.3 0 0" to="1.6 0 0"/> <!-- left -->
        -      <channel to="-1.6 0 0" target='leg.right' property="translation" begin="1" end="3.5" from="-1.3 0 0"/>
        +      <channel target="leg.left" property="translation" begin="0" end="2.5" from="1.3 0 0" to="1.6 0 0"/> <!-- left -->
        +      <channel to="-1.6 0 0" target='leg.right' property="translation" begin="0" end="2.5" from="-1.3 0 0"/>
        ...
        +  <controls>
        +    <lever animation="leg.spread" input="pointer.x" gain="0.6" rate="1" text="Leg spread">
        +      <carry wheel="left"/>
        +      <carry wheel="right"/>
        +    </lever>
        +  </controls>
    "#]].assert_eq(&difference(&fixture(LEGS), "Make adjustable: `leg.left` and `leg.right`"));
}

#[test]
fn a_comment_above_what_moves_goes_along_unless_it_heads_others_too() {
    let after = |legs: &str| {
        let fixture = fixture(legs);
        let after = text_after(&fixture, "Extract `leg.left` and `leg.right`");
        let (before, new) = after.split_once("<animation id=\"leg.spread\"").unwrap();
        (
            before.contains("<!-- the legs -->"),
            new.contains("      <!-- the legs -->\n      <channel"),
        )
    };
    assert_eq!(after(LEGS), (false, true));
    let mast = "      <channel target=\"mast\" property=\"scale\" begin=\"0\" end=\"6\" from=\"1 1 1\" to=\"1 2 1\"/>\n";
    let below =
        |gap: &str| LEGS.replace("    </animation>", &format!("{gap}{mast}    </animation>"));
    assert_eq!(after(&below("")), (true, false));
    assert_eq!(after(&below("\n")), (false, true));
    assert_eq!(after(&below("      <!-- the mast -->\n")), (false, true));
    let apart = LEGS.replace("<!-- the legs -->\n", "<!-- the legs -->\n\n");
    assert_eq!(after(&apart), (true, false));
}

#[test]
fn a_sound_that_is_not_there_is_not_asked_for_once_more() {
    let switch = SWITCH.replace("<cue ", "<cue sound=\"lost\"/>\n      <cue ");
    let text = text_after(
        &fixture(&format!("{LEGS}{switch}")),
        "Make adjustable: `leg.left` and `leg.right`",
    );
    let cues = |sound: &str| text.matches(&format!("<cue sound=\"{sound}\"/>")).count();
    assert_eq!((cues("lost"), cues("pump")), (1, 2), "{text}");
}

const ALONE: &str = r#"  <animations>
    <animation id="mast.raise">
      <channel$0 target="mast" property="translation" begin="0" end="6" from="0 1 0" to="0 3 0"/>
    </animation>
  </animations>
"#;

#[test]
fn an_animation_that_nothing_plays_gets_a_lever_and_stays() {
    expect![[r#"
        -  <controls/>
        +  <controls>
        +    <lever animation="mast.raise" input="pointer.x" gain="0.6" rate="1" text="Mast raise"/>
        +  </controls>
    "#]]
    .assert_eq(&difference(
        &fixture(&format!("{ALONE}  <controls/>\n")),
        "Make adjustable: `mast`",
    ));
}

#[test]
fn a_switch_that_plays_nothing_else_becomes_a_lever() {
    let controls = "  <controls>\n    <switch animation=\"mast.raise\" input=\"button.raise\" glyph=\"lift\">\n      <!-- loud -->\n      <cue sound=\"pump\"/>\n    </switch>\n  </controls>\n";
    expect![[r#"
        -    <switch animation="mast.raise" input="button.raise" glyph="lift">
        +    <lever animation="mast.raise" input="pointer.x" gain="0.6" rate="1" glyph="lift">
        ...
        -    </switch>
        +    </lever>
    "#]]
    .assert_eq(&difference(
        &fixture(&format!("{ALONE}{controls}")),
        "Make adjustable: `mast`",
    ));
}

const LEGS_ALONE: &str = r#"  <animations>
    <animation id="legs" duration="2">
      <channel target="leg.left"$0 property="translation" begin="0" end="2" from="1.3 0 0" to="1.6 0 0"/>
      <channel target="leg.right" property="translation" begin="0" end="2" from="-1.3 0 0" to="-1.6 0 0"/>
    </animation>
  </animations>
"#;

#[test]
fn a_switch_that_becomes_a_lever_carries_the_wheels_it_left_behind() {
    let with = |switch: &str| {
        let controls = format!("  <controls>\n    {switch}\n  </controls>\n");
        difference(
            &fixture(&format!("{LEGS_ALONE}{controls}")),
            "Make adjustable: `leg.left` and `leg.right`",
        )
    };
    expect![[r#"
        -    <switch animation="legs" input="button.raise"/>
        +    <lever animation="legs" input="pointer.x" gain="0.6" rate="1">
        +      <carry wheel="left"/>
        +      <carry wheel="right"/>
        +    </lever>
    "#]]
    .assert_eq(&with(r#"<switch animation="legs" input="button.raise"/>"#));
    expect![[r#"
        -    <switch animation="legs" input="button.raise">
        +    <lever animation="legs" input="pointer.x" gain="0.6" rate="1">
        ...
        -    </switch>
        +      <carry wheel="left"/>
        +    </lever>
    "#]]
    .assert_eq(&with(
        "<switch animation=\"legs\" input=\"button.raise\">\n      <carry wheel=\"right\"/> <!-- ours -->\n    </switch>",
    ));
}

#[test]
fn what_comes_back_to_where_it_was_goes_no_way() {
    let animations = r#"  <animations>
    <animation id="all" duration="9">
      <channel target="leg.left"$0 property="translation" begin="1" end="2" from="1.3 0 0" to="1.6 0 0"/>
      <channel target="leg.left" property="translation" begin="2" end="4" from="1.6 0 0" to="1.3 0 0"/>
      <channel target="mast" property="translation" begin="1" end="2" from="0 1 0" to="0 2 0"/>
    </animation>
  </animations>
"#;
    expect![[r#"
        [
            "Make adjustable: `leg.left` (Leg left move)",
            "Extract `leg.left` into an animation of its own",
        ]"#]]
    .assert_eq(&format!("{:#?}", titles(&fixture(animations))));
}

#[test]
fn what_takes_no_time_gets_no_animation_of_its_own() {
    let animations = r#"  <animations>
    <animation id="all" duration="9">
      <channel target="mast"$0 property="scale" begin="2" end="2" from="1 1 1" to="1 2 1"/>
      <channel target="leg.left" property="translation" begin="1" end="2" from="1.3 0 0" to="1.6 0 0"/>
    </animation>
  </animations>
"#;
    expect![
        "The channel on line 16 begins and ends in the same moment, which has to be mended first."
    ]
    .assert_eq(&reason(&fixture(animations), "Make adjustable"));
}

#[test]
fn what_a_lever_plays_is_adjustable_already() {
    let controls =
        "  <controls>\n    <lever animation=\"mast.raise\" input=\"pointer.y\"/>\n  </controls>\n";
    expect!["It is adjustable already, by the <lever> on `pointer.y` in line 20."].assert_eq(
        &reason(&fixture(&format!("{ALONE}{controls}")), "Make adjustable"),
    );
}

#[test]
fn without_a_free_input_there_is_a_reason_and_no_lever() {
    let inputs = [
        "pointer.x",
        "pointer.y",
        "stick.1.x",
        "stick.1.y",
        "stick.2.x",
        "stick.2.y",
        "stick.3.x",
        "stick.3.y",
        "stick.4.x",
        "stick.4.y",
    ];
    let levers: String = inputs
        .iter()
        .map(|input| format!("    <lever animation=\"mast.raise\" input=\"{input}\"/>\n"))
        .collect();
    expect!["All 10 analog inputs are in use on this machine."].assert_eq(&reason(
        &fixture(&format!("{LEGS}  <controls>\n{levers}  </controls>\n")),
        "Make adjustable",
    ));
}

#[test]
fn what_can_only_be_shown_or_hidden_gets_a_switch() {
    let animations = r#"  <animations>
    <animation id="all">
      <channel target="mast" property="translation" begin="0" end="6" from="0 1 0" to="0 3 0"/>
      <channel target="0/2"$0 property="visibility" begin="5" end="6" from="false" to="true" easing="step"/>
    </animation>
  </animations>
"#;
    expect![[r#"
        -      <channel target="0/2" property="visibility" begin="5" end="6" from="false" to="true" easing="step"/>
        ...
        +    <animation id="lamp.show">
        +      <channel target="0/2" property="visibility" begin="0" end="1" from="false" to="true" easing="step"/>
        +    </animation>
        ...
        +  <controls>
        +    <switch animation="lamp.show" input="button.deploy" rate="1" text="Lamp show"/>
        +  </controls>
    "#]].assert_eq(&difference(&fixture(animations), "Make adjustable: `lamp`"));
}

#[test]
fn everything_on_one_line_stays_on_one_line() {
    let document = r#"<machine xmlns="urn:trunnion:machine:1" id="rig" scene="rig.gltf"><animations><animation id="all" duration="2"><channel target="0/1" property="translation" begin="0" end="2" from="0 1 0" to="0 3 0"/><channel target="0/2"$0 property="rotation" begin="1" end="2" from="0 0 0" to="0 90 0"/></animation></animations></machine>"#;
    let fixture = Fixture::house(document)
        .scene(SCENE)
        .file("machines/rig.gltf");
    expect![[r#"<machine xmlns="urn:trunnion:machine:1" id="rig" scene="rig.gltf"><animations><animation id="all" duration="2"><channel target="0/1" property="translation" begin="0" end="2" from="0 1 0" to="0 3 0"/></animation><animation id="lamp.turn" duration="1"><channel target="0/2" property="rotation" begin="0" end="1" from="0 0 0" to="0 90 0"/></animation></animations><controls><lever animation="lamp.turn" input="pointer.x" gain="0.6" rate="1" text="Lamp turn"/></controls></machine>"#]].assert_eq(&text_after(&fixture, "Make adjustable: `lamp`"));
}

#[test]
fn a_prefix_and_windows_line_ends_are_kept() {
    let document = "<m:machine xmlns:m='urn:trunnion:machine:1' id='rig' scene='rig.gltf'>\n\t<m:animations>\n\t\t<m:animation id='all' duration='2'>\n\t\t\t<m:channel target='0/1' property='translation' begin='0' end='2' from='0 1 0' to='0 3 0' />\n\t\t\t<m:channel target='0/2'$0 property='rotation' begin='0' end='2' from='0 0 0' to='0 90 0' />\n\t\t</m:animation>\n\t</m:animations>\n</m:machine>\n";
    let fixture = Fixture::house(&document.replace('\n', "\r\n"))
        .scene(SCENE)
        .file("machines/rig.gltf");
    expect![[r#"
        +		</m:animation>␍
        +		<m:animation id='lamp.turn' duration='2'>␍
        ...
        +	<m:controls>␍
        +		<m:lever animation='lamp.turn' input='pointer.x' gain='0.6' rate='1' text='Lamp turn' />␍
        +	</m:controls>␍
    "#]]
    .assert_eq(&difference(&fixture, "Make adjustable: `lamp`"));
}

#[test]
fn a_channel_that_does_not_say_what_it_moves_is_nothing_to_adjust() {
    let text = format!("{LEGS}{SWITCH}").replace("target=\"leg.left\" ", "");
    let offered = titles(&fixture(&text));
    assert!(
        !offered.iter().any(|title| title.contains("djust")),
        "{offered:#?}"
    );
}

#[test]
fn several_selected_channels_go_together() {
    let animations = LEGS
        .replace("$0", "")
        .replace(
            "      <channel target=\"mast\"",
            "      $0<channel target=\"mast\"",
        )
        .replace("from=\"-1.3 0 0\"/>", "from=\"-1.3 0 0\"/>$0");
    let fixture = fixture(&format!("{animations}{SWITCH}"));
    expect![[r#"
        [
            (
                "Make adjustable: `mast`, `leg.left` and `leg.right` (Mast raise)",
                None,
            ),
            (
                "Extract `mast`, `leg.left` and `leg.right` into an animation of their own",
                Some(
                    "The animation has no other channels: it is one of their own already.",
                ),
            ),
        ]"#]]
    .assert_eq(&format!(
        "{:#?}",
        offered(&fixture)
            .iter()
            .map(|offer| (&offer.title, &offer.disabled))
            .collect::<Vec<_>>()
    ));
}

#[test]
fn nothing_is_offered_away_from_channels() {
    let fixture = fixture(&format!(
        "{}{}",
        LEGS.replace("$0", ""),
        SWITCH.replace("<controls>", "<con$0trols>")
    ));
    assert_eq!(titles(&fixture), Vec::<String>::new());
}

/// Two animations must not drive the same property of a node.
#[test]
fn stages_of_one_motion_stay_together() {
    let animations = r#"  <animations>
    <animation id="all" duration="9">
      <channel target="mast" property="translation" begin="1" end="2" from="0 1 0" to="0 2 0"/>
      <channel target="mast" property="rotation" begin="0" end="4" from="0 0 0" to="0 90 0"/>
      <channel target="mast"$0 property="translation" begin="2" end="4" from="0 2 0" to="0 3 0"/>
    </animation>
  </animations>
"#;
    expect![[r#"
        -      <channel target="mast" property="translation" begin="1" end="2" from="0 1 0" to="0 2 0"/>
        ...
        -      <channel target="mast" property="translation" begin="2" end="4" from="0 2 0" to="0 3 0"/>
        ...
        +    <animation id="mast.raise" duration="3">
        +      <channel target="mast" property="translation" begin="0" end="1" from="0 1 0" to="0 2 0"/>
        +      <channel target="mast" property="translation" begin="1" end="3" from="0 2 0" to="0 3 0"/>
        +    </animation>
        ...
        +  <controls>
        +    <lever animation="mast.raise" input="pointer.x" gain="0.6" rate="1" text="Mast raise"/>
        +  </controls>
    "#]].assert_eq(&difference(&fixture(animations), "Make adjustable: `mast`"));
}

/// The proof is no formality: a plan that was tampered with does not pass.
#[test]
fn a_plan_that_does_something_else_is_not_proven() {
    let fixture = fixture(&format!("{LEGS}{SWITCH}"));
    let view = fixture.view();
    let site = Site::of(&view).expect("a dialect fits");
    let parts = Parts::selected(&site, super::selection(&fixture)).pop();
    let parts = parts.expect("a channel is there");
    let parts = parts.with_mirrored(&site).expect("it has a mirror image");
    let planned = || {
        let request = Request {
            parts: parts.clone(),
            control: Some(dialect::ControlKind::Analog),
            name: None,
            input: None,
        };
        plan(&site, &request).expect("it can be planned")
    };
    let reason_when = |from: &str, to: &str| {
        let mut plan = planned();
        let edit = plan
            .edits
            .iter_mut()
            .find(|edit| edit.insert.contains(from))
            .expect("an edit writes it");
        edit.insert = edit.insert.replace(from, to);
        plan.prove(&site, &parts).expect_err("the proof fails")
    };
    assert!(planned().prove(&site, &parts).is_ok());
    expect!["the channels would not do the same in their new animation"]
        .assert_eq(&reason_when("to=\"1.6 0 0\"", "to=\"1.60001 0 0\""));
    expect!["the channels would not do the same in their new animation"]
        .assert_eq(&reason_when("target=\"leg.left\"", "target=\"mast\""));
    expect!["the channels would not do the same in their new animation"]
        .assert_eq(&reason_when("end=\"2.5\"", "end=\"2.6\""));
    expect!["the new control would not play its animation as it should"]
        .assert_eq(&reason_when("<carry wheel=\"left\"/>", ""));
    expect!["the new control would not play its animation as it should"].assert_eq(&reason_when(
        "<lever animation=\"leg.spread\"",
        "<lever animation=\"mast.raise\"",
    ));
    expect!["the check `wrong-type` would find something on line 28: `plenty` does not fit here: `gain` must be a number above 0 and at most 10."].assert_eq(&reason_when("gain=\"0.6\"", "gain=\"plenty\""));
    let mut lost = planned();
    for edit in lost.edits.iter_mut().filter(|edit| edit.insert.is_empty()) {
        edit.range = syntax::TextRange::empty(edit.range.start());
    }
    expect!["`mast.raise` would not stay as it is"]
        .assert_eq(&lost.prove(&site, &parts).expect_err("the proof fails"));
}

/// Notes of other people may stand anywhere, under a prefix of theirs.
#[test]
fn a_prefix_declared_on_the_animation_goes_along() {
    let animations = r#"  <animations>
    <animation id="all" xmlns:n="urn:notes" n:by="me">
      <channel target="mast" property="translation" begin="0" end="6" from="0 1 0" to="0 3 0"/>
      <channel target="0/2"$0 n:mark="!" property="rotation" begin="5" end="6" from="0 0 0" to="0 90 0"/>
    </animation>
  </animations>
"#;
    expect![[r#"
        -      <channel target="0/2" n:mark="!" property="rotation" begin="5" end="6" from="0 0 0" to="0 90 0"/>
        ...
        +    <animation id="lamp.turn" xmlns:n="urn:notes">
        +      <channel target="0/2" n:mark="!" property="rotation" begin="0" end="1" from="0 0 0" to="0 90 0"/>
        +    </animation>
        ...
        +  <controls>
        +    <lever animation="lamp.turn" input="pointer.x" gain="0.6" rate="1" text="Lamp turn"/>
        +  </controls>
    "#]].assert_eq(&difference(&fixture(animations), "Make adjustable: `lamp`"));
}
