//! `trunnion pack`: from a folder to an archive that is the same everywhere, and nothing lost on the way.

use std::fs::{self, File};
use std::io::Read;
use std::path::Path;
use std::process::Command;

use acceptance::numbers::Numbers;
use acceptance::outside;
use acceptance::yard::Yard;

fn packs(yard: &Yard, arguments: &[&str]) -> String {
    yard.ends_with(0, &[&["pack"], arguments].concat())
}

fn refuses(yard: &Yard, arguments: &[&str], code: i32) -> String {
    yard.ends_with(code, &[&["pack"], arguments].concat())
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
    let yard = Yard::with_demo();
    let (one, two) = (Yard::with_demo(), Yard::with_demo());
    let said = packs(&yard, &["quay"]);
    assert!(said.contains("Packed 13 files"), "{said}");
    // Made in another order, at another time, with other rights.
    let mut files = outside::files_below(&yard.join("quay"), &[""]);
    files.reverse();
    fs::remove_dir_all(two.join("quay")).unwrap();
    for file in &files {
        let name = file.strip_prefix(&yard).unwrap().to_str().unwrap();
        two.write(name, fs::read(file).unwrap());
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            let all = fs::Permissions::from_mode(0o777);
            fs::set_permissions(two.join(name), all).unwrap();
        }
    }
    packs(&one, &["quay", "-o", "other.zip"]);
    packs(&two, &["quay"]);
    assert_eq!(yard.read("quay.zip"), one.read("other.zip"));
    assert_eq!(yard.read("quay.zip"), two.read("quay.zip"));
    let members = members(&yard.join("quay.zip"));
    assert!(members.is_sorted());
    assert_eq!(members.len(), files.len());
    for (name, bytes) in members {
        assert_eq!(yard.read(&format!("quay/{name}")), bytes, "{name}");
    }
}

#[test]
fn what_was_there_is_kept_and_what_is_the_same_stays() {
    let yard = Yard::with_demo();
    packs(&yard, &["quay"]);
    let first = yard.read("quay.zip");
    assert!(packs(&yard, &["quay"]).contains("stays as it is"));
    assert_eq!(yard.names(""), ["quay", "quay.zip"]);
    for (number, text) in ["one", "two"].iter().enumerate() {
        yard.write("quay/notes.txt", text.as_bytes());
        let said = packs(&yard, &["quay"]);
        assert!(
            said.contains(&format!("quay.zip.~{}~", number + 1)),
            "{said}"
        );
    }
    assert_eq!(
        yard.names(""),
        ["quay", "quay.zip", "quay.zip.~1~", "quay.zip.~2~"]
    );
    assert_eq!(yard.read("quay.zip.~1~"), first);
    assert_ne!(yard.read("quay.zip.~2~"), first);
}

