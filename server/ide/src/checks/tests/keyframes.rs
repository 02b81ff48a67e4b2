//! Keyframes, changes, and values that stand axis by axis.

use expect_test::expect;

use super::*;

const DIALECT: &str = r#"
[dialect]
name = "tide"
format = 1
[[document]]
name = "sloop"
root = "sloop"
[element.sloop]
children = ["tide*"]
attributes.scene = "file"
[element.tide]
children = ["line*", "nudge*", "curve*"]
[element.line]
children = ["mark*"]
attributes.node = "node"
[element.curve]
children = ["mark*"]
attributes.node = "node"
[element.mark]
attributes = { at = "number", place = "moved-value", up = "number", x = "number", y = "number" }
[element.nudge]
attributes = { node = "node", from = "number", until = "number", way = "moved-value", x0 = "number", x1 = "number", z0 = "number", z1 = "number", goal = "moved-value" }
[[role.scene]]
at = "sloop"
file = "@scene"
[[role.animation]]
at = "sloop/tide"
[[role.channel]]
at = "line"
node = "@node"
[[role.channel.motion]]
property = "translation"
keyframes = { at = "mark", time = "@at", value = "@place" }
[[role.channel.motion]]
property = "scale"
keyframes = { at = "mark", time = "@at", value = { y = "@up" } }
[[role.channel]]
at = "curve"
node = "@node"
[[role.channel.motion]]
property = "translation"
keyframes = { at = "mark", time = "@at", value = { x = "@x", y = "@y" } }
[[role.channel]]
at = "nudge"
node = "@node"
begin = "@from"
end = "@until"
[[role.channel.motion]]
property = "translation"
by = "@way"
[[role.channel.motion]]
property = "translation"
to = "@goal"
[[role.channel.motion]]
property = "translation"
from = { x = "@x0", z = "@z0" }
to = { x = "@x1", z = "@z1" }
"#;

fn sloop(channels: &str) -> Fixture {
    let text = format!("<sloop scene=\"a.gltf\"><tide>\n{channels}\n</tide></sloop>");
    in_dialect(DIALECT, &text)
        .scene("boom 1 2 3 box\n")
        .file("a.gltf")
}

#[test]
fn waiting_and_jumping_between_keyframes_is_meant() {
    let fixture = sloop(
        r#"<line node="0"><mark at="0" place="1 2 3" up="1"/><mark at="1" place="1 2 3"/><mark at="1" place="4 2 3"/><mark at="2" place="4 3 3"/></line>"#,
    );
    expect![""].assert_eq(&said(&fixture));
}

