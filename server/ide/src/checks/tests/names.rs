use expect_test::expect;

use super::*;

#[test]
fn a_name_that_is_close_to_one_can_be_repaired() {
    check(
        r#"<aliases><alias name="mast" path="0/2"/></aliases><bodies><body node="mats" mass="1"/></bodies>"#,
        expect![[r#"
            error unknown-name at `mats`: No alias is called `mats`. Did you mean `mast`?
              see `mast`: `mast` is here
              safe fix "Write `mast`": <aliases><alias name="mast" path="0/2"/></aliases><bodies><body node="mast" mass="1"/></bodies>
        "#]],
    );
}

#[test]
fn a_name_that_is_close_to_two_is_a_choice() {
    check(
        r#"<aliases><alias name="leg.1" path="0/0"/><alias name="leg.2" path="0/1"/></aliases>
           <bodies><body node="leg.3" mass="1"/><body node="leg.1" mass="1"/><body node="leg.2" mass="1"/></bodies>"#,
        expect![[r#"
            error unknown-name at `leg.3`: No alias is called `leg.3`. Did you mean `leg.1`?
              see `leg.1`: `leg.1` is here
              review fix "Write `leg.1`": <bodies><body node="leg.1" mass="1"/><body node="leg.1" mass="1"/><body node="leg.2" mass="1"/></bodies>
        "#]],
    );
}

#[test]
fn a_name_that_is_close_to_none_says_what_could_stand_there() {
    check(
        r#"<bodies><body node="bucket" mass="1"/></bodies>"#,
        expect![[r#"
            error unknown-name at `bucket`: No alias is called `bucket`. Give a node this name, or write an index path such as `0/2/1`.
        "#]],
    );
    check(
        r#"<animations><animation id="raise"><channel target="0/2" property="translation" begin="0" end="1" from="0 1 0" to="0 2 0"/></animation></animations>
           <controls><switch animation="raise" input="button.raise"/><switch animation="wobble" input="button.lower"/></controls>"#,
        expect![[r#"
            error unknown-name at `wobble`: No animation is called `wobble`.
        "#]],
    );
}

#[test]
fn an_index_path_needs_no_name() {
    check(
        r#"<bodies><body node="0/2" mass="1"/></bodies>"#,
        expect![""],
    );
}

#[test]
fn the_same_name_for_things_of_two_kinds_is_fine() {
    check(
        r#"<sounds><sound id="a" file="pump.ogg"/></sounds><wheels><wheel id="a" node="0/0" radius="1" width="1"/></wheels>"#,
        expect![""],
    );
}

#[test]
fn each_further_use_of_a_name_points_at_the_first() {
    check(
        r#"<sounds><sound id="a" file="pump.ogg"/><sound id="a" file="pump.ogg"/><sound id="a" file="pump.ogg"/></sounds>"#,
        expect![[r#"
            error duplicate-name at `a`: There is another sound called `a`: each needs a name of its own.
              see `a`: the first one
            error duplicate-name at `a`: There is another sound called `a`: each needs a name of its own.
              see `a`: the first one
        "#]],
    );
}

#[test]
fn a_position_that_nothing_has() {
    let hand = |follows: &str| {
        Fixture::yard(&format!(
            "<called>x</called><rollers><roller><spot>#1:1</spot><half>1</half><tread>1</tread></roller></rollers>
             <strokes><stroke><call>s</call></stroke></strokes>
             <hands><hand way=\"key\"><stroke>s</stroke><grip>key-a</grip><tempo>1</tempo><follows>{follows}</follows><label>x</label></hand></hands>"
        ))
        .file("rig.limbs.xml")
    };
    let serious = |fixture: Fixture| -> Vec<String> {
        said(&fixture)
            .lines()
            .filter(|line| line.contains("unknown-name"))
            .map(str::to_owned)
            .collect()
    };
    assert_eq!(serious(hand("1")), Vec::<String>::new());
    expect!["error unknown-name at `3`: There is no wheel number 3: this document has only one."]
        .assert_eq(&serious(hand("1, 3")).join("\n"));
    // Below the first: wrong by itself, and said by the check of values.
    assert_eq!(serious(hand("0")), Vec::<String>::new());
}

/// It may be one of those that are counted.
#[test]
fn positions_are_not_looked_for_while_an_element_is_misspelled() {
    for (right, wrong) in [("<rollers>", "<rolers>"), ("<rig>", "<rgi>")] {
        let closed = |tag: &str| tag.replace('<', "</");
        let text = "<rig><rollers><roller><spot>#1:1</spot><half>1</half><tread>1</tread></roller></rollers><hands><hand way=\"key\"><follows>1, 3</follows></hand></hands></rig>"
            .replace(right, wrong)
            .replace(&closed(right), &closed(wrong));
        let yard = include_str!("../../../../../corpus/dialects/yard/yard.dialect.toml");
        let fixture = in_dialect(yard, &text).at("x.rig.xml");
        let said = said(&fixture);
        assert!(said.contains("unknown-element"), "{said}");
        assert!(!said.contains("unknown-name"), "{said}");
    }
}

#[test]
fn an_alias_that_only_a_misspelled_name_means_is_not_unused() {
    let body = |node: &str| {
        format!(
            r#"<aliases><alias name="mast" path="0/2"/></aliases><bodies><body node="{node}" mass="1"/></bodies>"#
        )
    };
    assert!(!said(&rig(&body("mats"))).contains("unused-alias"));
    assert!(said(&rig(&body("0/2"))).contains("unused-alias"));
}

#[test]
fn an_alias_with_a_bad_path_is_not_unused_as_well() {
    check(
        r#"<aliases><alias name="boom" path="0/7"/></aliases>"#,
        expect![[r#"
        error path-not-in-scene at `0/7`: `0/7` leads to no node: `rig` (`0`) has 3 children, the last one is `0/2`.
    "#]],
    );
}

#[test]
fn who_uses_an_alias_with_a_bad_path_has_made_no_mistake() {
    check(
        r#"<aliases><alias name="boom" path="0/7"/></aliases><bodies><body node="boom" mass="1"/></bodies>"#,
        expect![[r#"
            error path-not-in-scene at `0/7`: `0/7` leads to no node: `rig` (`0`) has 3 children, the last one is `0/2`.
        "#]],
    );
}

/// A boat: cabins with seats, whose names the kind's scope is asked for, and ropes.
fn boat(scope: &str) -> String {
    format!(
        r#"
[dialect]
name = "boats"
format = 1
[[document]]
name = "boat"
root = "boat"
[element.boat]
children = ["cabin*"]
[element.cabin]
children = ["seat*", "belt*"]
[element.seat]
attributes.is = {{ type = "name", of = "seat"{scope} }}
[element.belt]
attributes.at = {{ type = "reference", of = "seat" }}
"#
    )
}

#[test]
fn names_are_unique_within_their_scope() {
    let text = "<boat><cabin><seat is='bow'/><belt at='helm'/></cabin><cabin><seat is='bow'/></cabin></boat>";
    let of = |scope: &str| said(&in_dialect(&boat(scope), text));
    let duplicate = "error duplicate-name at `bow`: There is another seat called `bow`: each needs a name of its own.\n  see `bow`: the first one\n";
    let unknown = "error unknown-name at `helm`: No seat is called `helm`.\n";
    // One of the two was to be called `helm`, as far as anybody knows.
    assert_eq!(of(""), duplicate);
    assert_eq!(of(", scope = \"document\""), of(""));
    assert_eq!(of(", scope = \"parent\""), unknown);
    assert_eq!(of(", scope = \"folder\""), duplicate);
}

#[test]
fn names_may_have_something_around_them() {
    let dialect = r##"
[dialect]
name = "shows"
format = 1
[[document]]
name = "show"
root = "show"
[element.show]
children = ["clip*"]
[element.clip.attributes]
id = { type = "name", of = "clip" }
fill = { type = "reference", of = "clip", before = "url(#", after = ")" }
begin = { type = "reference", of = "clip", ends-before = ".", list = { separator = ";" } }
"##;
    let text = "<show><clip id='rise' fill='none' begin='fall.end; rise.begin+2s'/><clip id='fall' fill='url(#rise)'/></show>";
    assert_eq!(said(&in_dialect(dialect, text)), "");
    let text = "<show><clip id='rise' fill='url(#ries)' begin='gone.end; rise.begin+2s'/></show>";
    assert_eq!(
        said(&in_dialect(dialect, text)),
        "error unknown-name at `ries`: No clip is called `ries`. Did you mean `rise`?\n  \
         see `rise`: `rise` is here\n  \
         safe fix \"Write `rise`\": <show><clip id='rise' fill='url(#rise)' begin='gone.end; rise.begin+2s'/></show>\n\
         error unknown-name at `gone`: No clip is called `gone`.\n"
    );
}

/// All that asks whether something is used looks at one document.
#[test]
fn what_other_documents_may_use_is_not_called_unused() {
    let toml = |scope: &str| {
        format!(
            r#"
[dialect]
name = "yarn"
format = 1
[[document]]
name = "yarn"
root = "yarn"
[element.yarn]
children = ["knot*", "twist*"]
[element.knot.attributes]
n = {{ type = "name", of = "knot", scope = "{scope}" }}
at = "index-path"
[element.twist.attributes]
of = {{ type = "reference", of = "knot" }}
[[role.alias]]
at = "yarn/knot"
name = "@n"
path = "@at"
"#
        )
    };
    let yarn = |scope: &str, used: &str| {
        let text = format!(r#"<yarn><knot n="mast" at="0"/><twist of="{used}"/></yarn>"#);
        in_dialect(&toml(scope), &text)
    };
    assert!(said(&yarn("document", "boom")).contains("unused-alias"));
    assert_eq!(said(&yarn("folder", "boom")), "");
    let lenses = |scope: &str| crate::lens::lenses(&yarn(scope, "boom").view()).len();
    assert_eq!((lenses("document"), lenses("folder")), (1, 0));
    let renames = |scope: &str, used: &str| {
        let view = yarn(scope, used).view();
        let at = syntax::TextSize::try_from(view.text().find("of=").unwrap() + 4).unwrap();
        crate::rename::rename(&view, &[], at, "pole").is_ok()
    };
    assert!(renames("document", "mast") && renames("folder", "mast"));
    assert!(renames("document", "boom"));
    assert!(!renames("folder", "boom"), "it is given elsewhere");
}
