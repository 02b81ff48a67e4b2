use expect_test::expect;

use super::*;

#[test]
fn a_path_that_leads_nowhere_says_how_far_it_leads() {
    let body = |path: &str| format!(r#"<bodies><body node="{path}" mass="1"/></bodies>"#);
    check(
        &body("0/2/1"),
        expect![[r#"
        error path-not-in-scene at `0/2/1`: `0/2/1` leads to no node: `mast` (`0/2`) has only one child, `0/2/0`.
    "#]],
    );
    check(
        &body("0/2/0/0"),
        expect![[r#"
        error path-not-in-scene at `0/2/0/0`: `0/2/0/0` leads to no node: `hook` (`0/2/0`) has no children.
    "#]],
    );
    check(
        &body("1"),
        expect![[r#"
        error path-not-in-scene at `1`: `1` leads to no node: the scene has only one root, `0`.
    "#]],
    );
    check(
        &body("0/9"),
        expect![[r#"
        error path-not-in-scene at `0/9`: `0/9` leads to no node: `rig` (`0`) has 3 children, the last one is `0/2`.
    "#]],
    );
}

#[test]
fn an_alias_whose_node_is_elsewhere_can_follow_it() {
    check(
        r#"<aliases><alias name="mast" path="0/7"/></aliases><bodies><body node="mast" mass="1"/></bodies>"#,
        expect![[r#"
            error path-not-in-scene at `0/7`: `0/7` leads to no node: `rig` (`0`) has 3 children, the last one is `0/2`. The node `mast` is at `0/2`.
              review fix "Follow the node: write `0/2`": <aliases><alias name="mast" path="0/2"/></aliases><bodies><body node="mast" mass="1"/></bodies>
        "#]],
    );
}

#[test]
fn aliases_that_changed_places() {
    check_serious(
        r#"<aliases><alias name="arm.left" path="0/1"/><alias name="arm.right" path="0/0"/></aliases>"#,
        expect![[r#"
            warning stale-path at `0/1`: `0/1` leads to the node `arm.right`, not to `arm.left`. The node `arm.left` is at `0/0`.
            warning stale-path at `0/0`: `0/0` leads to the node `arm.left`, not to `arm.right`. The node `arm.right` is at `0/1`."#]],
    );
}

#[test]
fn an_alias_away_from_the_only_node_of_its_name() {
    check(
        r#"<aliases><alias name="Mast" path="0/0"/></aliases><bodies><body node="Mast" mass="1"/></bodies>"#,
        expect![[r#"
            warning stale-path at `0/0`: `0/0` leads to the node `arm.left`, not to `Mast`. The node `mast` is at `0/2`.
              review fix "Follow the node: write `0/2`": <aliases><alias name="Mast" path="0/2"/></aliases><bodies><body node="Mast" mass="1"/></bodies>
        "#]],
    );
}

#[test]
fn an_alias_that_takes_the_place_of_another_points_at_it() {
    let scene = "rig\n  arm\n  mast\n  mast\n";
    let body =
        r#"<aliases><alias name="boom" path="0/0"/><alias name="arm" path="0/1"/></aliases>"#;
    expect![[r#"
        hint unused-alias at `boom`: Nothing uses the alias `boom`.
        warning stale-path at `0/0`: `0/0` leads to the node `arm`, not to `boom`.
          see `arm`: this is the name of that node
        hint unused-alias at `arm`: Nothing uses the alias `arm`.
        warning stale-path at `0/1`: `0/1` leads to the node `mast`, not to `arm`. The node `arm` is at `0/0`.
          review fix "Follow the node: write `0/0`": <aliases><alias name="boom" path="0/0"/><alias name="arm" path="0/0"/></aliases>
    "#]].assert_eq(&said(&rig(body).scene(scene)));
}

#[test]
fn an_alias_of_what_a_node_hangs_on_may_have_the_nodes_name() {
    check_serious(
        r#"<aliases><alias name="hook" path="0/2"/><alias name="arm.left" path="0/0/0"/></aliases>"#,
        expect![""],
    );
}

#[test]
fn names_that_differ_in_spelling_only_are_the_same() {
    check_serious(
        r#"<aliases><alias name="Arm_Left" path="0/0"/></aliases>"#,
        expect![""],
    );
}

#[test]
fn a_name_of_ones_own_choice_is_no_sign_of_a_stale_path() {
    check_serious(
        r#"<aliases><alias name="boom" path="0/2"/><alias name="mast" path="0/2"/></aliases>"#,
        expect![""],
    );
}

#[test]
fn without_a_scene_no_path_is_judged() {
    let text = r#"<machine xmlns="urn:trunnion:machine:1" id="rig" scene="gone.gltf"><bodies><body node="7/7" mass="1"/></bodies></machine>"#;
    expect![[r#"
        error file-missing at `gone.gltf`: There is no file `gone.gltf`.
    "#]]
    .assert_eq(&said(&Fixture::house(text)));
}
