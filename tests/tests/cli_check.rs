//! `trunnion check` as a person or a script runs it.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io::Read as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use acceptance::program::{stderr, stdout};
use acceptance::yard::{Yard, said};
use acceptance::{outside, program};
use serde_json::{Value, json};

const FORMATS: [&str; 3] = ["human", "json", "sarif"];

fn trunnion(arguments: &[&str]) -> Output {
    let mut command = Command::new(program::path());
    command
        .args(arguments)
        .current_dir(outside::project())
        .env_remove("NO_COLOR")
        .output()
        .unwrap()
}

fn found(arguments: &[&str]) -> Vec<Value> {
    let output = trunnion(&[&["check", "--format", "json"], arguments].concat());
    serde_json::from_str(&stdout(&output))
        .unwrap_or_else(|error| panic!("{error}: {}", stderr(&output)))
}

#[test]
fn the_mods_in_other_dialects_are_without_fault() {
    let output = trunnion(&["check", "corpus/dialects"]);
    assert_eq!(
        stdout(&output),
        "6 files checked: nothing to complain about\n"
    );
    assert_eq!(output.status.code(), Some(0));
}

#[test]
fn what_cannot_be_read_of_a_scene_is_told_where_the_scene_is_named() {
    let yard = Yard::empty();
    yard.copy(&outside::project().join("corpus/dialects/yard"), "");
    let scene = "rigs/dorrik-9.limbs.xml";
    let text = fs::read_to_string(yard.join(scene)).unwrap();
    let at = text.find("<at>").expect("a place of a limb");
    let line = text[..at].lines().count();
    let told = |text: String| {
        yard.write(scene, text);
        let found = found(&[yard.to_str().unwrap()]);
        let told = found
            .iter()
            .filter(|finding| finding["code"] == "scene-incomplete");
        let messages = told.filter_map(|finding| finding["message"].as_str().map(str::to_owned));
        messages.collect::<Vec<_>>()
    };
    let once = told(text.replacen("<at>", "<at>500 abc ", 1));
    let [message] = &once[..] else {
        panic!("{once:?}");
    };
    assert!(message.contains("500 abc"), "{message}");
    assert!(
        message.ends_with(&format!("(Line {line}, column 13.)")),
        "{message}"
    );
    let often = told(text.replace("<at>", "<at>500 abc "));
    let [message] = &often[..] else {
        panic!("{often:?}");
    };
    assert!(
        message.ends_with(" There is more of the kind."),
        "{message}"
    );
}

#[test]
fn mistakes_of_a_dialect_are_reported_even_if_no_file_is_known_by_it() {
    let yard = Yard::with(&[
        ("trunnion.toml", "dialects = [\"quay.toml\"]\ngame = 1\n"),
        ("quay.toml", "[dialect]\nname = \"quay\"\nformat = 2\n"),
        ("bram.card", "<card/>"),
    ]);
    let output = trunnion(&["check", "--format", "json", yard.to_str().unwrap()]);
    let codes: Vec<String> = serde_json::from_str::<Vec<Value>>(&stdout(&output))
        .unwrap()
        .iter()
        .map(|finding| finding["code"].as_str().unwrap_or_default().to_owned())
        .collect();
    assert!(codes.contains(&"config-problem".to_owned()), "{codes:?}");
    assert!(codes.contains(&"dialect-problem".to_owned()), "{codes:?}");
    assert_eq!(stderr(&output), "");
    assert_eq!(output.status.code(), Some(2));
}

const CLEAN: &str = "corpus/faults/shared/without-fault.machine.xml";
const ERROR: &str = "corpus/faults/names/unknown-name.machine.xml";
const WARNING: &str = "corpus/faults/controls/input-clash.machine.xml";

