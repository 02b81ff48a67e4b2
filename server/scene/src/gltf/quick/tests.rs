use std::fs;
use std::path::Path;

use super::super::json::Document;
use super::*;

/// Reads a text both ways. Whether the quick reader took it; if so, the careful one must say the same.
fn taken(text: &str) -> bool {
    let whole = Piece { text, start: 0 };
    let Some(parts) = read(whole, usize::MAX) else {
        return false;
    };
    let asset = parts.asset;
    let quick = Document::of(whole, parts);
    let careful = Document::read_carefully(whole, crate::MOST_NODES);
    assert_eq!(quick.is_ok(), careful.is_ok(), "{text}");
    if let (Ok(quick), Ok(careful)) = (quick, careful) {
        assert!(asset.is_some());
        assert_eq!(format!("{quick:?}"), format!("{careful:?}"), "{text}");
    }
    true
}

const ALL: &str = r#" {"asset" : {"version": "2.0", "extras": [null, true, -1.5e+3, {"a": []}, {}, "\n"]},
    "scene": 0, "scenes": [{"nodes": [0, 2]}], "buffers": [{"uri": "data:,AA=="}],
    "nodes": [
        {"name": "crane", "children": [1], "translation": [0.5, -1, 2e-1], "mesh": 0},
        {"name": "hook \u00e4\t", "rotation": [0, 0, 0, 1], "scale": [1, 2, 3], "extras": {"x": 1}},
        {"matrix": [1,0,0,0, 0,1,0,0, 0,0,1,0, 0,0,0,1]}, {},
        {"extensions": {"KHR_node_visibility": {"visible": false}}}
    ],
    "meshes": [{"primitives": [{"attributes": {"POSITION": 0}}]}],
    "accessors": [{"min": [0,0,0], "max": [1,1,1]}]}
"#;

#[test]
fn everything_usual_is_read_and_as_the_careful_reader_reads_it() {
    assert!(taken(ALL));
    assert!(taken("{}"));
    assert!(taken(r#"{"asset": {"version": "2.0"}, "nodes": []}"#));
}

#[test]
fn the_scenes_of_the_corpus_are_read() {
    let machines = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../corpus/ternholt/machines");
    let mut scenes = 0;
    for file in fs::read_dir(machines).unwrap() {
        let path = file.unwrap().path();
        if path
            .extension()
            .is_some_and(|extension| extension == "gltf")
        {
            assert!(taken(&fs::read_to_string(&path).unwrap()), "{path:?}");
            scenes += 1;
        }
    }
    assert!(scenes > 0);
}

#[test]
fn what_is_unusual_is_left_to_the_careful_reader() {
    for text in [
        r#"{"nodes": [{"name": null}]}"#,
        r#"{"nodes": [{"mesh": 1.0}]}"#,
        r#"{"nodes": [{"extensions": null}]}"#,
        r#"{"nodes": [{"scale": [1, 2]}]}"#,
        r#"{"nodes": [{"scale": [1, 2, 3, 4]}]}"#,
        r#"{"nodes": [], "nodes": []}"#,
        r#"{"nodes": {}}"#,
        r#"{"scene": -1}"#,
        r#"{"scene": 01}"#,
        r#"{"asset": 1e999}"#,
        "{\"asset\": \"\t\"}",
        r#"{} {}"#,
        "",
    ] {
        assert!(!taken(text), "{text}");
    }
}

#[test]
fn with_any_byte_changed_or_gone_the_careful_reader_agrees() {
    for at in 0..ALL.len() {
        for new in [
            &b"0"[..],
            b"1",
            b"-",
            b".",
            b"e",
            b"\"",
            b"\\",
            b",",
            b":",
            b"{",
            b"}",
            b"[",
            b"]",
            b" ",
            b"\n",
            b"",
        ] {
            let mut bytes = ALL.as_bytes().to_vec();
            bytes.splice(at..=at, new.iter().copied());
            taken(std::str::from_utf8(&bytes).unwrap());
        }
    }
}

#[test]
fn depth_ends_where_the_careful_reader_ends() {
    for depth in [1, 100, 127, 128, 1000, 100_000] {
        let nested = format!("{}{}", "[".repeat(depth), "]".repeat(depth));
        taken(&format!("{{\"extras\": {nested}}}"));
    }
}

#[test]
fn numbers_are_the_nearest_there_are() {
    for text in [
        "0",
        "-0",
        "0.1",
        "-0.3",
        "1.1",
        "123456789.123456",
        "999999999999999",
        "0.000000000000001",
        "9007199254740993",
        "3.141592653589793238",
        "1e3",
        "-2.5E-3",
        "1e-310",
        "4.35",
        "0.30000000000000004",
        "1234.567890123456789",
        "87654321.1234567891",
    ] {
        let document = format!("{{\"nodes\":[{{\"scale\":[{text},{text},1]}}]}}");
        let parts = read(
            Piece {
                text: &document,
                start: 0,
            },
            1,
        )
        .unwrap();
        let scale = parts.nodes.unwrap()[0].written.scale.clone().unwrap();
        assert_eq!(
            scale[0].to_bits(),
            text.parse::<f64>().unwrap().to_bits(),
            "{text}"
        );
    }
}

#[test]
fn strings_end_where_the_first_byte_is_that_is_not_plain() {
    let naive = |bytes: &[u8]| {
        bytes
            .iter()
            .take_while(|byte| PLAIN[usize::from(**byte)])
            .count()
    };
    for length in 0..20 {
        for fill in [b'a', b' ', b'!', 0x7f, 0x80, 0xff] {
            let bytes = vec![fill; length];
            assert_eq!(plain_length(&bytes), length);
            for (at, other) in (0..length).flat_map(|at| (0..=255).map(move |other| (at, other))) {
                let mut bytes = bytes.clone();
                bytes[at] = other;
                assert_eq!(plain_length(&bytes), naive(&bytes), "{bytes:?}");
                // What stands behind makes no difference.
                bytes[at..].fill(other);
                assert_eq!(plain_length(&bytes), naive(&bytes), "{bytes:?}");
            }
        }
    }
}

#[test]
fn a_large_first_node_leaves_no_room_for_as_many_that_are_not_there() {
    let children: Vec<String> = (1..=10_000).map(|child| child.to_string()).collect();
    let others = ",{}".repeat(10_000);
    let text = format!(
        r#"{{"nodes":[{{"children":[{}]}}{others}]}}"#,
        children.join(",")
    );
    for most in [10_001, 200_000] {
        let parts = read(
            Piece {
                text: &text,
                start: 0,
            },
            most,
        );
        let nodes = parts.and_then(|parts| parts.nodes).unwrap();
        assert_eq!(nodes.len(), 10_001);
        assert!(
            nodes.capacity() < 11_000,
            "room for {} nodes",
            nodes.capacity()
        );
    }
}

/// It is 2 to the power of 64, and one.
#[test]
fn a_number_of_a_node_that_is_far_too_large_is_none() {
    let text = r#"{"asset": {"version": "2.0"}, "nodes": [{"children": [18446744073709551617]}]}"#;
    assert!(!taken(text));
}
