//! `trunnion carry` as a person or a script runs it: own changes brought over to the author's new release.

use std::fs;
use std::path::{Path, PathBuf};

use acceptance::desk::corpus;
use acceptance::outside;
use acceptance::program::{run, stdout as said};
use acceptance::system_calls::Traced;
use acceptance::yard::Yard;
use serde_json::Value;

const BRAM: &str = "machines/bram-6.machine.xml";

/// The demo mod three times: old, new and mine.
fn three_mods() -> Yard {
    let yard = Yard::empty();
    for side in ["old", "new", "mine"] {
        yard.copy(&corpus().join("ternholt"), side);
    }
    yard
}

fn edit(file: PathBuf, changes: &[(&str, &str)]) {
    let mut text = fs::read_to_string(&file).unwrap();
    for (from, to) in changes {
        assert!(text.contains(from), "{from}");
        text = text.replacen(from, to, 1);
    }
    fs::write(file, text).unwrap();
}

/// All files with their bytes.
fn state(folder: &Path) -> Vec<(PathBuf, Vec<u8>)> {
    let files = outside::files_below(folder, &[""]).into_iter();
    files
        .map(|file| (file.clone(), fs::read(file).unwrap()))
        .collect()
}

#[test]
fn own_changes_go_into_the_new_release_and_nothing_else_does() {
    let yard = three_mods();
    let done = run(
        &yard,
        &[
            "adjust",
            &format!("mine/{BRAM}"),
            "leg.left",
            "leg.right",
            "--write",
        ],
    );
    assert_eq!(done.status.code(), Some(0), "{done:?}");
    edit(
        yard.join("new").join(BRAM),
        &[
            ("radius=\"0.62\"", "radius=\"0.64\""),
            ("<bodies>", "<!-- heavier by now -->\n  <bodies>"),
            ("mass=\"9200\"", "mass=\"9400\""),
            (
                "<animation id=\"hooks.close\"",
                "<animation id=\"lamp.turn\" duration=\"1\"/>\n    <animation id=\"hooks.close\"",
            ),
        ],
    );
    let before = state(&yard);
    let files = [
        format!("old/{BRAM}"),
        format!("new/{BRAM}"),
        format!("mine/{BRAM}"),
    ];
    let output = run(&yard, &["carry", &files[0], &files[1], &files[2]]);
    assert_eq!(output.status.code(), Some(0), "{output:?}");
    assert_eq!(state(&yard), before, "nothing is written");

    let output = run(
        &yard,
        &[
            "carry",
            &files[0],
            &files[1],
            &files[2],
            "-o",
            "out.machine.xml",
        ],
    );
    assert_eq!(output.status.code(), Some(0), "{output:?}");
    let out = yard.text("out.machine.xml");
    // As if the legs had been made adjustable in the new release.
    let done = run(
        &yard,
        &["adjust", &files[1], "leg.left", "leg.right", "--write"],
    );
    assert_eq!(done.status.code(), Some(0), "{done:?}");
    assert_eq!(out, fs::read_to_string(yard.join(&files[1])).unwrap());
    // What is there is not overwritten.
    let again = run(
        &yard,
        &[
            "carry",
            &files[0],
            &files[1],
            &files[2],
            "-o",
            "out.machine.xml",
        ],
    );
    assert_eq!(again.status.code(), Some(2), "{again:?}");
}

#[test]
fn what_both_changed_is_shown_with_all_sides_and_stays_the_author_s() {
    let yard = three_mods();
    edit(
        yard.join("new").join(BRAM),
        &[("mass=\"9200\"", "mass=\"9400\"")],
    );
    edit(
        yard.join("mine").join(BRAM),
        &[
            ("mass=\"9200\"", "mass=\"9000\""),
            ("reach=\"0.4\"", "reach=\"0.5\""),
        ],
    );
    let output = run(&yard, &["carry", "old", "new", "mine", "--write"]);
    let text = said(&output);
    assert_eq!(output.status.code(), Some(1), "{output:?}");
    for part in [
        "Conflict: ",
        "old: 9200",
        "the author's (line 12): 9400",
        "yours (line 12): 9000",
    ] {
        assert!(text.contains(part), "{part}\n{text}");
    }
    let out = fs::read_to_string(yard.join("mine-carried").join(BRAM)).unwrap();
    assert!(
        out.contains("mass=\"9400\"") && out.contains("reach=\"0.5\""),
        "{out}"
    );
}

