use super::*;
use expect_test::expect;

const BODY: &str = r#"<aliases><alias name="mast" path="0/2"/><alias name="arm" path="0/0"/></aliases>
<wheels><wheel id="w.left" node="0/0/0" radius="0.5" width="0.25"/><wheel id="w.right" node="0/1/0" radius="0.5" width="0.25"/></wheels>
<animations><animation id="raise"/><animation id="lower"/></animations>
"#;

fn rig(rest: &str) -> Fixture {
    Fixture::rig(&format!("{BODY}{rest}"))
}

#[test]
fn words_the_usual_one_first() {
    check(
        rig(r#"<lamps><lamp kind="$0"/></lamps>"#),
        expect![[r#"
        work (usual) work
        head () head
        tail () tail
        brake () brake
        turn.left () turn.left
        turn.right () turn.right
        beacon () beacon"#]],
    );
}

#[test]
fn answers() {
    check(
        rig(r#"<sounds><sound loop="$0"/></sounds>"#),
        expect![[r#"
        true () true
        false (taken where it is left out) false"#]],
    );
}

#[test]
fn names_those_that_neighbours_use_last() {
    let body = r#"<controls><switch animation="raise"/><switch animation="$0"/></controls>"#;
    check(
        rig(body),
        expect![[r#"
        lower (animation) lower
        raise (animation) raise"#]],
    );
    check(
        rig(r#"<controls><switch><carry wheel="w$0"/></switch></controls>"#),
        expect![[r#"
        w.left (wheel) w.left
        w.right (wheel) w.right"#]],
    );
}

#[test]
fn nodes_the_aliases_first() {
    check(
        rig(r#"<lamps><lamp node="$0"/></lamps>"#),
        expect![[r#"
        mast (alias) mast
        arm (alias) arm
        0 (rig) 0
        0/0 (arm.left) 0/0
        0/0/0 (wheel.left) 0/0/0
        0/1 (arm.right) 0/1
        0/1/0 (wheel.right) 0/1/0
        0/2 (mast) 0/2
        0/2/0 (hook) 0/2/0"#]],
    );
}

#[test]
fn index_paths_below_the_typed_one_first() {
    check(
        rig(r#"<aliases><alias path="0/0/$0"/></aliases>"#),
        expect!["0/0/0 (wheel.left) 0/0/0"],
    );
    check(
        rig(r#"<aliases><alias path="0/$0"/></aliases>"#),
        expect![[r#"
        0/0 (arm.left) 0/0
        0/1 (arm.right) 0/1
        0/2 (mast) 0/2
        0/0/0 (wheel.left) 0/0/0
        0/1/0 (wheel.right) 0/1/0
        0/2/0 (hook) 0/2/0"#]],
    );
}

#[test]
fn a_node_is_found_by_its_name() {
    check(
        rig(r#"<aliases><alias path="hoo$0"/></aliases>"#),
        expect!["0/2/0 (hook) 0/2/0"],
    );
    let fixture = rig(r#"<aliases><alias path="hoo$0"/></aliases>"#);
    let completion = complete(&fixture.view(), fixture.offset()).unwrap();
    assert_eq!(completion.items[0].filter.as_deref(), Some("0/2/0 hook"));
    assert!(taken(&fixture, "0/2/0").contains(r#"<alias path="0/2/0"/>"#));
}

#[test]
fn a_new_alias_is_called_like_its_node() {
    check(
        rig(r#"<aliases><alias name="$0" path="0/2/0"/></aliases>"#),
        expect!["hook (name of the node) hook"],
    );
    assert_eq!(
        labels(&rig(r#"<aliases><alias name="$0" path="0/2"/></aliases>"#)),
        [""; 0],
        "mast is taken"
    );
}

#[test]
fn inputs_the_free_ones_first() {
    let body =
        r#"<controls><switch text="Up" input="button.raise"/><switch input="$0"/></controls>"#;
    check(
        rig(body),
        expect![[r#"
        button.lower (free) button.lower
        button.deploy (free) button.deploy
        button.open (free) button.open
        button.lamp (free) button.lamp
        button.beacon (free) button.beacon
        button.raise (used by “Up”) button.raise"#]],
    );
}

#[test]
fn the_value_at_rest_first() {
    let channel = |property: &str| {
        rig(&format!(
            r#"<animations><animation id="a"><channel target="mast" property="{property}" from="$0" to="0 3 0"/></animation></animations>"#
        ))
    };
    check(
        channel("translation"),
        expect![[r#"
        0 1 0 (at rest) 0 1 0
        0 3 0 (as at the other end) 0 3 0"#]],
    );
    check(
        channel("rotation"),
        expect![[r#"
        0 0 0 (at rest) 0 0 0
        0 3 0 (as at the other end) 0 3 0"#]],
    );
    check(
        channel("visibility"),
        expect![[r#"
            true (at rest) true
            false () false"#]],
    );
}

#[test]
fn numbers_as_they_usually_are() {
    check(
        rig(r#"<sounds><sound gain="$0"/></sounds>"#),
        expect![[r#"
        0.8 (usual) 0.8
        1 (taken where it is left out) 1"#]],
    );
}

#[test]
fn files_by_their_ending_as_they_must_be_written() {
    let files = [
        "a.ogg",
        "machines/b.OGG",
        "sounds/c.wav",
        "rig.gltf",
        "rig.machine.xml",
    ];
    let with_files = |fixture: Fixture| {
        files
            .iter()
            .fold(fixture, |fixture, file| fixture.file(file))
    };
    let body = r#"<sounds><sound id="a" file="a.ogg"/><sound file="$0"/></sounds>"#;
    check(
        with_files(rig(body)),
        expect![[r#"
        machines/b.OGG () machines/b.OGG
        sounds/c.wav () sounds/c.wav
        a.ogg (named in this file) a.ogg"#]],
    );
    check(
        with_files(rig(body)).at("machines/rig.machine.xml"),
        expect![[r#"
        b.OGG () b.OGG
        ../a.ogg () ../a.ogg
        ../sounds/c.wav () ../sounds/c.wav"#]],
    );
}

#[test]
fn a_manifest_does_not_list_itself() {
    let manifest = r#"<mod xmlns="urn:trunnion:mod:1"><machine file="$0"/></mod>"#;
    let fixture = Fixture::house(manifest)
        .at("mod.xml")
        .file("mod.xml")
        .file("rig.machine.xml");
    assert_eq!(labels(&fixture), ["rig.machine.xml"]);
}

#[test]
fn a_name_goes_on_behind_a_blank_unless_blanks_separate_names() {
    let aliases = r#"<aliases><alias name="leg left" path="0/0"/><alias name="leg right" path="0/1"/></aliases>"#;
    let fixture = Fixture::rig(&format!(r#"{aliases}<lamps><lamp node="leg $0"/></lamps>"#));
    assert!(taken(&fixture, "leg right").contains(r#"node="leg right"/>"#));
    let strokes = "<strokes><stroke><call>leg right</call></stroke></strokes>";
    let fixture = Fixture::yard(&format!(
        "{strokes}<hands><hand><stroke>leg $0</stroke></hand></hands>"
    ));
    assert!(taken(&fixture, "leg right").contains("<stroke>leg right</stroke></hand>"));
}

#[test]
fn values_are_escaped() {
    let fixture = Fixture::rig(
        r#"<aliases><alias name="a &amp; &quot;b&quot;" path="0"/></aliases><lamps><lamp node="$0"/></lamps>"#,
    );
    assert!(taken(&fixture, "a & \"b\"").contains(r#"<lamp node="a &amp; &quot;b&quot;"/>"#));
}

#[test]
fn references_behind_an_ampersand() {
    check(
        rig(r#"<controls><switch text="Up &$0 down"/></controls>"#),
        expect![[r#"
        &amp; (&) &amp;
        &lt; (<) &lt;
        &gt; (>) &gt;
        &quot; (") &quot;
        &apos; (') &apos;"#]],
    );
    let fixture = rig(r#"<controls><switch text="Up &a$0mp; down"/></controls>"#);
    assert!(taken(&fixture, "&lt;").contains("Up &lt; down"));
    assert!(labels(&rig("<!-- &$0 -->")).is_empty());
}

#[test]
fn free_text_has_no_proposals() {
    assert_eq!(
        labels(&rig(r#"<controls><switch text="$0"/></controls>"#)),
        [""; 0]
    );
}

#[test]
fn what_is_known_of_a_name_is_told_on_demand() {
    let fixture = rig(r#"<lamps><lamp node="m$0"/></lamps>"#);
    let view = fixture.view();
    let completion = complete(&view, fixture.offset()).unwrap();
    let about = |label: &str| {
        let item = completion
            .items
            .iter()
            .find(|item| item.label == label)
            .unwrap();
        super::about(&view, &item.about).plain()
    };
    expect![[r#"
        • Index path: 0/2
        • Node: rig/mast
        • At rest: translation 0 1 0 metres"#]]
    .assert_eq(&about("mast"));
    expect![[r#"
        • Index path: 0/2
        • Node: rig/mast
        • Called: mast
        • At rest: translation 0 1 0 metres"#]]
    .assert_eq(&about("0/2"));
}

#[test]
fn a_large_scene_is_cut_and_asked_again() {
    let scene: String = (0..600).map(|at| format!("node{at}\n")).collect();
    let many = Fixture::rig(r#"<lamps><lamp node="$0"/></lamps>"#).scene(&scene);
    let completion = complete(&many.view(), many.offset()).unwrap();
    assert!(completion.is_incomplete && completion.items.len() == 500);
    let few = Fixture::rig(r#"<lamps><lamp node="node59$0"/></lamps>"#).scene(&scene);
    let completion = complete(&few.view(), few.offset()).unwrap();
    assert!(!completion.is_incomplete);
    assert_eq!(completion.items.len(), 11, "59 and 590 to 599");
}

#[test]
fn every_proposal_is_explained() {
    for body in [
        "<$0",
        "<aliases><alias $0/></aliases>",
        "<aliases></$0",
        r#"<lamps><lamp kind="$0"/></lamps>"#,
        r#"<lamps><lamp node="$0"/></lamps>"#,
        r#"<sounds><sound loop="$0"/></sounds>"#,
        r#"<sounds><sound gain="$0"/></sounds>"#,
        r#"<sounds><sound file="$0"/></sounds>"#,
        r#"<controls><switch input="$0"/></controls>"#,
        r#"<controls><switch animation="$0"/></controls>"#,
        r#"<controls><switch text="&$0"/></controls>"#,
        r#"<animations><animation id="a"><channel target="mast" property="visibility" from="$0"/></animation></animations>"#,
    ] {
        let fixture = rig(body).file("a.ogg");
        let view = fixture.view();
        let completion = complete(&view, fixture.offset()).unwrap();
        for item in &completion.items {
            assert!(
                !super::about(&view, &item.about).is_empty(),
                "{body}: {}",
                item.label
            );
        }
    }
}

#[test]
fn what_stands_around_a_name_is_written_with_it() {
    let toml = r##"
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
"##;
    let dialect = std::sync::Arc::new(dialect::Dialect::read(toml, None).unwrap());
    let of = |value: &str| {
        let text = format!("<show><clip id='rise'/><clip fill='{value}'/></show>");
        proposals(&Fixture::of(&text, vec![dialect.clone()]).at("x.xml"))
    };
    assert_eq!(of("$0"), ["rise (clip) url(#rise)"]);
    assert_eq!(of("url(#ri$0)"), ["rise (clip) rise"]);
}
