//! Comments that accept what is found.

use expect_test::expect;

use super::{check, rig};
use crate::checks;

const STILL: &str = "<channel target=\"0/2\" property=\"translation\" begin=\"0\" end=\"1\" from=\"0 1 0\" to=\"0 1 0\"/>";
const MOVES: &str = "<channel target=\"0/2\" property=\"translation\" begin=\"1\" end=\"2\" from=\"0 1 0\" to=\"0 2 0\"/>";
const ACCEPT: &str = "<!-- trunnion: accept still-channel because it holds the mast -->";

/// An animation with this content, and a control that plays it.
fn animation(content: &str) -> String {
    format!(
        "<animations><animation id=\"a\">{content}</animation></animations>\n\
         <controls><switch animation=\"a\" input=\"button.raise\"/></controls>"
    )
}

#[test]
fn a_comment_accepts_what_is_found_in_the_element_after_it() {
    for before in [
        ACCEPT.to_owned(),
        format!("{ACCEPT} <!-- for the hook -->\n<?other x?>"),
    ] {
        check(&animation(&format!("{before}{STILL}")), expect![""]);
    }
    let around = animation(STILL).replace("<animations>", &format!("{ACCEPT}<animations>"));
    check(&around, expect![""]);
    let judged = checks::judge(&rig(&around).view());
    assert_eq!(judged.accepted.len(), 1);
    assert_eq!(judged.accepted[0].reason, "it holds the mast");
    assert_eq!(judged.accepted[0].finding.code, "still-channel");
}

#[test]
fn before_the_root_it_stands_for_the_document() {
    let text = format!(
        "<?xml version=\"1.0\"?>\n{ACCEPT}\n<machine xmlns=\"urn:trunnion:machine:1\" id=\"rig\" scene=\"rig.gltf\">\n{}</machine>\n",
        animation(STILL)
    );
    let fixture = crate::fixture::Fixture::house(&text)
        .scene(crate::fixture::RIG)
        .file("rig.gltf");
    assert_eq!(super::said(&fixture), "");
}