/// The author put a node before the others: all paths moved on. Mine must, too.
#[test]
fn own_paths_follow_the_author_s_new_scene() {
    let yard = three_mods();
    let scene = yard.join("new/machines/bram-6.gltf");
    let mut gltf: Value = serde_json::from_slice(&fs::read(&scene).unwrap()).unwrap();
    let nodes = gltf["nodes"].as_array_mut().unwrap();
    let added = nodes.len();
    nodes.push(serde_json::json!({"name": "number.plate"}));
    nodes[0]["children"]
        .as_array_mut()
        .unwrap()
        .insert(0, added.into());
    yard.write("new.gltf", gltf.to_string());
    let definition = format!("new/{BRAM}");
    let done = run(
        &yard,
        &["repath", &definition, "--scene", "new.gltf", "--write"],
    );
    assert_eq!(done.status.code(), Some(0), "{done:?}");
    fs::rename(yard.join("new.gltf"), &scene).unwrap();
    name_the_ladder(&yard);
    let output = run(&yard, &["carry", "old", "new", "mine", "-o", "out"]);
    assert_eq!(output.status.code(), Some(0), "{output:?}");
    let out = fs::read_to_string(yard.join("out").join(BRAM)).unwrap();
    assert!(
        out.contains("<alias name=\"ladder\" path=\"0/1/0/2\"/>"),
        "{out}"
    );
    assert!(
        out.contains("<alias name=\"mast\"       path=\"0/2\"/>"),
        "{out}"
    );
    assert!(yard.join("out/machines/bram-6.gltf").is_file());
    let checked = run(&yard, &["check", "out"]);
    assert!(!said(&checked).contains("stale-path"), "{checked:?}");
}

/// Mine has a name for another node by its index path.
fn name_the_ladder(yard: &Yard) {
    edit(
        yard.join("mine").join(BRAM),
        &[(
            "<alias name=\"mast\" ",
            "<alias name=\"ladder\" path=\"0/0/0/2\"/>\n    <alias name=\"mast\" ",
        )],
    );
}

#[test]
fn a_path_of_mine_whose_node_the_new_scene_has_no_more_is_told() {
    let yard = three_mods();
    let scene = yard.join("new/machines/bram-6.gltf");
    let mut gltf: Value = serde_json::from_slice(&fs::read(&scene).unwrap()).unwrap();
    let nodes = gltf["nodes"].as_array_mut().unwrap();
    let leg = nodes
        .iter()
        .position(|node| node["name"] == "leg.left")
        .unwrap();
    let ladder = nodes[leg]["children"].as_array_mut().unwrap().remove(2);
    let ladder = usize::try_from(ladder.as_u64().unwrap()).unwrap();
    nodes[ladder]["name"] = "nothing.like.it".into();
    fs::write(&scene, gltf.to_string()).unwrap();
    name_the_ladder(&yard);
    // The author's definition is as it was: only its scene is another one.
    let output = run(&yard, &["carry", "old", "new", "mine", "-o", "out"]);
    assert_eq!(output.status.code(), Some(1), "{output:?}");
    let told = "Look at it: the path 0/0/0/2 of yours:";
    assert!(said(&output).contains(told), "{output:?}");
}

