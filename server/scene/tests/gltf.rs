//! Node trees of glTF files.

mod common;

use common::{glb, outline, read, source};
use expect_test::{Expect, expect};
use glam::{DMat4, DQuat, DVec3, EulerRot};
use scene::{NodeIndex, WalkError};

const QUAY: &str = r#"{
  "asset": {"version": "2.0"},
  "scene": 1,
  "scenes": [{"nodes": [5]}, {"nodes": [2, 0]}],
  "nodes": [
    {"name": "lamp", "translation": [0, 3, 0]},
    {"name": "leg.left", "translation": [1.3, 0, 0], "children": [3]},
    {"name": "bram-6", "children": [1, 4]},
    {"name": "wheel", "mesh": 0},
    {"translation": [-1.3, 0, 0]},
    {"name": "elsewhere"}
  ],
  "meshes": [{"primitives": [{"attributes": {"POSITION": 0}}, {"attributes": {"POSITION": 1, "NORMAL": 7}}]}],
  "accessors": [
    {"componentType": 5126, "type": "VEC3", "count": 3, "min": [-0.5, -0.5, 0], "max": [0.5, 0.5, 0.25]},
    {"componentType": 5126, "type": "VEC3", "count": 3, "min": [0, 0, -0.25], "max": [0.25, 0.25, 0]}
  ]
}"#;

fn check(text: &str, expected: Expect) {
    let told = match read(text) {
        Ok(scene) => outline(&scene),
        Err(error) => format!("error: {error}\n"),
    };
    expected.assert_eq(&told);
}

