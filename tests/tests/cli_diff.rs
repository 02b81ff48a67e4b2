//! `trunnion diff` as a person or a script runs it.

use std::fs;

use acceptance::desk::corpus;
use acceptance::program::{run, stdout as said};
use acceptance::yard::Yard;

const BRAM: &str = "machines/bram-6.machine.xml";

/// The demo mod twice, with the legs adjustable in the second one.
fn two_mods() -> Yard {
    let yard = Yard::empty();
    for side in ["old", "new"] {
        yard.copy(&corpus().join("ternholt"), side);
    }
    let machine = format!("new/{BRAM}");
    yard.ends_with(0, &["adjust", &machine, "leg.left", "leg.right", "--write"]);
    yard
}

#[test]
fn a_change_is_told_by_its_meaning_and_travels_as_a_patch() {
    let yard = two_mods();
    let (old, new) = (format!("old/{BRAM}"), format!("new/{BRAM}"));
    let output = run(&yard, &["diff", &old, &new, "-o", "legs.xml"]);
    let text = said(&output);
    assert_eq!(output.status.code(), Some(1), "{text}");
    for line in [
        "animation `leg.spread` is new, and 2 of 2 in it came from elsewhere",
        "translation of `leg.left` moved from animation `mast.raise` to animation `leg.spread`",
        "control of `leg.spread` is new",
        "gives the new file byte for byte",
    ] {
        assert!(text.contains(line), "{line}\n{text}");
    }
    let patched = run(&yard, &["patch", &old, "legs.xml", "-o", "patched.xml"]);
    assert_eq!(patched.status.code(), Some(0), "{patched:?}");
    assert_eq!(yard.read("patched.xml"), fs::read(yard.join(&new)).unwrap());
    // What is there is not overwritten.
    assert_eq!(
        run(&yard, &["diff", &old, &new, "-o", "legs.xml"])
            .status
            .code(),
        Some(2)
    );
    assert_eq!(run(&yard, &["diff", &old, &old]).status.code(), Some(0));
}

/// The patch leads to its nodes by their names, so it fits a version that others have changed meanwhile.
#[test]
fn a_patch_survives_changes_elsewhere() {
    let yard = two_mods();
    let (old, new) = (format!("old/{BRAM}"), format!("new/{BRAM}"));
    run(&yard, &["diff", &old, &new, "-o", "legs.xml"]);
    let text = fs::read_to_string(yard.join(&old)).unwrap();
    let more = "<wheels>\n    <wheel id=\"spare\" node=\"0\" radius=\"0.4\" width=\"0.2\"/>";
    let other = text.replacen("<wheels>", more, 1).replacen(
        "<animations>",
        "<animations>\n    <animation id=\"first\" duration=\"1\"/>",
        1,
    );
    assert_ne!(other, text);
    yard.write("other.xml", other);
    let patched = run(&yard, &["patch", "other.xml", "legs.xml", "--write"]);
    assert_eq!(patched.status.code(), Some(0), "{patched:?}");
    let result = yard.text("other.xml");
    assert!(
        result.contains("\"leg.spread\"") && result.contains("\"spare\""),
        "{result}"
    );
}

#[test]
fn mods_are_compared_file_by_file() {
    let yard = two_mods();
    yard.write("new/notes.txt", "of the author");
    fs::remove_file(yard.join("new/machines/ostrel-12.machine.xml")).unwrap();
    let output = run(&yard, &["diff", "old", "new", "--json"]);
    assert_eq!(output.status.code(), Some(1), "{output:?}");
    let told: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let files = told["files"].as_array().unwrap();
    let status = |name: &str| {
        let file = files.iter().find(|file| file["file"] == name);
        file.map(|file| file["status"].clone()).unwrap_or_default()
    };
    assert_eq!(status("notes.txt"), "added");
    assert_eq!(status("machines/ostrel-12.machine.xml"), "removed");
    assert_eq!(status(BRAM), "changed");
    assert_eq!(files.len(), 3);

    let output = run(&yard, &["diff", "old", "new", "-o", "patches"]);
    assert_eq!(output.status.code(), Some(1), "{output:?}");
    let patch = yard.join(format!("patches/{BRAM}.patch.xml"));
    assert!(fs::read_to_string(patch).unwrap().contains("leg.spread"));
}

#[test]
fn what_cannot_be_compared_is_said() {
    let yard = Yard::with(&[("a.xml", "<a><b></a>"), ("b.xml", "<a/>")]);
    let output = run(&yard, &["diff", "a.xml", "b.xml"]);
    assert_eq!(output.status.code(), Some(2));
    let complaint = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(
        complaint.contains("a.xml:1:") && complaint.contains("not well-formed"),
        "{complaint}"
    );
    assert_eq!(
        run(&yard, &["diff", "a.xml", "missing.xml"]).status.code(),
        Some(2)
    );
}

#[test]
fn times_are_told_in_the_dialect_s_unit() {
    let yard = Yard::empty();
    for side in ["old", "new"] {
        yard.copy(&corpus().join("dialects/yard"), side);
    }
    let file = yard.join("new/rigs/dorrik-9.rig.xml");
    let text = fs::read_to_string(&file).unwrap();
    fs::write(&file, text.replacen("0 .. 2000", "0 .. 2500", 1)).unwrap();
    let text = said(&run(&yard, &["diff", "old", "new"]));
    let change = "its times changed: 0 to 2500 ms, was 0 to 2000 ms";
    assert!(text.contains(change), "{text}");
    // As the dialect writes numbers.
    let file = yard.join("new/rigs/dorrik-9.rig.xml");
    let text = fs::read_to_string(&file).unwrap();
    fs::write(&file, text.replacen("0 .. 2500", "0,5 .. 2000,5", 1)).unwrap();
    let text = said(&run(&yard, &["diff", "old", "new"]));
    let change = "its times are shifted by 0,5 ms: 0,5 to 2000,5 ms, was 0 to 2000 ms";
    assert!(text.contains(change), "{text}");
}

