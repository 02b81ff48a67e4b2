//! Killed at any moment, or on a full disk, a command leaves the old or the new, whole. `KILLS=1000` kills each command so
//! often.

use std::fs;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use acceptance::numbers::Numbers;
use acceptance::outside;
use acceptance::yard::{Yard, said};

fn kills() -> usize {
    let wanted = std::env::var("KILLS").ok();
    wanted.and_then(|kills| kills.parse().ok()).unwrap_or(16)
}

/// What is found after a kill.
#[derive(Debug, PartialEq)]
enum Found {
    Old,
    New,
}

/// Runs a command over and over and kills it at random moments. `back`: makes all as it was; `look`: what is there.
fn kill(yard: &Yard, arguments: &[&str], back: impl Fn(), look: impl Fn() -> Found) {
    let mut numbers = Numbers::from(7);
    let mut takes = Duration::MAX;
    for _ in 0..2 {
        back();
        let begun = Instant::now();
        yard.ends_with(0, arguments);
        takes = takes.min(begun.elapsed());
        assert_eq!(look(), Found::New);
    }
    let (mut olds, mut news, mut ended, mut left) = (0, 0, 0, 0);
    for kill in 0..kills() {
        back();
        let mut child = yard
            .command(arguments)
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        // Every second one towards the end, when files are written.
        let least = if kill % 2 == 0 { 0 } else { 600 };
        let share = least + numbers.below(1150 - least);
        std::thread::sleep(takes * u32::try_from(share).unwrap() / 1000);
        let _ = child.kill();
        ended += usize::from(child.wait().unwrap().success());
        left += usize::from(has_left(yard));
        match look() {
            Found::Old => olds += 1,
            Found::New => news += 1,
        }
    }
    // The next run cleans up.
    back();
    yard.ends_with(0, arguments);
    assert!(
        !has_left(yard) || !cfg!(target_os = "linux"),
        "{:?}",
        yard.names("")
    );
    outside::say(&format!(
        "{} killed {} times ({ended} had ended): {olds} times the old, {news} times the new, whole; {left} times something hidden was left, and gone after the next run",
        arguments[..2].join(" "),
        kills()
    ));
    assert_eq!(olds + news, kills());
}

fn has_left(yard: &Yard) -> bool {
    yard.names("")
        .iter()
        .any(|name| name.starts_with(".trunnion-"))
}

/// A mod that takes a while to be packed.
fn with_much() -> Yard {
    let yard = Yard::with_demo();
    let mut numbers = Numbers::from(3);
    for at in 0..8 {
        let noise: Vec<u8> = (0..150_000).map(|_| numbers.below(64) as u8).collect();
        yard.write(&format!("quay/sounds/{at}.ogg"), noise);
    }
    yard
}

#[test]
fn packing() {
    let yard = with_much();
    yard.ends_with(0, &["pack", "quay"]);
    let old = yard.read("quay.zip");
    yard.write("quay/notes.txt", "new");
    yard.ends_with(0, &["pack", "quay", "-o", "new.zip"]);
    let new = yard.read("new.zip");
    let back = || {
        for name in yard.names("") {
            if name.starts_with("quay.zip.~") {
                assert_eq!(yard.read(&name), old, "{name}");
                fs::remove_file(yard.join(name)).unwrap();
            }
        }
        yard.write("quay.zip", &old);
    };
    kill(&yard, &["pack", "quay"], back, || {
        let there = yard.read("quay.zip");
        assert!(there == old || there == new, "{} bytes", there.len());
        match there == old {
            true => Found::Old,
            false => {
                assert_eq!(yard.read("quay.zip.~1~"), old);
                Found::New
            }
        }
    });
}

#[test]
fn unpacking() {
    let yard = with_much();
    yard.ends_with(0, &["pack", "quay"]);
    let whole = outside::files_below(&yard.join("quay"), &[""]);
    let out = yard.join("out");
    let back = || {
        let _ = fs::remove_dir_all(&out);
    };
    kill(&yard, &["unpack", "quay.zip", "out"], back, || {
        if !out.exists() {
            return Found::Old;
        }
        for file in &whole {
            let name = file.strip_prefix(yard.join("quay")).unwrap();
            assert_eq!(fs::read(out.join(name)).unwrap(), fs::read(file).unwrap());
        }
        Found::New
    });
}

#[test]
fn patching() {
    let yard = Yard::empty();
    let rows = "  <row>some text that takes a while to write</row>\n".repeat(20_000);
    let old = format!("<a n=\"1\">\n{rows}</a>\n").into_bytes();
    let patch = "<d><replace sel=\"a/@n\">2</replace></d>";
    yard.write("p.xml", patch);
    let back = || yard.write("a.xml", &old);
    kill(&yard, &["patch", "a.xml", "p.xml", "--write"], back, || {
        let there = yard.read("a.xml");
        assert_eq!(there.len(), old.len());
        match there == old {
            true => Found::Old,
            false => Found::New,
        }
    });
}

