//! `trunnion unpack`: archives into folders of their own, good ones and such as are made to do harm.

use std::fs::{self, File};
use std::path::PathBuf;
use std::process::{Command, Output, Stdio};
use std::thread;
use std::time::Duration;

use acceptance::desk::corpus;
use acceptance::outside;
use acceptance::yard::{Yard, said};
use zip::write::{SimpleFileOptions, ZipWriter};

/// Two members get the same name, which the library that writes them would not let them have.
fn rename_member(yard: &Yard, from: &str, to: &str) {
    let mut bytes = yard.read("mod.zip");
    assert_eq!(from.len(), to.len());
    let at: Vec<usize> = (0..bytes.len() - from.len())
        .filter(|&at| bytes[at..].starts_with(from.as_bytes()))
        .collect();
    for at in at {
        bytes[at..at + to.len()].copy_from_slice(to.as_bytes());
    }
    yard.write("mod.zip", bytes);
}

fn unpack(yard: &Yard, arguments: &[&str]) -> Output {
    yard.run(&[&["unpack"], arguments].concat())
}

/// Everything here but the archive.
fn left(yard: &Yard) -> Vec<String> {
    let mut names = yard.names("");
    names.retain(|name| name != "mod.zip");
    names
}

#[test]
fn the_demo_mod_comes_out_as_it_went_in() {
    let yard = Yard::empty();
    let demo = corpus().join("ternholt");
    let files: Vec<PathBuf> = outside::files_below(&demo, &[""]);
    assert!(files.len() > 8);
    yard.archive_of(&demo, "mod.zip");
    let archive = yard.read("mod.zip");
    let done = unpack(&yard, &["mod.zip", "quay"]);
    assert_eq!(done.status.code(), Some(0), "{}", said(&done));
    assert_eq!(left(&yard), ["quay"]);
    for file in &files {
        let copy = yard.join("quay").join(file.strip_prefix(&demo).unwrap());
        assert_eq!(fs::read(copy).unwrap(), fs::read(file).unwrap());
    }
    let there = outside::files_below(&yard.join("quay"), &[""]);
    assert_eq!(there.len(), files.len());
    assert_eq!(yard.read("mod.zip"), archive);
}

#[test]
fn what_is_there_is_never_touched() {
    let yard = Yard::empty();
    yard.archive("mod.zip", &[("mod.xml", "<mod/>")]);
    yard.write("quay/mine.txt", "mine");
    let done = unpack(&yard, &["mod.zip", "quay"]);
    assert_eq!(done.status.code(), Some(2), "{}", said(&done));
    assert_eq!(left(&yard), ["quay"]);
    assert!(!yard.join("quay/mod.xml").exists());
    assert_eq!(yard.text("quay/mine.txt"), "mine");
}

#[test]
fn what_could_do_harm_is_refused_with_its_name() {
    let outside = Yard::empty();
    let absolute = outside.join("evil.txt").to_str().unwrap().to_owned();
    let cases: [(&str, &str); 7] = [
        ("../evil.txt", "../evil.txt"),
        ("a/../../evil.txt", "a/../../evil.txt"),
        (&absolute, "evil.txt"),
        ("C:/evil.txt", "C:/evil.txt"),
        ("sounds/nul.ogg", "nul"),
        ("MOD.xml", "MOD.xml"),
        ("mod.xml/in.txt", "mod.xml"),
    ];
    for (name, told) in cases {
        let yard = Yard::empty();
        yard.archive("mod.zip", &[("mod.xml", "<mod/>"), (name, "evil")]);
        let done = unpack(&yard, &["mod.zip", "quay"]);
        assert_eq!(done.status.code(), Some(1), "{name}: {}", said(&done));
        assert!(said(&done).contains(told), "{name}: {}", said(&done));
        assert!(left(&yard).is_empty(), "{name}: {:?}", left(&yard));
        assert!(left(&outside).is_empty(), "{name}: {:?}", left(&outside));
    }
}

#[test]
fn a_name_that_occurs_twice_is_refused() {
    let yard = Yard::empty();
    yard.archive("mod.zip", &[("one.xml", "<a/>"), ("two.xml", "<b/>")]);
    rename_member(&yard, "two.xml", "one.xml");
    let done = unpack(&yard, &["mod.zip", "quay"]);
    assert_eq!(done.status.code(), Some(1), "{}", said(&done));
    assert!(left(&yard).is_empty());
}

#[test]
fn a_link_is_refused() {
    let yard = Yard::empty();
    let mut archive = ZipWriter::new(File::create(yard.join("mod.zip")).unwrap());
    let options = SimpleFileOptions::default();
    archive.add_symlink("way", "/etc", options).unwrap();
    archive.start_file("way/passwd", options).unwrap();
    archive.finish().unwrap();
    let done = unpack(&yard, &["mod.zip", "quay"]);
    assert_eq!(done.status.code(), Some(1), "{}", said(&done));
    assert!(left(&yard).is_empty());
}

