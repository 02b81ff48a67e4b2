//! XML scenes, read as dialects describe them.

mod common;

use std::sync::Arc;

use common::{outline, source};
use dialect::Dialect;
use expect_test::{Expect, expect};
use glam::{DQuat, DVec3, EulerRot};
use scene::{NodeIndex, Scene, SceneError};

/// Children within children, values in attributes, metres and degrees.
const NESTED: &str = r#"
    root = "scene"
    files = ["*.scene.xml"]
    node = ["node", "mesh"]
    name = "@label"
    translation = "@at"
    rotation = "@turn"
    scale = "@scale"
    visible = "@shown"
    bounds-min = "@least"
    bounds-max = "@greatest"
"#;

/// Everything elsewhere and otherwise: values in elements, lists of children, millimetres, decimal commas.
const BRACKETED: &str = r#"
    root = "world"
    namespace = "urn:test:world"
    top = "tree/branches"
    node = "branch"
    children = "branches"
    name = "title"
    matrix = "frame"
    matrix-order = "columns"
    translation = "place"
    rotation = "turn"
    rotation-form = "axis-angle"
    bounds = "box"
    visible = "hidden"
    yes = ["no"]
    no = ["yes"]
    decimal-mark = ","
    vector-separator = ";"
    [scene.units]
    length = "mm"
    angle = "rad"
"#;

fn dialect(scene: &str) -> Arc<Dialect> {
    let toml = format!(
        "[dialect]\nname = \"test\"\ntitle = \"Test\"\nformat = 1\n\
         [[document]]\nname = \"machine\"\nroot = \"machine\"\n\
         [element.machine]\nchildren = []\n[scene]\n{scene}"
    );
    Arc::new(Dialect::read(&toml, None).unwrap_or_else(|problems| panic!("{problems:#?}")))
}

fn read(text: &str, scene: &str) -> Result<Scene, SceneError> {
    scene::read(
        text.as_bytes(),
        "rig.scene.xml",
        &[Dialect::house(), dialect(scene)],
    )
}

fn check(text: &str, scene: &str, expected: Expect) {
    let told = match read(text, scene) {
        Ok(scene) => outline(&scene),
        Err(error) => format!("error: {error}\n"),
    };
    expected.assert_eq(&told);
}

const RIG: &str = r#"<?xml version="1.0"?>
<scene>
  <!-- the machine -->
  <node label="body">
    <node label="leg.left" at="1.3 0 0">
      <mesh label="wheel" least="-0.2 -0.6 -0.6" greatest="0.2 0.6 0.6"/>
      <light label="no node"><node label="nor this"/></light>
    </node>
    <node at="-1.3 0 0" shown="false"/>
  </node>
  <node label="lamp"/>
</scene>
"#;

