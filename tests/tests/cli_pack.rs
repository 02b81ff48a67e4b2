//! `trunnion pack`: from a folder to an archive that is the same everywhere, and nothing lost on the way.

use std::fs::{self, File};
use std::io::Read;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use acceptance::desk::corpus;
use acceptance::{outside, program};

/// A folder for one test, with a copy of the demo mod.
struct Yard(PathBuf);

impl Yard {
    fn new(name: &str) -> Self {
        let name = format!("trunnion-cli-pack-{}-{name}", std::process::id());
        let yard = std::env::temp_dir().join(name);
        let _ = fs::remove_dir_all(&yard);
        let demo = corpus().join("ternholt");
        for file in outside::files_below(&demo, &[".xml", ".gltf", ".glb", ".ogg"]) {
            let copy = yard.join("quay").join(file.strip_prefix(&demo).unwrap());
            fs::create_dir_all(copy.parent().unwrap()).unwrap();
            fs::copy(file, copy).unwrap();
        }
        Self(yard)
    }

    fn write(&self, name: &str, content: &[u8]) {
        let path = self.0.join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, content).unwrap();
    }

    fn read(&self, name: &str) -> Vec<u8> {
        fs::read(self.0.join(name)).unwrap()
    }

    fn run(&self, arguments: &[&str]) -> Output {
        Command::new(program::path())
            .args(arguments)
            .current_dir(&self.0)
            .output()
            .unwrap()
    }

    fn packs(&self, arguments: &[&str]) -> String {
        let done = self.run(&[&["pack"], arguments].concat());
        assert_eq!(done.status.code(), Some(0), "{}", said(&done));
        said(&done)
    }

    fn refuses(&self, arguments: &[&str], code: i32) -> String {
        let done = self.run(&[&["pack"], arguments].concat());
        assert_eq!(done.status.code(), Some(code), "{}", said(&done));
        said(&done)
    }

    fn names(&self) -> Vec<String> {
        let names = fs::read_dir(&self.0).unwrap().flatten();
        let mut names: Vec<String> = names
            .map(|entry| entry.file_name().into_string().unwrap())
            .collect();
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

fn members(archive: &Path) -> Vec<(String, Vec<u8>)> {
    let mut archive = zip::ZipArchive::new(File::open(archive).unwrap()).unwrap();
    let mut members = Vec::new();
    for at in 0..archive.len() {
        let mut member = archive.by_index(at).unwrap();
        let mut bytes = Vec::new();
        member.read_to_end(&mut bytes).unwrap();
        members.push((member.name().to_owned(), bytes));
    }
    members
}

#[test]
fn the_same_files_give_the_same_bytes_and_all_of_them() {
    let yard = Yard::new("same");
    let (one, two) = (Yard::new("one"), Yard::new("two"));
    let said = yard.packs(&["quay"]);
    assert!(said.contains("Packed 13 files"), "{said}");
    // Made in another order, at another time, with other rights.
    let mut files = outside::files_below(&yard.0.join("quay"), &[""]);
    files.reverse();
    fs::remove_dir_all(two.0.join("quay")).unwrap();
    for file in &files {
        let name = file.strip_prefix(&yard.0).unwrap().to_str().unwrap();
        two.write(name, &fs::read(file).unwrap());
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            let all = fs::Permissions::from_mode(0o777);
            fs::set_permissions(two.0.join(name), all).unwrap();
        }
    }
    one.packs(&["quay", "-o", "other.zip"]);
    two.packs(&["quay"]);
    assert_eq!(yard.read("quay.zip"), one.read("other.zip"));
    assert_eq!(yard.read("quay.zip"), two.read("quay.zip"));
    let members = members(&yard.0.join("quay.zip"));
    assert!(members.is_sorted());
    assert_eq!(members.len(), files.len());
    for (name, bytes) in members {
        assert_eq!(yard.read(&format!("quay/{name}")), bytes, "{name}");
    }
}

#[test]
fn what_was_there_is_kept_and_what_is_the_same_stays() {
    let yard = Yard::new("kept");
    yard.packs(&["quay"]);
    let first = yard.read("quay.zip");
    assert!(yard.packs(&["quay"]).contains("stays as it is"));
    assert_eq!(yard.names(), ["quay", "quay.zip"]);
    for (number, text) in ["one", "two"].iter().enumerate() {
        yard.write("quay/notes.txt", text.as_bytes());
        let said = yard.packs(&["quay"]);
        assert!(
            said.contains(&format!("quay.zip.~{}~", number + 1)),
            "{said}"
        );
    }
    assert_eq!(
        yard.names(),
        ["quay", "quay.zip", "quay.zip.~1~", "quay.zip.~2~"]
    );
    assert_eq!(yard.read("quay.zip.~1~"), first);
    assert_ne!(yard.read("quay.zip.~2~"), first);
}

