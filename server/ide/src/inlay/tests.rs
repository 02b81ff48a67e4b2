use syntax::{TextRange, TextSize};

use super::hints;
use crate::fixture::Fixture;

const SPREAD: &str = r#"<aliases><alias name="left" path="0/0"/></aliases>
<wheels><wheel id="l" node="0/0/0" radius="0.508" width="0.3"/><wheel id="r" node="0/1/0" radius="0.5" width="0.3"/></wheels>
<animations><animation id="spread">
<channel target="left" property="translation" begin="0" end="2" from="1 0 0" to="1.508 0 0"/>
<channel target="0/1" property="translation" begin="0" end="2" from="-1 0 0" to="-1.508 0 0" easing="step"/>
<channel target="0/2" property="rotation" begin="1" end="2" from="0 0 0" to="0 90 0"/>
</animation></animations>
<controls><lever animation="spread" input="pointer.x" gain="0.5"/><switch animation="none" input="button.open"/></controls>"#;

/// The document with its hints in brackets.
fn shown(fixture: Fixture, lines: std::ops::Range<usize>, second: Option<&'static str>) -> String {
    let mut view = fixture.view();
    view.settings.config.second_length = second;
    view.settings.config.has_hints = second.is_none();
    let text = view.text().to_owned();
    let starts: Vec<usize> = std::iter::once(0)
        .chain(text.match_indices('\n').map(|(at, _)| at + 1))
        .collect();
    let at = |line: usize| TextSize::new(starts[line] as u32);
    let within = TextRange::new(at(lines.start), at(lines.end));
    let mut shown = text.clone();
    for hint in hints(&view, within).iter().rev() {
        shown.insert_str(hint.at.into(), &format!("[{}]", hint.label));
    }
    let lines = shown.lines().skip(lines.start).take(lines.len());
    lines.collect::<Vec<_>>().join("\n")
}

#[test]
fn travels_times_tracks_and_names() {
    expect_test::expect![[r#"
        <aliases><alias name="left" path="0/0[arm.left]"/></aliases>
        <wheels><wheel id="l" node="0/0/0[wheel.left]" radius="0.508" width="0.3"/><wheel id="r" node="0/1/0[wheel.right]" radius="0.5" width="0.3"/></wheels>
        <animations><animation id="spread">
        <channel target="left" property="translation" begin="0" end="2" from="1 0 0" to="1.508 0 0"/>[0.508 m, 0.254 m/s]
        <channel target="0/1[arm.right]" property="translation" begin="0" end="2" from="-1 0 0" to="-1.508 0 0" easing="step"/>[0.508 m]
        <channel target="0/2[mast]" property="rotation" begin="1" end="2" from="0 0 0" to="0 90 0"/>[90 deg, 90 deg/s]
        </animation></animations>
        <controls><lever animation="spread" input="pointer.x" gain="0.5"/>[4 s, track 2 m to 3.016 m]<switch animation="none" input="button.open"/></controls>"#]]
    .assert_eq(&shown(Fixture::rig(SPREAD), 1..9, None));
}

#[test]
fn only_what_is_asked_for() {
    let shown = shown(Fixture::rig(SPREAD), 4..5, None);
    assert_eq!(shown.matches('[').count(), 1, "{shown}");
}

#[test]
fn lengths_in_a_second_unit_if_asked_for() {
    expect_test::expect![[r#"
        <wheels><wheel id="l" node="0/0/0" radius="0.508[20 in]" width="0.3[11.81 in]"/><wheel id="r" node="0/1/0" radius="0.5[19.69 in]" width="0.3[11.81 in]"/></wheels>
        <animations><animation id="spread">
        <channel target="left" property="translation" begin="0" end="2" from="1 0 0[39.37 0 0 in]" to="1.508 0 0[59.37 0 0 in]"/>"#]]
    .assert_eq(&shown(Fixture::rig(SPREAD), 2..5, Some("in")));
    let own = shown(Fixture::rig(SPREAD), 2..5, Some("m"));
    assert!(!own.contains('['), "metres are there already: {own}");
}

/// Values stand in elements, lengths are centimetres with a comma, index paths count from one.
#[test]
fn another_dialect() {
    let body = r#"<rollers><roller><spot>#1:1.1</spot><half>50</half></roller></rollers>"#;
    expect_test::expect![[r#"
        <rollers><roller><spot>#1:1.1[wheel.left]</spot><half>50</half></roller></rollers>"#]]
    .assert_eq(&shown(Fixture::yard(body), 2..3, None));
    expect_test::expect![[r#"
        <rollers><roller><spot>#1:1.1</spot><half>50[19,69 in]</half></roller></rollers>"#]]
    .assert_eq(&shown(Fixture::yard(body), 2..3, Some("in")));
    // Lengths that are added to where a limb rests are lengths, too.
    let body = r#"<strokes><stroke><call>a</call><move><spot>#1:3</spot><shift>0;0;0 | 0;50;0</shift></move></stroke></strokes>"#;
    let added = shown(Fixture::yard_of_changes(body), 2..3, Some("in"));
    assert!(added.contains("0;50;0[0 19,69 0 in]"), "{added}");
}

#[test]
fn without_a_scene_there_is_nothing_to_calculate() {
    let fixture = Fixture::house(&format!(
        "<machine xmlns=\"urn:trunnion:machine:1\" id=\"x\" scene=\"x.gltf\">\n{SPREAD}\n</machine>"
    ));
    let shown = shown(fixture, 1..9, None);
    assert!(!shown.contains('['), "{shown}");
}

#[test]
fn broken_documents_have_hints_for_what_can_be_read() {
    let broken = SPREAD.replace("to=\"1.508 0 0\"", "to=\"1.508 0");
    let shown = shown(Fixture::rig(&broken), 1..9, None);
    assert!(shown.contains("[arm.left]"), "{shown}");
}
