use super::*;
use expect_test::expect;

#[test]
fn sections_that_are_not_there_yet() {
    let body = "<aliases/>\n<lamps/>\n<$0";
    check(
        Fixture::rig(body),
        expect![[r#"
        bodies () bodies>⏎  |⏎</bodies>
        wheels () wheels>⏎  |⏎</wheels>
        couplings () couplings>⏎  |⏎</couplings>
        sounds () sounds>⏎  |⏎</sounds>
        animations () animations>⏎  |⏎</animations>
        controls () controls>⏎  |⏎</controls>"#]],
    );
}

#[test]
fn an_element_comes_with_its_required_attributes() {
    check(
        Fixture::rig("<couplings>\n  <$0\n</couplings>"),
        expect![[r#"coupling () coupling id="·" node="·" kind="·pin"/>|"#]],
    );
}

#[test]
fn in_content_the_bracket_comes_along() {
    check(
        Fixture::rig("<aliases>\n  $0\n</aliases>"),
        expect![[r#"alias () <alias name="·" path="·"/>|"#]],
    );
    check(
        Fixture::rig("<aliases>\n  al$0\n</aliases>"),
        expect![[r#"alias () <alias name="·" path="·"/>|"#]],
    );
    let fixture = Fixture::rig("<aliases>\n  al$0\n</aliases>");
    assert!(
        taken(&fixture, "alias").contains("<aliases>\n  <alias name=\"\" path=\"\"/>\n</aliases>")
    );
}

#[test]
fn the_name_of_a_whole_tag_is_replaced_alone() {
    check(
        Fixture::rig("<lamps><la$0mp id=\"a\"/></lamps>"),
        expect!["lamp () lamp"],
    );
}

#[test]
fn quotes_and_blanks_are_those_of_the_document() {
    let body = "<lamps><lamp id='a' node='0' kind='work' /><lamp id='b' node='0' kind='work' />\n<$0</lamps>";
    check(
        Fixture::rig(body),
        expect!["lamp () lamp id='·' node='·' kind='·work' />|"],
    );
}

#[test]
fn what_must_be_there_is_written_at_once() {
    check(
        Fixture::yard("<handles>\n  <$0\n</handles>"),
        expect!["handle () handle>⏎  <call>·</call>⏎  <spot>·</spot>⏎</handle>|"],
    );
}

#[test]
fn the_order_of_children_is_kept() {
    let sections = "<weights></weights>$0<strokes></strokes>";
    check(
        Fixture::yard(sections),
        expect![[r#"
        rollers () <rollers>⏎  |⏎</rollers>
        noises () <noises>⏎  |⏎</noises>"#]],
    );
}

#[test]
fn a_full_element_takes_no_more() {
    let full = "<handles><handle><call>a</call><spot>#1</spot>$0</handle></handles>";
    check(Fixture::yard(full), expect![[""]]);
}

#[test]
fn what_is_missing_comes_first() {
    let hand = "<hands><hand><label>Go</label>$0</hand></hands>";
    check(
        Fixture::yard(hand),
        expect![[r#"
        stroke () <stroke>·</stroke>|
        grip () <grip>·</grip>|
        strength () <strength>·0,6</strength>|
        tempo () <tempo>·1</tempo>|
        follows () <follows>·</follows>|
        noise () <noise>·</noise>|"#]],
    );
}

#[test]
fn an_empty_document_gets_its_root() {
    check(
        Fixture::house("$0").at("a.machine.xml"),
        expect![[
            r#"machine (Trunnion house dialect) <machine xmlns="urn:trunnion:machine:1" id="·" scene="·">⏎  |⏎</machine>"#
        ]],
    );
    check(
        Fixture::house("<$0").at("a.machine.xml"),
        expect![[
            r#"machine (Trunnion house dialect) machine xmlns="urn:trunnion:machine:1" id="·" scene="·">⏎  |⏎</machine>"#
        ]],
    );
}

#[test]
fn a_document_of_no_kind_gets_every_root() {
    let labels = labels(&Fixture::house("<?xml version=\"1.0\"?>\n$0").at("a.txt"));
    assert_eq!(labels, ["machine", "mod"]);
}

#[test]
fn beside_the_root_nothing_may_stand() {
    check(
        Fixture::house("<machine xmlns=\"urn:trunnion:machine:1\"/>\n$0"),
        expect![[""]],
    );
    check(
        Fixture::house("<machine xmlns=\"urn:trunnion:machine:1\"/>\n<$0"),
        expect![[""]],
    );
}

#[test]
fn prefixes_go_on() {
    let text =
        "<m:machine xmlns:m=\"urn:trunnion:machine:1\"><m:aliases><$0</m:aliases></m:machine>";
    check(
        Fixture::house(text),
        expect![[r#"m:alias () m:alias name="·" path="·"/>|"#]],
    );
}

#[test]
fn comments_and_sections_of_text_are_left_alone() {
    for body in [
        "<!-- <$0 -->",
        "<aliases><![CDATA[<$0]]></aliases>",
        "<?x <$0 ?>",
    ] {
        assert_eq!(labels(&Fixture::rig(body)), [""; 0], "{body}");
    }
}

#[test]
fn every_element_is_explained() {
    let fixture = Fixture::rig("<aliases><$0</aliases>");
    let view = fixture.view();
    let completion = complete(&view, fixture.offset()).unwrap();
    expect![[r#"
        **element** `alias`

        A friendly name for a node. Where a node is asked for, the name may stand instead of the index path.

        - Must have: `name`, `path`"#]].assert_eq(&about(&view, &completion.items[0].about).markdown());
}

#[test]
fn an_end_tag_closes_what_is_open() {
    check(
        Fixture::rig("<aliases></$0"),
        expect!["aliases (end tag) aliases>"],
    );
    check(
        Fixture::rig("<aliases></al$0iases>"),
        expect!["aliases (end tag) aliases"],
    );
    check(
        Fixture::house("<machine xmlns=\"urn:trunnion:machine:1\">\n  <aliases>\n    <alias></$0"),
        expect![[r#"
        alias (end tag) alias>
        aliases (end tag) aliases>
        machine (end tag) machine>"#]],
    );
}

#[test]
fn of_children_that_stand_for_each_other_one_is_proposed() {
    let toml = r#"
[dialect]
name = "forms"
format = 1
[[document]]
name = "form"
root = "form"
[element.form]
children = ["title?", "box | ball | tube+", "(note | link)*"]
order = "listed"
[element.title]
[element.box]
[element.ball]
[element.tube]
[element.note]
[element.link]
"#;
    let dialect = std::sync::Arc::new(dialect::Dialect::read(toml, None).unwrap());
    let labels = |body: &str| {
        let text = format!("<form>{body}</form>");
        labels(&Fixture::of(&text, vec![dialect.clone()]).at("x.xml"))
    };
    assert_eq!(
        labels("<$0"),
        ["box", "ball", "tube", "title", "note", "link"]
    );
    assert_eq!(labels("<title/><ball/><$0"), ["note", "link"]);
    assert_eq!(labels("<tube/><$0"), ["tube", "note", "link"]);
    assert_eq!(labels("<box/><link/><$0"), ["note", "link"]);
}
