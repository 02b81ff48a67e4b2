//! `trunnion adjust` as a person or a script runs it.

use std::fs;
use std::path::Path;

use acceptance::desk::corpus;
use acceptance::outside;
use acceptance::program::{run, run_in_project as trunnion, stderr, stdout};
use acceptance::yard::Yard;

const MACHINES: &str = "corpus/ternholt/machines";

fn text(path: &Path) -> &str {
    path.to_str().unwrap()
}

#[test]
fn the_legs_of_the_carrier_become_adjustable() {
    let file = format!("{MACHINES}/bram-6.machine.xml");
    let before = fs::read(outside::project().join(&file)).unwrap();
    let output = trunnion(&["adjust", &file, "leg.left", "leg.right"]);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    let said = stdout(&output);
    for line in [
        "+    <animation id=\"leg.spread\" duration=\"2\">",
        "+    <lever animation=\"leg.spread\" input=\"pointer.x\" gain=\"0.6\" rate=\"1\" text=\"Leg spread\">",
        "+      <carry wheel=\"rear.right\"/>",
        "leg.left moves 0.32 m to the left, from 0 to 2 s.",
        "leg.right moves 0.32 m to the right, from 0 to 2 s.",
        "Track width of front.left and front.right: 2.6 m at the start, 3.24 m at the end.",
        "Nothing was written; --write does that.",
    ] {
        assert!(said.lines().any(|said| said == line), "{line}\n{said}");
    }
    assert!(said.contains("Worst difference: 0 m, 0 degrees."), "{said}");
    let after = fs::read(outside::project().join(&file)).unwrap();
    assert_eq!(before, after, "nothing is written without --write");
}

#[test]
fn a_track_width_that_differs_only_on_the_way_does_not_stay() {
    let yard = Yard::with_demo();
    let file = yard.join("quay/machines/bram-6.machine.xml");
    let before = fs::read_to_string(&file).unwrap();
    let there = r#"to="1.62 0 0"/>"#;
    let back = r#"<channel target="leg.left" property="translation" begin="2" end="4" from="1.62 0 0" to="1.30 0 0"/>"#;
    assert_eq!(before.matches(there).count(), 1);
    fs::write(&file, before.replace(there, &format!("{there}{back}"))).unwrap();
    let output = trunnion(&["adjust", text(&file), "leg.left"]);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    let said = stdout(&output);
    let width = "Track width of front.left and front.right: 2.6 m at both ends, 2.6 m to 2.92 m on the way.";
    assert!(said.lines().any(|line| line == width), "{said}");
}

/// The diff is one that `patch` would take: what it removes is there, what it keeps, too.
#[test]
fn the_diff_fits_the_file() {
    let file = format!("{MACHINES}/ostrel-12.machine.xml");
    let said = stdout(&trunnion(&["adjust", &file, "outrigger.left", "--mirror"]));
    let before = fs::read_to_string(outside::project().join(&file)).unwrap();
    let mut lines = said.lines();
    assert_eq!(lines.next(), Some(format!("--- {file}").as_str()));
    assert_eq!(lines.next(), Some(format!("+++ {file}").as_str()));
    let (mut at, mut hunks) = (0, 0);
    for line in lines.take_while(|line| !line.is_empty()) {
        if let Some(head) = line.strip_prefix("@@ -") {
            at = head.split(',').next().unwrap().parse::<usize>().unwrap() - 1;
            hunks += 1;
        } else if let Some(kept) = line.strip_prefix([' ', '-']) {
            assert_eq!(before.lines().nth(at), Some(kept));
            at += 1;
        }
    }
    assert!(hunks >= 2, "{said}");
}

#[test]
fn writing_leaves_a_sound_mod_and_nothing_else() {
    let yard = Yard::with_demo();
    let mod_folder = yard.join("quay");
    let file = mod_folder.join("machines/bram-6.machine.xml");
    let beside = yard.names("quay/machines");
    let warned = trunnion(&["check", text(&mod_folder)]);
    assert!(
        stdout(&warned).contains("wheel-left-behind"),
        "the demo's story: {}",
        stdout(&warned)
    );
    let output = trunnion(&["adjust", text(&file), "leg.left", "--mirror", "--write"]);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    assert!(
        stdout(&output).contains("Written to "),
        "{}",
        stdout(&output)
    );
    assert_eq!(
        yard.names("quay/machines"),
        beside,
        "no file is left beside it"
    );
    let checked = trunnion(&["check", "--format", "json", text(&mod_folder)]);
    // The new control shows a text that the mod has in no language yet, which is said; nothing else is.
    let found: serde_json::Value = serde_json::from_str(&stdout(&checked)).unwrap();
    let codes: Vec<&str> = found
        .as_array()
        .unwrap()
        .iter()
        .filter_map(|finding| finding["code"].as_str())
        .collect();
    assert_eq!(codes, ["missing-text"]);
    let again = trunnion(&["adjust", text(&file), "leg.left", "--mirror", "--write"]);
    assert_eq!(again.status.code(), Some(1));
    assert!(
        stderr(&again).contains("adjustable already"),
        "{}",
        stderr(&again)
    );
}

