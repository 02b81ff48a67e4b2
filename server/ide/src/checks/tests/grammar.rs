use expect_test::expect;

use super::*;

#[test]
fn a_misspelled_element_is_one_mistake_whatever_it_holds() {
    check(
        r#"<sounds><sonud id="pump" fil="pump.ogg"/></sounds>
           <animations><animation id="raise"><channel target="0/2" property="translation" begin="0" end="1" from="0 1 0" to="0 2 0"/></animation></animations>
           <controls><switch animation="raise" input="button.raise"><cue sound="pump"/></switch></controls>"#,
        expect![[r#"
            error unknown-element at `sonud`: `<sonud>` may not stand in `<sounds>`. Did you mean `<sound>`?
              safe fix "Rename to `<sound>`": <sounds><sound id="pump" fil="pump.ogg"/></sounds>
        "#]],
    );
}

#[test]
fn an_element_that_belongs_elsewhere_says_where() {
    check(
        r#"<wheels><alias name="mast" path="0/2"/></wheels>"#,
        expect![[r#"
            error unknown-element at `alias`: `<alias>` may not stand in `<wheels>`. It belongs in `<aliases>`.
        "#]],
    );
}

/// It would hold what the other one is.
#[test]
fn an_element_is_not_renamed_to_the_one_that_it_belongs_in() {
    check(
        r#"<wheel id="front" node="0/0/0" radius="1" width="1"/>"#,
        expect![[r#"
            error unknown-element at `wheel`: `<wheel>` may not stand in `<machine>`. It belongs in `<wheels>`.
        "#]],
    );
}

#[test]
fn a_list_that_is_a_text_is_called_so() {
    let body = "<called>x</called><strokes><stroke><call>s</call><move><spot>#1</spot><span>0</span></move></stroke></strokes>";
    let said = said(&Fixture::yard(body).file("rig.limbs.xml"));
    expect!["error wrong-type at `0`: The text holds 1, but needs 2 members separated by `..`."]
        .assert_eq(said.lines().find(|line| line.contains("holds")).unwrap());
}

#[test]
fn an_element_is_not_sent_to_where_it_stands() {
    let text = r#"<sounds xmlns="urn:trunnion:machine:1" id="rig" scene="rig.gltf"><sound id="pump" file="pump.ogg"/></sounds>"#;
    let fixture = Fixture::house(text)
        .scene(crate::fixture::RIG)
        .file("rig.gltf")
        .file("pump.ogg");
    expect![[r#"
        error unknown-element at `sounds`: A document of this kind starts with `<machine>`, not with `<sounds>`.
        error unknown-element at `sound`: `<sound>` may not stand in `<sounds>`. It can hold `<aliases>`, `<bodies>`, `<wheels>`, `<couplings>`, `<lamps>`, `<sounds>`, `<animations>` or `<controls>`.
    "#]]
    .assert_eq(&said(&fixture));
}

#[test]
fn an_element_of_its_own_is_renamed_only_if_somebody_says_so() {
    check(
        r#"<wheels><wheels id="front" node="0/0/0" radius="1" width="1"/></wheels>"#,
        expect![[r#"
            error unknown-element at `wheels`: `<wheels>` may not stand in `<wheels>`. Did you mean `<wheel>`?
              review fix "Rename to `<wheel>`": <wheels><wheel id="front" node="0/0/0" radius="1" width="1"/></wheels>
        "#]],
    );
}

#[test]
fn an_element_that_is_like_no_other_says_what_may_stand_here() {
    check(
        r#"<couplings><drawbar/></couplings>"#,
        expect![[r#"
        error unknown-element at `drawbar`: `<drawbar>` may not stand in `<couplings>`. It can hold `<coupling>`.
    "#]],
    );
}

#[test]
fn elements_and_attributes_of_other_namespaces_are_left_alone() {
    check(
        r#"<n:notes xmlns:n="urn:notes"><n:note/></n:notes>
           <aliases n:seen="yes" xmlns:n="urn:notes" xml:lang="en"/>
           <notes xmlns="urn:notes"><note/></notes>"#,
        expect![""],
    );
}

#[test]
fn all_missing_attributes_are_one_finding() {
    check(
        r#"<couplings><coupling reach="1"/></couplings>"#,
        expect![[r#"
        error missing-attribute at `coupling`: `<coupling>` needs the attributes `id`, `node` and `kind`.
    "#]],
    );
}

#[test]
fn an_attribute_of_another_name_is_not_missing_as_well() {
    check(
        r#"<aliases><alias title="mast" path="0/2"/></aliases>"#,
        expect![[r#"
            error unknown-attribute at `title`: `<alias>` has no attribute `title`. Did you mean `name`, which is missing?
              review fix "Rename to `name`": <aliases><alias name="mast" path="0/2"/></aliases>
        "#]],
    );
}

#[test]
fn an_unknown_attribute_stands_for_none_if_its_value_is_wrong_for_it_or_more_than_one_is_missing() {
    check(
        r#"<aliases><alias name="mast" title="not a path"/></aliases>
           <couplings><coupling title="a" id="b"/></couplings>"#,
        expect![[r#"
            error missing-attribute at `alias`: `<alias>` needs the attribute `path`. Where the node stands in the scene: child positions from the root down, counted from 0.
            error unknown-attribute at `title`: `<alias>` has no attribute `title`. It can have `name` or `path`.
              review fix "Remove `title`": <aliases><alias name="mast"/></aliases>
            error missing-attribute at `coupling`: `<coupling>` needs the attributes `node` and `kind`.
            error unknown-attribute at `title`: `<coupling>` has no attribute `title`. It can have `id`, `node`, `kind` or `reach`.
              review fix "Remove `title`": <couplings><coupling id="b"/></couplings>
        "#]],
    );
}

#[test]
fn a_misspelled_attribute_is_not_missing_as_well() {
    check(
        r#"<aliases><alias Name="mast" path="0/2"/></aliases><bodies><body node="mast" mass="1"/></bodies>"#,
        expect![[r#"
        error unknown-attribute at `Name`: `<alias>` has no attribute `Name`. Did you mean `name`?
          safe fix "Rename to `name`": <aliases><alias name="mast" path="0/2"/></aliases><bodies><body node="mast" mass="1"/></bodies>
    "#]],
    );
}

#[test]
fn an_attribute_like_no_other_can_be_removed() {
    check(
        r#"<aliases colour="red"/>"#,
        expect![[r#"
            error unknown-attribute at `colour`: `<aliases>` has no attribute `colour`. It has none at all.
              review fix "Remove `colour`": <aliases/>
        "#]],
    );
}

#[test]
fn text_and_cdata_between_elements_are_unexpected() {
    check(
        "<aliases>\n  names:\n</aliases>",
        expect![[r#"
        error unexpected-text at `names:`: `<aliases>` holds no text, only elements and attributes.
    "#]],
    );
    check(
        "<aliases><![CDATA[x]]></aliases>",
        expect![[r#"
        error unexpected-text at `<![CDATA[x]]>`: `<aliases>` holds no text, only elements and attributes.
    "#]],
    );
    check("<aliases>\n <!-- names --> \n</aliases>", expect![""]);
}

#[test]
fn a_decimal_comma_and_capitals_are_repaired() {
    check(
        r#"<wheels><wheel id="a" node="0" radius="0,5" width="1" drive="True"/></wheels>"#,
        expect![[r#"
        error wrong-type at `0,5`: `0,5` does not fit here: `radius` must be a number above 0, in metres.
          safe fix "Write `0.5`": <wheels><wheel id="a" node="0" radius="0.5" width="1" drive="True"/></wheels>
        error wrong-type at `True`: `True` does not fit here: `drive` must be `true` or `false`.
          safe fix "Write `true`": <wheels><wheel id="a" node="0" radius="0,5" width="1" drive="true"/></wheels>
    "#]],
    );
}

#[test]
fn a_value_in_a_wrong_form_says_what_is_asked_for() {
    check(
        r#"<bodies><body node="0" mass="heavy" centre="0 0"/></bodies>"#,
        expect![[r#"
        error wrong-type at `heavy`: `heavy` does not fit here: `mass` must be a number above 0, in kilograms.
        error wrong-type at `0 0`: `0 0` does not fit here: `centre` must be 3 numbers, in metres.
    "#]],
    );
}

#[test]
fn only_the_part_of_a_vector_that_is_wrong_is_marked() {
    check(
        r#"<bodies><body node="0" mass="1" centre="0 x y"/></bodies>"#,
        expect![[r#"
        error wrong-type at `x`: `x` does not fit here: `centre` must be 3 numbers, in metres.
    "#]],
    );
}

#[test]
fn a_value_with_references_in_it_is_marked_as_a_whole() {
    check(
        r#"<bodies><body node="0" mass="1" centre="0&#32;x 0"/></bodies>"#,
        expect![[r#"
        error wrong-type at `0&#32;x 0`: `x` does not fit here: `centre` must be 3 numbers, in metres.
    "#]],
    );
}

#[test]
fn what_looks_like_a_space_and_is_none_is_told() {
    check(
        "<sounds><sound id=\"a\" file=\"pump.ogg\" gain=\"0.5\u{a0}\"/></sounds>",
        expect![[r#"
            error wrong-type at `0.5 `: `0.5 ` does not fit here: `gain` must be a number from 0 to 1. In it is the character U+00A0, which looks like a space and is none.
        "#]],
    );
    check(
        "<sounds>\u{a0}<sound id=\"a\" file=\"pump.ogg\" gain=\" 0.5\t\"/></sounds>",
        expect![[r#"
            error unexpected-text at ` `: `<sounds>` holds no text, only elements and attributes. In it is the character U+00A0, which looks like a space and is none.
        "#]],
    );
    let said = said(&rig(
        "<bodies><body node=\"0\" mass=\"1\u{200b}\"/></bodies>",
    ));
    assert!(
        said.contains("the character U+200B, which cannot be seen."),
        "{said}"
    );
    // What is right is right with such spaces, too.
    check(
        "<aliases><alias name=\"a\u{3000}b\" path=\"0\"/></aliases><bodies><body node=\"a\u{3000}b\" mass=\"1\"/></bodies>",
        expect![""],
    );
}

#[test]
fn a_number_out_of_range_is_brought_to_the_nearest_one() {
    check(
        r#"<sounds><sound id="a" file="pump.ogg" gain="7"/></sounds>"#,
        expect![[r#"
        error out-of-range at `7`: `7` is out of range: `gain` must be from 0 to 1.
          review fix "Write `1`": <sounds><sound id="a" file="pump.ogg" gain="1"/></sounds>
    "#]],
    );
    check(
        r#"<bodies><body node="0" mass="0"/></bodies>"#,
        expect![[r#"
        error out-of-range at `0`: `0` is out of range: `mass` must be above 0.
    "#]],
    );
}

#[test]
fn an_unknown_word_is_guessed_or_the_words_are_listed() {
    check(
        r#"<lamps><lamp id="a" node="0" kind="haed"/></lamps>"#,
        expect![[r#"
        error unknown-word at `haed`: `haed` is no known word for `kind`. Did you mean `head`?
          safe fix "Write `head`": <lamps><lamp id="a" node="0" kind="head"/></lamps>
    "#]],
    );
    check(
        r#"<lamps><lamp id="a" node="0" kind="spot"/></lamps>"#,
        expect![[r#"
        error unknown-word at `spot`: `spot` is no known word for `kind`. It can be `work`, `head`, `tail`, `brake`, `turn.left`, `turn.right` or `beacon`.
    "#]],
    );
}

#[test]
fn what_a_channel_moves_decides_its_values() {
    let channel = |property: &str, value: &str| {
        format!(
            r#"<animations><animation id="a"><channel target="0/2" property="{property}" begin="0" end="1" from="{value}" to="{value}"/></animation></animations>"#
        )
    };
    check_serious(&channel("visibility", "true"), expect![""]);
    check_serious(
        &channel("visibility", "1 1 1"),
        expect![[r#"
        error wrong-type at `1 1 1`: `1 1 1` does not fit here: `from` must be `true` or `false`.
        error wrong-type at `1 1 1`: `1 1 1` does not fit here: `to` must be `true` or `false`."#]],
    );
    check_serious(
        &channel("scale", "true"),
        expect![[r#"
        error wrong-type at `true`: `true` does not fit here: `from` must be 3 factors.
        error wrong-type at `true`: `true` does not fit here: `to` must be 3 factors."#]],
    );
}

#[test]
fn an_empty_value_is_marked_with_its_attribute() {
    check(
        r#"<aliases><alias name="" path="0/2"/></aliases>"#,
        expect![[r#"
        error wrong-type at `name=""`: An empty value does not fit here: `name` must be a name for this alias.
    "#]],
    );
    check(
        r#"<lamps><lamp id="a" node="" kind=" "/></lamps>"#,
        expect![[r#"
            error wrong-type at `node=""`: An empty value does not fit here: `node` must be the name of an alias or an index path such as `0/2/1`.
            error unknown-word at `kind=" "`: An empty value is no known word for `kind`. It can be `work`, `head`, `tail`, `brake`, `turn.left`, `turn.right` or `beacon`.
        "#]],
    );
}

#[test]
fn a_second_section_points_at_the_first() {
    check(
        "<aliases/><aliases/><aliases/>",
        expect![[r#"
        error too-many at `aliases`: There is a `<aliases>` already: `<machine>` holds only one.
          see `aliases`: the first one
        error too-many at `aliases`: There is a `<aliases>` already: `<machine>` holds only one.
          see `aliases`: the first one
    "#]],
    );
}

const RECIPE: &str = r#"
[dialect]
name = "recipe"
title = "Recipes"
format = 1

[[document]]
name = "recipe"
root = "recipe"

[element.recipe]
children = ["title", "serves?", "step+", "photo{0,2}"]
order = "listed"

[element.title]
text = { type = "text", required = true }

[element.serves]
text = { type = "integer", min = 1, required = true }

[element.step]
open = true

[element.photo]
"#;

#[test]
fn a_fixed_order_is_kept() {
    let said_of = |text: &str| said(&in_dialect(RECIPE, text));
    expect![[r#"
        error wrong-order at `serves`: `<serves>` must stand before `<step>`.
          see `step`: before this one
    "#]]
    .assert_eq(&said_of(
        "<recipe><title>Soup</title><step/><serves>4</serves><step/></recipe>",
    ));
    assert_eq!(
        said_of("<recipe><title>Soup</title><serves>4</serves><step/><step/></recipe>"),
        ""
    );
}

#[test]
fn children_are_counted() {
    expect![[r#"
        error missing-child at `recipe`: `<recipe>` needs a `<step>` inside.
        error too-many at `title`: There is a `<title>` already: `<recipe>` holds only one.
          see `title`: the first one
    "#]]
    .assert_eq(&said(&in_dialect(
        RECIPE,
        "<recipe><title>a</title><title>b</title></recipe>",
    )));
}

#[test]
fn text_is_checked_like_an_attribute() {
    let serves = |text: &str| {
        said(&in_dialect(
            RECIPE,
            &format!("<recipe><title>Soup</title><serves>{text}</serves><step/></recipe>"),
        ))
    };
    expect![[r#"
        error wrong-type at `many`: `many` does not fit here: the text must be a whole number at least 1.
    "#]].assert_eq(&serves(" many "));
    expect![[r#"
        error wrong-type at `serves`: `<serves>` is empty; it should hold a whole number at least 1.
    "#]]
    .assert_eq(&serves(""));
    assert_eq!(serves(" <!-- at least --> 4 "), "");
}

#[test]
fn an_open_element_takes_whatever_comes() {
    let text = "<recipe><title>Soup</title><step how='slowly'>stir <b>well</b></step></recipe>";
    assert_eq!(said(&in_dialect(RECIPE, text)), "");
}

#[test]
fn against_what_was_only_learnt_there_are_only_hints() {
    let learnt = RECIPE.replace("[element.photo]", "[element.photo]\nstrict = false");
    let text = "<recipe><title>Soup</title><step/><photo of='soup'/></recipe>";
    assert!(said(&in_dialect(RECIPE, text)).starts_with("error unknown-attribute"));
    assert!(said(&in_dialect(&learnt, text)).starts_with("hint unknown-attribute"));
}

#[test]
fn the_root_is_misspelled() {
    let text =
        r#"<machne xmlns="urn:trunnion:machine:1" id="rig" scene="rig.gltf"><wheels/></machne>"#;
    expect![[r#"
        error unknown-element at `machne`: A document of this kind starts with `<machine>`, not with `<machne>`.
          safe fix "Rename to `<machine>`": <machine xmlns="urn:trunnion:machine:1" id="rig" scene="rig.gltf"><wheels/></machine>
    "#]].assert_eq(&said(&Fixture::house(text).file("rig.gltf")));
}

#[test]
fn the_namespace_is_missing_or_another() {
    let text =
        |xmlns: &str| format!(r#"<machine {xmlns} id="rig" scene="rig.gltf"><wheles/></machine>"#);
    expect![[r#"
        error wrong-namespace at `machine`: `<machine>` is in no namespace: it needs `xmlns="urn:trunnion:machine:1"`.
          safe fix "Write `xmlns="urn:trunnion:machine:1"`": <machine xmlns="urn:trunnion:machine:1"  id="rig" scene="rig.gltf"><wheles/></machine>
        error unknown-element at `wheles`: `<wheles>` may not stand in `<machine>`. Did you mean `<wheels>`?
          safe fix "Rename to `<wheels>`": <machine  id="rig" scene="rig.gltf"><wheels/></machine>
    "#]].assert_eq(&said(&Fixture::house(&text("")).file("rig.gltf")));
    expect![[r#"
        error wrong-namespace at `urn:trunnion:machine:l`: The namespace `urn:trunnion:machine:l` is not the one of this kind of document: write `urn:trunnion:machine:1`.
          review fix "Write `xmlns="urn:trunnion:machine:1"`": <machine xmlns='urn:trunnion:machine:1' id="rig" scene="rig.gltf"><wheles/></machine>
    "#]].assert_eq(&said(&Fixture::house(&text("xmlns='urn:trunnion:machine:l'")).file("rig.gltf")));
}

#[test]
fn a_hint_says_what_it_was_learnt_from() {
    let learnt = RECIPE.replace(
        "[element.photo]",
        "[element.photo]\nstrict = false\nlearnt = { seen = 41, files = 40 }",
    );
    assert_ne!(learnt, RECIPE);
    let text = "<recipe><title>Soup</title><step/><photo of='soup'/></recipe>";
    let said = said(&in_dialect(&learnt, text));
    assert!(
        said.contains(" Learnt from 41 of them in 40 files."),
        "{said}"
    );
    let learnt = "[dialect]\nname = \"d\"\nformat = 1\n[[document]]\nname = \"raft\"\nroot = \"raft\"\n\
        [element.raft]\nattributes.logs = { type = \"integer\", required = true, strict = false, learnt = { seen = 41, of = 43 } }\n\
        attributes.beam = { type = \"number\", required = true }\n";
    let said = self::said(&in_dialect(learnt, "<raft/>"));
    expect![[r#"
        error missing-attribute at `raft`: `<raft>` needs the attribute `beam`.
        hint missing-attribute at `raft`: `<raft>` needs the attribute `logs`. 41 of 43 in the library have it.
    "#]]
    .assert_eq(&said);
}

/// Boxes, balls and tubes: exactly one of them in each form, with notes and links around.
const FORMS: &str = r#"
[dialect]
name = "forms"
format = 1
[[document]]
name = "form"
root = "form"
[element.form]
children = ["title", "box | ball | tube+", "(note | link)+"]
order = "listed"
[element.title]
[element.box]
[element.ball]
[element.tube]
[element.note]
[element.link]
"#;

fn check_forms(body: &str, expected: Expect) {
    let text = format!("<form>{body}</form>");
    expected.assert_eq(&said(&in_dialect(FORMS, &text)));
}

#[test]
fn children_that_stand_for_each_other() {
    check_forms("<title/><ball/><note/><link/><note/>", expect![[""]]);
    check_forms("<title/><tube/><tube/><link/>", expect![[""]]);
    check_forms(
        "<title/><note/>",
        expect![[r#"
        error missing-child at `form`: `<form>` needs one of `<box>`, `<ball>` or `<tube>` inside.
    "#]],
    );
    check_forms(
        "<title/><ball/><box/><note/>",
        expect![[r#"
        error too-many at `box`: There is a `<ball>` already: `<form>` holds only one of `<box>`, `<ball>` or `<tube>`.
          see `ball`: the first one
    "#]],
    );
    check_forms(
        "<title/><box/><box/><note/>",
        expect![[r#"
        error too-many at `box`: There is a `<box>` already: `<form>` holds only one.
          see `box`: the first one
    "#]],
    );
    check_forms(
        "<title/><box/>",
        expect![[r#"
        error missing-child at `form`: `<form>` needs one of `<note>` or `<link>` inside.
    "#]],
    );
    check_forms(
        "<title/><note/><box/><link/>",
        expect![[r#"
        error wrong-order at `box`: `<box>` must stand before `<note>`.
          see `note`: before this one
    "#]],
    );
    // What is unknown may be what is missing.
    check_forms(
        "<title/><bxo/><note/>",
        expect![[r#"
        error unknown-element at `bxo`: `<bxo>` may not stand in `<form>`. Did you mean `<box>`?
          safe fix "Rename to `<box>`": <form><title/><box/><note/></form>
    "#]],
    );
}
