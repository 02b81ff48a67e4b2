use expect_test::expect;

use super::*;

/// One animation of these channels, each `target property begin..end from|to`, played by a switch.
fn animation(rows: &[&str]) -> String {
    format!(
        r#"{}<controls><switch animation="move" input="button.deploy"/></controls>"#,
        unplayed("move", "", rows)
    )
}

fn unplayed(name: &str, more: &str, rows: &[&str]) -> String {
    let channels = rows.iter().map(|row| {
        let (place, ends) = row.split_once(": ").unwrap();
        let [target, property, window] = place.split(' ').collect::<Vec<_>>()[..] else { panic!("{row}") };
        let (begin, end) = window.split_once("..").unwrap();
        let (from, to) = ends.split_once(" | ").unwrap();
        format!("<channel target=\"{target}\" property=\"{property}\" begin=\"{begin}\" end=\"{end}\" from=\"{from}\" to=\"{to}\"/>\n")
    });
    format!(
        "<animations><animation id=\"{name}\"{more}>\n{}</animation></animations>",
        channels.collect::<String>()
    )
}

#[test]
fn windows_that_are_empty_or_run_backwards() {
    check(
        &animation(&["0/2 translation 3..3: 0 1 0 | 0 2 0"]),
        expect![[r#"
        error empty-window at `3`: This motion begins and ends at 3 s: it has no time to move.
          see `3`: it begins here
    "#]],
    );
    check(
        &animation(&["0/2 translation 3..1: 0 1 0 | 0 2 0"]),
        expect![[r#"
        error empty-window at `1`: This motion ends at 1 s, before it begins at 3 s.
          see `3`: it begins here
          review fix "Swap begin and end": <channel target="0/2" property="translation" begin="1" end="3" from="0 1 0" to="0 2 0"/>
    "#]],
    );
    check(
        &animation(&["0/2 translation 1..1.001: 0 1 0 | 0 2 0"]),
        expect![""],
    );
}

#[test]
fn motions_past_the_duration_are_one_mistake() {
    let rows = [
        "0/0 translation 0..3: 1 0 0 | 2 0 0",
        "0/1 translation 0..3: -1 0 0 | -2 0 0",
        "0/2 translation 0..5: 0 1 0 | 0 2 0",
    ];
    check_serious(
        &unplayed("move", " duration=\"2\"", &rows),
        expect![
            "warning past-duration at `3`: This motion ends at 3 s, but the animation lasts only 2 s. 2 others end too late as well."
        ],
    );
    check_serious(&unplayed("move", " duration=\"5\"", &rows), expect![""]);
    check_serious(&unplayed("move", "", &rows), expect![""]);
}

#[test]
fn a_motion_between_equal_values() {
    check(
        &animation(&["0/2 translation 0..3: 0 1 0 | 0 1.0 0"]),
        expect![[r#"
            information still-channel at `0 1.0 0`: `0/2` (`mast`) does not move here: its translation stays at `0 1.0 0`.
              see `0 1 0`: it starts with the same value
        "#]],
    );
    // A whole turn is a turn.
    check(
        &animation(&["0/2 rotation 0..3: 0 0 0 | 0 360 0"]),
        expect![""],
    );
}

#[test]
fn a_jump_between_two_motions() {
    check(
        &animation(&[
            "0/2 translation 2..3: 0 1.5 0 | 0 2 0",
            "0/2 translation 0..1: 0 1 0 | 0 1.2 0",
        ]),
        expect![[r#"
            warning jump at `0 1.5 0`: At 2 s `0/2` (`mast`) jumps by 0.3 m: the motion before ends at `0 1.2 0`, this one starts at `0 1.5 0`.
              see `0 1.2 0`: the motion before ends here
              review fix "Start at `0 1.2 0`": <channel target="0/2" property="translation" begin="2" end="3" from="0 1.2 0" to="0 2 0"/>
        "#]],
    );
    check(
        &animation(&[
            "0/2 rotation 0..1: 0 0 0 | 0 0 30",
            "0/2 rotation 1..2: 0 0 20 | 0 0 40",
        ]),
        expect![[r#"
            warning jump at `0 0 20`: At 1 s `0/2` (`mast`) jumps by 10 deg: the motion before ends at `0 0 30`, this one starts at `0 0 20`.
              see `0 0 30`: the motion before ends here
              review fix "Start at `0 0 30`": <channel target="0/2" property="rotation" begin="1" end="2" from="0 0 30" to="0 0 40"/>
        "#]],
    );
    check(
        &animation(&[
            "0/2 visibility 0..1: true | false",
            "0/2 visibility 1..2: true | false",
        ]),
        expect![[r#"
            warning jump at `true`: At 1 s `0/2` (`mast`) jumps: the motion before ends at `false`, this one starts at `true`.
              see `false`: the motion before ends here
              review fix "Start at `false`": <channel target="0/2" property="visibility" begin="1" end="2" from="false" to="false"/>
        "#]],
    );
}

#[test]
fn motions_that_follow_each_other_do_not_jump() {
    check(
        &animation(&[
            "0/2 translation 1..2: 0 1.5 0 | 0 2 0",
            "0/2 translation 0..1: 0 1 0 | 0 1.5 0",
        ]),
        expect![""],
    );
    // After a whole turn the part stands where it stood.
    check(
        &animation(&[
            "0/2 rotation 0..1: 0 0 0 | 0 360 0",
            "0/2 rotation 1..2: 0 0 0 | 0 90 0",
        ]),
        expect![""],
    );
    // Another property of the same node, and the same property of another node.
    check(
        &animation(&[
            "0/2 translation 0..1: 0 1 0 | 0 1.5 0",
            "0/2 rotation 0..1: 0 0 0 | 0 90 0",
            "0/2/0 translation 0..1: 0 0.25 -0.1 | 0 2 0",
        ]),
        expect![""],
    );
}

#[test]
fn motions_at_the_same_time() {
    check(
        &animation(&[
            "0/2 translation 0..3: 0 1 0 | 0 2 0",
            "0/2 translation 2..4: 0 2 0 | 0 3 0",
        ]),
        expect![[r#"
            warning jump at `2`: Two motions of the translation of `0/2` (`mast`) run at the same time from 2 s to 3 s: it cannot follow both.
              see `3`: the other motion ends here
        "#]],
    );
}

const CONTEST: &str = r#"<animations>
  <animation id="a"><channel target="0/2" property="translation" begin="0" end="1" from="0 1 0" to="0 2 0"/></animation>
  <animation id="b"><channel target="mast" property="translation" begin="0" end="1" from="0 1 0" to="0 3 0"/>
                    <channel target="mast" property="translation" begin="1" end="2" from="0 3 0" to="0 4 0"/></animation>
</animations><controls><switch animation="a" input="button.raise"/><switch animation="b" input="button.lower"/></controls>"#;

#[test]
fn a_part_that_two_animations_move_under_two_names() {
    check(
        &format!(r#"<aliases><alias name="mast" path="0/2"/></aliases>{CONTEST}"#),
        expect![[r#"
            warning contested-part at `mast`: The translation of `mast` is driven by `a` over 1 m (as `0/2`) and by `b` over 2 m: when both play, it jumps between the two.
              see `0/2`: driven here as well
        "#]],
    );
}

#[test]
fn two_properties_of_a_part_are_not_contested() {
    let body = CONTEST
        .replacen("property=\"translation\"", "property=\"scale\"", 1)
        .replacen("0 1 0", "1 1 1", 1)
        .replacen("0 2 0", "2 2 2", 1);
    check(
        &format!(r#"<aliases><alias name="mast" path="0/2"/></aliases>{body}"#),
        expect![""],
    );
}

const WHEELS: &str = r#"<wheels>
  <wheel id="left" node="0/0/0" radius="0.5" width="0.3"/>
  <wheel id="right" node="0/1/0" radius="0.5" width="0.3"/>
</wheels>"#;

fn spread(carried: &str) -> String {
    let animation = unplayed(
        "move",
        "",
        &[
            "0/0 translation 0..2: 1 0 0 | 1.3 0 0",
            "0/1 translation 0..2: -1 0 0 | -1.3 0 0",
        ],
    );
    format!(
        "{WHEELS}{animation}<controls><lever animation=\"move\" input=\"pointer.x\">{carried}</lever></controls>"
    )
}

#[test]
fn wheels_that_a_control_leaves_behind() {
    check(
        &spread(""),
        expect![[r#"
        warning wheel-left-behind at `move`: `move` moves wheels that do not follow: `left` (0.3 m), `right` (0.3 m). Let this control carry what it moves.
          see `left`: left behind
          see `right`: left behind
          see `move`: moved by this animation
    "#]],
    );
    check(
        &spread("<carry wheel=\"left\"/>"),
        expect![[r#"
        warning wheel-left-behind at `move`: `move` moves a wheel that does not follow: `right` (0.3 m). Let this control carry what it moves.
          see `right`: left behind
          see `move`: moved by this animation
    "#]],
    );
    check(
        &spread("<carry wheel=\"left\"/><carry wheel=\"right\"/>"),
        expect![""],
    );
}

#[test]
fn wheels_may_be_called_by_their_nodes() {
    let house = include_str!("../../../../dialect/src/house.dialect.toml");
    let by_name = "wheel = { type = \"reference\", of = \"wheel\"";
    let by_node = house.replace(by_name, "wheel = { type = \"node\"");
    assert_ne!(by_node, house);
    let body = |carried: &str| {
        let aliases = "<aliases><alias name=\"l\" path=\"0/0/0\"/></aliases>";
        format!(
            "<machine xmlns=\"urn:trunnion:machine:1\" id=\"rig\" scene=\"rig.gltf\">{aliases}{}</machine>",
            spread(carried)
        )
    };
    let said = |carried: &str| {
        let fixture = in_dialect(&by_node, &body(carried)).scene(crate::fixture::RIG);
        said(&fixture.file("rig.gltf").file("pump.ogg"))
    };
    // By an alias, though the wheel has the path itself, and the other way round.
    expect![""].assert_eq(&said("<carry wheel=\"l\"/><carry wheel=\"0/1/0\"/>"));
    expect![[r#"
        warning wheel-left-behind at `move`: `move` moves a wheel that does not follow: `right` (0.3 m). Let this control carry what it moves.
          see `right`: left behind
          see `move`: moved by this animation
    "#]]
    .assert_eq(&said("<carry wheel=\"l\"/>"));
    // A node with no wheel carries none.
    let said = said("<carry wheel=\"l\"/><carry wheel=\"0/2\"/>");
    assert!(said.contains("does not follow: `right`"), "{said}");
}

#[test]
fn a_wheel_that_is_carried_under_a_wrong_name_is_one_mistake() {
    check_serious(
        &spread("<carry wheel=\"left\"/><carry wheel=\"rigth\"/>"),
        expect!["error unknown-name at `rigth`: No wheel is called `rigth`. Did you mean `right`?"],
    );
}

#[test]
fn a_wheel_that_only_turns_is_not_left_behind() {
    let animation = unplayed(
        "move",
        "",
        &[
            "0/0/0 rotation 0..2: 0 0 0 | 360 0 0",
            "0/1/0 rotation 0..2: 0 0 0 | 360 0 0",
        ],
    );
    check(
        &format!(
            "{WHEELS}{animation}<controls><lever animation=\"move\" input=\"pointer.x\"/></controls>"
        ),
        expect![""],
    );
}

#[test]
fn a_wheel_whose_part_is_only_hidden_is_not_left_behind() {
    let animation = unplayed("move", "", &["0/0 visibility 0..2: true | false"]);
    check(
        &format!(
            "{WHEELS}{animation}<controls><lever animation=\"move\" input=\"pointer.x\"/></controls>"
        ),
        expect![""],
    );
}

/// A start that is elsewhere than its part rests may be all that makes a pair lopsided: that is one mistake.
#[test]
fn a_pair_that_does_not_mirror_by_a_start() {
    check(
        &animation(&[
            "0/0 translation 0..2: 1.1 0 0 | 1.3 0 0",
            "0/1 translation 0..2: -1 0 0 | -1.3 0 0",
        ]),
        expect![[r#"
            warning lopsided at `-1.3 0 0`: `0/1` (`arm.right`) goes 0.3 m, but `0/0` (`arm.left`), which stands opposite, goes 0.2 m.
              see `1.3 0 0`: the part opposite
              see `1.1 0 0`: it starts elsewhere than it rests in the scene
              review fix "Start where it rests: `1 0 0`": <channel target="0/0" property="translation" begin="0" end="2" from="1 0 0" to="1.3 0 0"/>
        "#]],
    );
    // Where the ends differ as well, there are two.
    check(
        &animation(&[
            "0/0 translation 0..2: 1.1 0 0 | 1.3 0 0",
            "0/1 translation 0..2: -1 0 0 | -1.4 0 0",
        ]),
        expect![[r#"
            information rest-mismatch at `1.1 0 0`: `0/0` (`arm.left`) rests at `1 0 0`, but its first translation starts at `1.1 0 0`, 0.1 m away: it jumps there when the animation is first played.
              review fix "Start where it rests: `1 0 0`": <channel target="0/0" property="translation" begin="0" end="2" from="1 0 0" to="1.3 0 0"/>
            warning lopsided at `-1.4 0 0`: `0/1` (`arm.right`) goes 0.4 m, but `0/0` (`arm.left`), which stands opposite, goes 0.2 m.
              see `1.3 0 0`: the part opposite
        "#]],
    );
    // Where both start elsewhere in the same way, nothing is lopsided.
    check(
        &animation(&[
            "0/0 translation 0..2: 1.1 0 0 | 1.3 0 0",
            "0/1 translation 0..2: -1.1 0 0 | -1.3 0 0",
        ]),
        expect![[r#"
            information rest-mismatch at `1.1 0 0`: `0/0` (`arm.left`) rests at `1 0 0`, but its first translation starts at `1.1 0 0`, 0.1 m away: it jumps there when the animation is first played.
              review fix "Start where it rests: `1 0 0`": <channel target="0/0" property="translation" begin="0" end="2" from="1 0 0" to="1.3 0 0"/>
            information rest-mismatch at `-1.1 0 0`: `0/1` (`arm.right`) rests at `-1 0 0`, but its first translation starts at `-1.1 0 0`, 0.1 m away: it jumps there when the animation is first played.
              review fix "Start where it rests: `-1 0 0`": <channel target="0/1" property="translation" begin="0" end="2" from="-1 0 0" to="-1.3 0 0"/>
        "#]],
    );
}

#[test]
fn pairs_that_do_not_mirror() {
    check(
        &animation(&[
            "0/0 translation 0..2: 1 0 0 | 1.3 0 0",
            "0/1 translation 0..2: -1 0 0 | -1.2 0 0",
        ]),
        expect![[r#"
            warning lopsided at `-1.2 0 0`: `0/1` (`arm.right`) goes 0.2 m, but `0/0` (`arm.left`), which stands opposite, goes 0.3 m.
              see `1.3 0 0`: the part opposite
        "#]],
    );
    check(
        &animation(&[
            "0/0 rotation 0..2: 0 0 0 | 0 0 30",
            "0/1 rotation 0..2: 0 0 0 | 0 0 30",
        ]),
        expect![[r#"
            warning lopsided at `0 0 30`: `0/1` (`arm.right`) turns 30 deg, but not the mirrored way of `0/0` (`arm.left`), which stands opposite.
              see `0 0 30`: the part opposite
        "#]],
    );
    check(
        &animation(&[
            "0/0 scale 0..2: 1 1 1 | 1 2 1",
            "0/1 scale 0..2: 1 1 1 | 1 3 1",
        ]),
        expect![[r#"
            warning lopsided at `1 3 1`: `0/1` (`arm.right`) is scaled from 1 1 1 to 1 3 1, but `0/0` (`arm.left`), which stands opposite, is scaled from 1 1 1 to 1 2 1.
              see `1 2 1`: the part opposite
        "#]],
    );
    check(
        &animation(&[
            "0/1 visibility 0..2: true | false",
            "0/0 visibility 0..2: false | true",
        ]),
        expect![[r#"
            warning lopsided at `true`: `0/0` (`arm.left`) appears, but `0/1` (`arm.right`), which stands opposite, disappears.
              see `false`: the part opposite
        "#]],
    );
}

#[test]
fn pairs_that_mirror_steer_or_take_turns_are_fine() {
    check(
        &animation(&[
            "0/0 translation 0..2: 1 0 0 | 1.3 0 0",
            "0/1 translation 0..2: -1 0 0 | -1.3 0 0",
        ]),
        expect![""],
    );
    check(
        &animation(&[
            "0/0 rotation 0..2: 0 0 0 | 0 30 0",
            "0/1 rotation 0..2: 0 0 0 | 0 30 0",
        ]),
        expect![""],
    );
    check(
        &animation(&[
            "0/0 translation 0..2: 1 0 0 | 1.3 0 0",
            "0/1 translation 2..4: -1 0 0 | -1.2 0 0",
        ]),
        expect![""],
    );
    check(
        &animation(&["0/0 translation 0..2: 1 0 0 | 1.3 0 0"]),
        expect![""],
    );
}

#[test]
fn numbers_are_told_in_the_units_of_the_dialect() {
    // Lengths in centimetres, times in milliseconds.
    let body = "<called>x</called><strokes><stroke><call>s</call>
        <move><spot>#1:1.3</spot><span>0 .. 1000</span><shift>0;100;0 | 0;150;0</shift></move>
        <move><spot>#1:1.3</spot><span>1000 .. 2000</span><shift>0;162,5;0 | 0;200;0</shift></move></stroke></strokes>";
    let said = said(&Fixture::yard(body).file("rig.limbs.xml"));
    let jump: Vec<&str> = said.lines().filter(|line| line.contains("jump")).collect();
    expect!["warning jump at `0;162,5;0`: At 1000 ms `#1:1.3` jumps by 12,5 cm: the motion before ends at `0;150;0`, this one starts at `0;162,5;0`."].assert_eq(&jump.join("\n"));
}

#[test]
fn the_first_motion_starts_where_the_part_rests() {
    check(
        &animation(&["0/2 translation 0..2: 0 1.5 0 | 0 2 0"]),
        expect![[r#"
            information rest-mismatch at `0 1.5 0`: `0/2` (`mast`) rests at `0 1 0`, but its first translation starts at `0 1.5 0`, 0.5 m away: it jumps there when the animation is first played.
              review fix "Start where it rests: `0 1 0`": <channel target="0/2" property="translation" begin="0" end="2" from="0 1 0" to="0 2 0"/>
        "#]],
    );
    check(
        &animation(&[
            "0/2 rotation 3..4: 0 0 5 | 0 0 90",
            "0/2 rotation 1..3: 0 0 30 | 0 0 5",
            "0/2 scale 0..2: 1 1 2 | 1 1 1",
        ]),
        expect![[r#"
            information rest-mismatch at `0 0 30`: `0/2` (`mast`) rests at `0 0 0`, but its first rotation starts at `0 0 30`, 30 deg away: it jumps there when the animation is first played.
              review fix "Start where it rests: `0 0 0`": <channel target="0/2" property="rotation" begin="1" end="3" from="0 0 0" to="0 0 5"/>
            information rest-mismatch at `1 1 2`: `0/2` (`mast`) rests at `1 1 1`, but its first scale starts at `1 1 2`, 1 away: it jumps there when the animation is first played.
              review fix "Start where it rests: `1 1 1`": <channel target="0/2" property="scale" begin="0" end="2" from="1 1 1" to="1 1 1"/>
        "#]],
    );
}

#[test]
fn what_starts_at_rest_or_nearly() {
    let rows = [
        "0/2 translation 0..2: 0 1.0009 0 | 0 2 0",
        "0/2 rotation 0..2: 0 360.05 0 | 0 0 0",
        "0/0 visibility 0..2: false | true",
        "0/1 translation 1..2: -1.4 0 0 | -1.2 0 0",
        "0/1 translation 0..1: -1 0 0 | -1.4 0 0",
    ];
    check(&animation(&rows), expect![""]);
}

#[test]
fn what_the_scene_says_is_shown_or_hidden_starts_so() {
    let body = |from: &str, to: &str| {
        let row = format!("0/0 visibility 0..2: {from} | {to}");
        animation(&[row.as_str()])
    };
    let said = |scene: &str, from: &str, to: &str| {
        said(&Fixture::rig(&body(from, to)).scene(scene).file("rig.gltf"))
    };
    expect![[r#"
        information rest-mismatch at `false`: `0/0` (`lamp`) is shown in the scene, but its first visibility starts at `false`: it vanishes when the animation is first played.
          review fix "Start where it rests: `true`": <channel target="0/0" property="visibility" begin="0" end="2" from="true" to="true"/>
    "#]]
    .assert_eq(&said("rig\n  lamp shown\n", "false", "true"));
    assert!(
        said("rig\n  lamp hidden\n", "true", "false").contains(
            "is hidden in the scene, but its first visibility starts at `true`: it appears"
        )
    );
    for (scene, from) in [
        ("lamp shown", "true"),
        ("lamp hidden", "false"),
        ("lamp", "true"),
        ("lamp", "false"),
    ] {
        let scene = format!("rig\n  {scene}\n");
        let said = said(&scene, from, if from == "true" { "false" } else { "true" });
        assert!(!said.contains("rest-mismatch"), "{scene}{said}");
    }
}

/// Of two animations that move a part, one starts where the other one ends: that they share it is said already.
#[test]
fn a_part_of_two_animations_is_one_finding() {
    let one = unplayed("one", "", &["0/2 translation 0..2: 0 1 0 | 0 2 0"]);
    let both = one.replace(
        "</animations>",
        "<animation id=\"two\"><channel target=\"0/2\" property=\"translation\" begin=\"0\" end=\"2\" from=\"0 2 0\" to=\"0 3 0\"/></animation></animations>",
    );
    check_serious(
        &both,
        expect![
            "warning contested-part at `0/2`: The translation of `0/2` (`mast`) is driven by `one` over 1 m and by `two` over 1 m: when both play, it jumps between the two."
        ],
    );
    assert!(!said(&rig(&both)).contains("rest-mismatch"));
}

#[test]
fn a_part_that_moves_against_what_it_hangs_on() {
    check(
        &animation(&[
            "0/2 translation 0..2: 0 1 0 | 0 2 0",
            "0/2/0 translation 1..3: 0 0.25 -0.1 | 0 -0.05 -0.1",
        ]),
        expect![[r#"
            information against-carrier at `0 -0.05 -0.1`: `0/2/0` (`hook`) moves 0.3 m against `0/2` (`mast`), which it hangs on and which moves 1 m at the same time: together that is 0.7 m.
              see `0 2 0`: carries it the other way
        "#]],
    );
}

#[test]
fn parts_that_do_not_move_against_each_other() {
    // One after the other.
    let after = [
        "0/2 translation 0..2: 0 1 0 | 0 2 0",
        "0/2/0 translation 2..3: 0 0.25 -0.1 | 0 -0.05 -0.1",
    ];
    check(&animation(&after), expect![""]);
    // Sideways, along, or turning.
    let other_ways = [
        "0/2 translation 0..2: 0 1 0 | 0 2 0",
        "0/2 rotation 0..2: 0 0 0 | 0 0 30",
        "0/2/0 translation 0..2: 0 0.25 -0.1 | 0.4 0.05 -0.1",
        "0/2/0 rotation 0..2: 0 0 0 | 0 0 -30",
    ];
    check(&animation(&other_ways), expect![""]);
    // Nothing hangs on the other.
    let beside = [
        "0/0 translation 0..2: 1 0 0 | 1.5 0 0",
        "0/1 translation 0..2: -1 0 0 | -1.5 0 0",
    ];
    check(&animation(&beside), expect![""]);
}