#[test]
fn line_ends_tabs_and_quotes_are_kept() {
    let yard = Yard::with_demo();
    let mod_folder = yard.join("quay");
    let file = mod_folder.join("machines/vennet-24.machine.xml");
    let output = trunnion(&["adjust", text(&file), "bogie", "--write"]);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    let after = fs::read_to_string(&file).unwrap();
    assert!(
        after.contains("<lever animation='bogie.slide' input='pointer.x'"),
        "{after}"
    );
    assert_eq!(after.matches('\n').count(), after.matches("\r\n").count());
}

#[test]
fn utf_16_stays_utf_16() {
    let yard = Yard::with_demo();
    let mod_folder = yard.join("quay");
    let file = mod_folder.join("machines/bram-6.machine.xml");
    let encode = |text: &str| -> Vec<u8> {
        let text = text.replace("encoding=\"UTF-8\"", "encoding=\"UTF-16\"");
        [0xfeff]
            .into_iter()
            .chain(text.encode_utf16())
            .flat_map(u16::to_le_bytes)
            .collect()
    };
    fs::write(&file, encode(&fs::read_to_string(&file).unwrap())).unwrap();
    let output = trunnion(&["adjust", text(&file), "leg.left", "--mirror", "--write"]);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    let bytes = fs::read(&file).unwrap();
    let units: Vec<u16> = bytes
        .chunks_exact(2)
        .map(|pair| u16::from_le_bytes([pair[0], pair[1]]))
        .collect();
    let after = String::from_utf16(&units).unwrap();
    assert!(
        after.starts_with("\u{feff}<?xml") && after.contains("leg.spread"),
        "{after}"
    );
}

#[test]
fn another_dialect_is_answered_in_its_own_units() {
    let output = trunnion(&[
        "adjust",
        "corpus/dialects/yard/rigs/dorrik-9.rig.xml",
        "beam left",
        "#1:1.6",
    ]);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    let said = stdout(&output);
    for line in [
        "+      <follows>3, 4</follows>",
        "-      <follows>3, 4</follows>",
        "+        <span>0 .. 2000</span>",
        "+      <strength>0,6</strength>",
        "beam left moves 32,5 cm to the left, from 0 to 2000 ms.",
        "Track width of wheel 3 and wheel 4: 190 cm at the start, 255 cm at the end.",
    ] {
        assert!(said.lines().any(|said| said == line), "{line}\n{said}");
    }
}

/// The control hangs in the animation it plays, wheels are counted one by one, and nodes go by tags only.
#[test]
fn a_third_dialect_is_written_as_its_authors_write_it() {
    let card = "corpus/dialects/slip/cards/fennor-4.card";
    let output = trunnion(&["adjust", card, "arm l", "--mirror"]);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    let said = stdout(&output);
    let expected = "
+  <work id='arm spread' long='50'>
+    <slide limb='arm l' when='0..50' way='-6;0;4 -> -8,5;0;4'/>
+    <slide limb='arm r' when='0..50' way='6;0;4 -> 8,5;0;4'/>
+    <drive by='pull' with='lv 1' about='hull' force='0,75'>
       <roll>1</roll>
       <roll>2</roll>
       <roll>3</roll>
       <roll>4</roll>
       <tune>groan</tune>
-      <words>Unfold</words>
+      <words>Arm spread</words>
     </drive>
   </work>
";
    assert!(said.contains(expected), "{said}");
    for line in [
        "arm l moves 2,5 ft to the left, from 0 to 50 ticks.",
        "Track width of fl and fr: 12 ft at the start, 17 ft at the end.",
    ] {
        assert!(said.lines().any(|said| said == line), "{line}\n{said}");
    }
    // A button does not follow, so nobody says how strongly.
    let lamp = trunnion(&["adjust", card, "lamp"]);
    assert!(
        stdout(&lamp).contains("\n+    <drive by='press' with='kb 2' about='jib'>\n"),
        "{}",
        stdout(&lamp)
    );
}