/// A file with these members beside a valid `asset`.
fn file(members: &str) -> String {
    format!(r#"{{"asset": {{"version": "2.0"}}, {members}}}"#)
}

#[test]
fn the_default_scene_is_read_in_its_own_order() {
    check(
        QUAY,
        expect![[r#"
        bram-6
          leg.left at 1.3 0 0
            wheel measures 1 1 0.5
          (no name) at -1.3 0 0
        lamp at 0 3 0
    "#]],
    );
}

#[test]
fn without_a_default_the_first_scene_counts() {
    check(
        &file(r#""scenes": [{"nodes": [1]}], "nodes": [{"name": "a"}, {"name": "b"}]"#),
        expect![[r#"
            b
        "#]],
    );
}

#[test]
fn without_scenes_every_node_that_hangs_on_nothing_is_a_root() {
    check(
        &file(r#""nodes": [{"name": "a"}, {"name": "b", "children": [0]}, {"name": "c"}]"#),
        expect![[r#"
            b
              a
            c
        "#]],
    );
}

#[test]
fn a_scene_without_nodes_is_an_empty_tree() {
    check(
        &file(r#""scenes": [{}], "nodes": [{"name": "a"}]"#),
        expect![[r#""#]],
    );
    check(&file(r#""extras": {}"#), expect![[r#""#]]);
}

#[test]
fn index_paths_lead_there_and_back() {
    let scene = read(QUAY).unwrap();
    for id in scene.ids() {
        assert_eq!(scene.walk(&scene.index_path(id)), Ok(id));
    }
    assert_eq!(scene.index_path(scene.by_name("wheel")[0]), [0, 0, 0]);
}

#[test]
fn a_path_that_leads_nowhere_says_where_it_broke_off() {
    let scene = read(QUAY).unwrap();
    assert_eq!(
        scene.walk(&[0, 0, 4]),
        Err(WalkError {
            depth: 2,
            available: 1
        })
    );
    assert_eq!(
        scene.walk(&[0, 1, 0]),
        Err(WalkError {
            depth: 2,
            available: 0
        })
    );
    assert_eq!(
        scene.walk(&[2]),
        Err(WalkError {
            depth: 0,
            available: 2
        })
    );
    assert_eq!(
        scene.walk(&[]),
        Err(WalkError {
            depth: 0,
            available: 2
        })
    );
}

#[test]
fn names_find_all_their_nodes() {
    let scene = read(&file(
        r#""nodes": [{"name": "b", "children": [1]}, {"name": "a"}, {"name": "b"}, {}, {}]"#,
    ))
    .unwrap();
    assert_eq!(scene.by_name("b"), [NodeIndex(0), NodeIndex(2)]);
    assert_eq!(scene.by_name("a"), [NodeIndex(1)]);
    assert_eq!(scene.by_name(""), [NodeIndex(3), NodeIndex(4)]);
    assert_eq!(scene.by_name("c"), []);
}

#[test]
fn a_node_is_below_what_it_hangs_on_but_not_below_itself() {
    let scene = read(QUAY).unwrap();
    let [root, leg, wheel, other] = [0, 1, 2, 3].map(NodeIndex);
    assert!(scene.is_below(wheel, root));
    assert!(scene.is_below(wheel, leg));
    assert!(!scene.is_below(wheel, wheel));
    assert!(!scene.is_below(leg, wheel));
    assert!(!scene.is_below(other, leg));
    assert_eq!(scene.subtree(leg).collect::<Vec<_>>(), [leg, wheel]);
}

#[test]
fn tree_paths_name_what_has_a_name() {
    let scene = read(QUAY).unwrap();
    let paths: Vec<String> = scene.ids().map(|id| scene.tree_path(id)).collect();
    assert_eq!(
        paths,
        [
            "bram-6",
            "bram-6/leg.left",
            "bram-6/leg.left/wheel",
            "bram-6/[1]",
            "lamp"
        ]
    );
}

#[test]
fn sources_are_the_nodes_own_objects() {
    let text = format!("\u{feff}{}", QUAY.replace("lamp", "Lämpchen \\u2014 ⚓"));
    let scene = read(&text).unwrap();
    assert!(scene.file_text_positions);
    let lamp = *scene.roots.last().unwrap();
    assert_eq!(&*scene[lamp].name, "Lämpchen — ⚓");
    assert_eq!(
        source(&scene, lamp, &text),
        r#"{"name": "Lämpchen \u2014 ⚓", "translation": [0, 3, 0]}"#
    );
    let wheel = scene.by_name("wheel")[0];
    assert_eq!(
        source(&scene, wheel, &text),
        r#"{"name": "wheel", "mesh": 0}"#
    );
}

#[test]
fn a_binary_file_gives_the_same_tree_without_sources() {
    let text = read(QUAY).unwrap();
    let binary = scene::read(
        &glb(&[(b"JSON", QUAY.as_bytes()), (b"BIN\0", &[1; 5])]),
        "quay.glb",
        &[],
    )
    .unwrap();
    assert_eq!(outline(&text), outline(&binary));
    assert!(!binary.file_text_positions);
    assert!(binary.nodes.iter().all(|node| node.source().is_none()));
}

#[test]
fn translation_rotation_and_scale_act_scale_first() {
    // A quarter turn about z takes (2·1, 0, 0) to (0, 2, 0); then it is moved.
    let half = std::f64::consts::FRAC_1_SQRT_2;
    let scene = read(&file(&format!(
        r#""nodes": [{{"translation": [10, 0, 0], "rotation": [0, 0, {half}, {half}], "scale": [2, 1, 1],
            "children": [1]}}, {{"translation": [1, 0, 0]}}]"#
    )))
    .unwrap();
    let place = scene.world_rest(NodeIndex(1)).transform_point3(DVec3::ZERO);
    assert!(
        place.abs_diff_eq(DVec3::new(10.0, 2.0, 0.0), 1e-12),
        "{place}"
    );
    assert_eq!(scene.world_rests()[1], scene.world_rest(NodeIndex(1)));
}

#[test]
fn matrices_are_read_column_by_column() {
    let rotation = DQuat::from_euler(EulerRot::XYZ, 0.1, 0.2, 0.3);
    let matrix = DMat4::from_scale_rotation_translation(
        DVec3::new(1.0, 2.0, 3.0),
        rotation,
        DVec3::new(4.0, 5.0, 6.0),
    );
    let numbers = serde_json::to_string(&matrix.to_cols_array()).unwrap();
    let scene = read(&file(&format!(r#""nodes": [{{"matrix": {numbers}}}]"#))).unwrap();
    let rest = &scene[NodeIndex(0)].rest;
    assert!(
        rest.translation
            .abs_diff_eq(DVec3::new(4.0, 5.0, 6.0), 1e-12)
    );
    assert!(rest.scale().abs_diff_eq(DVec3::new(1.0, 2.0, 3.0), 1e-12));
    assert_eq!(rest.sheared(), None);
}

#[test]
fn a_rotation_that_is_no_unit_quaternion_is_made_one() {
    check(
        &file(r#""nodes": [{"rotation": [0, 0, 0, 2]}, {"rotation": [0, 0, 0, 0]}]"#),
        expect![[r#"
            (no name)
            (no name)
            note: The rotation of node 0 is a quaternion of length 2.000; it should be 1. It is read as if it were. (at byte 40)
            note: The rotation of node 1 is a quaternion of length 0.000; it should be 1. It is read as if it were. (at byte 68)
        "#]],
    );
    let scene = read(&file(r#""nodes": [{"rotation": [0, 0, 0, 0]}]"#)).unwrap();
    assert_eq!(scene[NodeIndex(0)].rest.rotation(), DQuat::IDENTITY);
}

#[test]
fn hidden_nodes_are_known() {
    check(
        &file(
            r#""nodes": [{"name": "a", "extensions": {"KHR_node_visibility": {"visible": false}}},
            {"name": "b", "extensions": {"KHR_node_visibility": {}, "KHR_lights_punctual": {"light": 0}}}]"#,
        ),
        expect![[r#"
            a hidden
            b shown
        "#]],
    );
}

#[test]
fn whole_numbers_may_be_written_with_a_fraction() {
    check(
        &file(r#""scene": 0.0, "scenes": [{"nodes": [1e0]}], "nodes": [{}, {"children": [0.0]}]"#),
        expect![[r#"
            (no name)
              (no name)
        "#]],
    );
}

#[test]
fn positions_stored_as_fractions_are_measured() {
    // KHR_mesh_quantization: 127 means 1, and -128 counts as -1.
    check(
        &file(
            r#""nodes": [{"mesh": 0}],
            "meshes": [{"primitives": [{"attributes": {"POSITION": 0}}]}],
            "accessors": [{"componentType": 5120, "normalized": true, "type": "VEC3", "count": 2,
                "min": [-128, -127, 0], "max": [127, 127, 127]}]"#,
        ),
        expect![[r#"
            (no name) measures 2 2 1
        "#]],
    );
}

#[test]
fn positions_stored_as_whole_numbers_may_mean_themselves() {
    for normalized in ["", r#""normalized": false,"#] {
        let mesh = r#""nodes": [{"mesh": 0}],
            "meshes": [{"primitives": [{"attributes": {"POSITION": 0}}]}],
            "accessors": [{"componentType": 5120, NORMALIZED "type": "VEC3", "count": 2,
                "min": [-2, 0, 0], "max": [2, 1, 1]}]"#;
        check(
            &file(&mesh.replace("NORMALIZED", normalized)),
            expect![[r#"
                (no name) measures 4 1 1
            "#]],
        );
    }
}

#[test]
fn a_mesh_of_unknown_size_is_noted_once_and_the_tree_is_read() {
    check(
        &file(
            r#""nodes": [{"name": "a", "mesh": 0}, {"name": "b", "mesh": 0}, {"name": "c", "mesh": 9}, {"name": "d", "mesh": 1},
             {"name": "e", "mesh": 2}, {"name": "f", "mesh": 3}],
            "meshes": [{"primitives": [{"attributes": {"POSITION": 0}}]},
                       {"primitives": [{"attributes": {"POSITION": 1}}]},
                       {"primitives": [{"attributes": {"POSITION": 2}}]},
                       {"primitives": [{"attributes": {"NORMAL": 2}}]}],
            "accessors": [{"componentType": 5126, "type": "VEC3", "count": 2},
                          {"componentType": 5126, "type": "VEC3", "count": 2, "min": [1, 0, 0], "max": [0, 0, 0]}]"#,
        ),
        expect![[r#"
            a
            b
            c
            d
            e
            f
            note: Accessor 0 holds the positions of mesh 0 but does not state “min” and “max”. The mesh's size stays unknown: export the scene again. (at byte 531)
            note: A node asks for mesh 9, but the file has 4 meshes (numbers 0 to 3). Its size stays unknown: export the scene again.
            note: Accessor 1 states a “min” above its “max”. The size of mesh 1 stays unknown: export the scene again. (at byte 610)
            note: Mesh 2 asks for accessor 2, but the file has 2 accessors (numbers 0 to 1). Its size stays unknown: export the scene again.
        "#]],
    );
}