#[test]
fn each_fault_of_the_corpus_yields_what_is_written_beside_it_and_nothing_else() {
    let mut by_file: BTreeMap<String, Vec<Value>> = BTreeMap::new();
    // What is to be found is written down in files that no mod names.
    let is_about_expectations = |finding: &Value| {
        let file = finding["related"][0]["file"].as_str();
        finding["code"] == "unused-file"
            && file.is_some_and(|file| file.ends_with(".expected.json"))
    };
    let found = found(&["corpus/faults"]).into_iter();
    for finding in found.filter(|finding| !is_about_expectations(finding)) {
        let brief = json!({
            "code": finding["code"],
            "severity": finding["severity"],
            "line": finding["range"]["start"]["line"],
            "character": finding["range"]["start"]["character"],
        });
        by_file
            .entry(finding["file"].as_str().unwrap().to_owned())
            .or_default()
            .push(brief);
    }
    let faults = outside::project().join("corpus/faults");
    let (mut wrong, mut compared) = (Vec::new(), 0);
    for expected_file in outside::files_below(&faults, &[".expected.json"]) {
        let expected: Vec<Value> =
            serde_json::from_str(&fs::read_to_string(&expected_file).unwrap()).unwrap();
        let document = document_of(&expected_file);
        let shown = format!(
            "corpus/faults/{}",
            document.strip_prefix(&faults).unwrap().display()
        );
        let found = by_file.remove(&shown).unwrap_or_default();
        if found != expected {
            let lines = |findings: &[Value]| {
                findings
                    .iter()
                    .map(|one| format!("    {one}\n"))
                    .collect::<String>()
            };
            wrong.push(format!(
                "{shown}\n  expected\n{}  found\n{}",
                lines(&expected),
                lines(&found)
            ));
        }
        compared += 1;
    }
    assert!(compared > 50, "only {compared} faults were found");
    assert!(
        wrong.is_empty(),
        "{} of {compared} differ:\n{}",
        wrong.len(),
        wrong.join("\n")
    );
    assert!(
        by_file.is_empty(),
        "findings in files without a word on what to expect: {by_file:#?}"
    );
}

fn document_of(expected: &Path) -> PathBuf {
    let name = expected.file_name().unwrap().to_str().unwrap();
    let stem = name.strip_suffix(".expected.json").unwrap();
    let endings = [".machine.xml", ".xml", ".toml", ".dialect.toml", ""];
    let candidates = endings
        .map(|ending| format!("{stem}{ending}"))
        .map(|name| expected.with_file_name(name));
    candidates
        .into_iter()
        .find(|path| path.is_file())
        .unwrap_or_else(|| panic!("nothing beside {}", expected.display()))
}

#[test]
fn exit_codes_are_the_same_in_every_format() {
    let settings = Yard::with(&[("trunnion.toml", "dialect = 1"), ("a.machine.xml", "<a/>")]);
    let dialect = Yard::with(&[
        ("trunnion.toml", "dialects = [\"x.toml\"]"),
        ("x.toml", "[dialect]\nnam = 1"),
        ("a.xml", "<a/>"),
    ]);
    let nothing = Yard::with(&[("notes.txt", "")]);
    let cases: [(&str, i32); 8] = [
        (CLEAN, 0),
        (WARNING, 0),
        (ERROR, 1),
        ("corpus/faults/names", 1),
        ("corpus/no-such-file.xml", 2),
        (nothing.to_str().unwrap(), 2),
        (settings.to_str().unwrap(), 2),
        (dialect.to_str().unwrap(), 2),
    ];
    for (path, expected) in cases {
        for format in FORMATS {
            let output = trunnion(&["check", "--format", format, path]);
            assert_eq!(
                output.status.code(),
                Some(expected),
                "{path} as {format}: {}",
                stderr(&output)
            );
        }
    }
}

#[test]
fn one_bad_path_does_not_keep_the_others_from_being_checked() {
    let output = trunnion(&["check", "--format", "json", "no-such-folder", ERROR]);
    assert_eq!(output.status.code(), Some(2));
    assert!(
        stderr(&output).contains("no-such-folder"),
        "{}",
        stderr(&output)
    );
    assert!(stdout(&output).contains("unknown-name"));
}

#[test]
fn mistakes_in_the_settings_are_findings_in_their_own_files() {
    let yard = Yard::with(&[
        ("trunnion.toml", "dialects = [\"x.toml\"]"),
        ("x.toml", "[dialect]\nnam = 1"),
        ("a.xml", "<a/>"),
        ("b.xml", "<a/>"),
    ]);
    let found = found(&[yard.to_str().unwrap()]);
    let in_dialect: Vec<&Value> = found
        .iter()
        .filter(|one| one["code"] == "dialect-problem")
        .collect();
    assert!(
        in_dialect
            .iter()
            .all(|one| one["file"].as_str().unwrap().ends_with("x.toml"))
    );
    // Both files see the same mistake; it is told once.
    let unknown_keys = in_dialect
        .iter()
        .filter(|one| one["message"].as_str().unwrap().contains("`nam`"));
    let lines: Vec<&Value> = unknown_keys
        .map(|one| &one["range"]["start"]["line"])
        .collect();
    assert_eq!(lines, [&json!(1)], "{in_dialect:#?}");
}