#[test]
fn adjusting() {
    let yard = Yard::with_demo();
    let name = "quay/machines/bram-6.machine.xml";
    let adjust = ["adjust", name, "leg.left", "leg.right", "--write"];
    let old = yard.read(name);
    yard.ends_with(0, &adjust);
    let new = yard.read(name);
    let back = || yard.write(name, &old);
    kill(&yard, &adjust, back, || {
        let there = yard.read(name);
        assert!(there == old || there == new, "{} bytes", there.len());
        match there == old {
            true => Found::Old,
            false => Found::New,
        }
    });
    assert_eq!(
        yard.names("quay/machines").len(),
        8,
        "{:?}",
        yard.names("quay/machines")
    );
}

/// As many machines as it takes to be at it for a while, each with a number that has a comma for a point.
fn with_faults() -> (Yard, Vec<String>) {
    let yard = Yard::empty();
    let names: Vec<String> = (0..12).map(|at| format!("{at}.machine.xml")).collect();
    for name in &names {
        yard.write(
            name,
            "<machine xmlns='urn:trunnion:machine:1' id='rig' scene='rig.gltf'>\n  <sounds>\n    <sound id='pump' file='pump.ogg' gain='0,8'/>\n  </sounds>\n</machine>\n",
        );
    }
    yard.write("pump.ogg", "");
    let scene = outside::project().join("corpus/faults/shared/rig.gltf");
    yard.write("rig.gltf", fs::read(scene).unwrap());
    (yard, names)
}

#[test]
fn repairing() {
    let (yard, names) = with_faults();
    let read = || -> Vec<Vec<u8>> { names.iter().map(|name| yard.read(name)).collect() };
    let old = read();
    yard.ends_with(0, &["check", "--fix", "."]);
    let new = read();
    let back = || {
        for (name, text) in names.iter().zip(&old) {
            yard.write(name, text);
        }
    };
    // Each file is written by itself: any number of them may be repaired, and each is whole.
    kill(&yard, &["check", "--fix", "."], back, || {
        let there = read();
        for (at, text) in there.iter().enumerate() {
            assert!(*text == old[at] || *text == new[at], "{}", names[at]);
        }
        match there == new {
            true => Found::New,
            false => Found::Old,
        }
    });
}

#[test]
fn writing_a_baseline() {
    let (yard, _) = with_faults();
    let write = ["check", "--write-baseline", "known.toml", "."];
    yard.write(
        "one.machine.xml",
        "<machine xmlns='urn:trunnion:machine:1'/>",
    );
    yard.ends_with(0, &write);
    let old = yard.read("known.toml");
    fs::remove_file(yard.join("one.machine.xml")).unwrap();
    yard.ends_with(0, &write);
    let new = yard.read("known.toml");
    assert!(new.len() < old.len());
    let back = || yard.write("known.toml", &old);
    kill(&yard, &write, back, || {
        let there = yard.read("known.toml");
        assert!(there == old || there == new, "{} bytes", there.len());
        match there == old {
            true => Found::Old,
            false => Found::New,
        }
    });
}

/// Makes `quay`, `theirs` and `mine`: a mod, its author's new release, and what somebody made of the old one.
fn three_versions() -> Yard {
    let yard = with_much();
    let machine = "machines/bram-6.machine.xml";
    for copy in ["theirs", "mine"] {
        for file in outside::files_below(&yard.join("quay"), &[""]) {
            let inside = file.strip_prefix(yard.join("quay")).unwrap();
            yard.write(
                &format!("{copy}/{}", inside.display()),
                fs::read(&file).unwrap(),
            );
        }
    }
    let theirs = String::from_utf8(yard.read(&format!("quay/{machine}"))).unwrap();
    let theirs = theirs.replace("mass=\"9200\"", "mass=\"9300\"");
    yard.write(&format!("theirs/{machine}"), theirs);
    let mine = format!("mine/{machine}");
    yard.ends_with(0, &["adjust", &mine, "leg.left", "leg.right", "--write"]);
    yard
}

#[test]
fn carrying() {
    let yard = three_versions();
    let carry = ["carry", "quay", "theirs", "mine", "-o", "out"];
    yard.ends_with(0, &["carry", "quay", "theirs", "mine", "-o", "wanted"]);
    let wanted = outside::files_below(&yard.join("wanted"), &[""]);
    assert!(!wanted.is_empty());
    let out = yard.join("out");
    let back = || {
        let _ = fs::remove_dir_all(&out);
    };
    kill(&yard, &carry, back, || {
        if !out.exists() {
            return Found::Old;
        }
        for file in &wanted {
            let name = file.strip_prefix(yard.join("wanted")).unwrap();
            assert_eq!(fs::read(out.join(name)).unwrap(), fs::read(file).unwrap());
        }
        Found::New
    });
}

