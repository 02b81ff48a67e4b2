//! From a folder to an archive, while the folder and what lies around it may change.

use archive::{Contents, Packed, Plan, Stopped, Wishes, unpack};
use std::{
    fs,
    path::{Path, PathBuf},
};
use tempfile::TempDir;

/// A folder with the mod `quay` in it.
struct Pier(TempDir);

impl Pier {
    fn new() -> Self {
        let pier = Self(TempDir::with_prefix("trunnion-").unwrap());
        for (file, text) in [
            ("mod.xml", "<mod/>"),
            ("m/bram.xml", "<rig/>"),
            ("a.txt", "a"),
            ("b.txt", "b"),
        ] {
            pier.file(&format!("quay/{file}"), text.as_bytes());
        }
        pier
    }

    fn at(&self, path: &str) -> PathBuf {
        self.0.path().join(path)
    }

    fn file(&self, path: &str, bytes: &[u8]) {
        let path = self.at(path);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, bytes).unwrap();
    }

    fn plan(&self, target: &str) -> Plan {
        Plan::of(&self.at("quay"), &self.at(target), Wishes::default()).unwrap()
    }

    fn pack(&self) -> Packed {
        self.plan("quay.zip").pack(&[]).unwrap()
    }

    /// Names of what lies around the mod.
    fn shadows(&self) -> Vec<String> {
        let shadows = self.plan("quay.zip").shadows().unwrap();
        let names = shadows.iter().map(|path| path.file_name().unwrap());
        names
            .map(|name| name.to_str().unwrap().to_owned())
            .collect()
    }
}

fn names(archive: &Path) -> Vec<String> {
    let contents = Contents::open(archive).unwrap();
    contents.files().map(|(name, _)| name.to_owned()).collect()
}

fn told(stopped: Stopped) -> String {
    match stopped {
        Stopped::Failed(why) => why,
        Stopped::Refused(all) => {
            let all: Vec<String> = all.iter().map(ToString::to_string).collect();
            all.join("\n")
        }
    }
}

/// Numbers that no compressor makes shorter.
fn noise(length: usize) -> Vec<u8> {
    let mut state = 1_u32;
    let mut next = || {
        state ^= state << 13;
        state ^= state >> 17;
        state ^= state << 5;
        state as u8
    };
    (0..length).map(|_| next()).collect()
}

#[test]
fn what_was_packed_is_counted_and_comes_out_as_it_was() {
    let pier = Pier::new();
    pier.file("quay/noise.ogg", &noise(300_000));
    let packed = pier.pack();
    assert_eq!((packed.files, packed.bytes), (5, 300_014));
    assert_eq!(
        packed.size,
        fs::metadata(pier.at("quay.zip")).unwrap().len()
    );
    let expected = ["a.txt", "b.txt", "m/bram.xml", "mod.xml", "noise.ogg"];
    assert_eq!(names(&pier.at("quay.zip")), expected);
    unpack(&pier.at("quay.zip"), &pier.at("out"), false).unwrap();
    for name in expected {
        let (was, is) = (pier.at("quay").join(name), pier.at("out").join(name));
        assert!(fs::read(was).unwrap() == fs::read(is).unwrap(), "{name}");
    }
}

#[test]
fn the_same_bytes_need_no_backup_and_others_have_one() {
    let pier = Pier::new();
    // So long that the first pieces of both archives are the same.
    pier.file("quay/a.ogg", &noise(100_000));
    let packed = pier.pack();
    assert!(!packed.is_as_before && packed.backup.is_none());
    let packed = pier.pack();
    assert!(packed.is_as_before && packed.backup.is_none());
    pier.file("quay/b.txt", b"c");
    let before = fs::read(pier.at("quay.zip")).unwrap();
    let packed = pier.pack();
    assert!(!packed.is_as_before);
    let backup = packed.backup.unwrap();
    assert_eq!(backup, pier.at("quay.zip.~1~"));
    assert!(fs::read(backup).unwrap() == before);
}

#[test]
fn what_comes_goes_or_changes_between_the_look_and_the_packing_stops_it() {
    type Change = fn(&Pier);
    let changes: [(Change, &str); 3] = [
        (
            |pier| pier.file("quay/new.txt", b"n"),
            "came, went or changed",
        ),
        (
            |pier| pier.file("quay/b.txt", b"longer"),
            "b.txt: It was changed while it was packed. Try again.",
        ),
        (
            |pier| fs::remove_file(pier.at("quay/b.txt")).unwrap(),
            "b.txt: It cannot be read",
        ),
    ];
    for (change, why) in changes {
        let pier = Pier::new();
        let plan = pier.plan("quay.zip");
        change(&pier);
        let stopped = told(plan.pack(&[]).unwrap_err());
        assert!(stopped.contains(why), "{stopped}");
        assert!(!pier.at("quay.zip").exists());
    }
}

