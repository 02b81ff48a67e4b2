mod own_text;

use super::*;
use crate::fixture::Fixture;
use expect_test::{Expect, expect};

fn check(fixture: Fixture, expected: Expect) {
    let view = fixture.view();
    let shown = match hover(&view, fixture.offset()) {
        Some(found) => format!(
            "at {}\n\n{}",
            &view.text()[found.range],
            found.text.markdown()
        ),
        None => "nothing".to_owned(),
    };
    expected.assert_eq(&shown);
}

const BODY: &str = r#"<aliases><alias name="mast" path="0/2"/></aliases>
<wheels><wheel id="w.left" node="0/0/0" radius="0.5" width="0.25" brake="1"/></wheels>
<lamps><lamp id="top" node="0/2/0" kind="work"/></lamps>
<sounds><sound id="pump" file="pump.ogg" gain="0.8"/></sounds>
<animations>
  <animation id="raise" duration="4">
    <channel target="mast" property="translation" begin="0" end="2" from="0 1 0" to="0 3 0"/>
    <channel target="0" property="rotation" begin="1" end="4" from="0 0 0" to="0 90 0"/>
    <channel target="0/0" property="visibility" begin="1" end="2" from="true" to="false"/>
  </animation>
  <animation id="idle"/>
</animations>
<controls>
  <switch animation="raise" input="button.raise" text="Raise"><carry wheel="w.left"/><cue sound="pump"/></switch>
  <lever animation="raise" input="pointer.x"/>
</controls>"#;

/// The body with a mark in front of the n-th `at`.
fn rig(at: &str, nth: usize) -> Fixture {
    let places: Vec<_> = BODY.match_indices(at).collect();
    let (start, _) = places[nth];
    let (before, after) = BODY.split_at(start);
    Fixture::rig(&format!("{before}$0{after}")).file("pump.ogg")
}