#[test]
fn numbers_follow_the_wheels_that_they_count() {
    const RIG: &str = "rigs/dorrik-9.rig.xml";
    let yard = Yard::empty();
    for side in ["old", "new", "mine"] {
        yard.copy(&corpus().join("dialects/yard"), side);
    }
    let spare = "<roller><spot>#1:2</spot><half>20</half><tread>10</tread></roller>";
    let first = "<rollers>";
    let rollers = format!("{first}\n    {spare}");
    let own =
        "<hand way=\"axis\"><stroke>unfold</stroke><grip>palm</grip><follows>3, 4</follows></hand>";
    edit(
        yard.join("mine").join(RIG),
        &[("</hands>", &format!("{own}\n  </hands>"))],
    );
    edit(yard.join("new").join(RIG), &[(first, &rollers)]);
    let carry = || run(&yard, &["carry", "old", "new", "mine", "-o", "out"]);
    let result = || fs::read_to_string(yard.join("out").join(RIG)).unwrap();
    // Mine counted without the author's new wheel; what the author has not changed is as it was.
    let output = carry();
    assert_eq!(output.status.code(), Some(0), "{output:?}");
    let text = result();
    assert!(text.contains("<follows>4, 5</follows>"), "{text}");
    assert!(text.contains("<follows>3, 4</follows>"), "{text}");

    // The author's numbers count without my new wheel; and one counts a wheel that I took away.
    fs::remove_dir_all(yard.join("out")).unwrap();
    fs::copy(yard.join("old").join(RIG), yard.join("mine").join(RIG)).unwrap();
    fs::copy(yard.join("old").join(RIG), yard.join("new").join(RIG)).unwrap();
    edit(
        yard.join("new").join(RIG),
        &[("</hands>", &format!("{own}\n  </hands>"))],
    );
    let mine = fs::read_to_string(yard.join("mine").join(RIG)).unwrap();
    let starts = mine.rfind("<roller>").unwrap();
    let ends = starts + mine[starts..].find("</roller>").unwrap() + "</roller>".len();
    let last = &mine[starts..ends];
    edit(
        yard.join("mine").join(RIG),
        &[(first, &rollers), (last, "")],
    );
    let output = carry();
    assert_eq!(output.status.code(), Some(1), "{output:?}");
    let text = result();
    assert!(text.contains("<follows>4, 4</follows>"), "{text}");
    let told = "what `4` counted is not there any more.";
    assert!(said(&output).contains(told), "{output:?}");
}

#[test]
fn files_come_and_go_as_each_had_it() {
    let yard = three_mods();
    yard.write("new/notes.txt", "of the author");
    yard.write("mine/mine.txt", "of mine");
    fs::remove_file(yard.join("new/machines/sounds/clunk.ogg")).unwrap();
    yard.write("mine/machines/sounds/pump.ogg", "mine");
    yard.write("new/machines/sounds/pump.ogg", "theirs");
    let output = run(&yard, &["carry", "old", "new", "mine", "-o", "out"]);
    assert_eq!(output.status.code(), Some(1), "{output:?}");
    let out = yard.join("out");
    assert!(out.join("notes.txt").is_file() && out.join("mine.txt").is_file());
    assert!(!out.join("machines/sounds/clunk.ogg").exists());
    assert_eq!(
        fs::read_to_string(out.join("machines/sounds/pump.ogg")).unwrap(),
        "theirs"
    );
}