#[test]
fn an_archive_in_its_own_folder_and_its_backups_stay_out() {
    let pier = Pier::new();
    pier.plan("quay/quay.zip").pack(&[]).unwrap();
    pier.file("quay/b.txt", b"c");
    pier.file("quay/m/quay.zip", b"no copy");
    let packed = pier.plan("quay/quay.zip").pack(&[]).unwrap();
    assert!(packed.backup.is_some());
    let plan = pier.plan("quay/quay.zip");
    let files: Vec<&str> = plan.files().collect();
    assert_eq!(
        files,
        ["a.txt", "b.txt", "m/bram.xml", "m/quay.zip", "mod.xml"]
    );
    let left_out = plan.left_out().iter().map(ToString::to_string);
    assert_eq!(
        left_out.collect::<Vec<_>>(),
        [
            "quay.zip: The archive itself.",
            "quay.zip.~1~: A backup of the archive."
        ]
    );
}

#[test]
fn a_folder_with_nothing_to_pack_is_refused() {
    let pier = Pier::new();
    fs::create_dir(pier.at("empty")).unwrap();
    let plan = Plan::of(&pier.at("empty"), &pier.at("empty.zip"), Wishes::default());
    assert_eq!(
        told(plan.unwrap_err()),
        "There is nothing in it that could be packed."
    );
    let plan = Plan::of(
        &pier.at("quay/mod.xml"),
        &pier.at("x.zip"),
        Wishes::default(),
    );
    assert!(told(plan.unwrap_err()).ends_with("is no folder"));
}

#[test]
fn copies_of_the_mod_are_those_of_its_name_and_those_of_a_number_with_most_of_its_files() {
    let pier = Pier::new();
    pier.pack();
    assert_eq!(pier.shadows(), [""; 0]);
    fs::copy(pier.at("quay.zip"), pier.at("Quay.ZIP.txt")).unwrap();
    fs::copy(pier.at("quay.zip"), pier.at("quay 2.zip")).unwrap();
    fs::copy(pier.at("quay.zip"), pier.at("quay-winter.zip")).unwrap();
    // Most of the mod's files, and most of its own.
    for file in ["mod.xml", "m/bram.xml", "a.txt", "more.txt"] {
        pier.file(&format!("quay_v3/{file}"), b"");
    }
    // Half of its own are others.
    for file in ["mod.xml", "m/bram.xml", "a.txt", "c.txt", "d.txt", "e.txt"] {
        pier.file(&format!("quay_v4/{file}"), b"");
    }
    // Half of the mod's are not there.
    for file in ["mod.xml", "a.txt"] {
        pier.file(&format!("quay_v5/{file}"), b"");
    }
    pier.file("quay.txt", b"about the quay");
    pier.file("QUAY/mod.xml", b"of the same name");
    let expected = match pier.at("QUAY/a.txt").exists() {
        // The system takes both for one.
        true => vec!["quay 2.zip", "quay_v3"],
        false => vec!["QUAY", "quay 2.zip", "quay_v3"],
    };
    assert_eq!(pier.shadows(), expected);
}

#[test]
fn copies_are_moved_aside_under_their_names() {
    let pier = Pier::new();
    fs::create_dir(pier.at("mods")).unwrap();
    pier.plan("mods/quay.zip").pack(&[]).unwrap();
    fs::copy(pier.at("mods/quay.zip"), pier.at("mods/quay 2.zip")).unwrap();
    let plan = pier.plan("mods/quay.zip");
    let packed = plan.pack(&plan.shadows().unwrap()).unwrap();
    let [moved] = packed.moved.as_slice() else {
        panic!("{packed:?}")
    };
    assert_eq!(moved.from, pier.at("mods/quay 2.zip"));
    assert!(!moved.from.exists());
    assert!(
        moved.to.ends_with("mods-set-aside/1/quay 2.zip"),
        "{packed:?}"
    );
    assert_eq!(names(&moved.to), names(&pier.at("mods/quay.zip")));
}