#[test]
fn it_accepts_nothing_else() {
    check(
        &animation(&format!("{ACCEPT}{MOVES}{STILL}")),
        expect![[r#"
            hint unused-suppression at `still-channel`: There is nothing to accept here any more: `still-channel` is not found where this comment stands for.
              review fix "Remove the comment": <animations><animation id="a"><channel target="0/2" property="translation" begin="1" end="2" from="0 1 0" to="0 2 0"/><channel target="0/2" property="translation" begin="0" end="1" from="0 1 0" to="0 1 0"/></animation></animations>
            information still-channel at `0 1 0`: `0/2` (`mast`) does not move here: its translation stays at `0 1 0`.
              see `0 1 0`: it starts with the same value
        "#]],
    );
}

#[test]
fn only_the_code_that_is_not_needed_goes() {
    let both = ACCEPT.replace("still-channel", "jump, still-channel");
    check(
        &animation(&format!("{both}{STILL}")),
        expect![[r#"
        hint unused-suppression at `jump`: There is nothing to accept here any more: `jump` is not found where this comment stands for.
          review fix "Accept `jump` no more": <animations><animation id="a"><!-- trunnion: accept still-channel because it holds the mast --><channel target="0/2" property="translation" begin="0" end="1" from="0 1 0" to="0 1 0"/></animation></animations>
    "#]],
    );
}

#[test]
fn what_cannot_be_understood_does_not_count() {
    let cases = [
        "<!-- trunnion: accept still-channel -->",
        "<!-- trunnion: accept stil-channel because it holds -->",
        "<!-- trunnion: accept unclosed-element because I like it -->",
        "<!-- trunnion: ignore it -->",
    ];
    for (case, expected) in cases.into_iter().zip([
        expect![[r#"
            warning bad-suppression at `<!-- trunnion: accept still-channel -->`: It does not say why. Write it as in `trunnion: accept jump because the mast drops on purpose`.
            information still-channel at `0 1 0`: `0/2` (`mast`) does not move here: its translation stays at `0 1 0`.
              see `0 1 0`: it starts with the same value
        "#]],
        expect![[r#"
            warning bad-suppression at `stil-channel`: There is no code `stil-channel`. Did you mean `still-channel`?
              review fix "Write `still-channel`": <animations><animation id="a"><!-- trunnion: accept still-channel because it holds --><channel target="0/2" property="translation" begin="0" end="1" from="0 1 0" to="0 1 0"/></animation></animations>
            information still-channel at `0 1 0`: `0/2` (`mast`) does not move here: its translation stays at `0 1 0`.
              see `0 1 0`: it starts with the same value
        "#]],
        expect![[r#"
            warning bad-suppression at `unclosed-element`: `unclosed-element` cannot be accepted: what others cannot read has to be mended.
            information still-channel at `0 1 0`: `0/2` (`mast`) does not move here: its translation stays at `0 1 0`.
              see `0 1 0`: it starts with the same value
        "#]],
        expect![[r#"
            warning bad-suppression at `<!-- trunnion: ignore it -->`: Trunnion understands comments such as `trunnion: accept jump because the mast drops on purpose` only.
            information still-channel at `0 1 0`: `0/2` (`mast`) does not move here: its translation stays at `0 1 0`.
              see `0 1 0`: it starts with the same value
        "#]],
    ]) {
        check(&animation(&format!("{case}{STILL}")), expected);
    }
    check(
        &animation(&format!("{STILL}{ACCEPT}")),
        expect![[r#"
        information still-channel at `0 1 0`: `0/2` (`mast`) does not move here: its translation stays at `0 1 0`.
          see `0 1 0`: it starts with the same value
        warning bad-suppression at `<!-- trunnion: accept still-channel because it holds the mast -->`: No element comes after this comment, so there is nothing that it could stand for.
    "#]],
    );
}

#[test]
fn what_only_looks_like_one_is_none() {
    for text in [
        "<!-- see trunnion: accept jump because it does -->",
        "<!-- <!- trunnion: accept jump because it does -->",
    ] {
        check(&animation(&format!("{text}{MOVES}")), expect![""]);
    }
    let judged = checks::judge(&rig(&animation(&format!("<![CDATA[{ACCEPT}]]>{STILL}"))).view());
    assert!(judged.accepted.is_empty());
}

#[test]
fn where_not_all_can_be_seen_nobody_says_that_one_is_unused() {
    let body = animation(&format!("{ACCEPT}{MOVES}"));
    let text = format!(
        "<machine xmlns=\"urn:trunnion:machine:1\" id=\"rig\" scene=\"gone.gltf\">\n{body}</machine>\n"
    );
    let view = crate::fixture::Fixture::house(&text).view();
    let is_about_comments = |finding: &crate::Finding| finding.code == "unused-suppression";
    assert!(!checks::run(&view).iter().any(is_about_comments));
    let view = rig(&format!("{body}<lamps>")).view();
    assert!(!checks::run(&view).iter().any(is_about_comments));
    assert!(
        checks::run(&rig(&body).view())
            .iter()
            .any(is_about_comments)
    );
}

#[test]
fn of_comments_in_each_other_all_that_are_around_count() {
    let inner = format!("{ACCEPT}{STILL}");
    let body = format!("{ACCEPT}{}", animation(&format!("{inner}{MOVES}{inner}")));
    let judged = checks::judge(&rig(&body).view());
    assert_eq!(judged.accepted.len(), 2);
    let codes: Vec<&str> = judged.findings.iter().map(|finding| finding.code).collect();
    assert!(!codes.contains(&"unused-suppression"), "{codes:?}");
    // One that is beside it does not.
    let beside = animation(&format!("{ACCEPT}{MOVES}{STILL}{inner}"));
    let judged = checks::judge(&rig(&beside).view());
    assert_eq!(judged.accepted.len(), 1);
}

#[test]
fn very_many_comments_are_not_all_read() {
    let many = format!("{ACCEPT}<lamp/>").repeat(1_001);
    let findings = checks::run(&rig(&format!("<lamps>{many}</lamps>")).view());
    let about = findings
        .iter()
        .filter(|finding| finding.code == "bad-suppression");
    assert_eq!(about.count(), 1);
}