#[test]
fn a_keyframe_that_moves_two_properties_is_told_once() {
    let rows = |last: &str| {
        let text = format!(
            r#"<sloop scene="a.gltf"><tide lasts="2"><line node="0"><mark at="0" place="1 2 3" up="1"/><mark at="2" place="1 3 3" up="2"/><mark at="{last}" place="1 4 3" up="3"/></line></tide></sloop>"#
        );
        let toml = DIALECT.replace(
            "[element.line]",
            "[element.tide.attributes]\nlasts = \"number\"\n[element.line]",
        );
        let toml = toml.replace(
            "at = \"sloop/tide\"",
            "at = \"sloop/tide\"\nduration = \"@lasts\"",
        );
        said(
            &in_dialect(&toml, &text)
                .scene("boom 1 2 3 box\n")
                .file("a.gltf"),
        )
    };
    expect![[r#"
        error empty-window at `1`: This keyframe comes at 1 s, before the one above it, which comes at 2 s.
          see `2`: it begins here
    "#]]
    .assert_eq(&rows("1"));
    expect![[r#"
        warning past-duration at `3`: This motion ends at 3 s, but the animation lasts only 2 s.
          see `2`: the duration
          review fix "Let the animation last 3 s": <sloop scene="a.gltf"><tide lasts="3"><line node="0"><mark at="0" place="1 2 3" up="1"/><mark at="2" place="1 3 3" up="2"/><mark at="3" place="1 4 3" up="3"/></line></tide></sloop>
    "#]]
    .assert_eq(&rows("3"));
    // Past the end and out of order: which of both it is, is not known.
    expect![[r#"
        error empty-window at `2`: This keyframe comes at 2 s, before the one above it, which comes at 9 s.
          see `9`: it begins here
    "#]]
    .assert_eq(&rows("9\" place=\"1 3 3\"/><mark at=\"2"));
}

#[test]
fn keyframes_in_another_order_than_their_times() {
    let fixture = sloop(
        r#"<line node="0"><mark at="0" place="1 2 3"/><mark at="3" place="1 3 3"/><mark at="2" place="1 4 3"/></line>"#,
    );
    expect![[r#"
        error empty-window at `2`: This keyframe comes at 2 s, before the one above it, which comes at 3 s.
          see `3`: it begins here
    "#]]
    .assert_eq(&said(&fixture));
}

#[test]
fn a_first_keyframe_away_from_rest() {
    let fixture =
        sloop(r#"<line node="0"><mark at="0" place="0 2 3"/><mark at="1" place="1 2 3"/></line>"#);
    expect![[r#"
        information rest-mismatch at `0 2 3`: `0` (`boom`) rests at `1 2 3`, but its first translation starts at `0 2 3`, 1 m away: it jumps there when the animation is first played.
          review fix "Start where it rests: `1 2 3`": <line node="0"><mark at="0" place="1 2 3"/><mark at="1" place="1 2 3"/></line>
    "#]]
    .assert_eq(&said(&fixture));
}

/// Nothing is repaired where a value stands in several places.
#[test]
fn values_axis_by_axis() {
    let right = sloop(
        r#"<nudge node="0" from="0" until="1" x0="1" x1="2"/><nudge node="0" from="1" until="2" x0="2" x1="3"/>"#,
    );
    expect![""].assert_eq(&said(&right));
    let wrong = sloop(
        r#"<nudge node="0" from="0" until="1" x0="0" x1="2"/><nudge node="0" from="1" until="2" x0="4" x1="4"/>"#,
    );
    expect![[r#"
        information rest-mismatch at `0`: `0` (`boom`) rests at `1 2 3`, but its first translation starts at `0 2 3`, 1 m away: it jumps there when the animation is first played.
        warning jump at `4`: At 1 s `0` (`boom`) jumps by 2 m: the motion before ends at `2` along x, this one starts at `4` along x.
          see `2`: the motion before ends here
        information still-channel at `4`: `0` (`boom`) does not move here: its translation stays at `4` along x.
          see `4`: it starts with the same value
    "#]].assert_eq(&said(&wrong));
}

#[test]
fn changes_by_nothing() {
    let fixture = sloop(r#"<nudge node="0" from="0" until="1" way="0 0 0"/>"#);
    expect![[r#"
        information still-channel at `0 0 0`: `0` (`boom`) does not move here: its translation changes by `0 0 0`.
    "#]].assert_eq(&said(&fixture));
    let goes_on = sloop(
        r#"<nudge node="0" from="0" until="1" way="0 1 0"/><nudge node="0" from="1" until="2" way="0 -1 0"/>"#,
    );
    expect![""].assert_eq(&said(&goes_on));
}

#[test]
fn a_channel_of_keyframes_is_told_as_one() {
    let fixture = sloop(
        r#"<line node="0"><mark at="0" place="1 2 3"/><mark at="1" place="1 3 3"/><mark at="3" place="1 3.5 3"/></line><nudge node="0" from="4" until="6" way="0 0 2"/><nudge node="0" from="6" until="7" goal="1 3.5 4"/>"#,
    );
    let view = fixture.view();
    let whole = syntax::TextRange::up_to(syntax::TextSize::of(view.text()));
    let labels: Vec<String> = crate::inlay::hints(&view, whole)
        .into_iter()
        .map(|hint| hint.label)
        .collect();
    expect![[r#"
        boom
        1.5 m over 3 keyframes, up to 1 m/s
        boom
        2 m, 1 m/s
        boom
        1 m, 1 m/s"#]]
    .assert_eq(&labels.join("\n"));
    let line = u32::try_from(view.text().find("line").unwrap()).unwrap();
    let hover = crate::hover::hover(&view, line.into()).expect("it is declared");
    expect![[r#"
        element line

        • May have: node
        • Holds: mark
        • Moves: translation, from 0 to 3 seconds, 3 keyframes
        • Travel: 1.5 m over 3 keyframes, up to 1 m/s
        • Index path: 0
        • Node: boom
        • At rest: translation 1 2 3 metres
        • Size: 1 × 1 × 1 metres
        • Moved by: an animation without a name (translation)"#]]
    .assert_eq(&hover.text.plain());
}

#[test]
fn motions_along_different_axes_do_not_clash() {
    let right = sloop(
        r#"<nudge node="0" from="0" until="2" x0="1" x1="2"/><nudge node="0" from="1" until="3" z0="3" z1="4"/><nudge node="0" from="2" until="3" x0="2" x1="1"/>"#,
    );
    expect![""].assert_eq(&said(&right));
    let wrong = sloop(
        r#"<nudge node="0" from="0" until="2" x0="1" x1="2"/><nudge node="0" from="1" until="3" z0="4" z1="5"/><nudge node="0" from="2" until="3" x0="4" x1="5"/><nudge node="0" from="2" until="4" x0="5" x1="6" z0="5" z1="6"/>"#,
    );
    expect![[r#"
        information rest-mismatch at `4`: `0` (`boom`) rests at `1 2 3`, but its first translation starts at `1 2 4`, 1 m away: it jumps there when the animation is first played.
        warning jump at `4`: At 2 s `0` (`boom`) jumps by 2 m: the motion before ends at `2` along x, this one starts at `4` along x.
          see `2`: the motion before ends here
        warning jump at `2`: Two motions of the translation of `0` (`boom`) run at the same time from 2 s to 3 s: it cannot follow both.
          see `3`: the other motion ends here
        warning jump at `2`: Two motions of the translation of `0` (`boom`) run at the same time from 2 s to 3 s: it cannot follow both.
          see `3`: the other motion ends here
    "#]].assert_eq(&said(&wrong));
}

/// Of several animations only those are told that move the node along the same axis.
#[test]
fn animations_along_different_axes_do_not_contest() {
    let one = |said: &str| format!("<nudge node=\"0\" from=\"0\" until=\"2\" {said}/>");
    let (x, z) = (one("x0='1' x1='2'"), one("z0='3' z1='4'"));
    expect![""].assert_eq(&said(&sloop(&format!("{x}</tide><tide>{z}"))));
    let both = one("x0='1' x1='3' z0='3' z1='5'");
    let three = sloop(&format!("{x}</tide><tide>{z}</tide><tide>{both}"));
    expect![[r#"
        warning contested-part at `0`: The translation of `0` (`boom`) is driven by a nameless one over 1 m and by a nameless one over 2.828 m: when both play, it jumps between the two.
          see `0`: driven here as well
    "#]].assert_eq(&said(&three));
}

#[test]
fn what_follows_from_a_keyframe_that_cannot_be_read_is_not_told() {
    let line = |first: &str| {
        let next = r#"<mark at="1" place="4 2 3"/><mark at="2" place="4 3 3"/>"#;
        let said = said(&sloop(&format!(r#"<line node="0">{first}{next}</line>"#)));
        let codes = said.lines().filter(|line| !line.starts_with(' '));
        codes
            .map(|line| line.split(' ').nth(1).unwrap_or_default().to_owned())
            .collect::<Vec<_>>()
    };
    assert_eq!(line(r#"<mark at="0" place="1 2 3"/>"#), [""; 0]);
    assert_eq!(line(""), ["rest-mismatch"]);
    for (first, code) in [
        (r#"<mrak at="0" place="1 2 3"/>"#, "unknown-element"),
        (r#"<mark att="0" place="1 2 3"/>"#, "unknown-attribute"),
        (r#"<mark at="x" place="1 2 3"/>"#, "wrong-type"),
    ] {
        assert_eq!(line(first), [code], "{first}");
    }
}

#[test]
fn keyframes_of_different_axes_are_told_apart() {
    let fixture = sloop(
        r#"<curve node="0"><mark at="0" x="1"/><mark at="1" y="2"/><mark at="2" x="2"/><mark at="4" x="4" y="3"/></curve>"#,
    );
    expect![""].assert_eq(&said(&fixture));
    let view = fixture.view();
    let curve = u32::try_from(view.text().find("curve").unwrap()).unwrap();
    let hover = crate::hover::hover(&view, curve.into()).expect("it is declared");
    let lines = hover.text.plain();
    let lines = lines
        .lines()
        .filter(|line| line.contains("Moves") || line.contains("Travel"));
    expect![[r#"
        • Moves: translation, from 0 to 4 seconds, 3 keyframes
        • Moves: translation, from 1 to 4 seconds
        • Travel: 3 m over 3 keyframes, up to 1 m/s, 1 m, 0.3333 m/s"#]]
    .assert_eq(&lines.collect::<Vec<_>>().join("\n"));
}
