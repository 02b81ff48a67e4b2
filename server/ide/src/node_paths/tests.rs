//! A dialect in which nodes are asked for by their names in the scene: what each feature makes of that.

use std::sync::Arc;

use dialect::Dialect;
use expect_test::{Expect, expect};
use syntax::TextRange;

use crate::assists::{Wish, adjust, make, offers};
use crate::fixture::{Fixture, listed_scene};
use crate::repath::{Outcome, by_scenes};

/// Limbs are called by name, with names above them where it takes these.
const SLED: &str = r#"
[dialect]
name = "sled"
format = 1

[[document]]
name = "sled"
root = "sled"
files = "*.sled.xml"

[notation.node-name]
separator = "/"

[inputs.analog]
wheel-1 = "The first hand wheel."
wheel-2 = "The second hand wheel."

[element."/sled"]
attributes.shape = { type = "file", required = true }
children = ["tag*", "skid*", "feat*", "hold*"]

[element.tag.attributes]
call = { type = "name", of = "tag", required = true }
limb = { type = "node-name", required = true }

[element.skid.attributes]
limb = { type = "node-name", required = true }

[element.feat]
attributes.call = { type = "name", of = "feat", required = true }
children = ["go*"]

[element.go.attributes]
limb = { type = "node", accepts = ["tag", "node-name"], required = true }
since = { type = "number", required = true }
until = { type = "number", required = true }
from = { type = "moved-value", required = true }
to = { type = "moved-value", required = true }

[element.hold.attributes]
feat = { type = "reference", of = "feat", required = true }
wheel = { type = "input", kind = "analog", required = true }
about = { type = "node", accepts = ["tag", "node-name"], required = true }
skids = { type = "node-name", list = true }

[[role.scene]]
at = "sled"
file = "@shape"

[[role.alias]]
at = "sled/tag"
name = "@call"
path = "@limb"

[[role.wheel]]
at = "sled/skid"
node = "@limb"

[[role.animation]]
at = "sled/feat"
name = "@call"

[[role.channel]]
at = "go"
node = "@limb"
begin = "@since"
end = "@until"
[[role.channel.motion]]
property = "translation"
from = "@from"
to = "@to"

[[role.control]]
at = "sled/hold"
kind = "analog"
animation = "@feat"
input = "@wheel"
node = "@about"
wheels = "@skids"
"#;

const HULL: &str = "\
hull
  port 1 0 0
    ski 0 -1 0
  starboard -1 0 0
    ski 0 -1 0
  boom 0 2 0
    stick 0 1 0
";

fn sled(body: &str) -> Fixture {
    sled_of(SLED, body)
}

fn sled_of(toml: &str, body: &str) -> Fixture {
    let dialect = Dialect::read(toml, None).unwrap_or_else(|problems| panic!("{problems:#?}"));
    let text = format!("<sled shape=\"hull.gltf\">\n{body}\n</sled>\n");
    Fixture::of(&text, vec![Arc::new(dialect)])
        .at("a.sled.xml")
        .scene(HULL)
        .file("hull.gltf")
}

fn go(limb: &str) -> Fixture {
    sled(&format!(
        r#"<feat call="reach"><go limb="{limb}" since="0" until="2" from="0 2 0" to="0 3 0"/></feat>
<hold feat="reach" wheel="wheel-1" about="hull"/>"#
    ))
}

fn told(fixture: &Fixture) -> String {
    let view = fixture.view();
    let findings = crate::checks::run(&view);
    let lines = findings.iter().map(|finding| {
        let fixes: Vec<&str> = finding.fixes.iter().map(|fix| fix.title.as_str()).collect();
        format!("{}: {} {fixes:?}\n", finding.code, finding.message)
    });
    lines.collect()
}

fn check(fixture: &Fixture, expected: Expect) {
    expected.assert_eq(&told(fixture));
}

/// The lines of the scene that the place at the mark leads to.
fn leads_to(fixture: &Fixture) -> Vec<&'static str> {
    let found = crate::definition::definition(&fixture.view(), fixture.offset());
    let targets = found.into_iter().flat_map(|found| found.targets);
    targets
        .map(|target| &HULL[std::ops::Range::<usize>::from(target.range)])
        .collect()
}

#[test]
fn a_name_leads_to_its_node_and_one_of_two_nodes_to_both() {
    assert_eq!(leads_to(&go("bo$0om")), ["boom 0 2 0"]);
    assert_eq!(leads_to(&go("port/s$0ki")), ["ski 0 -1 0"]);
    assert_eq!(leads_to(&go("s$0ki")).len(), 2);
    assert!(leads_to(&go("bo$0w")).is_empty());
}