#[test]
fn a_finding_says_where_what_and_what_belongs_to_it() {
    let found = found(&["corpus/faults/names/duplicate-name.machine.xml"]);
    let [finding] = found.as_slice() else {
        panic!("{found:?}")
    };
    assert_eq!(
        finding["file"],
        "corpus/faults/names/duplicate-name.machine.xml"
    );
    assert_eq!(finding["help"], "trunnion explain duplicate-name");
    let range = &finding["range"];
    assert!(range["end"]["character"].as_u64() > range["start"]["character"].as_u64());
    let related = &finding["related"][0];
    assert_eq!(related["file"], finding["file"]);
    assert!(related["range"]["start"]["line"].as_u64() < range["start"]["line"].as_u64());
}

#[test]
fn columns_count_utf_16_units() {
    let yard = Yard::with(&[("x.xml", "<a b=\"🌲ö\" b=\"\"/>")]);
    let path = yard.join("x.xml");
    let found = found(&[path.to_str().unwrap()]);
    assert_eq!(
        found[0]["range"]["start"],
        json!({ "line": 0, "character": 11 })
    );
    let sarif = sarif(&[path.to_str().unwrap()]);
    assert_eq!(sarif["runs"][0]["columnKind"], "utf16CodeUnits");
    let region = &sarif["runs"][0]["results"][0]["locations"][0]["physicalLocation"]["region"];
    assert_eq!(
        (&region["startLine"], &region["startColumn"]),
        (&json!(1), &json!(12))
    );
}

#[test]
fn a_byte_order_mark_is_no_column() {
    let yard = Yard::with(&[("x.xml", "\u{feff}<a b=\"\" b=\"\"/>")]);
    let path = yard.join("x.xml");
    let found = found(&[path.to_str().unwrap()]);
    assert_eq!(
        found[0]["range"]["start"],
        json!({ "line": 0, "character": 8 })
    );
    let text = stdout(&trunnion(&["check", path.to_str().unwrap()]));
    assert!(text.contains("x.xml:1:9"), "{text}");
}

#[test]
fn a_file_that_is_no_text_is_an_error_with_a_place() {
    let text = b"<?xml version=\"1.0\" encoding=\"windows-1252\"?>\n<a b=\"\xE4\"/>";
    let yard = Yard::with(&[("x.xml", text)]);
    let found = found(&[yard.to_str().unwrap()]);
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0]["code"], "encoding");
    assert_eq!(
        found[0]["range"]["start"],
        json!({ "line": 1, "character": 6 })
    );
}

#[test]
fn a_file_that_is_no_xml_is_told_apart_from_a_broken_one() {
    let yard = Yard::with::<&[u8]>(&[
        ("notes.txt", b"bring the spare mast"),
        ("mast.ogg", b"OggS\0\x02\xDF"),
        ("empty.xml", b""),
        ("list", b"<list>"),
    ]);
    let code = |name: &str| {
        trunnion(&["check", yard.join(name).to_str().unwrap()])
            .status
            .code()
    };
    let codes = ["notes.txt", "mast.ogg", "empty.xml", "list"].map(code);
    assert_eq!(codes, [Some(2), Some(2), Some(1), Some(1)]);
}

#[test]
fn a_dialect_file_can_be_checked_by_itself() {
    let sound = "corpus/dialects/yard/yard.dialect.toml";
    assert_eq!(trunnion(&["check", sound]).status.code(), Some(0));
    let broken = "corpus/faults/setup/dialect-problem/quay.dialect.toml";
    let found = found(&[broken]);
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(
        (&found[0]["code"], &found[0]["file"]),
        (&json!("dialect-problem"), &json!(broken))
    );
    assert_eq!(trunnion(&["check", broken]).status.code(), Some(2));
}

#[test]
fn the_order_is_the_same_whatever_the_order_of_the_paths() {
    let paths = [
        "corpus/faults/names",
        "corpus/faults/grammar",
        "corpus/faults/names/unknown-name.machine.xml",
    ];
    let one = found(&paths);
    let other = found(&[paths[2], paths[1], paths[0]]);
    assert_eq!(one, other);
    let places: Vec<(String, u64)> = one
        .iter()
        .map(|one| {
            (
                one["file"].as_str().unwrap().to_owned(),
                one["range"]["start"]["line"].as_u64().unwrap(),
            )
        })
        .collect();
    assert!(places.is_sorted());
}

