//! Damaged scene files: each gives an error that says what, where and what to do.

mod common;

use common::{glb, outline, read};
use expect_test::{Expect, expect};

fn check_bytes(bytes: &[u8], expected: Expect) {
    let told = match scene::read(bytes, "bram-6.gltf", &[]) {
        Ok(scene) => outline(&scene),
        Err(error) => format!("error: {error}\n"),
    };
    expected.assert_eq(&told);
}

fn check(text: &str, expected: Expect) {
    check_bytes(text.as_bytes(), expected);
}

fn nodes(list: &str) -> String {
    format!(r#"{{"asset": {{"version": "2.0"}}, "nodes": [{list}]}}"#)
}

#[test]
fn files_that_are_no_scene() {
    check(
        "",
        expect![[r#"
        error: “bram-6.gltf” is empty. Export the scene again.
    "#]],
    );
    check(
        "  \n",
        expect![[r#"
        error: “bram-6.gltf” is empty. Export the scene again.
    "#]],
    );
    check(
        "solid quay\n",
        expect![[r#"
        error: “bram-6.gltf” is not a scene that can be read here: it is neither glTF 2.0 (.gltf or .glb) nor an XML scene that a dialect describes. Export the scene as glTF 2.0. (at byte 0)
    "#]],
    );
    check_bytes(
        b"\xFF\xFE{\0",
        expect![[r#"
            error: “bram-6.gltf” is UTF-16, but glTF has to be UTF-8. Save the file as UTF-8. (at byte 0)
        "#]],
    );
    check(
        "[]",
        expect![[r#"
        error: The glTF document should be a JSON object, but it is a list. Export the scene again. (at byte 0)
    "#]],
    );
    check(
        r#"{"name": "quay", "version": "1.0.0"}"#,
        expect![[r#"
        error: This JSON file does not say that it is glTF: “asset” is missing. Export the scene as glTF 2.0.
    "#]],
    );
    check(
        r#"{"asset": {"version": "1.0"}, "nodes": {}}"#,
        expect![[r#"
            error: This file is glTF 1.0; only glTF 2.0 can be read. Export the scene as glTF 2.0. (at byte 10)
        "#]],
    );
    check(
        r#"{"asset": {"version": "1.0"}}"#,
        expect![[r#"
        error: This file is glTF 1.0; only glTF 2.0 can be read. Export the scene as glTF 2.0. (at byte 10)
    "#]],
    );
    check(
        r#"{"asset": {"version": "2.1", "minVersion": "2.1"}}"#,
        expect![[r#"
            error: This file is glTF 2.1; only glTF 2.0 can be read. Export the scene as glTF 2.0. (at byte 10)
        "#]],
    );
    check(
        r#"{"asset": {}}"#,
        expect![[r#"
        error: “asset” does not say which version of glTF this is. Export the scene as glTF 2.0. (at byte 10)
    "#]],
    );
}

#[test]
fn a_later_version_that_asks_for_no_more_than_2_0_is_read() {
    check(
        r#"{"asset": {"version": "2.1", "minVersion": "2.0"}, "nodes": [{"name": "a"}]}"#,
        expect![[r#"
            a
        "#]],
    );
    check(
        r#"{"asset": {"version": "2.1"}, "nodes": [{"name": "a"}]}"#,
        expect![[r#"
            a
        "#]],
    );
}

#[test]
fn broken_json_says_where() {
    let text = "{\"asset\": {\"version\": \"2.0\"},\n \"nodes\": [{\"name\": \"a\"} {}]}";
    let error = read(text).unwrap_err();
    assert_eq!(error.offset, text.find(" {}]").map(|space| space + 1));
    check(
        text,
        expect![[r#"
        error: The JSON is broken: expected `,` or `]`. Mend it here, or export the scene again. (at byte 55)
    "#]],
    );
    check(
        r#"{"asset": {"version": "2.0"}, "nodes": [{"#,
        expect![[r#"
            error: The JSON is broken: the file ends inside an object. Mend it here, or export the scene again. (at byte 40)
        "#]],
    );
    check(
        r#"{"asset": {"version": "2.0"}} {}"#,
        expect![[r#"
        error: The JSON is broken: trailing characters. Mend it here, or export the scene again. (at byte 30)
    "#]],
    );
    check_bytes(
        b"{\"asset\": \"\xE9\"}",
        expect![[r#"
        error: The JSON is not UTF-8 here. Save the file as UTF-8, or export the scene again. (at byte 11)
    "#]],
    );
}

#[test]
fn entries_of_the_wrong_kind() {
    check(
        &nodes(r#"{}, {"translation": [1, 2]}"#),
        expect![[r#"
        error: Node 1 cannot be read: invalid length 2, expected an array of length 3. Export the scene again. (at byte 65)
    "#]],
    );
    check(
        &nodes(r#"{"name": 7}"#),
        expect![[r#"
        error: Node 0 cannot be read: invalid type: integer `7`, expected a string. Export the scene again. (at byte 49)
    "#]],
    );
    check(
        &nodes(r#"{"children": [-1]}"#),
        expect![[r#"
        error: Node 0 cannot be read: -1 is not a whole number from 0 up. Export the scene again. (at byte 56)
    "#]],
    );
    check(
        &nodes(r#"{"children": [0.5]}"#),
        expect![[r#"
        error: Node 0 cannot be read: 0.5 is not a whole number from 0 up. Export the scene again. (at byte 57)
    "#]],
    );
    check(
        &nodes("[]"),
        expect![[r#"
        error: Node 0 should be a JSON object, but it is a list. Export the scene again. (at byte 40)
    "#]],
    );
    check(
        &nodes("null"),
        expect![[r#"
            error: Node 0 cannot be read: invalid type: null, expected an object. Export the scene again. (at byte 43)
        "#]],
    );
    check(
        r#"{"asset": {"version": "2.0"}, "nodes": {}}"#,
        expect![[r#"
            error: “nodes” cannot be read: invalid type: map, expected a list. Export the scene again. (at byte 39)
        "#]],
    );
    check(
        &nodes(r#"{"translation": [1e999, 0, 0]}"#),
        expect![[r#"
            error: The JSON is broken: number out of range. Mend it here, or export the scene again. (at byte 61)
        "#]],
    );
    check(
        &nodes(r#"{"children": [], "children": []}"#),
        expect![[r#"
            error: Node 0 cannot be read: duplicate field `children`. Export the scene again. (at byte 66)
        "#]],
    );
}

#[test]
fn nodes_that_are_no_tree() {
    check(
        &nodes(r#"{"name": "mast", "children": [0]}"#),
        expect![[r#"
            error: Node 0 (“mast”) is its own child. Take the link out that closes the circle, or export the scene again. (at byte 40)
        "#]],
    );
    check(
        &nodes(r#"{}, {"name": "mast", "children": [2]}, {"children": [1]}"#),
        expect![[r#"
            error: Node 1 (“mast”) hangs, at the end, on itself, by way of node 2. Take the link out that closes the circle, or export the scene again. (at byte 44)
        "#]],
    );
    check(
        &nodes(r#"{"children": [2]}, {"children": [2]}, {"name": "mast"}"#),
        expect![[r#"
            error: Node 2 (“mast”) is a child of node 0 and of node 1 as well. A node can hang on one node only: take one link away, or export the scene again. (at byte 59)
        "#]],
    );
    check(
        &nodes(r#"{"children": [1, 1]}, {}"#),
        expect![[r#"
            error: Node 0 lists node 1 as its child twice. Once is enough: take one away, or export the scene again. (at byte 40)
        "#]],
    );
    check(
        &nodes(r#"{"name": "mast", "children": [2]}, {}"#),
        expect![[r#"
            error: Node 0 (“mast”) asks for node 2, but the file has 2 nodes (numbers 0 to 1). Export the scene again. (at byte 40)
        "#]],
    );
}

#[test]
fn scenes_that_do_not_fit_the_nodes() {
    let with = |scene: &str| {
        format!(
            r#"{{"asset": {{"version": "2.0"}}, {scene}, "nodes": [{{"children": [1]}}, {{"name": "b"}}]}}"#
        )
    };
    check(
        &with(r#""scene": 2, "scenes": [{}]"#),
        expect![[r#"
        error: The default scene is scene 2, but the file has 1 scene (number 0). Export the scene again.
    "#]],
    );
    check(
        &with(r#""scene": 0"#),
        expect![[r#"
        error: The default scene is scene 0, but the file has no scenes. Export the scene again.
    "#]],
    );
    check(
        &with(r#""scenes": [{"nodes": [7]}]"#),
        expect![[r#"
        error: The scene asks for node 7, but the file has 2 nodes (numbers 0 to 1). Export the scene again. (at byte 41)
    "#]],
    );
    check(
        &with(r#""scenes": [{"nodes": [1]}]"#),
        expect![[r#"
            error: The scene begins with node 1 (“b”), which is a child of node 0. A scene can only begin with nodes that hang on nothing: name node 0 there instead, or export the scene again. (at byte 41)
        "#]],
    );
    check(
        &with(r#""scenes": [{"nodes": [0, 0]}]"#),
        expect![[r#"
            error: The scene lists node 0 twice. Once is enough: take one away, or export the scene again. (at byte 41)
        "#]],
    );
}

const SMALL: &[u8] = br#"{"asset": {"version": "2.0"}, "nodes": [{"name": "a"}]}"#;

#[test]
fn containers_that_are_cut_off_or_wrong() {
    let whole = glb(&[(b"JSON", SMALL), (b"BIN\0", &[0; 8])]);
    check_bytes(
        b"glTF",
        expect![[r#"
        error: The file ends inside the header of its GLB container. Export the scene again. (at byte 4)
    "#]],
    );
    check_bytes(
        &whole[..11],
        expect![[r#"
        error: The file ends inside the header of its GLB container. Export the scene again. (at byte 11)
    "#]],
    );
    check_bytes(
        &whole[..12],
        expect![[r#"
        error: The file ends where a chunk of the GLB container should begin. Export the scene again. (at byte 12)
    "#]],
    );
    check_bytes(
        &whole[..30],
        expect![[r#"
        error: This chunk of the GLB file should have 56 bytes, but the file ends after 10 of them. The file was cut off: copy it or export it again. (at byte 12)
    "#]],
    );
    check_bytes(
        &glb(&[(b"BIN\0", &[0; 8]), (b"JSON", SMALL)]),
        expect![[r#"
            error: The first chunk of this GLB file is not its JSON. Export the scene again. (at byte 12)
        "#]],
    );
    check_bytes(
        &glb(&[(b"JSON", b"")]),
        expect![[r#"
        error: The JSON chunk of this GLB file is empty. Export the scene again. (at byte 12)
    "#]],
    );
    let mut old = whole.clone();
    old[4] = 1;
    check_bytes(
        &old,
        expect![[r#"
        error: This GLB container has version 1; only version 2 can be read. Export the scene as glTF 2.0. (at byte 4)
    "#]],
    );
}

#[test]
fn containers_whose_json_is_whole_are_read_with_a_note() {
    let whole = glb(&[(b"JSON", SMALL), (b"BIN\0", &[0; 8])]);
    check_bytes(
        &whole[..whole.len() - 3],
        expect![[r#"
        a
        note: The GLB header says that the file has 92 bytes, but it has 89. Export the scene again. (at byte 8)
        note: This chunk of the GLB file should have 8 bytes, but the file ends after 5 of them. The file was cut off: copy it or export it again. (at byte 76)
    "#]],
    );
    check_bytes(
        &glb(&[(b"JSON", SMALL), (b"JSON", SMALL)]),
        expect![[r#"
            a
            note: This chunk of the GLB file is one too many, or out of its place. Export the scene again. (at byte 76)
        "#]],
    );
    let mut padded = glb(&[(b"JSON", SMALL)]);
    *padded.last_mut().unwrap() = 0;
    check_bytes(
        &padded,
        expect![[r#"
        a
    "#]],
    );
}

#[test]
fn the_place_of_a_fault_in_a_container_is_that_of_the_file() {
    let json = br#"{"asset": {"version": "2.0"}, "nodes": [{"name": 7}]}"#;
    let file = glb(&[(b"JSON", json)]);
    let offset = scene::read(&file, "a.glb", &[])
        .unwrap_err()
        .offset
        .unwrap();
    assert_eq!(&file[offset - 8..offset + 1], b"\"name\": 7");
}

#[test]
fn depth_costs_no_stack() {
    let depth = scene::MOST_NODES - 1;
    let chain: Vec<String> = (1..=depth)
        .map(|next| format!(r#"{{"children":[{next}]}}"#))
        .collect();
    let scene = read(&nodes(&format!("{},{{\"name\":\"end\"}}", chain.join(",")))).unwrap();
    let end = scene.by_name("end")[0];
    assert_eq!(scene.index_path(end).len(), depth + 1);
    assert!(scene.world_rest(end).is_finite());
    // Nested lists where nothing is read, and where something is.
    let deep = "[".repeat(depth);
    let closed = format!("{deep}{}", "]".repeat(depth));
    let extras = format!(
        r#"{{"asset": {{"version": "2.0"}}, "extras": {closed}, "nodes": [{{"extras": {closed}}}]}}"#
    );
    assert_eq!(read(&extras).unwrap().nodes.len(), 1);
    assert!(read(&nodes(&format!(r#"{{"children": {closed}}}"#))).is_err());
    assert!(read(&nodes(&deep)).is_err());
}

#[test]
fn a_long_loop_is_found_in_a_moment() {
    let count = 200_000;
    let ring: Vec<String> = (0..count)
        .map(|index| format!(r#"{{"children":[{}]}}"#, (index + 1) % count))
        .collect();
    let error = read(&nodes(&ring.join(","))).unwrap_err();
    assert!(error.message.contains("on itself"), "{error}");
}

#[test]
fn how_many_nodes_are_read_can_be_said() {
    let three = nodes("{},{},{}");
    let read = |most| scene::read_at_most(most, three.as_bytes(), "a.gltf", &[]);
    assert_eq!(read(3).map(|scene| scene.nodes.len()), Ok(3));
    let error = read(2).unwrap_err();
    assert!(error.message.contains("more than 2 nodes"), "{error}");
    assert_eq!(error.offset, three.find("[{}"));
}

#[test]
fn more_nodes_than_any_scene_has_are_refused() {
    let list = vec!["{}"; 1_000_001].join(",");
    check(
        &nodes(&list),
        expect![[r#"
            error: The scene has more than 200000 nodes. Export it in smaller parts, or allow more nodes in the settings. (at byte 39)
        "#]],
    );
    let meshes = format!(r#"{{"asset":{{"version":"2.0"}},"meshes":[{list}]}}"#);
    check(
        &meshes,
        expect![[r#"
            error: There are more than 1000000 meshes here. Export the scene in smaller parts. (at byte 36)
        "#]],
    );
}

/// A bit of everything that is read.
const RICH: &str = r#"{"asset":{"version":"2.0","minVersion":"2.0"},"scene":0,"scenes":[{"nodes":[0]}],
"nodes":[{"name":"a","children":[1,2],"matrix":[1,0,0,0,0,1,0,0,0,0,1,0,0,0,0,1]},{"mesh":0,"rotation":[0,0,0,1],
"scale":[1,1,1]},{"translation":[1,2,3],"extensions":{"KHR_node_visibility":{"visible":true}}}],
"meshes":[{"primitives":[{"attributes":{"POSITION":0}}]}],"accessors":[{"componentType":5122,"normalized":true,
"min":[-1,-1,-1],"max":[1,1,1]}]}"#;

#[test]
fn a_file_cut_off_anywhere_is_an_error() {
    assert_eq!(read(RICH).unwrap().nodes.len(), 3);
    for end in 0..RICH.len() {
        let error = read(&RICH[..end]).unwrap_err();
        assert!(
            error.offset.is_none_or(|offset| offset <= end),
            "{end}: {error}"
        );
    }
    let binary = glb(&[(b"JSON", RICH.as_bytes()), (b"BIN\0", &[0; 8])]);
    for end in 0..binary.len() {
        let read = scene::read(&binary[..end], "a.glb", &[]);
        assert!(read.is_err() || !read.unwrap().notes.is_empty(), "{end}");
    }
}

#[test]
fn a_file_with_any_one_byte_changed_is_read_or_refused() {
    let binary = glb(&[(b"JSON", RICH.as_bytes()), (b"BIN\0", &[0; 8])]);
    for file in [RICH.as_bytes(), &binary] {
        for at in 0..file.len() {
            for byte in [
                0, b'"', b'-', b'0', b'9', b'[', b']', b'{', b'}', b',', b'e', 0x80, 0xFF,
            ] {
                let mut changed = file.to_owned();
                changed[at] = byte;
                if let Err(error) = scene::read(&changed, "a", &[]) {
                    assert!(
                        error.offset.is_none_or(|offset| offset <= file.len()),
                        "{error}"
                    );
                }
            }
        }
    }
}