#[test]
fn nodes_within_nodes() {
    check(
        RIG,
        NESTED,
        expect![[r#"
        body
          leg.left at 1.3 0 0
            wheel measures 0.4 1.2 1.2
          (no name) at -1.3 0 0 hidden
        lamp
    "#]],
    );
}

#[test]
fn sources_are_start_tags() {
    let scene = read(RIG, NESTED).unwrap();
    assert!(scene.file_text_positions);
    assert_eq!(
        source(&scene, NodeIndex(1), RIG),
        r#"<node label="leg.left" at="1.3 0 0">"#
    );
    let marked = format!("\u{feff}{RIG}");
    let scene = read(&marked, NESTED).unwrap();
    assert_eq!(
        source(&scene, NodeIndex(4), &marked),
        r#"<node label="lamp"/>"#
    );
}

#[test]
fn children_and_values_in_elements_of_their_own() {
    check(
        r#"<world xmlns="urn:test:world"><head><branches><branch/></branches></head><tree><branches>
          <branch><title> mast </title><place>0;1100,5;0</place><box>-10;-10;0;10;10;2000</box>
            <branches><branch><title>lamp</title><hidden>yes</hidden></branch></branches>
            <branch><title>no node here</title></branch></branch>
          <branch><title>leg</title><hidden>no</hidden></branch>
        </branches></tree></world>"#,
        BRACKETED,
        expect![[r#"
            mast at 0 1.1005 0 measures 0.02 0.02 2
              lamp hidden
            leg shown
        "#]],
    );
}

#[test]
fn names_of_another_language_are_no_nodes() {
    check(
        r#"<w:world xmlns:w="urn:test:world" xmlns:x="urn:x"><w:tree><w:branches>
          <w:branch><w:title>mast</w:title><x:title>sail</x:title></w:branch>
          <x:branch><w:title>ship</w:title></x:branch></w:branches></w:tree></w:world>"#,
        BRACKETED,
        expect![[r#"
            mast
        "#]],
    );
}

#[test]
fn rotations_in_every_form() {
    let expected = DQuat::from_euler(EulerRot::XYZ, 0.3, -0.4, 0.5);
    let (axis, angle) = expected.to_axis_angle();
    let degrees = [0.3_f64, -0.4, 0.5].map(f64::to_degrees);
    let DQuat { x, y, z, w } = expected;
    let forms = [
        (
            "euler",
            format!("{} {} {}", degrees[0], degrees[1], degrees[2]),
        ),
        ("quaternion-xyzw", format!("{x} {y} {z} {w}")),
        ("quaternion-wxyz", format!("{w} {x} {y} {z}")),
        (
            "axis-angle",
            format!("{} {} {} {}", axis.x, axis.y, axis.z, angle.to_degrees()),
        ),
    ];
    for (form, value) in forms {
        let scene = read(
            &format!("<scene><node turn='{value}'/></scene>"),
            &format!("{NESTED}\nrotation-form = \"{form}\""),
        )
        .unwrap();
        let rotation = scene[NodeIndex(0)].rest.rotation();
        assert!(
            rotation.dot(expected).abs() > 1.0 - 1e-12,
            "{form}: {rotation}"
        );
        assert!(scene.notes.is_empty());
    }
}

#[test]
fn matrices_by_rows_and_by_columns() {
    // A quarter turn about z (x to y), then 1 2 3 from the origin.
    let rows = "0 -1 0 1  1 0 0 2  0 0 1 3  0 0 0 1";
    let columns = "0 1 0 0  -1 0 0 0  0 0 1 0  1 2 3 1";
    for (order, value) in [("rows", rows), ("columns", columns)] {
        let scene = read(
            &format!("<scene><node frame='{value}'/></scene>"),
            &format!("{NESTED}\nmatrix = \"@frame\"\nmatrix-order = \"{order}\""),
        )
        .unwrap();
        let matrix = scene[NodeIndex(0)].rest.matrix();
        let moved = matrix.transform_point3(DVec3::X);
        assert!(
            moved.abs_diff_eq(DVec3::new(1.0, 3.0, 3.0), 1e-12),
            "{order}: {moved}"
        );
        assert_eq!(scene[NodeIndex(0)].rest.sheared(), None);
    }
}

#[test]
fn lengths_and_angles_are_in_the_units_of_the_format() {
    let tree = |branch: &str| {
        let text = format!(
            "<world xmlns='urn:test:world'><tree><branches><branch>{branch}</branch></branches></tree></world>"
        );
        read(&text, BRACKETED).unwrap().nodes[0].rest.clone()
    };
    let moved = tree("<frame>1;0;0;0;0;1;0;0;0;0;1;0;500;0;-2000;1</frame>");
    assert!(
        moved
            .translation
            .abs_diff_eq(DVec3::new(0.5, 0.0, -2.0), 1e-12)
    );
    let turned = tree("<turn>0;0;1;0,5</turn>").rotation();
    assert!(turned.abs_diff_eq(DQuat::from_rotation_z(0.5), 1e-12));
    let in_radians = format!("{NESTED}[scene.units]\nangle = \"rad\"\n");
    let scene = read("<scene><node turn='0 0 0.5'/></scene>", &in_radians).unwrap();
    let turned = scene.nodes[0].rest.rotation();
    assert!(turned.abs_diff_eq(DQuat::from_rotation_z(0.5), 1e-12));
}

#[test]
fn one_factor_scales_all_axes() {
    let scene = read(
        "<scene><node scale='2'/><node scale='1 2 3'/></scene>",
        NESTED,
    )
    .unwrap();
    assert_eq!(scene[NodeIndex(0)].rest.scale(), DVec3::splat(2.0));
    assert_eq!(scene[NodeIndex(1)].rest.scale(), DVec3::new(1.0, 2.0, 3.0));
}

#[test]
fn what_cannot_be_read_is_noted_and_the_tree_is_read() {
    check(
        r#"<scene><node label="a" at="1 2" turn="north" scale="" shown="maybe"
             least="1 1 1" greatest="0 0 0"><node label="b" at="1,0,0"/></node></scene>"#,
        NESTED,
        expect![[r#"
            a
              b
            note: “1 2” should be three lengths. It is left out: mend it here, or export the scene again. (at byte 27)
            note: “north” should be three angles. It is left out: mend it here, or export the scene again. (at byte 38)
            note: “” should be one factor or three. It is left out: mend it here, or export the scene again. (at byte 52)
            note: “maybe” should be a word for yes or no. It is left out: mend it here, or export the scene again. (at byte 61)
            note: “0 0 0” should be the corners of a box, the least one first. It is left out: mend it here, or export the scene again. (at byte 105)
            note: “1,0,0” should be three lengths. It is left out: mend it here, or export the scene again. (at byte 132)
        "#]],
    );
}

#[test]
fn a_document_of_no_dialect_is_told_by_its_root() {
    check(
        "<park/>",
        NESTED,
        expect![[r#"
        error: “rig.scene.xml” begins with <park>, which no dialect in use describes as a scene. Export the scene as glTF 2.0, or add a [scene] section to the dialect file. (at byte 0)
    "#]],
    );
    check(
        "<scene xmlns='urn:other'/>",
        BRACKETED,
        expect![[r#"
        error: “rig.scene.xml” begins with <scene>, which no dialect in use describes as a scene. Export the scene as glTF 2.0, or add a [scene] section to the dialect file. (at byte 0)
    "#]],
    );
    check(
        "<!-- nothing -->",
        NESTED,
        expect![[r#"
        error: “rig.scene.xml” holds no XML element. Export the scene again.
    "#]],
    );
}

#[test]
fn a_file_name_alone_makes_no_scene() {
    let named = "<scene><node label='a'/></scene>";
    let elsewhere = scene::read(named.as_bytes(), "rig.xml", &[dialect(NESTED)]);
    assert!(elsewhere.is_err());
    check(
        named,
        NESTED,
        expect![[r#"
        a
    "#]],
    );
}

#[test]
fn broken_xml_says_where() {
    check(
        "<scene><node label='a></scene>",
        NESTED,
        expect![[r#"
            error: The XML is broken: `<node>` has no end tag. Write `</node>` where it ends, or `/>` if nothing belongs in it. (at byte 7)
        "#]],
    );
    check(
        "<scene><node></scene>",
        NESTED,
        expect![[r#"
            error: The XML is broken: `<node>` has no end tag. Write `</node>` where it ends, or `/>` if nothing belongs in it. (at byte 7)
        "#]],
    );
}

#[test]
fn utf_16_is_read() {
    let units = "\u{feff}<scene><node label='Lämpchen'/></scene>".encode_utf16();
    let bytes: Vec<u8> = units.flat_map(u16::to_le_bytes).collect();
    let scene = scene::read(&bytes, "rig.scene.xml", &[dialect(NESTED)]).unwrap();
    assert_eq!(&*scene[NodeIndex(0)].name, "Lämpchen");
}

#[test]
fn paths_that_lead_back_up_end() {
    let upward = format!("{NESTED}\nchildren = \"..\"");
    check(
        "<scene><node label='a'/><node label='b'/></scene>",
        &upward,
        expect![[r#"
            a
            b
        "#]],
    );
    let anywhere = format!("{NESTED}\nchildren = \"//scene\"");
    check(
        "<scene><node label='a'/><node label='b'/></scene>",
        &anywhere,
        expect![[r#"
            a
            b
        "#]],
    );
}

#[test]
fn hostile_documents_end() {
    let deep = format!(
        "<scene>{}{}</scene>",
        "<node>".repeat(2_000),
        "</node>".repeat(2_000)
    );
    assert!(read(&deep, NESTED).is_err());
    let attributes =
        |count: usize| -> String { (0..count).map(|index| format!(" a{index}=''")).collect() };
    let with = |count| {
        read(
            &format!("<scene><node{}/></scene>", attributes(count)),
            NESTED,
        )
    };
    assert_eq!(with(5_000).unwrap().nodes.len(), 1);
    let refused = with(100_000).unwrap_err().message;
    assert!(refused.contains("more than 5000 attributes"), "{refused}");
    let wide = format!("<scene>{}</scene>", "<node/>".repeat(100_000));
    assert_eq!(read(&wide, NESTED).unwrap().nodes.len(), 100_000);
    let entities = r#"<!DOCTYPE scene [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>
        <scene><node label="&b;&b;&b;"/></scene>"#;
    let _ = read(entities, NESTED);
}
