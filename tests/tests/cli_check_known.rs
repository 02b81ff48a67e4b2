//! What `trunnion check` does not report: what a baseline knows, and what comments accept.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use acceptance::{outside, program, sarif};
use serde_json::Value;

/// A folder of this test's own, with a scene and a sound.
fn folder(name: &str) -> PathBuf {
    let folder = std::env::temp_dir().join(format!(
        "trunnion-check-known-{}-{name}",
        std::process::id()
    ));
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(folder.join("machines")).unwrap();
    for file in ["rig.gltf", "pump.ogg"] {
        let from = outside::project().join("corpus/faults/shared").join(file);
        fs::copy(from, folder.join(file)).unwrap();
    }
    folder
}

fn write(folder: &Path, text: &str) {
    fs::write(folder.join("machines/a.machine.xml"), text).unwrap();
}

fn check(folder: &Path, arguments: &[&str]) -> Output {
    let mut command = Command::new(program::path());
    command.arg("check").args(arguments).current_dir(folder);
    command.output().unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

fn codes(output: &Output) -> Vec<String> {
    let found: Vec<Value> = serde_json::from_slice(&output.stdout).unwrap();
    let code = |finding: &Value| finding["code"].as_str().unwrap_or_default().to_owned();
    found.iter().map(code).collect()
}

/// Two names that nothing has, and the same channel twice.
const OLD: &str = r#"<machine xmlns="urn:trunnion:machine:1" id="rig" scene="../rig.gltf">
  <aliases><alias name="mast" path="0/2"/></aliases>
  <animations>
    <animation id="mast.raise">
      <channel target="mast" property="translation" begin="0" end="4" from="0 1 0" to="0 2 0"/>
      <channel target="winch" property="rotation" begin="0" end="4" from="0 0 0" to="0 90 0"/>
      <channel target="winch" property="rotation" begin="0" end="4" from="0 0 0" to="0 90 0"/>
    </animation>
  </animations>
  <controls>
    <switch animation="mast.raise" input="button.raise"><cue sound="squeak"/></switch>
  </controls>
</machine>
"#;

const BASELINE: &str = "known.json";

#[test]
fn an_old_mod_starts_clean_and_what_is_new_is_reported() {
    let folder = folder("start");
    write(&folder, OLD);
    assert_eq!(check(&folder, &["."]).status.code(), Some(1));
    let made = check(&folder, &["--write-baseline", BASELINE, "."]);
    assert_eq!(made.status.code(), Some(0), "{}", text(&made.stdout));
    let first = fs::read_to_string(folder.join(BASELINE)).unwrap();
    assert!(
        first.contains("\"file\":\"machines/a.machine.xml\""),
        "{first}"
    );

    // Lines move, attributes get lines of their own: it is known all the same, also from elsewhere.
    let moved = OLD
        .replace("  <aliases>", "\n\n<!-- new -->\n  <aliases>")
        .replace(
            "<channel target=\"winch\" ",
            "<channel\n        target=\"winch\"\n        ",
        );
    write(&folder, &moved);
    let output = check(&folder, &["--baseline", BASELINE, "--format", "json", "."]);
    assert_eq!(
        (output.status.code(), codes(&output)),
        (Some(0), Vec::new())
    );
    let baseline = format!("../{BASELINE}");
    let inside = folder.join("machines");
    let output = check(&inside, &["--baseline", &baseline, "a.machine.xml"]);
    assert!(
        text(&output.stdout).contains("findings are known"),
        "{}",
        text(&output.stdout)
    );

    // A third one of two equal ones, and another code in a tag that is known, are new.
    let third = moved.replacen(
        "    </animation>",
        "      <channel target=\"winch\" property=\"rotation\" begin=\"0\" end=\"4\" from=\"0 0 0\" to=\"0 90 0\"/>\n    </animation>",
        1,
    );
    write(&folder, &third.replace("button.raise", "button.rise"));
    let output = check(&folder, &["--baseline", BASELINE, "--format", "json", "."]);
    assert_eq!(output.status.code(), Some(1));
    let mut new = codes(&output);
    new.retain(|code| code == "unknown-name" || code == "unknown-word");
    new.sort();
    assert_eq!(new, ["unknown-name", "unknown-word"]);
}

#[test]
fn a_baseline_only_shrinks_unless_it_is_told_to_grow() {
    let folder = folder("shrink");
    write(&folder, OLD);
    check(&folder, &["--write-baseline", BASELINE, "."]);
    let entries = || {
        let text = fs::read(folder.join(BASELINE)).unwrap();
        let stored: Value = serde_json::from_slice(&text).unwrap();
        let counts = stored["findings"].as_array().unwrap().iter();
        counts
            .map(|entry| entry["count"].as_u64().unwrap())
            .sum::<u64>()
    };
    let before = entries();
    let mended = OLD.replace("<cue sound=\"squeak\"/>", "");
    write(&folder, &mended);
    let output = check(&folder, &["--baseline", BASELINE, "."]);
    let said = text(&output.stdout);
    assert!(
        said.contains("1 finding of the baseline is gone:"),
        "{said}"
    );
    assert_eq!(entries(), before, "it is only said");
    check(&folder, &["--write-baseline", BASELINE, "."]);
    assert_eq!(entries(), before - 1);

    // It is back, and something else is wrong: neither is taken in.
    write(&folder, &OLD.replace("path=\"0/2\"", "path=\"0/9\""));
    let output = check(
        &folder,
        &["--write-baseline", BASELINE, "--format", "json", "."],
    );
    assert_eq!(output.status.code(), Some(1));
    let new = codes(&output);
    assert!(new.contains(&"path-not-in-scene".to_owned()), "{new:?}");
    assert!(entries() < before);
    let output = check(&folder, &["--write-baseline", BASELINE, "--add-new", "."]);
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stdout));
    assert!(entries() > before - 1);
}