#[test]
fn archives_are_carried_as_folders_are_and_stay() {
    let yard = three_mods();
    for side in ["new", "mine"] {
        let wider = [("mass=\"9200\"", "mass=\"9400\"")];
        let renamed = [("radius=\"0.62\"", "radius=\"0.64\"")];
        let changes = if side == "new" { &wider } else { &renamed };
        edit(yard.join(side).join(BRAM), changes);
    }
    for side in ["old", "new", "mine"] {
        let done = run(&yard, &["pack", side]);
        assert_eq!(done.status.code(), Some(0), "{done:?}");
    }
    let carry = |sides: [&str; 3], out: &str| {
        let done = run(&yard, &["carry", sides[0], sides[1], sides[2], "-o", out]);
        assert_eq!(done.status.code(), Some(0), "{done:?}");
        let out = yard.join(out);
        let files = state(&out).into_iter();
        files
            .map(|(file, bytes)| (file.strip_prefix(&out).unwrap().to_owned(), bytes))
            .collect::<Vec<_>>()
    };
    let of_folders = carry(["old", "new", "mine"], "of-folders");
    let archives = ["old.zip", "new.zip", "mine.zip"];
    let were = archives.map(|archive| fs::read(yard.join(archive)).unwrap());
    assert_eq!(carry(archives, "of-archives"), of_folders);
    assert_eq!(carry(["old.zip", "new", "mine.zip"], "of-both"), of_folders);
    let merged = fs::read_to_string(yard.join("of-archives").join(BRAM)).unwrap();
    assert!(merged.contains("mass=\"9400\"") && merged.contains("radius=\"0.64\""));
    assert_eq!(
        archives.map(|archive| fs::read(yard.join(archive)).unwrap()),
        were
    );
}

#[test]
fn what_goes_wrong_where_both_meet_is_told() {
    let yard = three_mods();
    // The author asks for a name that is another one in mine, and takes the axis that mine takes.
    edit(
        yard.join("new").join(BRAM),
        &[
            ("node=\"0/4/0\"", "node=\"mast\""),
            (
                "<switch animation=\"beacon.turn\"",
                "<lever animation=\"beacon.turn\" input=\"pointer.x\"/>\n    <switch animation=\"beacon.turn\"",
            ),
        ],
    );
    edit(
        yard.join("mine").join(BRAM),
        &[
            ("name=\"mast\"", "name=\"tower\""),
            ("target=\"mast\"", "target=\"tower\""),
            (
                "<switch animation=\"mast.raise\"",
                "<lever animation=\"mast.raise\" input=\"pointer.x\"/>\n    <switch animation=\"mast.raise\"",
            ),
        ],
    );
    let output = run(&yard, &["carry", "old", "new", "mine"]);
    let text = said(&output);
    assert_eq!(output.status.code(), Some(1), "{output:?}");
    for part in [
        "  Look at it: line 25 of the result: No alias is called `mast`.",
        "of the result: The input `pointer.x` is taken already",
        "2 things are left to you.",
    ] {
        assert!(text.contains(part), "{part}\n{text}");
    }
}

/// What I moved and the author changed is told, and nothing of the author's is taken apart.
#[test]
fn what_moved_here_and_changed_there_is_a_conflict_and_stays_whole() {
    for (from, rig, parts, change, label) in [
        (
            "ternholt",
            BRAM,
            ["leg.left", "leg.right"],
            ("to=\"1.62 0 0\"", "to=\"1.70 0 0\""),
            "Conflict: translation of `leg.left` in animation `mast.raise`",
        ),
        (
            "dialects/yard",
            "rigs/dorrik-9.rig.xml",
            ["beam left", "beam right"],
            ("-92,5;", "-93,5;"),
            "Conflict: translation of `beam left` in animation `unfold`",
        ),
    ] {
        let yard = Yard::empty();
        for side in ["old", "new", "mine"] {
            yard.copy(&corpus().join(from), side);
        }
        let [old, new, mine] = ["old", "new", "mine"].map(|side| format!("{side}/{rig}"));
        yard.ends_with(0, &["adjust", &mine, parts[0], parts[1], "--write"]);
        edit(yard.join(&new), &[change]);
        let theirs = yard.text(&new);
        let output = run(&yard, &["carry", &old, &new, &mine, "-o", "out.xml"]);
        let text = said(&output);
        assert_eq!(output.status.code(), Some(1), "{text}");
        assert_eq!(text.matches(label).count(), 1, "{text}");
        assert_eq!(text.matches("Conflict").count(), 1, "{text}");
        // All around the author's change is as it was.
        let at = theirs.find(change.1).unwrap();
        let start = theirs[..at].rfind("      <").unwrap();
        let out = yard.text("out.xml");
        assert!(out.contains(&theirs[start..at + change.1.len()]), "{out}");
        let spot = "<spot>beam left</spot>\n        <span>2000 .. 4000</span>";
        assert_eq!(out.contains(spot), theirs.contains(spot), "{out}");
    }
}