#[test]
fn what_does_not_belong_stays_out_and_is_told() {
    let yard = Yard::new("leftovers");
    for name in [
        ".DS_Store",
        "mod.xml~",
        "machines/._a",
        ".git/config",
        "Thumbs.db",
    ] {
        yard.write(&format!("quay/{name}"), b"x");
    }
    yard.write("quay/.trunnion-4194999-0.tmp", b"half");
    yard.write("quay/trunnion.toml", b"inlay-hints = false\n");
    fs::create_dir(yard.0.join("quay/empty")).unwrap();
    let said = yard.packs(&["quay", "-o", "quay/out.zip"]);
    yard.write("quay/notes.txt", b"so that the archive differs");
    yard.packs(&["quay", "-o", "quay/out.zip"]);
    for (name, why) in [
        (".DS_Store", "system"),
        ("mod.xml~", "earlier"),
        ("machines/._a", "system"),
        (".git", "version control"),
        ("Thumbs.db", "system"),
        ("trunnion.toml", "Trunnion"),
        ("empty", "empty"),
    ] {
        let line = said
            .lines()
            .find(|line| line.starts_with(&format!("  {name}: ")));
        assert!(
            line.is_some_and(|line| line.contains(why)),
            "{name}: {said}"
        );
    }
    let packed = members(&yard.0.join("quay/out.zip"));
    assert_eq!(
        packed.len(),
        14,
        "{:?}",
        packed.iter().map(|one| &one.0).collect::<Vec<_>>()
    );
}

#[test]
fn what_a_definition_names_goes_in_whatever_it_is_called() {
    let yard = Yard::new("needed");
    let machine = "quay/machines/bram-6.machine.xml";
    let text = String::from_utf8(yard.read(machine)).unwrap();
    assert!(text.contains("sounds/pump.ogg"));
    yard.write(
        machine,
        text.replace("sounds/pump.ogg", "sounds/._pump.ogg")
            .as_bytes(),
    );
    let sound = yard.read("quay/machines/sounds/pump.ogg");
    yard.write("quay/machines/sounds/._pump.ogg", &sound);
    yard.write("quay/machines/sounds/._clunk.ogg", &sound);
    let said = yard.packs(&["quay"]);
    assert!(said.contains("machines/sounds/._clunk.ogg: "), "{said}");
    let packed = members(&yard.0.join("quay.zip"));
    assert!(
        packed
            .iter()
            .any(|(name, _)| name == "machines/sounds/._pump.ogg")
    );
    assert!(
        !packed
            .iter()
            .any(|(name, _)| name == "machines/sounds/._clunk.ogg")
    );
}

#[test]
fn errors_stop_it_unless_that_is_said() {
    let yard = Yard::new("errors");
    yard.write("quay/machines/broken.machine.xml", b"<machine");
    let said = yard.refuses(&["quay"], 1);
    assert!(
        said.contains("broken.machine.xml") && said.contains("--despite-errors"),
        "{said}"
    );
    assert_eq!(yard.names(), ["quay"]);
    yard.packs(&["quay", "--despite-errors"]);
    assert_eq!(yard.names(), ["quay", "quay.zip"]);
}

#[test]
fn what_other_systems_cannot_hold_is_refused() {
    let yard = Yard::new("names");
    let cases: &[(&str, &str)] = &[
        ("machines/nul.ogg", "device"),
        ("machines/MOD.XML ", "Windows drops"),
        ("Mod.xml", "upper and lower case"),
        ("MACHINES/a.ogg", "upper and lower case"),
        ("a?b.txt", "Windows"),
        ("a\\b.txt", "Windows"),
    ];
    // Only some systems let us make these names at all.
    if !cfg!(target_os = "linux") {
        return outside::skipped(
            "names that Windows cannot hold",
            "they can be made on Linux only",
        );
    }
    for (name, why) in cases {
        yard.write(&format!("quay/{name}"), b"x");
        let said = yard.refuses(&["quay"], 1);
        assert!(said.contains(why), "{name}: {said}");
        let path = yard.0.join("quay").join(name);
        fs::remove_file(&path).unwrap();
        if name.starts_with("MACHINES") {
            fs::remove_dir(path.parent().unwrap()).unwrap();
        }
        assert_eq!(yard.names(), ["quay"]);
    }
}

#[cfg(unix)]
#[test]
fn links_are_refused_wherever_they_lead() {
    use std::os::unix::fs::symlink;
    let yard = Yard::new("links");
    let link = yard.0.join("quay/link.xml");
    for to in ["/etc/passwd", "mod.xml", "nowhere"] {
        symlink(to, &link).unwrap();
        let said = yard.refuses(&["quay"], 1);
        assert!(said.contains("link.xml: It is a link"), "{said}");
        fs::remove_file(&link).unwrap();
    }
    // The folder itself may be one, and so may the archive.
    symlink("quay", yard.0.join("pier")).unwrap();
    fs::create_dir(yard.0.join("store")).unwrap();
    yard.packs(&["pier", "-o", "store/a.zip"]);
    symlink("store/a.zip", yard.0.join("b.zip")).unwrap();
    yard.write("quay/notes.txt", b"new");
    yard.packs(&["quay", "-o", "b.zip"]);
    assert!(yard.0.join("b.zip").is_symlink());
    assert!(yard.0.join("store/a.zip.~1~").is_file());
}

#[test]
fn what_is_no_archive_is_not_replaced() {
    let yard = Yard::new("target");
    yard.write("mine.txt", b"mine");
    fs::create_dir(yard.0.join("folder")).unwrap();
    for (target, why) in [
        ("mine.txt", "no archive"),
        ("quay/mod.xml", "no archive"),
        ("folder", "is a folder"),
        ("missing/a.zip", "missing"),
    ] {
        let said = yard.refuses(&["quay", "-o", target], 2);
        assert!(said.contains(why), "{target}: {said}");
    }
    assert_eq!(yard.read("mine.txt"), b"mine");
    assert_eq!(yard.names(), ["folder", "mine.txt", "quay"]);
    yard.refuses(&["missing"], 2);
    yard.refuses(&["mine.txt"], 2);
    yard.refuses(&["folder"], 1);
}