#[test]
fn where_an_error_hides_others_nothing_counts_as_gone() {
    let folder = folder("hidden");
    write(&folder, OLD);
    check(&folder, &["--write-baseline", BASELINE, "."]);
    let whole = fs::read(folder.join(BASELINE)).unwrap();
    for broken in [
        OLD.replace("</animations>", ""),
        OLD.replace("rig.gltf", "gone.gltf"),
    ] {
        write(&folder, &broken);
        check(&folder, &["--write-baseline", BASELINE, "."]);
        assert_eq!(
            text(&fs::read(folder.join(BASELINE)).unwrap()),
            text(&whole)
        );
    }
    // What could not be checked at all keeps the baseline from being written.
    write(&folder, OLD);
    fs::write(folder.join("trunnion.toml"), "dialects = [\"gone.toml\"]").unwrap();
    let output = check(&folder, &["--write-baseline", BASELINE, "."]);
    assert_eq!(output.status.code(), Some(2));
    assert!(
        text(&output.stderr).contains("was not written"),
        "{}",
        text(&output.stderr)
    );
    assert_eq!(fs::read(folder.join(BASELINE)).unwrap(), whole);
}

#[test]
fn a_file_that_was_not_asked_for_stays_in_and_one_that_is_gone_goes() {
    let folder = folder("others");
    write(&folder, OLD);
    fs::write(folder.join("machines/b.machine.xml"), OLD).unwrap();
    check(&folder, &["--write-baseline", BASELINE, "."]);
    let whole = fs::read(folder.join(BASELINE)).unwrap();
    check(
        &folder,
        &["--write-baseline", BASELINE, "machines/a.machine.xml"],
    );
    assert_eq!(fs::read(folder.join(BASELINE)).unwrap(), whole);
    fs::remove_file(folder.join("machines/b.machine.xml")).unwrap();
    check(
        &folder,
        &["--write-baseline", BASELINE, "machines/a.machine.xml"],
    );
    let left = fs::read_to_string(folder.join(BASELINE)).unwrap();
    assert!(
        left.contains("a.machine.xml") && !left.contains("b.machine.xml"),
        "{left}"
    );
}

#[test]
fn what_is_no_baseline_is_refused_and_stays() {
    let folder = folder("refused");
    write(&folder, OLD);
    for wrong in [
        "",
        "[]",
        "{\"format\": 2, \"findings\": []}",
        "{\"format\": 1}",
    ] {
        fs::write(folder.join(BASELINE), wrong).unwrap();
        for option in ["--baseline", "--write-baseline"] {
            let output = check(&folder, &[option, BASELINE, "."]);
            assert_eq!(output.status.code(), Some(2), "{option} {wrong}");
            assert_eq!(fs::read_to_string(folder.join(BASELINE)).unwrap(), wrong);
        }
    }
    let output = check(&folder, &["--baseline", "no-such-file", "."]);
    assert_eq!(output.status.code(), Some(2));
}

/// SARIF tells all of it, in the words of the standard.
#[test]
fn sarif_has_what_is_known_what_is_gone_and_what_is_accepted() {
    let folder = folder("sarif");
    write(&folder, OLD);
    check(&folder, &["--write-baseline", BASELINE, "."]);
    let accepted = OLD
        .replace("<cue sound=\"squeak\"/>", "")
        .replace(
            "</aliases>",
            "<alias name=\"spare\" path=\"0/1\"/></aliases>",
        )
        .replace(
            "  <controls>",
            "  <!-- trunnion: accept unknown-word because the new game has it -->\n  <controls>",
        )
        .replace("button.raise", "button.rise");
    write(&folder, &accepted);
    let output = check(&folder, &["--baseline", BASELINE, "--format", "sarif", "."]);
    let log = text(&output.stdout);
    sarif::assert_valid(&log);
    let log: Value = serde_json::from_str(&log).unwrap();
    let results = log["runs"][0]["results"].as_array().unwrap();
    let states = |code: &str| -> Vec<&str> {
        let of_code = results.iter().filter(|result| result["ruleId"] == code);
        of_code
            .filter_map(|result| result["baselineState"].as_str())
            .collect()
    };
    assert_eq!(states("unused-alias"), ["new"]);
    let mut names = states("unknown-name");
    names.sort_unstable();
    assert_eq!(names, ["absent", "unchanged", "unchanged"]);
    let word = results
        .iter()
        .find(|result| result["ruleId"] == "unknown-word")
        .unwrap();
    assert_eq!(word["suppressions"][0]["kind"], "inSource");
    assert_eq!(
        word["suppressions"][0]["justification"],
        "the new game has it"
    );
    let output = check(&folder, &["."]);
    assert!(text(&output.stdout).contains("1 finding is accepted in comments"));
}
