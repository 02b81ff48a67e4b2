//! What of an archive is refused, and for which reason; and the odd ones that are right all the same.

use archive::{Stopped, unpack};
use std::fs;
use std::io::Write;
use std::path::PathBuf;
use tempfile::TempDir;
use zip::ZipWriter;
use zip::write::{ExtendedFileOptions, FileOptions, SimpleFileOptions};

/// Where the header that a member has itself, and its entry in the directory, begin.
const OWN: &[u8] = b"PK\x03\x04";
const ENTRY: &[u8] = b"PK\x01\x02";

/// A folder with an archive in it.
struct Pier(TempDir);

impl Pier {
    fn new(archive: &[u8]) -> Self {
        let pier = Self(TempDir::with_prefix("trunnion-").unwrap());
        fs::write(pier.at("mod.zip"), archive).unwrap();
        pier
    }

    fn at(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }
}

fn options() -> SimpleFileOptions {
    SimpleFileOptions::default()
}

/// An archive of `a.xml` and `b.xml`, each with the same text.
fn two(options: SimpleFileOptions) -> Vec<u8> {
    let mut archive = ZipWriter::new(std::io::Cursor::new(Vec::new()));
    for name in ["a.xml", "b.xml"] {
        archive.start_file(name, options).unwrap();
        archive.write_all(b"<rig/>").unwrap();
    }
    archive.finish().unwrap().into_inner()
}

/// The bytes at a distance behind the first mark become others.
fn patched(mut archive: Vec<u8>, mark: &[u8], at: usize, bytes: &[u8]) -> Vec<u8> {
    let mut windows = archive.windows(mark.len());
    let start = windows.position(|bytes| bytes == mark).unwrap() + at;
    archive[start..start + bytes.len()].copy_from_slice(bytes);
    archive
}

/// What is refused of an archive: the names, and the reasons.
fn refused(archive: &[u8]) -> Vec<(Option<String>, String)> {
    let pier = Pier::new(archive);
    let refused = match unpack(&pier.at("mod.zip"), &pier.at("out"), false) {
        Ok(_) => Vec::new(),
        Err(Stopped::Refused(refused)) => refused,
        Err(Stopped::Failed(why)) => panic!("{why}"),
    };
    assert_eq!(pier.at("out").exists(), refused.is_empty());
    let refused = refused.into_iter();
    refused.map(|one| (one.name, one.reason)).collect()
}

/// Only the first of [`two`] is refused, and the reason has this word in it.
#[track_caller]
fn assert_first_is_refused(archive: &[u8], word: &str) {
    let refused = refused(archive);
    let [(Some(_), reason)] = &refused[..] else {
        panic!("{refused:?}");
    };
    assert!(reason.contains(word), "{reason}");
}

#[test]
fn what_is_encrypted_or_packed_in_an_unknown_way_is_refused() {
    assert!(refused(&two(options())).is_empty());
    let flagged = patched(two(options()), ENTRY, 8, &[1]);
    assert_first_is_refused(&patched(flagged, OWN, 6, &[1]), "encrypted");
    let method = patched(two(options()), ENTRY, 10, &[12]);
    assert_first_is_refused(&patched(method, OWN, 8, &[12]), "compressed");
}

#[test]
fn what_is_neither_a_file_nor_a_folder_is_refused() {
    // The upper half of the attributes: a device, a link.
    for (mode, word) in [(0o060_644_u16, "neither"), (0o120_777, "link")] {
        let mode = patched(two(options()), ENTRY, 40, &mode.to_le_bytes());
        assert_first_is_refused(&patched(mode, ENTRY, 5, &[3]), word);
    }
}

#[test]
fn a_folder_with_a_content_is_refused() {
    for mark in [b"/", b"\\"] {
        let named = patched(two(options()), ENTRY, 46 + 4, mark);
        assert_first_is_refused(&patched(named, OWN, 30 + 4, mark), "content");
    }
}