#[test]
fn names_inputs_and_kinds_can_be_asked_for() {
    let file = format!("{MACHINES}/bram-6.machine.xml");
    let analog = stdout(&trunnion(&[
        "adjust",
        &file,
        "mast",
        "--name",
        "mast.lift",
        "--input",
        "stick.3.y",
    ]));
    assert!(
        analog.contains("<lever animation=\"mast.lift\" input=\"stick.3.y\""),
        "{analog}"
    );
    let digital = stdout(&trunnion(&["adjust", &file, "mast", "--digital"]));
    assert!(digital.contains("+    <switch animation="), "{digital}");
}

#[test]
fn the_mirror_image_is_pointed_out() {
    let said = stdout(&trunnion(&[
        "adjust",
        &format!("{MACHINES}/bram-6.machine.xml"),
        "leg.left",
    ]));
    assert!(
        said.contains("leg.right moves as the mirror image"),
        "{said}"
    );
}

/// What is asked, and what the refusal must say.
#[test]
fn what_cannot_be_done_is_refused_with_a_reason() {
    let refused = [
        (
            vec!["bram-6.machine.xml", "leg.lefd"],
            "Did you mean `leg.left`?",
        ),
        (vec!["bram-6.machine.xml", "0/2"], "No channel moves `0/2`"),
        (
            vec!["bram-6.machine.xml", "hook.left", "hook.right"],
            "adjustable already",
        ),
        (
            vec!["bram-6.machine.xml", "mast", "--input", "stick.1.y"],
            "is in use",
        ),
        (
            vec!["bram-6.machine.xml", "mast", "--input", "button.lamp"],
            "not an analog input",
        ),
        (
            vec!["bram-6.machine.xml", "mast", "--input", "stick.9.z"],
            "stick.9.z",
        ),
        (
            vec!["bram-6.machine.xml", "mast", "--name", "hooks.close"],
            "hooks.close",
        ),
        (
            vec!["bram-6.machine.xml", "mast", "--animation", "hooks.close"],
            "does not move",
        ),
        (
            vec!["bram-6.machine.xml", "mast", "--animation", "nix"],
            "There is no animation `nix`",
        ),
        (
            vec!["bram-6.machine.xml", "mast", "hook.left"],
            "No single animation",
        ),
        (
            vec!["bram-6.machine.xml", "mast", "--mirror"],
            "mirror image",
        ),
    ];
    for (arguments, reason) in refused {
        let file = format!("{MACHINES}/{}", arguments[0]);
        let output = trunnion(&[&["adjust", &file], &arguments[1..]].concat());
        assert_eq!(
            output.status.code(),
            Some(1),
            "{arguments:?}: {}{}",
            stdout(&output),
            stderr(&output)
        );
        assert!(
            stderr(&output).contains(reason),
            "{arguments:?}: {}",
            stderr(&output)
        );
        assert_eq!(stdout(&output), "", "{arguments:?}");
    }
}

#[test]
fn several_animations_of_one_part_are_named() {
    let yard = Yard::with_demo();
    let mod_folder = yard.join("quay");
    let file = mod_folder.join("machines/bram-6.machine.xml");
    let channel = "<animation id=\"again\">\n<channel target=\"mast\" property=\"scale\" begin=\"0\" end=\"1\" from=\"1 1 1\" to=\"1 1 2\"/>\n</animation>\n</animations>";
    fs::write(
        &file,
        fs::read_to_string(&file)
            .unwrap()
            .replace("</animations>", channel),
    )
    .unwrap();
    let output = trunnion(&["adjust", text(&file), "mast"]);
    assert_eq!(output.status.code(), Some(1));
    assert!(
        stderr(&output).contains("`mast.raise` and `again`"),
        "{}",
        stderr(&output)
    );
    assert_eq!(
        trunnion(&["adjust", text(&file), "mast", "--animation", "again"])
            .status
            .code(),
        Some(0)
    );
}

#[test]
fn what_cannot_be_tried_is_told_apart() {
    let yard = Yard::with(&[("broken.machine.xml", b"<machine \xff>")]);
    let broken = yard.join("broken.machine.xml");
    let tried = [
        vec!["adjust"],
        vec!["adjust", "no-such-file.machine.xml", "mast"],
        vec!["adjust", MACHINES, "mast"],
        vec!["adjust", "corpus/ternholt/machines/bram-6.machine.xml"],
        vec![
            "adjust",
            "corpus/ternholt/machines/bram-6.machine.xml",
            "mast",
            "--no-such-option",
        ],
        vec!["adjust", text(&broken), "mast"],
    ];
    for arguments in tried {
        let output = trunnion(&arguments);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
        assert!(!stderr(&output).is_empty(), "{arguments:?}");
    }
}