#[test]
fn a_folder_of_many_mods_is_checked_like_each_of_them() {
    let names: Vec<String> = (0..60).map(|number| format!("mod-{number:02}")).collect();
    let mods = Yard::empty();
    for (number, name) in names.iter().enumerate() {
        mods.write(&format!("{name}/deep/a.machine.xml"), "<machine/>");
        match number % 4 {
            0 => mods.write(&format!("{name}/trunnion.toml"), "wrong = 1"),
            1 => mods.write(&format!("{name}/.hidden/b.xml"), "<a>"),
            2 => mods.write(&format!("{name}/c.xml"), "<a>"),
            _ => mods.write(&format!("{name}/pump.ogg"), "OggS"),
        }
    }
    mods.write("between.xml", "<a>");
    let paths: Vec<PathBuf> = names.iter().map(|name| mods.join(name)).collect();
    let mut each: Vec<&str> = paths.iter().map(|path| path.to_str().unwrap()).collect();
    let beside = mods.join("between.xml");
    each.push(beside.to_str().unwrap());
    let all = found(&[mods.to_str().unwrap()]);
    assert_eq!(all, found(&each));
    let of_files = |ending: &str| {
        let files = all.iter().filter_map(|finding| finding["file"].as_str());
        files
            .filter(|file| file.ends_with(ending))
            .collect::<BTreeSet<_>>()
            .len()
    };
    let ends = [
        "a.machine.xml",
        "trunnion.toml",
        "b.xml",
        "c.xml",
        "between.xml",
    ];
    assert_eq!(ends.map(of_files), [60, 15, 0, 15, 1], "{:?}", all.first());
}

fn sarif(arguments: &[&str]) -> Value {
    let output = trunnion(&[&["check", "--format", "sarif"], arguments].concat());
    serde_json::from_str(&stdout(&output)).unwrap()
}

#[test]
fn sarif_points_at_its_rules_and_repeats_what_json_says() {
    let log = sarif(&["corpus/faults"]);
    let run = &log["runs"][0];
    let rules = run["tool"]["driver"]["rules"].as_array().unwrap();
    let results = run["results"].as_array().unwrap();
    for result in results {
        let rule = &rules[usize::try_from(result["ruleIndex"].as_u64().unwrap()).unwrap()];
        assert_eq!(rule["id"], result["ruleId"]);
    }
    let found = found(&["corpus/faults"]);
    // What comments accept is told to other tools only.
    let reported: Vec<&Value> = results
        .iter()
        .filter(|result| result.get("suppressions").is_none())
        .collect();
    assert!(reported.len() < results.len());
    assert_eq!(reported.len(), found.len());
    for (result, finding) in reported.iter().zip(&found) {
        let region = &result["locations"][0]["physicalLocation"]["region"];
        assert_eq!(
            region["startLine"].as_u64(),
            finding["range"]["start"]["line"]
                .as_u64()
                .map(|line| line + 1)
        );
        assert_eq!(
            region["endColumn"].as_u64(),
            finding["range"]["end"]["character"]
                .as_u64()
                .map(|column| column + 1)
        );
    }
}

#[test]
fn sarif_is_valid_by_the_schema_of_oasis() {
    for paths in [
        ["corpus/faults", "corpus/ternholt"],
        [CLEAN, "no-such-file"],
    ] {
        let log = trunnion(&["check", "--format", "sarif", paths[0], paths[1]]);
        acceptance::sarif::assert_valid(&stdout(&log));
    }
}

#[test]
fn people_see_the_line_and_no_colour_codes_in_a_pipe() {
    let output = trunnion(&["check", ERROR]);
    let text = stdout(&output);
    assert!(text.contains("error[unknown-name]"), "{text}");
    assert!(text.contains(&format!("{ERROR}:11:24")), "{text}");
    assert!(text.contains("<channel target=\"mats\""), "{text}");
    assert!(text.contains("1 file checked: 1 error"), "{text}");
    assert!(!text.contains('\u{1b}'));
}