#[test]
fn what_a_member_says_differently_of_itself_is_refused() {
    for (at, byte, word) in [
        (8, 0xff, "compression"),
        (14, 0xff, "checksum"),
        (17, 0xff, "checksum"),
        (18, 0x7f, "size"),
        (20, 0x7f, "size"),
        (22, 0x7f, "size"),
        (30, b'c', "name"),
    ] {
        let contradicted = patched(two(options()), OWN, at, &[byte]);
        assert_first_is_refused(&contradicted, word);
    }
    // No numbers at all, and not said that they come later.
    assert_first_is_refused(&patched(two(options()), OWN, 22, &[0; 4]), "size");
}

#[test]
fn numbers_that_come_later_or_are_too_large_for_their_place_are_no_contradiction() {
    let mut later = ZipWriter::new_stream(Vec::new());
    later.start_file("a.xml", options()).unwrap();
    later.write_all(b"<rig/>").unwrap();
    let later = later.finish().unwrap().into_inner();
    assert!(refused(&later).is_empty());
    assert!(refused(&two(options().large_file(true))).is_empty());
}

/// The names behind what an entry has besides its name are found too.
#[test]
fn notes_in_the_directory_are_passed_over() {
    let mut archive = ZipWriter::new(std::io::Cursor::new(Vec::new()));
    for name in ["a.xml", "b.xml"] {
        let mut options: FileOptions<'_, ExtendedFileOptions> = FileOptions::default();
        options.add_extra_data(0x7777, b"extra", false).unwrap();
        let options = options.with_file_comment("a comment");
        archive.start_file(name, options).unwrap();
        archive.write_all(b"<rig/>").unwrap();
    }
    let archive = archive.finish().unwrap().into_inner();
    assert!(refused(&archive).is_empty());
    let last = archive.windows(4).rposition(|bytes| bytes == OWN).unwrap();
    let contradicted = patched(archive, OWN, last + 30, b"c");
    assert_first_is_refused(&contradicted, "name");
}

#[test]
fn of_names_that_meet_all_are_refused() {
    let mut archive = ZipWriter::new(std::io::Cursor::new(Vec::new()));
    for name in ["a.xml", "A.xml", "b.xml"] {
        archive.start_file(name, options()).unwrap();
    }
    let pier = Pier::new(&archive.finish().unwrap().into_inner());
    let made = unpack(&pier.at("mod.zip"), &pier.at("out"), true).unwrap();
    assert_eq!((made.files, made.left_out.len()), (1, 1));
    assert!(pier.at("out/b.xml").exists());
    assert!(!pier.at("out/a.xml").exists() && !pier.at("out/A.xml").exists());
}

/// 100 MB are harmless in any archive, and so is what is 100 times as large as it.
#[test]
fn only_what_is_large_and_shrinks_beyond_reason_is_a_bomb() {
    let is_bomb = |length: usize, claimed: u32| {
        let archive = |noise: usize| {
            let mut archive = ZipWriter::new(std::io::Cursor::new(Vec::new()));
            let stored = options().compression_method(zip::CompressionMethod::Stored);
            archive.start_file("a.bin", stored).unwrap();
            archive.write_all(&vec![b'x'; noise]).unwrap();
            archive.finish().unwrap().into_inner()
        };
        let archive = archive(length.saturating_sub(archive(0).len()));
        let claim = claimed.to_le_bytes();
        let claiming = patched(archive, ENTRY, 24, &claim);
        let pier = Pier::new(&patched(claiming, OWN, 22, &claim));
        let stopped = unpack(&pier.at("mod.zip"), &pier.at("out"), false).unwrap_err();
        let Stopped::Refused(refused) = stopped else {
            return false;
        };
        refused
            .iter()
            .any(|one| one.reason.contains("times as many"))
    };
    assert!(!is_bomb(0, 100 << 20));
    assert!(is_bomb(0, (100 << 20) + 1));
    let length = (1 << 20) + 1;
    assert!(!is_bomb(length, 100 * length as u32 + 99));
    assert!(is_bomb(length, 100 * (length as u32 + 1)));
}