#[test]
fn a_bomb_is_refused() {
    let yard = Yard::empty();
    let zeros = vec![0_u8; 200 << 20];
    yard.archive("mod.zip", &[("big.bin", &zeros)]);
    let done = unpack(&yard, &["mod.zip", "quay"]);
    assert_eq!(done.status.code(), Some(1), "{}", said(&done));
    assert!(left(&yard).is_empty());
}

#[test]
fn the_rest_comes_out_if_that_is_asked_for() {
    let yard = Yard::empty();
    yard.archive("mod.zip", &[("mod.xml", "<mod/>"), ("../evil.txt", "evil")]);
    let done = unpack(&yard, &["mod.zip", "quay", "--leave-out"]);
    assert_eq!(done.status.code(), Some(1), "{}", said(&done));
    assert!(said(&done).contains("../evil.txt"));
    assert_eq!(left(&yard), ["quay"]);
    assert_eq!(yard.text("quay/mod.xml"), "<mod/>");
}

#[test]
fn odd_archives_bring_nothing_down() {
    let Some(cases) = outside::references("zip-cases") else {
        return outside::skipped("odd archives", "they are not here");
    };
    let archives = outside::files_below(&cases, &[".zip"]);
    let mut codes = [0; 3];
    for (at, archive) in archives.iter().enumerate() {
        let yard = Yard::empty();
        let done = unpack(&yard, &[archive.to_str().unwrap(), &format!("out-{at}")]);
        let code = done.status.code().expect("it ends by itself");
        assert!(code < 3, "{}: {}", archive.display(), said(&done));
        assert_eq!(code == 0, !left(&yard).is_empty(), "{}", said(&done));
        codes[code as usize] += 1;
    }
    outside::say(&format!(
        "{} odd archives: {} unpacked, {} refused, {} not readable",
        archives.len(),
        codes[0],
        codes[1],
        codes[2]
    ));
    assert!(archives.len() > 20);
}

#[test]
fn a_member_that_says_something_else_than_the_directory_is_refused() {
    let yard = Yard::empty();
    yard.archive("mod.zip", &[("mod.xml", "<mod/>"), ("one.xml", "<a/>")]);
    let whole = yard.read("mod.zip");
    // The first place of the name is in the member's own header.
    let at = whole
        .windows(7)
        .position(|part| part == b"one.xml")
        .unwrap();
    for (offset, byte, told) in [
        (0, b'x', "name"),
        (-22, 9, "compression"),
        (-16, 1, "checksum"),
        (-8, 7, "size"),
    ] {
        let mut bytes = whole.clone();
        bytes[at.checked_add_signed(offset).unwrap()] = byte;
        yard.write("mod.zip", bytes);
        let done = unpack(&yard, &["mod.zip", "quay"]);
        assert_eq!(done.status.code(), Some(1), "{told}: {}", said(&done));
        assert!(said(&done).contains(told), "{told}: {}", said(&done));
        assert!(left(&yard).is_empty());
    }
}

#[test]
fn names_that_differ_only_in_how_letters_are_made_are_refused() {
    let yard = Yard::empty();
    yard.archive(
        "mod.zip",
        &[
            ("gr\u{f6}\u{df}e.xml", "<a/>"),
            ("gro\u{308}\u{df}e.xml", "<b/>"),
        ],
    );
    let done = unpack(&yard, &["mod.zip", "quay"]);
    assert_eq!(done.status.code(), Some(1), "{}", said(&done));
    assert!(
        said(&done).contains("letters and their marks"),
        "{}",
        said(&done)
    );
    assert!(left(&yard).is_empty());
}

#[test]
#[cfg(unix)]
fn a_pipe_is_no_archive_and_not_waited_for() {
    let yard = Yard::with(&[("quay/a.xml", "<a/>")]);
    let pipe = yard.join("pipe.zip");
    let made = Command::new("mkfifo").arg(&pipe).status();
    assert!(made.is_ok_and(|status| status.success()));
    for arguments in [
        &["unpack", "pipe.zip"][..],
        &["pack", "quay", "-o", "pipe.zip"],
    ] {
        let mut command = yard.command(arguments);
        let mut child = command.stderr(Stdio::piped()).spawn().unwrap();
        let ended = (0..1000).find_map(|_| {
            thread::sleep(Duration::from_millis(10));
            child.try_wait().unwrap()
        });
        child.kill().unwrap();
        let code = ended.and_then(|status| status.code());
        assert_eq!(code, Some(2), "{arguments:?}");
    }
}
