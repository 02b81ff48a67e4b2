use super::*;
use crate::config::Size;
use crate::fixture::{archive, folder};
use std::fs;
use std::path::Path;

/// What was found: path below the folder, member, and what it is.
fn found(root: &Path, limits: &Limits) -> (Vec<String>, Vec<String>) {
    let shown = |source: &Source| {
        let file = source
            .file
            .strip_prefix(root)
            .expect("it is below")
            .display()
            .to_string();
        match &source.member {
            Some(member) => format!("{file}!/{member}"),
            None => file,
        }
    };
    let library = read(
        &[root.to_path_buf()],
        limits,
        |made: &mut Vec<String>, file| {
            let what = match &file.content {
                Content::Xml(text) => format!("xml of {}", text.len()),
                Content::Scene(scene) => format!("scene of {}", scene.nodes.len()),
                Content::Other => "other".to_owned(),
            };
            made.push(format!("{}: {what}", shown(&file.source)));
        },
    );
    let unread = library.unread.iter();
    let unread = unread.map(|one| format!("{}: {}", shown(&one.source), one.reason));
    (library.portions.concat(), unread.collect())
}

#[test]
fn folders_and_archives_are_read_by_content() {
    let folder = folder();
    let root = folder.path();
    fs::create_dir_all(root.join("b/.hidden")).unwrap();
    fs::write(root.join("b/.hidden/raft.xml"), "<raft/>").unwrap();
    fs::write(root.join("b/raft.def"), "<raft/>").unwrap();
    fs::write(root.join("b/list.json"), "{\"a\": 1}").unwrap();
    let scene = r#"{"asset":{"version":"2.0"},"scenes":[{"nodes":[0]}],"nodes":[{"name":"hull"}]}"#;
    fs::write(root.join("b/raft.bin"), scene).unwrap();
    archive(
        &root.join("a.mod"),
        &[
            ("raft.xml", b"<raft>1</raft>"),
            ("in\\pump.ogg", b"OggS"),
            (".x/raft.xml", b"<raft/>"),
        ],
    );
    let (files, unread) = found(root, &Limits::default());
    assert_eq!(
        files,
        [
            "a.mod!/raft.xml: xml of 14",
            "a.mod!/in/pump.ogg: other",
            "b/list.json: other",
            "b/raft.bin: scene of 1",
            "b/raft.def: xml of 7",
        ]
    );
    assert!(unread.is_empty(), "{unread:?}");
}

#[test]
fn what_cannot_be_read_is_said_and_keeps_nothing_else_from_being_read() {
    let folder = folder();
    let root = folder.path();
    fs::write(
        root.join("a.zip"),
        b"PK\x03\x04 is not all that an archive needs",
    )
    .unwrap();
    let big = vec![b' '; 3 << 20];
    archive(
        &root.join("b.zip"),
        &[
            ("big.xml", &[b"<raft>", &big[..]].concat()),
            ("raft.xml", b"<raft/>"),
        ],
    );
    fs::write(
        root.join("c.xml"),
        b"<?xml version='1.0' encoding='ISO-8859-1'?><raft n='\xE4'/>",
    )
    .unwrap();
    let limits = Limits {
        document: Size::SMALLEST,
        ..Limits::default()
    };
    let (files, unread) = found(root, &limits);
    assert_eq!(files, ["b.zip!/raft.xml: xml of 7"]);
    let starts = [
        "a.zip: The archive cannot be read",
        "b.zip!/big.xml: ",
        "c.xml: ",
    ];
    assert_eq!(unread.len(), starts.len(), "{unread:?}");
    for (said, start) in unread.iter().zip(starts) {
        assert!(said.starts_with(start), "{said}");
    }
}

#[cfg(unix)]
#[test]
fn links_are_not_followed() {
    let folder = folder();
    let root = folder.path();
    fs::create_dir_all(root.join("mod")).unwrap();
    fs::write(root.join("mod/raft.xml"), "<raft/>").unwrap();
    std::os::unix::fs::symlink(root, root.join("mod/again")).unwrap();
    std::os::unix::fs::symlink(root.join("mod/raft.xml"), root.join("mod/other.xml")).unwrap();
    let (files, unread) = found(root, &Limits::default());
    assert_eq!(files, ["mod/raft.xml: xml of 7"]);
    assert!(unread.is_empty());
}

#[test]
fn many_files_come_in_their_order_and_once() {
    let folder = folder();
    let root = folder.path();
    for at in 0..200 {
        fs::write(root.join(format!("{at:03}.xml")), "<raft/>").unwrap();
    }
    let twice = [root.to_owned(), root.join("007.xml")];
    let library = read(
        &twice,
        &Limits::default(),
        |made: &mut Vec<PathBuf>, file| {
            made.push(file.source.file);
        },
    );
    let files = library.portions.concat();
    assert_eq!(files.len(), 200);
    assert!(files.is_sorted());
}
