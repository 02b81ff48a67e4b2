//! `trunnion unpack`: archives into folders of their own, good ones and such as are made to do harm.

use std::fs::{self, File};
use std::io::Write;
use std::path::PathBuf;
use std::process::{Command, Output};

use acceptance::desk::corpus;
use acceptance::{outside, program};
use zip::write::{SimpleFileOptions, ZipWriter};

/// A folder for one test.
struct Yard(PathBuf);

impl Yard {
    fn new(name: &str) -> Self {
        let name = format!("trunnion-cli-unpack-{}-{name}", std::process::id());
        let folder = std::env::temp_dir().join(name);
        let _ = fs::remove_dir_all(&folder);
        fs::create_dir_all(&folder).unwrap();
        Self(folder)
    }

    /// Writes `mod.zip` with these members.
    fn archive(&self, members: &[(&str, &[u8])]) {
        let mut archive = ZipWriter::new(File::create(self.0.join("mod.zip")).unwrap());
        for (name, bytes) in members {
            archive
                .start_file(*name, SimpleFileOptions::default())
                .unwrap();
            archive.write_all(bytes).unwrap();
        }
        archive.finish().unwrap();
    }

    /// Two members get the same name, which the library that writes them would not let them have.
    fn rename_member(&self, from: &str, to: &str) {
        let path = self.0.join("mod.zip");
        let mut bytes = fs::read(&path).unwrap();
        assert_eq!(from.len(), to.len());
        let at: Vec<usize> = (0..bytes.len() - from.len())
            .filter(|&at| bytes[at..].starts_with(from.as_bytes()))
            .collect();
        for at in at {
            bytes[at..at + to.len()].copy_from_slice(to.as_bytes());
        }
        fs::write(path, bytes).unwrap();
    }

    fn run(&self, arguments: &[&str]) -> Output {
        Command::new(program::path())
            .arg("unpack")
            .args(arguments)
            .current_dir(&self.0)
            .output()
            .unwrap()
    }

    /// Everything here but the archive.
    fn left(&self) -> Vec<String> {
        let names = fs::read_dir(&self.0).unwrap().flatten();
        let names = names.map(|entry| entry.file_name().into_string().unwrap());
        let mut names: Vec<String> = names.filter(|name| name != "mod.zip").collect();
        names.sort();
        names
    }
}

impl Drop for Yard {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}

fn said(output: &Output) -> String {
    let parts = [&output.stdout, &output.stderr];
    parts.map(|part| String::from_utf8_lossy(part)).concat()
}

#[test]
fn the_demo_mod_comes_out_as_it_went_in() {
    let yard = Yard::new("demo");
    let demo = corpus().join("ternholt");
    let files: Vec<PathBuf> = outside::files_below(&demo, &[".xml", ".gltf", ".ogg"]);
    assert!(files.len() > 8);
    let members: Vec<(String, Vec<u8>)> = files
        .iter()
        .map(|file| {
            let name = file.strip_prefix(&demo).unwrap().to_str().unwrap();
            (name.to_owned(), fs::read(file).unwrap())
        })
        .collect();
    let borrowed: Vec<(&str, &[u8])> = members.iter().map(|(n, b)| (&**n, &**b)).collect();
    yard.archive(&borrowed);
    let archive = fs::read(yard.0.join("mod.zip")).unwrap();
    let done = yard.run(&["mod.zip", "quay"]);
    assert_eq!(done.status.code(), Some(0), "{}", said(&done));
    assert_eq!(yard.left(), ["quay"]);
    for (name, bytes) in &members {
        assert_eq!(fs::read(yard.0.join("quay").join(name)).unwrap(), *bytes);
    }
    let there = outside::files_below(&yard.0.join("quay"), &[""]);
    assert_eq!(there.len(), members.len());
    assert_eq!(fs::read(yard.0.join("mod.zip")).unwrap(), archive);
}

#[test]
fn what_is_there_is_never_touched() {
    let yard = Yard::new("there");
    yard.archive(&[("mod.xml", b"<mod/>")]);
    fs::create_dir(yard.0.join("quay")).unwrap();
    fs::write(yard.0.join("quay/mine.txt"), "mine").unwrap();
    let done = yard.run(&["mod.zip", "quay"]);
    assert_eq!(done.status.code(), Some(2), "{}", said(&done));
    assert_eq!(yard.left(), ["quay"]);
    assert!(!yard.0.join("quay/mod.xml").exists());
    assert_eq!(
        fs::read_to_string(yard.0.join("quay/mine.txt")).unwrap(),
        "mine"
    );
}