/// Archives as their author published them have no settings and no dialects in them.
#[test]
fn releases_without_a_dialect_are_read_by_that_of_my_mod() {
    let yard = Yard::empty();
    for side in ["old", "new", "mine"] {
        yard.copy(&corpus().join("dialects/yard"), side);
    }
    // The beams have other places in the author's new scene.
    let scene = yard.join("new/rigs/dorrik-9.limbs.xml");
    let more = "<skin call=\"plate\"><at>0 0 9</at></skin>\n          <skin call=\"cab\">";
    edit(scene, &[("<skin call=\"cab\">", more)]);
    edit(
        yard.join("mine/rigs/dorrik-9.rig.xml"),
        &[("<half>55</half>", "<half>56</half>")],
    );
    let carried = |yard: &Yard| said(&run(yard, &["carry", "old", "new", "mine"]));
    let with = carried(&yard);
    for side in ["old", "new"] {
        for file in ["trunnion.toml", "yard.dialect.toml"] {
            fs::remove_file(yard.join(side).join(file)).unwrap();
        }
    }
    let without = carried(&yard);
    let of_machine = |text: &str| {
        let lines = text.lines().filter(|line| line.starts_with("  "));
        lines.map(str::to_owned).collect::<Vec<_>>()
    };
    assert_eq!(of_machine(&without), of_machine(&with));
    assert!(!of_machine(&with).is_empty(), "{with}");
}

#[test]
#[cfg(target_os = "linux")]
fn what_cannot_be_looked_at_is_not_taken_for_taken_out() {
    use std::ffi::OsStr;
    use std::os::unix::ffi::OsStrExt;
    use std::os::unix::fs::symlink;

    let refused = |spoil: &dyn Fn(&Path), reason: &str| {
        let yard = three_mods();
        spoil(&yard.join("mine"));
        for command in [
            &["carry", "old", "new", "mine", "-o", "result"][..],
            &["diff", "old", "mine"],
        ] {
            let said = yard.ends_with(2, command);
            assert!(said.contains(reason), "{said}");
        }
        assert!(!yard.join("result").exists());
    };
    let linked = |mine: &Path| {
        let scene = mine.join("machines/bram-6.gltf");
        fs::rename(&scene, mine.join("../elsewhere.gltf")).unwrap();
        symlink("../../elsewhere.gltf", scene).unwrap();
    };
    refused(&linked, "mine/machines/bram-6.gltf: it is a link");
    for name in [&b"\xe4.ogg"[..], b"a.xml: as you have it\nb.ogg"] {
        let oddly_named = |mine: &Path| fs::write(mine.join(OsStr::from_bytes(name)), "").unwrap();
        refused(&oddly_named, "its name is no text");
    }
}

#[test]
fn the_result_is_on_the_disk_before_it_takes_its_place() {
    let Some(traced) = Traced::new("what carry brings to the disk") else {
        return;
    };
    let yard = three_mods();
    let mut command = traced.command(&["carry", "old", "new", "mine", "-o", "result"]);
    let done = command.current_dir(&yard).output().unwrap();
    assert_eq!(done.status.code(), Some(0), "{done:?}");
    let calls = traced.calls();
    for file in outside::files_below(&yard.join("result"), &[""]) {
        let name = file.file_name().unwrap().to_str().unwrap();
        let synced = |text: &str| text.contains(".trunnion-") && text.contains(name);
        assert!(
            calls
                .iter()
                .any(|call| call.name == "fsync" && synced(&call.text)),
            "{name}"
        );
    }
}