#[test]
fn right_names_are_silent_and_wrong_ones_are_told() {
    check(&go("boom"), expect![""]);
    check(&go("hull/boom"), expect![""]);
    check(
        &go("port/ski"),
        expect![[r#"
        rest-mismatch: `port/ski` rests at `0 -1 0`, but its first translation starts at `0 2 0`, 3 m away: it jumps there when the animation is first played. ["Start where it rests: `0 -1 0`"]
    "#]],
    );
    check(
        &go("bom"),
        expect![[r#"
            path-not-in-scene: No tag and no node of the scene is called `bom`. Did you mean `boom`? ["Write `boom`"]
        "#]],
    );
    check(
        &go("ski"),
        expect![[r#"
            path-not-in-scene: `ski` is the name of 2 nodes, `hull/port/ski` and `hull/starboard/ski`, and nothing says which is meant. []
        "#]],
    );
    // The names are there, but not one below the other.
    check(
        &go("hull/stick"),
        expect![[r#"
            path-not-in-scene: No tag and no node of the scene is called `hull/stick`. Did you mean `stick`? ["Write `stick`"]
        "#]],
    );
}

#[test]
fn a_name_of_the_document_may_be_meant_as_well_as_that_of_a_node() {
    let tagged = |limb: &str| {
        let go = go(limb);
        let body = go.text().lines().skip(1).collect::<Vec<_>>().join("\n");
        let body = body.replace("</sled>", "");
        sled(&format!(
            "<tag call=\"jib\" limb=\"boom\"/><tag call=\"port mast\" limb=\"boom\"/>{body}"
        ))
    };
    check(
        &tagged("port masd"),
        expect![[r#"
        unused-alias: Nothing uses the tag `jib`. []
        unused-alias: Nothing uses the tag `port mast`. []
        path-not-in-scene: No tag and no node of the scene is called `port masd`. Did you mean `port mast`? ["Write `port mast`"]
    "#]],
    );
    check(
        &tagged("bom"),
        expect![[r#"
        unused-alias: Nothing uses the tag `jib`. []
        unused-alias: Nothing uses the tag `port mast`. []
        path-not-in-scene: No tag and no node of the scene is called `bom`. Did you mean `boom`? ["Write `boom`"]
    "#]],
    );
}

#[test]
fn a_name_that_is_given_but_cannot_be_read_is_one_mistake() {
    let tagged = |tag: &str| {
        let go = go("jib");
        let body = go.text().lines().skip(1).collect::<Vec<_>>().join("\n");
        sled(&format!("{tag}{}", body.replace("</sled>", "")))
    };
    check(
        &tagged("<tag call=\"\" limb=\"boom\"/>"),
        expect![[r#"
        wrong-type: An empty value does not fit here: `call` must be a name for this tag. []
    "#]],
    );
    check(
        &tagged("<tag limb=\"boom\"/>"),
        expect![[r#"
        missing-attribute: `<tag>` needs the attribute `call`. []
    "#]],
    );
    check(
        &tagged("<tag call=\"mast\" limb=\"boom\"/>"),
        expect![[r#"
        unused-alias: Nothing uses the tag `mast`. []
        path-not-in-scene: No tag and no node of the scene is called `jib`. []
    "#]],
    );
}

#[test]
fn nodes_that_are_called_alike_all_the_way_are_told_by_their_places() {
    let scene = "hull\n  leg\n    foot\n  leg\n    foot\n";
    check(
        &go("leg/foot").scene(scene),
        expect![[r#"
        path-not-in-scene: `leg/foot` is the name of 2 nodes, `hull/leg/foot` at `0/0/0` and `hull/leg/foot` at `0/1/0`, and nothing says which is meant. []
    "#]],
    );
}

#[test]
fn a_name_that_several_nodes_have_is_not_proposed() {
    check(
        &go("boom/ski"),
        expect![[r#"
            path-not-in-scene: No tag and no node of the scene is called `boom/ski`. `ski` is the name of 2 nodes, `hull/port/ski` and `hull/starboard/ski`, and nothing says which is meant. []
        "#]],
    );
}

#[test]
fn nothing_is_told_of_names_without_a_scene() {
    let dialect = Arc::new(Dialect::read(SLED, None).unwrap());
    let text = go("bom").text().to_owned();
    let alone = Fixture::of(&text, vec![dialect])
        .at("a.sled.xml")
        .file("hull.gltf");
    check(&alone, expect![""]);
}

#[test]
fn a_tag_goes_before_a_node_of_the_same_name() {
    let both = r#"<tag call="boom" limb="stick"/>
<feat call="reach"><go limb="bo$0om" since="0" until="2" from="0 1 0" to="0 3 0"/></feat>"#;
    let fixture = sled(both);
    let found = crate::definition::node(&fixture.view(), fixture.offset()).unwrap();
    let range = std::ops::Range::<usize>::from(found.targets[0].range);
    assert_eq!(&HULL[range], "stick 0 1 0");
}

#[test]
fn names_are_proposed_as_far_as_they_are_needed() {
    let fixture = go("$0");
    let completion = crate::completion::complete(&fixture.view(), fixture.offset()).unwrap();
    let labels: Vec<&str> = completion
        .items
        .iter()
        .map(|item| item.label.as_str())
        .collect();
    assert_eq!(
        labels,
        [
            "hull",
            "port",
            "port/ski",
            "starboard",
            "starboard/ski",
            "boom",
            "stick"
        ]
    );
}

#[test]
fn a_hover_tells_of_the_node() {
    let fixture = go("sti$0ck");
    let hover = crate::hover::hover(&fixture.view(), fixture.offset()).unwrap();
    expect![[r#"
        **node** `stick`

        - Index path: `0/2/0`
        - Node: `hull/boom/stick`
        - At rest: translation `0 1 0` metres
        - Moved by: `reach` (translation)

        **attribute** `limb`

        - Required: the name of a tag or the name of a node of the scene, after names of those above it if need be, with `/` between them"#]].assert_eq(&hover.text.markdown());
}

#[test]
fn names_of_nodes_are_not_renamed_here() {
    let fixture = go("bo$0om");
    let refused = crate::rename::rename(&fixture.view(), &[], fixture.offset(), "jib").unwrap_err();
    expect!["This is the name of a node, which is given in the scene file. Rename the node there, then write its new name here."].assert_eq(&refused);
}

#[test]
fn two_ways_to_call_a_node_are_one_part() {
    let body = r#"<feat call="a"><go limb="boom" since="0" until="2" from="0 2 0" to="0 3 0"/></feat>
<feat call="b"><go limb="hull/boom" since="0" until="2" from="0 2 0" to="0 3 0"/></feat>
<hold feat="a" wheel="wheel-1" about="hull"/><hold feat="b" wheel="wheel-2" about="hull"/>"#;
    check(
        &sled(body),
        expect![[r#"
        contested-part: The translation of `hull/boom` is driven by `a` over 1 m (as `boom`) and by `b` over 1 m: when both play, it jumps between the two. []
    "#]],
    );
}

#[test]
fn a_new_scene_changes_only_names_that_changed() {
    let body = r#"<skid limb="port/ski"/><skid limb="starboard/ski"/>
<feat call="reach"><go limb="boom" since="0" until="2" from="0 2 0" to="0 3 0"/>
<go limb="stick" since="0" until="2" from="0 1 0" to="0 3 0"/></feat>"#;
    let sorted = "\
hull
  boom 0 2 0
    stick 0 1 0
  starboard -1 0 0
    ski 0 -1 0
  port 1 0 0
    ski 0 -1 0
";
    let view = sled(body).view();
    let stays = by_scenes(&view, &listed_scene(HULL), &listed_scene(sorted)).unwrap();
    assert_eq!((stays.moved(), stays.left().count()), (0, 0));
    let renamed = sorted.replace("boom", "gib");
    let moves = by_scenes(&view, &listed_scene(HULL), &listed_scene(&renamed)).unwrap();
    let told: Vec<String> = moves
        .paths
        .iter()
        .map(|path| match &path.outcome {
            Outcome::Moves(target) => format!("{} {}", path.path, target.path),
            other => format!("{} {}", path.path, matches!(other, Outcome::Stays(_))),
        })
        .collect();
    assert_eq!(
        told,
        [
            "port/ski true",
            "starboard/ski true",
            "boom gib",
            "stick true"
        ]
    );
}

const REACH: &str = r#"<skid limb="port/ski"/>
<skid limb="starboard/ski"/>
<feat call="reach">
  <go limb="boom" since="0" until="2" from="0 2 0" to="0 3 0"/>
  <go limb="port" since="1" until="2" from="1 0 0" to="2 0 0"/>
  <go limb="starboard" since="1" until="2" from="-1 0 0" to="-2 0 0"/>
</feat>
<hold feat="reach" wheel="wheel-1" about="hull" skids="port/ski starboard/ski"/>"#;

#[test]
fn parts_are_made_adjustable_in_the_words_of_the_document() {
    let view = sled(REACH).view();
    let wish = Wish {
        parts: vec!["port".to_owned()],
        mirrored: true,
        ..Wish::default()
    };
    let made = adjust(&view, &wish).unwrap();
    assert!(made.difference.is_some(), "the poses were compared");
    expect![[r#"
        <sled shape="hull.gltf">
        <skid limb="port/ski"/>
        <skid limb="starboard/ski"/>
        <feat call="reach">
          <go limb="boom" since="0" until="2" from="0 2 0" to="0 3 0"/>
        </feat>
        <feat call="hull.spread">
          <go limb="port" since="0" until="1" from="1 0 0" to="2 0 0"/>
          <go limb="starboard" since="0" until="1" from="-1 0 0" to="-2 0 0"/>
        </feat>
        <hold feat="reach" wheel="wheel-1" about="hull"/>
        <hold feat="hull.spread" wheel="wheel-2" about="hull" skids="port/ski starboard/ski"/>
        </sled>
    "#]]
    .assert_eq(&made.text);
}

/// The titles of what is offered at the mark, and the text after the first of it.
fn inlined(fixture: &Fixture) -> (Vec<String>, Option<String>) {
    let view = fixture.view();
    let offers = offers(&view, TextRange::empty(fixture.offset()));
    let of_aliases = |offer: &&crate::assists::Offer| offer.key.id == "inline-alias";
    let offers: Vec<_> = offers.iter().filter(of_aliases).collect();
    let change = offers.first().map(|first| make(&view, &first.key).unwrap());
    let text = change.map(|change| syntax::apply(view.text(), &change.edits).unwrap());
    let titles = offers.iter().map(|offer| offer.title.clone()).collect();
    (titles, text)
}

#[test]
fn a_tag_can_give_way_to_the_name_of_its_node() {
    let body = |about: &str| {
        format!(
            r#"<tag call="arm" limb="port/ski"/>
<feat call="reach"><go limb="boom" since="0" until="2" from="0 2 0" to="0 3 0"/></feat>
<hold feat="reach" wheel="wheel-1" about="{about}"/>"#
        )
    };
    let (titles, text) = inlined(&sled(&body("a$0rm")));
    assert_eq!(
        titles,
        ["Put the path `port/ski` back here and remove the alias `arm`"]
    );
    let after = sled(&body("port/ski"));
    let expected = after
        .text()
        .replace("<tag call=\"arm\" limb=\"port/ski\"/>\n", "");
    assert_eq!(text, Some(expected));
    // Where an index path may stand and no name of a node, the tag stays.
    let about = r#"about = { type = "node", accepts = ["tag", "node-name"]"#;
    let counted = SLED.replace(
        about,
        r#"about = { type = "node", accepts = ["tag", "index-path"]"#,
    );
    assert_ne!(counted, SLED);
    assert_eq!(
        inlined(&sled_of(&counted, &body("a$0rm"))),
        (Vec::new(), None)
    );
}

#[test]
fn places_that_cannot_lead_to_a_node_are_told_apart() {
    let body = r#"<tag call="boom" limb="port"/><tag call="tip" limb="boom/stick"/><skid limb="port/ski"/>
<skid limb="ski"/><feat call="reach"><go limb="boom" since="0" until="2" from="0 2 0" to="0 3 0"/>
<go limb="starboard" since="0" until="2" from="0 2 0" to="0 3 0"/></feat>
<hold feat="reach" wheel="wheel-1" about="stick"/>"#;
    let [both, apart] = crate::nodes::tests::told_apart(&sled(body).view());
    assert!(both > 20 && apart > 20, "{both} {apart}");
}

#[test]
fn a_tag_gets_no_name_by_which_a_node_is_called() {
    let renamed = |limb: &str, name: &str| {
        let fixture = sled(&format!(
            r#"<tag call="a$0rm" limb="boom"/>
<feat call="reach"><go limb="arm" since="0" until="2" from="0 2 0" to="0 3 0"/>
<go limb="{limb}" since="0" until="2" from="0 -1 0" to="0 0 0"/></feat>"#
        ));
        crate::rename::rename(&fixture.view(), &[], fixture.offset(), name)
            .map(|renamed| renamed[0].1.len())
    };
    assert_eq!(
        renamed("port/ski", "port/ski"),
        Err("In line 4 “port/ski” means a node of the scene, and would mean this tag then. Choose another name.".to_owned())
    );
    // Nothing calls a node so, or by another name.
    assert_eq!(renamed("port/ski", "starboard/ski"), Ok(2));
    assert_eq!(renamed("stick", "ski"), Ok(2));
}