#[test]
fn writing_a_patch() {
    let yard = three_versions();
    let [old, new] = ["quay", "mine"].map(|copy| format!("{copy}/machines/bram-6.machine.xml"));
    let arguments = |patch| ["diff", &old, &new, "-o", patch];
    let begun = Instant::now();
    yard.ends_with(1, &arguments("wanted.xml"));
    let takes = begun.elapsed();
    let wanted = yard.read("wanted.xml");
    let patch = yard.join("patch.xml");
    let mut numbers = Numbers::from(11);
    let mut written = 0;
    for _ in 0..kills() {
        let _ = fs::remove_file(&patch);
        let mut child = yard
            .command(&arguments("patch.xml"))
            .stdout(Stdio::null())
            .spawn()
            .unwrap();
        let share = 500 + numbers.below(700);
        std::thread::sleep(takes * u32::try_from(share).unwrap() / 1000);
        let _ = child.kill();
        let _ = child.wait();
        if patch.exists() {
            written += 1;
            assert_eq!(yard.read("patch.xml"), wanted);
        }
    }
    outside::say(&format!(
        "diff -o killed {} times: {written} times the patch, whole; else none",
        kills()
    ));
}

/// A file may not become larger than this (as of `ulimit -f`, whose signal is not heard): so a full disk looks to a program.
#[cfg(unix)]
#[test]
fn a_disk_that_takes_no_more_changes_nothing() {
    let yard = three_versions();
    yard.write("p.xml", "<d><replace sel=\"a/@n\">2</replace></d>");
    yard.write("a.xml", format!("<a n=\"1\">{}</a>", " ".repeat(5_000)));
    let document = yard.read("a.xml");
    yard.ends_with(0, &["pack", "quay"]);
    let archive = yard.read("quay.zip");
    yard.write("quay/notes.txt", "new");
    let name = "quay/machines/bram-6.machine.xml";
    let machine = yard.read(name);
    let everything = outside::files_below(&yard, &[""]);
    for arguments in [
        &["pack", "quay"][..],
        &["pack", "quay", "-o", "new.zip"],
        &["unpack", "quay.zip", "out"],
        &["adjust", name, "leg.left", "leg.right", "--write"],
        &["patch", "a.xml", "p.xml", "--write"],
        &["carry", "quay", "theirs", "mine", "-o", "carried"],
    ] {
        let done = Command::new("bash")
            .args(["-c", "trap '' XFSZ; ulimit -f 1; exec \"$@\"", "bash"])
            .arg(acceptance::program::path())
            .args(arguments)
            .current_dir(&yard)
            .output()
            .unwrap();
        assert_eq!(
            done.status.code(),
            Some(2),
            "{arguments:?}: {}",
            said(&done)
        );
        assert!(
            said(&done).contains("large"),
            "{arguments:?}: {}",
            said(&done)
        );
        assert_eq!(yard.read("quay.zip"), archive);
        assert_eq!(yard.read(name), machine);
        assert_eq!(yard.read("a.xml"), document);
        assert_eq!(
            outside::files_below(&yard, &[""]),
            everything,
            "{arguments:?}"
        );
    }
}

/// A small file system of its own; only the system's keeper may make one.
#[cfg(target_os = "linux")]
struct Small(std::path::PathBuf);

#[cfg(target_os = "linux")]
impl Small {
    fn mount(yard: &Yard, options: &str) -> Option<Self> {
        let folder = yard.join("small");
        fs::create_dir_all(&folder).unwrap();
        let mut mount = Command::new("mount");
        mount
            .args(["-t", "tmpfs", "-o", options, "tmpfs"])
            .arg(&folder);
        let is_mounted = mount.output().is_ok_and(|done| done.status.success());
        is_mounted.then_some(Self(folder))
    }
}

#[cfg(target_os = "linux")]
impl Drop for Small {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg(&self.0).output();
    }
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_and_one_that_takes_nothing_change_nothing() {
    let yard = with_much();
    yard.ends_with(0, &["pack", "quay"]);
    let small_one = Yard::with_demo();
    small_one.ends_with(0, &["pack", "quay"]);
    let small_archive = small_one.read("quay.zip");
    let Some(small) = Small::mount(&yard, "size=256k") else {
        return outside::skipped("a full disk", "nothing can be mounted here");
    };
    yard.write("small/quay.zip", &small_archive);
    let (archive, folder) = ("small/quay.zip", "small/out");
    let failing = [
        &["pack", "quay", "-o", archive][..],
        &["pack", "quay", "--into", "small"],
        &["unpack", "quay.zip", folder],
    ];
    for arguments in failing {
        let told = yard.ends_with(2, arguments);
        assert!(told.contains("No space left"), "{told}");
        assert_eq!(yard.read(archive), small_archive);
        assert_eq!(yard.names("small"), ["quay.zip"]);
    }
    let remounted = Command::new("mount")
        .args(["-o", "remount,ro"])
        .arg(&small.0)
        .output();
    if !remounted.is_ok_and(|done| done.status.success()) {
        return outside::skipped("a disk that takes nothing", "it cannot be made so");
    }
    for arguments in failing {
        let told = yard.ends_with(2, arguments);
        assert!(told.contains("Read-only"), "{told}");
        assert_eq!(yard.read(archive), small_archive);
        assert_eq!(yard.names("small"), ["quay.zip"]);
    }
}
