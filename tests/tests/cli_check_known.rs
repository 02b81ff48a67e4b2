//! What `trunnion check` does not report: what a baseline knows, and what comments accept.

use std::fs;
use std::path::Path;
use std::process::Output;

use acceptance::desk::corpus;
use acceptance::program::{run, stderr, stdout};
use acceptance::sarif;
use acceptance::yard::Yard;
use serde_json::Value;

/// A folder of this test's own, with a scene and a sound.
fn with_a_scene() -> Yard {
    let yard = Yard::empty();
    for file in ["rig.gltf", "pump.ogg"] {
        yard.copy(&corpus().join("faults/shared").join(file), file);
    }
    yard
}

fn write(yard: &Yard, text: &str) {
    yard.write("machines/a.machine.xml", text);
}

fn check(folder: &Path, arguments: &[&str]) -> Output {
    run(folder, &[&["check"], arguments].concat())
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
    let yard = with_a_scene();
    write(&yard, OLD);
    assert_eq!(check(&yard, &["."]).status.code(), Some(1));
    let made = check(&yard, &["--write-baseline", BASELINE, "."]);
    assert_eq!(made.status.code(), Some(0), "{}", stdout(&made));
    let first = yard.text(BASELINE);
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
    write(&yard, &moved);
    let output = check(&yard, &["--baseline", BASELINE, "--format", "json", "."]);
    assert_eq!(
        (output.status.code(), codes(&output)),
        (Some(0), Vec::new())
    );
    let baseline = format!("../{BASELINE}");
    let inside = yard.join("machines");
    let output = check(&inside, &["--baseline", &baseline, "a.machine.xml"]);
    assert!(
        stdout(&output).contains("findings are known"),
        "{}",
        stdout(&output)
    );

    // A third one of two equal ones, and another code in a tag that is known, are new.
    let third = moved.replacen(
        "    </animation>",
        "      <channel target=\"winch\" property=\"rotation\" begin=\"0\" end=\"4\" from=\"0 0 0\" to=\"0 90 0\"/>\n    </animation>",
        1,
    );
    write(&yard, &third.replace("button.raise", "button.rise"));
    let output = check(&yard, &["--baseline", BASELINE, "--format", "json", "."]);
    assert_eq!(output.status.code(), Some(1));
    let mut new = codes(&output);
    new.retain(|code| code == "unknown-name" || code == "unknown-word");
    new.sort();
    assert_eq!(new, ["unknown-name", "unknown-word"]);
}

#[test]
fn a_baseline_only_shrinks_unless_it_is_told_to_grow() {
    let yard = with_a_scene();
    write(&yard, OLD);
    check(&yard, &["--write-baseline", BASELINE, "."]);
    let entries = || {
        let text = yard.read(BASELINE);
        let stored: Value = serde_json::from_slice(&text).unwrap();
        let counts = stored["findings"].as_array().unwrap().iter();
        counts
            .map(|entry| entry["count"].as_u64().unwrap())
            .sum::<u64>()
    };
    let before = entries();
    let mended = OLD.replace("<cue sound=\"squeak\"/>", "");
    write(&yard, &mended);
    let output = check(&yard, &["--baseline", BASELINE, "."]);
    let said = stdout(&output);
    assert!(
        said.contains("1 finding of the baseline is gone:"),
        "{said}"
    );
    assert_eq!(entries(), before, "it is only said");
    check(&yard, &["--write-baseline", BASELINE, "."]);
    assert_eq!(entries(), before - 1);

    // It is back, and something else is wrong: neither is taken in.
    write(&yard, &OLD.replace("path=\"0/2\"", "path=\"0/9\""));
    let output = check(
        &yard,
        &["--write-baseline", BASELINE, "--format", "json", "."],
    );
    assert_eq!(output.status.code(), Some(1));
    let new = codes(&output);
    assert!(new.contains(&"path-not-in-scene".to_owned()), "{new:?}");
    assert!(entries() < before);
    let output = check(&yard, &["--write-baseline", BASELINE, "--add-new", "."]);
    assert_eq!(output.status.code(), Some(0), "{}", stdout(&output));
    assert!(entries() > before - 1);
}

#[test]
fn where_an_error_hides_others_nothing_counts_as_gone() {
    let yard = with_a_scene();
    write(&yard, OLD);
    check(&yard, &["--write-baseline", BASELINE, "."]);
    let whole = yard.read(BASELINE);
    for broken in [
        OLD.replace("</animations>", ""),
        OLD.replace("rig.gltf", "gone.gltf"),
    ] {
        write(&yard, &broken);
        check(&yard, &["--write-baseline", BASELINE, "."]);
        assert_eq!(yard.read(BASELINE), whole);
    }
    // What could not be checked at all keeps the baseline from being written.
    write(&yard, OLD);
    yard.write("trunnion.toml", "dialects = [\"gone.toml\"]");
    let output = check(&yard, &["--write-baseline", BASELINE, "."]);
    assert_eq!(output.status.code(), Some(2));
    assert!(
        stderr(&output).contains("was not written"),
        "{}",
        stderr(&output)
    );
    assert_eq!(yard.read(BASELINE), whole);
}

#[test]
fn a_file_that_was_not_asked_for_stays_in_and_one_that_is_gone_goes() {
    let yard = with_a_scene();
    write(&yard, OLD);
    yard.write("machines/b.machine.xml", OLD);
    check(&yard, &["--write-baseline", BASELINE, "."]);
    let whole = yard.read(BASELINE);
    check(
        &yard,
        &["--write-baseline", BASELINE, "machines/a.machine.xml"],
    );
    assert_eq!(yard.read(BASELINE), whole);
    fs::remove_file(yard.join("machines/b.machine.xml")).unwrap();
    check(
        &yard,
        &["--write-baseline", BASELINE, "machines/a.machine.xml"],
    );
    let left = yard.text(BASELINE);
    assert!(
        left.contains("a.machine.xml") && !left.contains("b.machine.xml"),
        "{left}"
    );
}

#[test]
fn what_is_no_baseline_is_refused_and_stays() {
    let yard = with_a_scene();
    write(&yard, OLD);
    for wrong in [
        "",
        "[]",
        "{\"format\": 2, \"findings\": []}",
        "{\"format\": 1}",
    ] {
        yard.write(BASELINE, wrong);
        for option in ["--baseline", "--write-baseline"] {
            let output = check(&yard, &[option, BASELINE, "."]);
            assert_eq!(output.status.code(), Some(2), "{option} {wrong}");
            assert_eq!(yard.text(BASELINE), wrong);
        }
    }
    let output = check(&yard, &["--baseline", "no-such-file", "."]);
    assert_eq!(output.status.code(), Some(2));
}

/// SARIF tells all of it, in the words of the standard.
#[test]
fn sarif_has_what_is_known_what_is_gone_and_what_is_accepted() {
    let yard = with_a_scene();
    write(&yard, OLD);
    check(&yard, &["--write-baseline", BASELINE, "."]);
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
    write(&yard, &accepted);
    let output = check(&yard, &["--baseline", BASELINE, "--format", "sarif", "."]);
    let log = stdout(&output);
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
    let output = check(&yard, &["."]);
    assert!(stdout(&output).contains("1 finding is accepted in comments"));
}