#[test]
fn what_could_do_harm_is_refused_with_its_name() {
    let outside = Yard::new("outside");
    let absolute = outside.0.join("evil.txt").to_str().unwrap().to_owned();
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
        let yard = Yard::new("harm");
        yard.archive(&[("mod.xml", b"<mod/>"), (name, b"evil")]);
        let done = yard.run(&["mod.zip", "quay"]);
        assert_eq!(done.status.code(), Some(1), "{name}: {}", said(&done));
        assert!(said(&done).contains(told), "{name}: {}", said(&done));
        assert!(yard.left().is_empty(), "{name}: {:?}", yard.left());
        assert!(outside.left().is_empty(), "{name}: {:?}", outside.left());
    }
}

#[test]
fn a_name_that_occurs_twice_is_refused() {
    let yard = Yard::new("twice");
    yard.archive(&[("one.xml", b"<a/>"), ("two.xml", b"<b/>")]);
    yard.rename_member("two.xml", "one.xml");
    let done = yard.run(&["mod.zip", "quay"]);
    assert_eq!(done.status.code(), Some(1), "{}", said(&done));
    assert!(yard.left().is_empty());
}

#[test]
fn a_link_is_refused() {
    let yard = Yard::new("link");
    let mut archive = ZipWriter::new(File::create(yard.0.join("mod.zip")).unwrap());
    let options = SimpleFileOptions::default();
    archive.add_symlink("way", "/etc", options).unwrap();
    archive.start_file("way/passwd", options).unwrap();
    archive.finish().unwrap();
    let done = yard.run(&["mod.zip", "quay"]);
    assert_eq!(done.status.code(), Some(1), "{}", said(&done));
    assert!(yard.left().is_empty());
}

#[test]
fn a_bomb_is_refused() {
    let yard = Yard::new("bomb");
    let zeros = vec![0_u8; 200 << 20];
    yard.archive(&[("big.bin", &zeros)]);
    let done = yard.run(&["mod.zip", "quay"]);
    assert_eq!(done.status.code(), Some(1), "{}", said(&done));
    assert!(yard.left().is_empty());
}

#[test]
fn the_rest_comes_out_if_that_is_asked_for() {
    let yard = Yard::new("rest");
    yard.archive(&[("mod.xml", b"<mod/>"), ("../evil.txt", b"evil")]);
    let done = yard.run(&["mod.zip", "quay", "--leave-out"]);
    assert_eq!(done.status.code(), Some(1), "{}", said(&done));
    assert!(said(&done).contains("../evil.txt"));
    assert_eq!(yard.left(), ["quay"]);
    assert_eq!(
        fs::read_to_string(yard.0.join("quay/mod.xml")).unwrap(),
        "<mod/>"
    );
}

#[test]
fn odd_archives_bring_nothing_down() {
    let Some(cases) = outside::references("zip-cases") else {
        return outside::skipped("odd archives", "they are not here");
    };
    let archives = outside::files_below(&cases, &[".zip"]);
    let mut codes = [0; 3];
    for (at, archive) in archives.iter().enumerate() {
        let yard = Yard::new("odd");
        let done = yard.run(&[archive.to_str().unwrap(), &format!("out-{at}")]);
        let code = done.status.code().expect("it ends by itself");
        assert!(code < 3, "{}: {}", archive.display(), said(&done));
        assert_eq!(code == 0, !yard.left().is_empty(), "{}", said(&done));
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
    let yard = Yard::new("two-minds");
    yard.archive(&[("mod.xml", b"<mod/>"), ("one.xml", b"<a/>")]);
    let path = yard.0.join("mod.zip");
    let whole = fs::read(&path).unwrap();
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
        fs::write(&path, bytes).unwrap();
        let done = yard.run(&["mod.zip", "quay"]);
        assert_eq!(done.status.code(), Some(1), "{told}: {}", said(&done));
        assert!(said(&done).contains(told), "{told}: {}", said(&done));
        assert!(yard.left().is_empty());
    }
}

#[test]
fn names_that_differ_only_in_how_letters_are_made_are_refused() {
    let yard = Yard::new("letters");
    yard.archive(&[
        ("gr\u{f6}\u{df}e.xml", b"<a/>"),
        ("gro\u{308}\u{df}e.xml", b"<b/>"),
    ]);
    let done = yard.run(&["mod.zip", "quay"]);
    assert_eq!(done.status.code(), Some(1), "{}", said(&done));
    assert!(
        said(&done).contains("letters and their marks"),
        "{}",
        said(&done)
    );
    assert!(yard.left().is_empty());
}