#[cfg(unix)]
mod unix {
    use std::os::unix::fs::{PermissionsExt as _, symlink};
    use std::os::unix::process::CommandExt as _;
    use std::process::Command;

    use acceptance::program;

    use super::*;

    #[test]
    fn permissions_and_links_are_kept() {
        let yard = Yard::with_demo();
        let mod_folder = yard.join("quay");
        let file = mod_folder.join("machines/bram-6.machine.xml");
        let real = mod_folder.join("machines/real.machine.xml");
        fs::rename(&file, &real).unwrap();
        symlink("real.machine.xml", &file).unwrap();
        fs::set_permissions(&real, fs::Permissions::from_mode(0o640)).unwrap();
        let output = trunnion(&["adjust", text(&file), "leg.left", "--mirror", "--write"]);
        assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
        assert!(fs::symlink_metadata(&file).unwrap().is_symlink());
        assert!(fs::read_to_string(&real).unwrap().contains("leg.spread"));
        assert_eq!(
            fs::metadata(&real).unwrap().permissions().mode() & 0o777,
            0o640
        );
    }

    #[test]
    fn a_folder_that_takes_no_files_is_told_and_the_file_stays() {
        let yard = Yard::with_demo();
        let mod_folder = yard.join("quay");
        let machines = mod_folder.join("machines");
        let file = machines.join("bram-6.machine.xml");
        let before = fs::read(&file).unwrap();
        fs::set_permissions(&file, fs::Permissions::from_mode(0o666)).unwrap();
        fs::set_permissions(&machines, fs::Permissions::from_mode(0o555)).unwrap();
        let mut command = Command::new(program::path());
        command.args(["adjust", text(&file), "leg.left", "--mirror", "--write"]);
        // Root may write anywhere, so it runs the program as somebody else: nobody, in the numbers of most systems.
        let is_root = fs::metadata("/proc/self")
            .is_ok_and(|about| std::os::unix::fs::MetadataExt::uid(&about) == 0);
        if is_root {
            let own = yard.join("program");
            // Not by this process: what another test starts meanwhile would hold the file open, and then it cannot be run.
            let copied = Command::new("cp").arg(program::path()).arg(&own).status();
            assert!(copied.unwrap().success());
            for shown in [&*yard, &own] {
                fs::set_permissions(shown, fs::Permissions::from_mode(0o755)).unwrap();
            }
            command = Command::new(&own);
            command
                .args(["adjust", text(&file), "leg.left", "--mirror", "--write"])
                .uid(65534)
                .gid(65534);
        }
        let output = command.output().unwrap();
        assert_eq!(
            output.status.code(),
            Some(2),
            "{}{}",
            stdout(&output),
            stderr(&output)
        );
        assert!(
            stderr(&output).contains("is as it was"),
            "{}",
            stderr(&output)
        );
        assert_eq!(fs::read(&file).unwrap(), before);
        fs::set_permissions(&machines, fs::Permissions::from_mode(0o755)).unwrap();
    }
}

/// A place to fill in is one as well where it is the text of an element that must hold something.
#[test]
fn what_is_left_to_fill_in_may_be_the_text_of_an_element() {
    let yard = Yard::empty();
    yard.copy(&corpus().join("dialects/yard"), "");
    let rig = "rigs/dorrik-9.rig.xml";
    let dialect = yard.text("yard.dialect.toml");
    let graded = dialect.replacen(
        "\"noise*\", \"label?\"]",
        "\"noise*\", \"label?\", \"grade\"]",
        1,
    );
    assert_ne!(graded, dialect);
    let grade = "\n[element.grade]\ntext = { type = \"word\", words = [\"easy\", \"hard\"], required = true }\n";
    yard.write("yard.dialect.toml", format!("{graded}{grade}"));
    let machine = yard.text(rig);
    yard.write(
        rig,
        machine.replace(
            "</label>\n    </hand>",
            "</label>\n      <grade>easy</grade>\n    </hand>",
        ),
    );
    yard.ends_with(0, &["check", rig]);
    let output = run(&yard, &["adjust", rig, "beam left", "beam right"]);
    let text = stdout(&output);
    assert_eq!(output.status.code(), Some(0), "{output:?}");
    assert!(
        text.contains("+      <grade></grade>")
            && text.contains("Left for you to fill in: an empty place in line 132."),
        "{text}"
    );
}
