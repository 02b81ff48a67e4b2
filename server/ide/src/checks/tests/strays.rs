//! The scene was exported anew: each test has the scene as it was and as it is.

use expect_test::expect;
use project::View;

use super::*;
use crate::checks::Checker;
use crate::fixture::RIG;

/// One alias, and paths without one: to an arm's wheel, to the mast and to the hook.
const BODY: &str = r#"<aliases><alias name="arm.left" path="0/0"/></aliases>
<wheels><wheel id="a" node="0/0/0" radius="1" width="1"/></wheels>
<bodies><body node="arm.left" mass="1"/><body node="0/2" mass="1"/><body node="0/2/0" mass="1"/></bodies>"#;

fn exported(now: &str) -> Fixture {
    rig(BODY).scene(now).written_for(RIG)
}

fn stale(view: &View) -> Vec<String> {
    let said = said_of(view);
    let is_about_paths =
        |line: &&str| line.contains("-path ") || line.contains("path-not-in-scene");
    said.lines()
        .filter(is_about_paths)
        .map(str::to_owned)
        .collect()
}

#[test]
fn aliases_and_raw_paths_say_where_their_nodes_are_now() {
    let now = RIG
        .replace("rig\n", "rig\n  beacon 0 3 0\n")
        .replace("  mast 0", "  mast.lower 0");
    expect![[r#"
        warning stale-path at `0/0`: `0/0` leads to the node `beacon`. Before the scene changed, it led to `arm.left`, which is at `0/1` now.
          review fix "Follow the node: write `0/1`": <aliases><alias name="arm.left" path="0/1"/></aliases>
        error path-not-in-scene at `0/0/0`: `0/0/0` leads to no node: `beacon` (`0/0`) has no children. Before the scene changed, it led to `wheel.left`, which is at `0/1/0` now.
          review fix "Follow the node: write `0/1/0`": <wheels><wheel id="a" node="0/1/0" radius="1" width="1"/></wheels>
        warning stale-path at `0/2`: `0/2` leads to the node `arm.right`. Before the scene changed, it led to `mast`, which most likely is `mast.lower` at `0/3` now.
          review fix "Follow the node: write `0/3`": <bodies><body node="arm.left" mass="1"/><body node="0/3" mass="1"/><body node="0/2/0" mass="1"/></bodies>
        warning stale-path at `0/2/0`: `0/2/0` leads to the node `wheel.right`. Before the scene changed, it led to `hook`, which is at `0/3/0` now.
          review fix "Follow the node: write `0/3/0`": <bodies><body node="arm.left" mass="1"/><body node="0/2" mass="1"/><body node="0/3/0" mass="1"/></bodies>
    "#]].assert_eq(&said(&exported(&now)));
}

#[test]
fn nodes_that_are_called_alike_are_told_apart() {
    let was = "rig\n  left 1 0 0\n    roll 0 0.5 0\n  right -1 0 0\n    roll 0 0.5 0\n";
    let now = was.replace("rig\n", "rig\n  beacon 0 3 0\n");
    let body = r#"<bodies><body node="0/1" mass="1"/><body node="0/1/0" mass="1"/></bodies>"#;
    expect![[r#"
        warning stale-path at `0/1`: `0/1` leads to the node `left`. Before the scene changed, it led to `right`, which is at `0/2` now.
          review fix "Follow the node: write `0/2`": <bodies><body node="0/2" mass="1"/><body node="0/1/0" mass="1"/></bodies>
        warning stale-path at `0/1/0`: `0/1/0` leads to another node called `roll`. Before the scene changed, it led to `roll`, which is at `0/2/0` now.
          review fix "Follow the node: write `0/2/0`": <bodies><body node="0/1" mass="1"/><body node="0/2/0" mass="1"/></bodies>
    "#]].assert_eq(&said(&rig(body).scene(&now).written_for(was)));
}

#[test]
fn what_may_be_one_node_or_another_and_what_has_gone_is_told_and_not_guessed() {
    let was = "rig\n  rod 1 0 0\n  mast 0 1 0\n  lamp 0 2 0\n";
    let now = "rig\n  beacon 0 3 0\n  rod 1 0 0\n    rod 1 0 0\n  rod 1 0 0\n  mast 0 1 0\n";
    let body = r#"<bodies><body node="0/0" mass="1"/><body node="0/2" mass="1"/></bodies>"#;
    expect![[r#"
        warning stale-path at `0/0`: `0/0` leads to the node `beacon`. Before the scene changed, it led to `rod`, and it is not sure which node that is now: `rod` at `0/1` or `rod` at `0/1/0` or `rod` at `0/2`?
        warning stale-path at `0/2`: `0/2` leads to the node `rod`. Before the scene changed, it led to `lamp`, and nothing in the scene is like that now.
    "#]].assert_eq(&said(&rig(body).scene(now).written_for(was)));
}

#[test]
fn a_path_that_leads_nowhere_now_says_where_its_node_is() {
    let now =
        "rig\n  mast 0 1 0\n    hook 0 0.25 -0.1\n  arm.left 1 0 0 box\n    wheel.left 0 0.5 0\n";
    expect![[r#"
        warning stale-path at `0/0`: `0/0` leads to the node `mast`. Before the scene changed, it led to `arm.left`, which is at `0/1` now.
          review fix "Follow the node: write `0/1`": <aliases><alias name="arm.left" path="0/1"/></aliases>
        warning stale-path at `0/0/0`: `0/0/0` leads to the node `hook`. Before the scene changed, it led to `wheel.left`, which is at `0/1/0` now.
          review fix "Follow the node: write `0/1/0`": <wheels><wheel id="a" node="0/1/0" radius="1" width="1"/></wheels>
        error path-not-in-scene at `0/2`: `0/2` leads to no node: `rig` (`0`) has 2 children, the last one is `0/1`. Before the scene changed, it led to `mast`, which is at `0/0` now.
          review fix "Follow the node: write `0/0`": <bodies><body node="arm.left" mass="1"/><body node="0/0" mass="1"/><body node="0/2/0" mass="1"/></bodies>
        error path-not-in-scene at `0/2/0`: `0/2/0` leads to no node: `rig` (`0`) has 2 children, the last one is `0/1`. Before the scene changed, it led to `hook`, which is at `0/0/0` now.
          review fix "Follow the node: write `0/0/0`": <bodies><body node="arm.left" mass="1"/><body node="0/2" mass="1"/><body node="0/0/0" mass="1"/></bodies>
    "#]].assert_eq(&said(&exported(now)));
}

#[test]
fn in_another_notation() {
    let now = RIG.replace("rig\n", "rig\n  beacon 0 3 0\n");
    let body = "<handles><handle><call>mast</call><spot>#1:3</spot></handle></handles>\
                <weights><weight><spot>#1:1</spot><tons>1</tons></weight></weights>";
    let fixture = Fixture::yard(body).scene(&now).written_for(RIG);
    expect![[r#"
        warning stale-path at `#1:3`: `#1:3` leads to the node `arm.right`. Before the scene changed, it led to `mast`, which is at `#1:4` now.
        warning stale-path at `#1:1`: `#1:1` leads to the node `beacon`. Before the scene changed, it led to `arm.left`, which is at `#1:2` now."#]].assert_eq(&stale(&fixture.view()).join("\n"));
}

#[test]
fn an_earlier_scene_from_which_nothing_has_moved_says_nothing() {
    assert_eq!(stale(&exported(RIG).view()), [""; 0]);
    let taller = RIG
        .replace("mast 0 1 0", "mast 0 2 0")
        .replace("hook 0", "  claw 0");
    assert_eq!(stale(&exported(&taller).view()), [""; 0]);
}

#[test]
fn a_scene_that_was_only_sorted_among_namesakes_says_nothing() {
    let was = "rig\n  arm 1 0 0\n    wheel\n  arm -1 0 0\n    wheel\n";
    let now = "rig\n  arm -1 0 0\n    wheel\n  arm 1 0 0\n    wheel\n";
    let body = r#"<bodies><body node="0/0" mass="1"/><body node="0/1/0" mass="1"/></bodies>"#;
    let fixture = rig(body).scene(now).written_for(was);
    assert_eq!(stale(&fixture.view()), [""; 0]);
}

#[test]
fn a_definition_that_did_not_fit_the_earlier_scene_was_not_written_for_it() {
    let now = RIG.replace("rig\n", "rig\n  beacon 0 3 0\n");
    let body = r#"<bodies><body node="0/1" mass="1"/><body node="0/3" mass="1"/></bodies>"#;
    let fixture = rig(body).scene(&now).written_for(RIG);
    assert_eq!(stale(&fixture.view()), [""; 0]);
}

#[test]
fn what_was_repaired_since_is_right_and_the_rest_is_not() {
    let now = RIG.replace("rig\n", "rig\n  beacon 0 3 0\n");
    let view = exported(&now).view();
    assert_eq!(stale(&view).len(), 4);
    // The path of the repaired one is what another one was.
    let repaired = view
        .text()
        .replace("\"0/2\"", "\"0/3\"")
        .replace("0/0/0", "0/1/0");
    assert_eq!(stale(&view.with_text(repaired.clone())).len(), 2);
    let more = repaired.replace("<bodies>", "<bodies><body node=\"0/1\" mass=\"1\"/>");
    assert_eq!(stale(&view.with_text(more)).len(), 2);
    let all = repaired
        .replace("\"0/0\"", "\"0/1\"")
        .replace("\"0/2/0\"", "\"0/3/0\"");
    assert_eq!(stale(&view.with_text(all)), [""; 0]);
}

#[test]
fn a_checker_that_goes_along_says_the_same_as_a_fresh_one() {
    let now = RIG.replace("rig\n", "rig\n  beacon 0 3 0\n");
    let view = exported(&now).view();
    let mut checker = Checker::default();
    let without = rig(BODY).scene(RIG).view();
    let mut text = view.text().to_owned();
    assert_ne!(checker.run(&view), checker.run(&without));
    for (old, new) in [
        ("\"0/2\"", "\"0/3\""),
        ("\"0/2/0\"", "\"0/9\""),
        ("\"0/0\"", "\"0/1\""),
        ("0/9", "0/2/0"),
    ] {
        text = text.replace(old, new);
        let next = view.with_text(text.clone());
        assert_eq!(checker.run(&next), crate::checks::run(&next));
    }
}