#[test]
fn what_does_not_belong_stays_out_and_is_told() {
    let yard = Yard::with_demo();
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
    yard.write("quay/known.json", b"{\"format\": 1, \"findings\": []}");
    fs::create_dir(yard.join("quay/empty")).unwrap();
    let said = packs(&yard, &["quay", "-o", "quay/out.zip"]);
    yard.write("quay/notes.txt", b"so that the archive differs");
    packs(&yard, &["quay", "-o", "quay/out.zip"]);
    for (name, why) in [
        (".DS_Store", "system"),
        ("mod.xml~", "earlier"),
        ("machines/._a", "system"),
        (".git", "version control"),
        ("Thumbs.db", "system"),
        ("trunnion.toml", "Trunnion"),
        ("known.json", "Trunnion"),
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
    let packed = members(&yard.join("quay/out.zip"));
    assert_eq!(
        packed.len(),
        14,
        "{:?}",
        packed.iter().map(|one| &one.0).collect::<Vec<_>>()
    );
}

#[test]
fn what_a_definition_names_goes_in_whatever_it_is_called() {
    let yard = Yard::with_demo();
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
    let said = packs(&yard, &["quay"]);
    assert!(said.contains("machines/sounds/._clunk.ogg: "), "{said}");
    let packed = members(&yard.join("quay.zip"));
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

/// An archive that lacks what its definitions name is of no use; what the game brings along is nowhere else.
#[test]
fn what_is_named_outside_of_the_folder_stops_it_unless_that_is_said() {
    let yard = Yard::empty();
    yard.copy(&acceptance::desk::corpus().join("dialects/yard"), "rigs");
    let settings = yard.text("rigs/trunnion.toml");
    yard.write(
        "rigs/trunnion.toml",
        format!("{settings}game-folder = \"../game\"\n"),
    );
    yard.write("game/noises/pump.ogg", "OggS");
    packs(&yard, &["rigs"]);
    let rig = "rigs/rigs/dorrik-9.rig.xml";
    let text = yard.text(rig);
    let out = text.replace(r"<tape>noises\clunk.ogg", r"<tape>..\shared\clunk.ogg");
    assert_ne!(out, text);
    yard.write(rig, out);
    yard.write("shared/clunk.ogg", "OggS");
    let before = yard.read("rigs.zip");
    let said = refuses(&yard, &["rigs"], 1);
    let told =
        r"rigs/dorrik-9.rig.xml names `..\shared\clunk.ogg`, which lies outside of the folder";
    assert!(
        said.contains("nothing was packed") && said.contains(told),
        "{said}"
    );
    assert_eq!(yard.read("rigs.zip"), before);
    let said = packs(&yard, &["rigs", "--despite-errors"]);
    assert!(said.contains(told) && !said.contains("pump.ogg"), "{said}");
}

/// What a definition names that nobody looks at stays out if it looks like no part of the mod: whoever packs is told.
#[test]
fn what_is_not_looked_at_is_told() {
    let yard = Yard::with_demo();
    let said = packs(&yard, &["quay"]);
    assert!(!said.contains("looked at"), "{said}");
    for number in 0..2_000 {
        yard.write(&format!("quay/notes/{number}.xml"), b"<note/>");
    }
    let said = packs(&yard, &["quay"]);
    assert!(
        said.contains("Not all documents were looked at.")
            && said.contains("only the first 2000 documents"),
        "{said}"
    );
}

#[test]
fn errors_stop_it_unless_that_is_said() {
    let yard = Yard::with_demo();
    yard.write("quay/machines/broken.machine.xml", b"<machine");
    let said = refuses(&yard, &["quay"], 1);
    assert!(
        said.contains("broken.machine.xml") && said.contains("--despite-errors"),
        "{said}"
    );
    assert_eq!(yard.names(""), ["quay"]);
    packs(&yard, &["quay", "--despite-errors"]);
    assert_eq!(yard.names(""), ["quay", "quay.zip"]);
}

#[test]
fn what_other_systems_cannot_hold_is_refused() {
    let yard = Yard::with_demo();
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
        let said = refuses(&yard, &["quay"], 1);
        assert!(said.contains(why), "{name}: {said}");
        let path = yard.join("quay").join(name);
        fs::remove_file(&path).unwrap();
        if name.starts_with("MACHINES") {
            fs::remove_dir(path.parent().unwrap()).unwrap();
        }
        assert_eq!(yard.names(""), ["quay"]);
    }
}

#[cfg(unix)]
#[test]
fn links_are_refused_wherever_they_lead() {
    use std::os::unix::fs::symlink;
    let yard = Yard::with_demo();
    let link = yard.join("quay/link.xml");
    for to in ["/etc/passwd", "mod.xml", "nowhere"] {
        symlink(to, &link).unwrap();
        let said = refuses(&yard, &["quay"], 1);
        assert!(said.contains("link.xml: It is a link"), "{said}");
        fs::remove_file(&link).unwrap();
    }
    // The folder itself may be one, and so may the archive.
    symlink("quay", yard.join("pier")).unwrap();
    fs::create_dir(yard.join("store")).unwrap();
    packs(&yard, &["pier", "-o", "store/a.zip"]);
    symlink("store/a.zip", yard.join("b.zip")).unwrap();
    yard.write("quay/notes.txt", b"new");
    packs(&yard, &["quay", "-o", "b.zip"]);
    assert!(yard.join("b.zip").is_symlink());
    assert!(yard.join("store/a.zip.~1~").is_file());
}

#[test]
fn what_is_no_archive_is_not_replaced() {
    let yard = Yard::with_demo();
    yard.write("mine.txt", b"mine");
    fs::create_dir(yard.join("folder")).unwrap();
    for (target, why) in [
        ("mine.txt", "no archive"),
        ("quay/mod.xml", "no archive"),
        ("folder", "is a folder"),
        ("missing/a.zip", "missing"),
    ] {
        let said = refuses(&yard, &["quay", "-o", target], 2);
        assert!(said.contains(why), "{target}: {said}");
    }
    assert_eq!(yard.read("mine.txt"), b"mine");
    assert_eq!(yard.names(""), ["folder", "mine.txt", "quay"]);
    refuses(&yard, &["missing"], 2);
    refuses(&yard, &["mine.txt"], 2);
    refuses(&yard, &["folder"], 1);
}

#[test]
fn where_the_game_looks_other_copies_are_moved_aside_and_none_is_lost() {
    let yard = Yard::with_demo();
    // An old folder, an old archive with a version in its name, and mods that only look alike.
    yard.write("mods/quay/mod.xml", b"old");
    packs(&yard, &["quay", "-o", "mods/quay-1.1.zip"]);
    let old = yard.read("mods/quay-1.1.zip");
    yard.write("mods/quay-winter/mod.xml", b"another mod");
    yard.write("mods/quay2/mod.xml", b"a mod with a number");
    yard.write("mods/other.zip", &old);
    let said = packs(&yard, &["quay", "--into", "mods"]);
    assert!(said.contains("mods-set-aside"), "{said}");
    assert_eq!(said.matches("another copy of the mod").count(), 2, "{said}");
    assert_eq!(yard.read("mods/quay.zip"), old);
    assert_eq!(
        yard.names("mods"),
        ["other.zip", "quay-winter", "quay.zip", "quay2"]
    );
    assert_eq!(yard.read("mods-set-aside/1/quay/mod.xml"), b"old");
    assert_eq!(yard.read("mods-set-aside/2/quay-1.1.zip"), old);
    // What is moved aside later takes no place of these.
    yard.write("mods/QUAY/mod.xml", b"older");
    packs(&yard, &["quay", "--into", "mods"]);
    assert_eq!(yard.read("mods-set-aside/3/QUAY/mod.xml"), b"older");
    // The folder that is packed is no copy.
    packs(&yard, &["quay", "--into", "."]);
    assert!(yard.join("quay/mod.xml").is_file());
    refuses(&yard, &["quay", "--into", "missing"], 2);
}

#[cfg(unix)]
#[test]
fn where_a_copy_cannot_be_moved_nothing_changes() {
    let yard = Yard::with_demo();
    yard.write("mods/quay/mod.xml", b"old");
    yard.write("mods-set-aside", b"a file in the way");
    let said = refuses(&yard, &["quay", "--into", "mods"], 2);
    assert!(said.contains("cannot be moved aside"), "{said}");
    assert_eq!(yard.read("mods/quay/mod.xml"), b"old");
    assert_eq!(fs::read_dir(yard.join("mods")).unwrap().count(), 1);
}

/// What Python's library says of an archive's files: name, checksum and content as hex digits of SHA-256.
const READ_BY_PYTHON: &str = r"
import hashlib, sys, zipfile
with zipfile.ZipFile(sys.argv[1]) as archive:
    assert archive.testzip() is None
    for one in archive.infolist():
        assert one.date_time == (1980, 1, 1, 0, 0, 0), one
        assert one.external_attr >> 16 == 0o100644, one
        print(one.filename.encode().hex(), hashlib.sha256(archive.read(one)).hexdigest())
";

/// The same of a folder's.
const FOLDER_BY_PYTHON: &str = r"
import hashlib, os, sys
names = [os.path.join(at, name) for at, _, names in os.walk(sys.argv[1]) for name in names]
plain = {os.path.relpath(name, sys.argv[1]).replace(os.sep, '/').encode(): name for name in names}
for name in sorted(plain):
    print(name.hex(), hashlib.sha256(open(plain[name], 'rb').read()).hexdigest())
";

fn python(script: &str, path: &Path) -> Option<String> {
    let python = outside::python_with("zipfile")?;
    let answer = outside::run(Command::new(python).args(["-c", script]).arg(path), "");
    Some(answer.unwrap())
}

fn with_all_kinds_of_files() -> Yard {
    let yard = Yard::with_demo();
    yard.write(
        "quay/gr\u{f6}\u{df}e/\u{43f}\u{440}\u{438}\u{447}\u{430}\u{43b} 1.txt",
        "text ".repeat(100_000),
    );
    let mut numbers = Numbers::from(41);
    let noise: Vec<u8> = (0..700_000).map(|_| numbers.below(256) as u8).collect();
    yard.write("quay/noise.bin", noise);
    yard.write("quay/nothing.bin", "");
    yard
}

#[test]
fn other_programs_read_what_was_packed() {
    let yard = with_all_kinds_of_files();
    packs(&yard, &["quay"]);
    let archive = yard.join("quay.zip");
    match (
        python(READ_BY_PYTHON, &archive),
        python(FOLDER_BY_PYTHON, &yard.join("quay")),
    ) {
        (Some(packed), Some(folder)) => {
            assert_eq!(packed, folder);
            assert_eq!(packed.lines().count(), 16);
        }
        _ => outside::skipped("Python reads what was packed", "there is no Python"),
    }
    match Command::new("unzip").arg("-tq").arg(&archive).output() {
        Ok(done) => assert!(done.status.success(), "{done:?}"),
        Err(_) => outside::skipped("unzip reads what was packed", "there is no unzip"),
    }
    // What cannot be made smaller is stored.
    assert!(fs::metadata(&archive).unwrap().len() < 740_000);
}

#[test]
fn what_other_programs_packed_comes_through_unpacking_and_packing() {
    let yard = with_all_kinds_of_files();
    let make = [
        ("python3", vec!["-m", "zipfile", "-c", "made.zip", "quay"]),
        ("zip", vec!["-qr", "made.zip", "quay"]),
        ("zip", vec!["-qr", "-0", "-X", "made.zip", "quay"]),
    ];
    for (program, arguments) in make {
        let made = Command::new(program)
            .args(&arguments)
            .current_dir(&yard)
            .output();
        if !made.is_ok_and(|done| done.status.success()) {
            outside::skipped(&format!("archives of {program}"), "it is not here");
            continue;
        }
        yard.ends_with(0, &["unpack", "made.zip", "out"]);
        packs(&yard, &["out/quay", "-o", "again.zip"]);
        packs(&yard, &["quay", "-o", "direct.zip"]);
        assert_eq!(yard.read("again.zip"), yard.read("direct.zip"), "{program}");
        fs::remove_dir_all(yard.join("out")).unwrap();
        fs::remove_file(yard.join("made.zip")).unwrap();
    }
}

#[test]
fn the_check_tells_which_files_of_the_archive_beside_are_not_the_same() {
    let yard = Yard::with_demo();
    packs(&yard, &["quay"]);
    let check = || {
        let done = yard.run(&["check", "quay"]);
        String::from_utf8(done.stdout).unwrap()
    };
    // What stays out of an archive is not missing there.
    yard.write("quay/mod.xml~", "old");
    yard.write("quay/trunnion.toml", "inlay-hints = false\n");
    assert!(!check().contains("archive-shadows-folder"), "{}", check());
    // Nor is it missing here, if somebody else packed it.
    let zip = Command::new("python3")
        .args(["-m", "zipfile", "-c", "quay.zip", "quay"])
        .current_dir(&yard)
        .output();
    if zip.is_ok_and(|done| done.status.success()) {
        fs::remove_file(yard.join("quay/mod.xml~")).unwrap();
        assert!(!check().contains("archive-shadows-folder"), "{}", check());
    }
    let mut manifest = yard.read("quay/mod.xml");
    manifest.push(b'\n');
    yard.write("quay/mod.xml", manifest);
    yard.write("quay/notes.txt", "new");
    fs::remove_file(yard.join("quay/machines/sounds/clunk.ogg")).unwrap();
    let told = check();
    for part in [
        "`machines/sounds/clunk.ogg` is missing here",
        "`mod.xml` is newer here",
        "`notes.txt` is missing there",
    ] {
        assert!(told.contains(part), "{part}: {told}");
    }
}

#[test]
fn a_folder_that_is_not_there_is_called_so() {
    let yard = Yard::with(&[("a.xml", "<a/>")]);
    for folder in ["none", "a.xml"] {
        let said = refuses(&yard, &[folder], 2);
        assert!(said.contains("there is no such folder"), "{said}");
    }
}