#[test]
#[cfg(unix)]
fn names_and_what_stands_in_files_do_not_command_the_terminal() {
    let yard = Yard::with_demo();
    let mast = "target=\"mast\" ";
    let bram = yard.text("quay/machines/bram-6.machine.xml");
    assert!(bram.contains(mast));
    let mistaken = bram.replacen(mast, "target=\"masst\" ", 1);
    let odd = bram.replace("mast.raise", "mast\u{9b}31m\u{202e}&#10;&#13;raise");
    yard.write(
        "quay/machines/a\u{1b}[31m\u{7}\n::error::\r\u{9b}\u{202e}.machine.xml",
        mistaken,
    );
    yard.write("quay/machines/\u{1b}[2J.machine.xml", odd);
    yard.write("quay/b\n::error::.machine.xml", "<machine");
    for command in [
        &["check", "quay"][..],
        &["check", "--diff", "quay"],
        &["check", "--fix", "quay"],
        &["check", "nothing\u{1b}[31m"],
        &["pack", "quay", "-o", "x.zip"],
        &["diff", "quay/machines", "quay"],
        &["learn", "quay", "-o", "learnt\u{1b}[31m.toml"],
        &["adjust", "quay/b\n::error::.machine.xml", "mast"],
        &["motion", "no\n::error::"],
        &["dialect", "import", "no\n::error::"],
        &["pack", "quay", "-o", "no\n::error::/x.zip"],
    ] {
        let said = said(&yard.run(command));
        assert!(said.contains('\u{fffd}'), "{said}");
        let odd = |c: char| (c.is_control() && c != '\n') || c == '\u{202e}';
        assert!(!said.contains(odd), "{said:?}");
        // What is in files is not taken for a line of the program's own.
        assert!(!said.contains("\n::error"), "{said:?}");
    }
}

#[test]
fn files_that_no_dialect_fits_get_form_checks_and_are_counted() {
    let yard = Yard::with(&[
        ("a.xml", "<list><item/></list>"),
        ("b.xml", "<list><item></list>"),
    ]);
    let output = trunnion(&["check", yard.to_str().unwrap()]);
    let text = stdout(&output);
    assert_eq!(output.status.code(), Some(1));
    assert!(text.contains("2 files checked: 1 error"), "{text}");
    assert!(text.contains("2 files fit no dialect"), "{text}");
}

#[test]
fn long_lines_are_shown_in_part() {
    let line = format!(
        "<a><!--{}--><b c=\"&\"/><!--{}--></a>",
        "x".repeat(100_000),
        "y".repeat(100_000)
    );
    let yard = Yard::with(&[("x.xml", line)]);
    let text = stdout(&trunnion(&["check", yard.join("x.xml").to_str().unwrap()]));
    assert!(text.contains(":1:100017"), "{text}");
    assert!(text.len() < 2_000, "{} bytes", text.len());
}

#[test]
fn a_reader_that_goes_away_is_no_trouble() {
    for format in FORMATS {
        let mut child = Command::new(program::path())
            .args(["check", "--format", format, "corpus/faults/practice"])
            .current_dir(outside::project())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let mut first = [0; 16];
        child.stdout.take().unwrap().read_exact(&mut first).unwrap();
        let output = child.wait_with_output().unwrap();
        assert_eq!(
            output.status.code(),
            Some(1),
            "{format}: {}",
            stderr(&output)
        );
        assert_eq!(stderr(&output), "");
    }
}

#[test]
fn two_dialects_that_fit_alike_are_told() {
    let dialect = |name: &str| {
        format!(
            "[dialect]\nname = \"{name}\"\nformat = 1\n[[document]]\nname = \"rig\"\nroot = \"rig\"\n[element.rig]\nopen = true\n"
        )
    };
    let (quay, yard) = (dialect("quay"), dialect("yard"));
    let told = |settings: &str| {
        let yard = Yard::with(&[
            ("trunnion.toml", settings),
            ("quay.toml", &quay),
            ("yard.toml", &yard),
            ("a.xml", "<rig/>"),
        ]);
        let findings = found(&[yard.join("a.xml").to_str().unwrap()]);
        findings
            .iter()
            .filter(|finding| finding["code"] == "two-dialects")
            .count()
    };
    let both = "dialects = [\"quay.toml\", \"yard.toml\"]\n";
    assert_eq!(told(both), 1);
    assert_eq!(told("dialects = [\"yard.toml\"]\n"), 0);
}
