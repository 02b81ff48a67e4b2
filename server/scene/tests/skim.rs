//! A file of which only what matters is read gives what the whole file gives, places included.

mod common;

use std::io::{Cursor, Read, Result, Seek, SeekFrom};

use common::glb;
use proptest::prelude::*;
use scene::{MOST_NODES, Scene, SceneError, Skimmed};

const NODES: &str = r#"{"asset": {"version": "2.0"}, "buffers": [{"uri": "@"}], "images": [{"uri": "@"}],# "nodes": [{"name": "quay", "children": [1]},# {"name": "cr\"ane\\", "translation": [1,# 2, 3]}]}"#;

/// Gives a few bytes at a time.
struct Drops<'b>(Cursor<&'b [u8]>, usize);

impl Read for Drops<'_> {
    fn read(&mut self, buffer: &mut [u8]) -> Result<usize> {
        let few = self.1.min(buffer.len());
        self.0.read(&mut buffer[..few])
    }
}

impl Seek for Drops<'_> {
    fn seek(&mut self, to: SeekFrom) -> Result<u64> {
        self.0.seek(to)
    }
}

fn skim(bytes: &[u8], at_once: usize) -> Skimmed {
    Skimmed::of(Drops(Cursor::new(bytes), at_once), u64::MAX, 0).unwrap()
}

fn scene(skimmed: &Skimmed) -> std::result::Result<Scene, SceneError> {
    skimmed.scene(MOST_NODES, "quay.gltf", &[])
}

/// Reads the file both ways; gives back how much was left out.
fn left_out(bytes: &[u8]) -> usize {
    let whole = scene::read(bytes, "quay.gltf", &[]);
    let left_out = [usize::MAX, 1, 7].map(|at_once| {
        let skimmed = skim(bytes, at_once);
        assert_eq!(scene(&skimmed), whole);
        bytes.len() - skimmed.bytes().len()
    });
    assert_eq!(left_out, [left_out[0]; 3]);
    left_out[0]
}

/// The machine with data for each `@`, and blanks for each `#`.
fn text(data: &str, blanks: &str) -> String {
    NODES.replace('@', data).replace('#', blanks)
}

#[test]
fn blanks_and_data_are_left_out_of_text() {
    let data = format!("data:application/octet-stream;base64,{}", "A".repeat(5_000));
    let left = left_out(text(&data, &" \n".repeat(1_000)).as_bytes());
    assert!(left > 2 * 4_700 + 3 * 1_700, "{left}");
    assert_eq!(
        left_out(text("quay.bin", " \n").as_bytes()),
        0,
        "nothing is long"
    );
    let name = format!(
        r#"{{"asset": {{"version": "2.0"}}, "nodes": [{{"name": "{}"}}]}}"#,
        "a".repeat(9_000)
    );
    assert_eq!(left_out(name.as_bytes()), 0, "a name is no data");
}

#[test]
fn text_that_is_not_large_is_read_whole() {
    let text = text("quay.bin", &" ".repeat(1_000));
    let size = text.len() as u64;
    for (large, is_whole) in [(size, false), (size + 1, true)] {
        let skimmed = Skimmed::of(Cursor::new(&text), u64::MAX, large).unwrap();
        assert_eq!(skimmed.is_whole(), is_whole);
    }
}

#[test]
fn faults_behind_gaps_are_where_they_are() {
    let data = format!("data:,{}", "A".repeat(1_000));
    let sound = text(&data, &"\n".repeat(1_000));
    for (right, wrong) in [
        ("[1,", "[x,"),
        ("\"nodes\": [", "\"nodes\": [7, "),
        ("[1]", "[9]"),
        ("3]}", "3]"),
    ] {
        let broken = sound.replace(right, wrong);
        assert_ne!(broken, sound);
        assert!(left_out(broken.as_bytes()) > 3_000);
    }
}

#[test]
fn a_file_may_end_in_what_is_left_out() {
    for end in ["A", "ä", "\u{1f69c}"] {
        let file = format!("{{\"asset\": \"data:{}{end}", "A".repeat(1_000));
        assert!(left_out(file.as_bytes()) > 700);
    }
}

#[test]
fn escapes_are_not_cut_apart() {
    for before in 245..262 {
        let data = format!("data:{}\\u00e4\\\"{}", "A".repeat(before), "ä".repeat(900));
        assert!(left_out(text(&data, "").as_bytes()) > 3_000);
    }
}

#[test]
fn what_is_no_gltf_is_read_whole() {
    let blanks = " ".repeat(5_000);
    assert_eq!(
        left_out(format!("{blanks}<quay>{blanks}</quay>").as_bytes()),
        0
    );
    assert_eq!(left_out(b""), 0);
    assert!(left_out(blanks.as_bytes()) > 4_700);
    assert!(left_out(format!("\u{feff}{}", text("", &blanks)).as_bytes()) > 4_700);
}

#[test]
fn only_the_json_of_a_glb_file_is_read() {
    let json = text("", "");
    let binary = vec![7; 10_000];
    let file = glb(&[(b"JSON", json.as_bytes()), (b"BIN\0", &binary)]);
    assert_eq!(left_out(&file), 10_000);
    let odd = glb(&[
        (b"JSON", json.as_bytes()),
        (b"ODD\0", &binary),
        (b"BIN\0", &binary),
        (b"JSON", b"{}"),
    ]);
    assert_eq!(left_out(&odd), 20_000 + 4);
    let wrong_first = glb(&[(b"BIN\0", &binary), (b"JSON", json.as_bytes())]);
    left_out(&wrong_first);
}

#[test]
fn a_glb_file_may_be_cut_off_or_lie() {
    let file = glb(&[
        (b"JSON", text("", "").as_bytes()),
        (b"BIN\0", &[7; 30]),
        (b"BIN\0", &[]),
    ]);
    for length in 4..file.len() {
        left_out(&file[..length]);
    }
    let longer = [&file[..], &[0; 50]].concat();
    left_out(&longer);
    for at in [8, 12, file.len() - 48, file.len() - 8] {
        for lie in [0, 1, 7, 20, 35, 36, 400, 500, u32::MAX] {
            let mut file = longer.clone();
            file[at..at + 4].copy_from_slice(&u32::to_le_bytes(lie));
            left_out(&file);
        }
    }
}

#[test]
fn no_more_is_read_than_is_asked_for() {
    let data = format!("data:,{}", "A".repeat(10_000));
    let text = text(&data, "");
    let file = glb(&[(b"JSON", b"{}"), (b"BIN\0", &[7; 10_000])]);
    for bytes in [text.as_bytes(), &file] {
        for most in [0, 3, 100, 6_000] {
            let cut = Skimmed::of(Cursor::new(bytes), most as u64, 0).unwrap();
            let whole = scene::read(&bytes[..most], "quay.gltf", &[]);
            assert_eq!(scene(&cut), whole);
        }
    }
}

proptest! {
    #[test]
    fn any_text_gives_the_same(
        parts in prop::collection::vec(("[\\[\\]{}:,\"0-9a-eä ]{0,12}", prop::sample::select(vec!["", " ", "data:", "\"data:"]), 0..600_usize), 0..6),
    ) {
        let mut text = String::from("{");
        for (part, repeated, count) in parts {
            text.push_str(&part);
            text.push_str(&repeated.repeat(count));
        }
        left_out(text.as_bytes());
    }
}