#[test]
fn an_alias() {
    check(
        rig("mast", 0),
        expect![[r#"
        at mast

        **alias** `mast`

        - Index path: `0/2`
        - Node: `rig/mast`
        - At rest: translation `0 1 0` metres
        - Moved by: `raise` (translation, rotation of `0`)
        - On it: lamp `top`

        **attribute** `name`

        The name; unique within the definition.

        - Required: a name for this alias"#]],
    );
}

#[test]
fn a_name_at_a_node_place() {
    check(
        rig("mast", 1),
        expect![[r#"
        at mast

        **alias** `mast`

        - Index path: `0/2`
        - Node: `rig/mast`
        - At rest: translation `0 1 0` metres
        - Moved by: `raise` (translation, rotation of `0`)
        - On it: lamp `top`

        **attribute** `target`

        The node that moves.

        - Required: the name of an alias or an index path such as `0/2/1`"#]],
    );
}

#[test]
fn an_index_path() {
    check(
        rig("0/2", 0),
        expect![[r#"
        at 0/2

        **node** `mast`

        - Index path: `0/2`
        - Node: `rig/mast`
        - At rest: translation `0 1 0` metres
        - Moved by: `raise` (translation, rotation of `0`)
        - On it: lamp `top`

        **attribute** `path`

        Where the node stands in the scene: child positions from the root down, counted from 0.

        - Required: an index path such as `0/2/1`"#]],
    );
    check(
        rig("0/0/0", 0),
        expect![[r#"
        at 0/0/0

        **node** `wheel.left`

        - Index path: `0/0/0`
        - Node: `rig/arm.left/wheel.left`
        - At rest: translation `0 0.5 0` metres
        - Moved by: `raise` (rotation of `0`, visibility of `0/0`)

        **attribute** `node`

        The node at the centre of the wheel.

        - Required: the name of an alias or an index path such as `0/2/1`"#]],
    );
}

#[test]
fn an_index_path_into_nothing() {
    check(
        Fixture::rig(r#"<bodies><body node="0/$07" mass="1"/></bodies>"#),
        expect![[r#"
        at 0/7

        **index path** `0/7`

        It leads to no node of the scene.

        **attribute** `node`

        The node that moves with it.

        - Required: the name of an alias or an index path such as `0/2/1`"#]],
    );
}

#[test]
fn a_wheel() {
    check(
        rig("w.left", 1),
        expect![[r#"
        at w.left

        **wheel** `w.left`

        - Radius: 0.5 metres
        - Width: 0.25 metres
        - Carried by: “Raise” (`raise`)
        - Index path: `0/0/0`
        - Node: `rig/arm.left/wheel.left`
        - At rest: translation `0 0.5 0` metres
        - Moved by: `raise` (rotation of `0`, visibility of `0/0`)

        **attribute** `wheel`

        The wheel's name.

        - Required: the name of a wheel"#]],
    );
}

#[test]
fn an_animation() {
    check(
        rig("raise", 0),
        expect![[r#"
            at raise

            **animation** `raise`

            - Length: 4 seconds
            - Parts: `mast` (translation), `0` (rotation), `0/0` (visibility)
            - Played by: “Raise” (`button.raise`), `pointer.x`

            **attribute** `id`

            Name of the animation; unique within the definition.

            - Required: a name for this animation"#]],
    );
    check(
        rig("idle", 0),
        expect![[r#"
        at idle

        **animation** `idle`

        - Length: 0 seconds (the end of the last channel)
        - Nothing plays it.

        **attribute** `id`

        Name of the animation; unique within the definition.

        - Required: a name for this animation"#]],
    );
}

#[test]
fn a_sound_and_its_file() {
    check(
        rig("pump", 0),
        expect![[r#"
        at pump

        **sound** `pump`

        - File: `pump.ogg`
        - Played with: “Raise” (`raise`)

        **attribute** `id`

        Name of the sound; unique within the definition.

        - Required: a name for this sound"#]],
    );
    check(
        rig("pump", 1),
        expect![[r#"
            at pump.ogg

            **file** `pump.ogg`

            Found: `/mod/pump.ogg`

            **attribute** `file`

            The recording, found from the folder of this definition.

            - Required: a file ending in `.ogg` or `.wav`"#]],
    );
}

#[test]
fn a_file_that_is_not_there() {
    check(
        Fixture::rig(r#"<sounds><sound id="a" file="b$0.ogg"/></sounds>"#),
        expect![[r#"
            at b.ogg

            **file** `b.ogg`

            Not found: `/mod/b.ogg`

            **attribute** `file`

            The recording, found from the folder of this definition.

            - Required: a file ending in `.ogg` or `.wav`"#]],
    );
}

#[test]
fn a_control() {
    check(
        rig("switch", 0),
        expect![[r#"
            at switch

            **element** `switch`

            A digital control: a button plays the animation to one end, and back to the other.

            - Must have: `animation`, `input`
            - May have: `rate`, `glyph`, `text`
            - Holds: `carry`, `cue`
            - Control: digital
            - Plays: `raise`
            - Input: `button.raise`
            - Carries: `w.left`
            - Sounds: `pump`
            - End to end: 4 s"#]],
    );
}

#[test]
fn an_input_and_who_else_uses_it() {
    let controls = r#"<controls><lever animation="a" input="$0pointer.x"/><lever animation="b" input="pointer.x" text="Slew"/></controls>"#;
    check(
        Fixture::rig(controls),
        expect![[r#"
        at pointer.x

        **analog input** `pointer.x`

        The pointer, left and right.

        - Also used by: “Slew” (`b`)

        **attribute** `input`

        The axis.

        - Required: an analog input (an axis)
        - Usual: `pointer.x`"#]],
    );
}

#[test]
fn a_channel_and_its_values() {
    check(
        rig("channel", 0),
        expect![[r#"
            at channel

            **element** `channel`

            Moves one property of one node from one value to another, within a window of time.

            - Must have: `target`, `property`, `begin`, `end`, `from`, `to`
            - May have: `easing`
            - Moves: translation, from 0 to 2 seconds
            - Travel: 2 m, 1 m/s
            - Index path: `0/2`
            - Node: `rig/mast`
            - Called: `mast`
            - At rest: translation `0 1 0` metres
            - Moved by: `raise` (translation, rotation of `0`)
            - On it: lamp `top`"#]],
    );
    check(
        rig("0 3 0", 0),
        expect![[r#"
        at 0 3 0

        At rest, the translation is `0 1 0`

        **attribute** `to`

        The value at the end.

        - Required: a value of the moved property: 3 numbers (metres for translation, degrees for rotation, factors for scale), or `true` or `false` for visibility"#]],
    );
}

#[test]
fn an_attribute() {
    check(
        rig("brake", 0),
        expect![[r#"
        at brake

        **attribute** `brake`

        Share of the brake's force.

        - Optional: a number from 0 to 1
        - Where it is left out: `1`
        - Usual: `1`"#]],
    );
}

#[test]
fn a_word() {
    check(
        rig("visibility", 0),
        expect![[r#"
        at visibility

        **word** `visibility`

        Whether the node is shown: true or false.

        **attribute** `property`

        What about the node changes.

        - Required: `translation`, `rotation`, `scale` or `visibility`
        - Usual: `translation`"#]],
    );
}

#[test]
fn a_name_that_nothing_gives() {
    check(
        Fixture::rig(r#"<bodies><body node="b$0oom" mass="1"/></bodies>"#),
        expect![[r#"
        at boom

        **name** `boom`

        Nothing in this file has this name.

        **attribute** `node`

        The node that moves with it.

        - Required: the name of an alias or an index path such as `0/2/1`"#]],
    );
}

#[test]
fn nothing_to_say() {
    check(Fixture::rig("$0"), expect!["nothing"]);
    check(Fixture::rig("<!-- ma$0st -->"), expect!["nothing"]);
    check(
        Fixture::house("<ot$0her/>").at("other.xml"),
        expect!["nothing"],
    );
}

#[test]
fn numbers_in_other_units() {
    let yard = |body: &str| Fixture::yard(body);
    check(
        yard("<rollers><roller><half>5$05</half></roller></rollers>"),
        expect![[r#"
        at 55

        `55` centimetres = 0,55 metres

        **text of** `half`

        Half the wheel's height, in centimetres.

        - Required: a number above 0, in centimetres
        - Usual: `55`"#]],
    );
    check(
        yard("<strokes><stroke><call>a</call><lasts>25$000</lasts></stroke></strokes>"),
        expect![[r#"
        at 2500

        `2500` milliseconds = 2,5 seconds

        **text of** `lasts`

        Length in milliseconds. Left out: up to the end of the last move.

        - Required: a number above 0, in milliseconds"#]],
    );
    check(
        yard(
            "<strokes><stroke><call>a</call><move><spot>#1:3</spot><span>0 .. 200$00</span>
            <shift>0;100;0 | 0;300;0</shift></move></stroke></strokes>",
        ),
        expect![[r#"
            at 2000

            `2000` milliseconds = 2 seconds

            **text of** `span`

            From when to when, in milliseconds.

            - Required: 2 of these, separated by `..`: a number, in milliseconds
            - Usual: `0 .. 2000`"#]],
    );
    check(
        yard(
            "<strokes><stroke><call>a</call><move><spot>#1:3</spot><span>0 .. 2000</span>
            <shift>0;100;0 | 0;3$000;0</shift></move></stroke></strokes>",
        ),
        expect![[r#"
            at 0;300;0

            `0;300;0` centimetres = 0;3;0 metres

            At rest, the translation is `0;100;0`

            **text of** `shift`

            From where to where, in centimetres along the axes of the limb below.

            - Required: 2 of these, separated by `|`: a value of the moved property: 3 numbers separated by `;` (centimetres for translation, radians for rotation, factors for scale), or `aye`, `yes`, `nay` or `no` for visibility"#]],
    );
}

#[test]
fn what_is_added_to_where_a_node_rests() {
    let said = |what: &str| {
        let fixture = Fixture::yard_of_changes(&format!(
            "<strokes><stroke><call>a</call><move><spot>#1:3</spot><span>0 .. 1</span>{what}</move></stroke></strokes>"
        ));
        let found = hover(&fixture.view(), fixture.offset()).expect("there is a value");
        let markdown = found.text.markdown();
        let line = markdown.lines().find(|line| line.starts_with("At rest"));
        line.unwrap_or_default().to_owned()
    };
    assert_eq!(
        said("<shift>$00;0;0 | 0;50;0</shift>"),
        "At rest, the translation is `0;100;0`; this is added"
    );
    assert_eq!(
        said("<swell>$02;1;1</swell>"),
        "At rest, the scale is `1;1;1`; this is multiplied"
    );
    assert_eq!(
        said("<swing>$00;0;0 | 0;1;0</swing>"),
        "At rest, the rotation is `0;0;0`"
    );
}

#[test]
fn nodes_in_the_other_dialect() {
    let body = "<handles><handle><call>mast</call><spot>#1:3</spot></handle></handles>
<weights><weight><spot>ma$0st</spot><tons>1</tons></weight></weights>
<rollers><roller><spot>#1:3.1</spot></roller></rollers>
<strokes><stroke><call>lift</call><move><spot>mast</spot><span>0 .. 500</span><shift>0;0;0 | 0;50;0</shift></move></stroke></strokes>";
    check(
        Fixture::yard(body),
        expect![[r#"
        at mast

        **handle** `mast`

        - Index path: `#1:3`
        - Node: `rig/mast`
        - At rest: translation `0;100;0` centimetres
        - Moved by: `lift` (translation)
        - On it: weight, roller 1

        **text of** `spot`

        A limb: its handle, or where it grows.

        - Required: the name of a handle or an index path such as `#1:3.2`"#]],
    );
}

#[test]
fn a_wheel_by_number() {
    let body = "<rollers><roller><spot>#1:1.1</spot><half>50</half></roller></rollers>
<hands><hand way=\"key\"><follows>1$0</follows><label>Go</label></hand></hands>";
    check(
        Fixture::yard(body),
        expect![[r#"
            at 1

            **wheel** `1`

            - Radius: 50 centimetres
            - Carried by: “Go”
            - Index path: `#1:1.1`
            - Node: `rig/arm.left/wheel.left`
            - At rest: translation `0;50;0` centimetres

            **text of** `follows`

            The numbers of the wheels that move along; the first wheel is 1.

            - Required: at least 1 of these, separated by `,`: the position of a wheel, counted from 1"#]],
    );
}

/// On the way it may be another one.
#[test]
fn a_track_width_that_comes_back_is_that_of_both_ends() {
    let fixture = Fixture::rig(
        r#"<wheels><wheel id="l" node="0/0/0" radius="0.5" width="0.2"/><wheel id="r" node="0/1/0" radius="0.5" width="0.2"/></wheels>
<animations><animation id="out"><channel target="0/0" property="translation" begin="0" end="1" from="1 0 0" to="2 0 0"/>
<channel target="0/0" property="translation" begin="1" end="2" from="2 0 0" to="1 0 0"/></animation></animations>
<controls><le$0ver animation="out" input="pointer.x"/></controls>"#,
    );
    let found = hover(&fixture.view(), fixture.offset()).expect("there is a control");
    let told = found.text.markdown();
    assert!(
        told.contains("Track width: 2 m at both ends (l and r)"),
        "{told}"
    );
}