/// Values stand in elements here, which are no things of their own that could move.
#[test]
fn what_moved_is_told_where_values_stand_in_elements() {
    let yard = Yard::empty();
    for side in ["old", "new"] {
        yard.copy(&corpus().join("dialects/yard"), side);
    }
    let rig = "rigs/dorrik-9.rig.xml";
    let (old, new) = (format!("old/{rig}"), format!("new/{rig}"));
    yard.ends_with(0, &["adjust", &new, "beam left", "beam right", "--write"]);
    let compared = |yard: &Yard| said(&run(yard, &["diff", &old, &new]));
    let text = compared(&yard);
    for side in ["left", "right"] {
        let moved = format!(
            "translation of `beam {side}` moved from animation `unfold` to animation `beam spread`"
        );
        let shifted = format!(
            "translation of `beam {side}` in animation `beam spread`: its times are shifted by -2000 ms: 0 to 2000 ms, was 2000 to 4000 ms"
        );
        assert!(text.contains(&moved) && text.contains(&shifted), "{text}");
    }
    assert!(
        !text.contains("`spot`") && !text.contains("`shift`"),
        "{text}"
    );
    // The author's release brings no dialect along: that of the other version holds.
    for file in ["trunnion.toml", "yard.dialect.toml"] {
        fs::remove_file(yard.join("old").join(file)).unwrap();
    }
    assert_eq!(compared(&yard), text);
    for file in ["trunnion.toml", "yard.dialect.toml"] {
        fs::remove_file(yard.join("new").join(file)).unwrap();
    }
    assert!(!compared(&yard).contains("animation"), "none is made up");
}

/// A name that is the text of its own element tells aliases apart, wherever they lead now.
#[test]
fn what_is_named_by_its_text_keeps_its_name() {
    let yard = Yard::empty();
    let dialect = r#"
[dialect]
name = "berth"
format = 1

[[document]]
name = "berth"
root = "berth"

[element.berth]
children = ["pins?"]

[element.pins]
children = ["pin*"]

[element.pin]
text = { type = "name", of = "pin", required = true }
attributes.at = { type = "index-path", required = true }

[[role.alias]]
at = "berth/pins/pin"
name = "text()"
path = "@at"
"#;
    yard.write("berth.dialect.toml", dialect);
    yard.write("trunnion.toml", "dialects = [\"berth.dialect.toml\"]");
    let pins = |pins: [&str; 3]| {
        let pins = pins
            .map(|pin| format!("    <pin at=\"{pin}</pin>\n"))
            .concat();
        format!("<berth>\n  <pins>\n{pins}  </pins>\n</berth>\n")
    };
    yard.write("old.xml", pins(["0/0\">left", "0/1\">right", "0/2\">mast"]));
    yard.write("new.xml", pins(["0/1\">left", "0/2\">right", "0/3\">pole"]));
    let output = run(&yard, &["diff", "old.xml", "new.xml"]);
    let text = said(&output);
    for line in [
        "line 3: alias `left`: `at` is `0/1`, was `0/0`",
        "line 4: alias `right`: `at` is `0/2`, was `0/1`",
        "alias `pole`",
    ] {
        assert!(text.contains(line), "{line}\n{text}");
    }
    assert!(!text.contains("in `pins`"), "{text}");
}

#[test]
fn what_is_not_there_is_said_to_be_that() {
    let yard = two_mods();
    let output = run(&yard, &["diff", &format!("old/{BRAM}"), "nowhere.xml"]);
    assert_eq!(output.status.code(), Some(2));
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(
        said.contains("nowhere.xml: there is no such file"),
        "{said}"
    );
}

#[test]
fn what_tells_trunnion_of_a_mod_is_no_change_of_it() {
    let yard = two_mods();
    yard.archive_of(&yard.join("old"), "old.zip");
    let own = [
        ("trunnion.toml", "dialects = [\"rope.dialect.toml\"]\n"),
        (
            "rope.dialect.toml",
            "[dialect]\nname = \"rope\"\nformat = 1\n[[document]]\nname = \"rope\"\nroot = \"rope\"\n[element.rope]\n",
        ),
        ("known.json", "{\n  \"format\": 1,\n  \"findings\": []\n}\n"),
    ];
    for (name, text) in own {
        yard.write(&format!("new/{name}"), text);
    }
    yard.write("new/other.toml", "");
    let text = said(&run(&yard, &["diff", "old.zip", "new"]));
    assert!(text.contains("other.toml: a new file"), "{text}");
    assert!(text.contains("2 files differ"), "{text}");
    let back = said(&run(&yard, &["diff", "new", "old.zip"]));
    assert!(back.contains("2 files differ"), "{back}");
    // Where both have them, they are files like others.
    yard.write("old/trunnion.toml", "");
    let both = said(&run(&yard, &["diff", "old", "new"]));
    assert!(both.contains("trunnion.toml: other content"), "{both}");
}
