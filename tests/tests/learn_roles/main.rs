//! Dialects that nobody wrote down: learnt from a library, tried on a machine that the library does not have.
//!
//! The library of the tide workers is used as it is, and put into other styles of writing, in nonsense words, with
//! values, units and structure of their own.

mod haulers;
mod scenes;
mod styles;
mod tideworkers;

use acceptance::client::all_capabilities;
use acceptance::desk::{Desk, corpus, list};
use acceptance::outside::say;
use acceptance::yard::{Yard, said};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::io::Write as _;
use std::process::Stdio;
use styles::Style;

/// Runs the program: its exit code, and all that it said.
fn run(quay: &Yard, arguments: &[&str]) -> (Option<i32>, String) {
    let output = quay.run(arguments);
    (output.status.code(), said(&output))
}

/// Learns the folder `library`, for the machine in `unseen`. The report.
fn learn(quay: &Yard) -> Value {
    let dialect = "unseen/t.dialect.toml";
    quay.ends_with(
        0,
        &["learn", "library", "-o", dialect, "--report", "report.json"],
    );
    quay.write("unseen/trunnion.toml", "dialects = [\"t.dialect.toml\"]\n");
    serde_json::from_slice(&quay.read("report.json")).unwrap()
}

/// Roles with their paths and parts: `control rig/hands/hand input`.
fn parts(report: &Value) -> BTreeMap<String, String> {
    let mut parts = BTreeMap::new();
    for role in list(&report["roles"]) {
        let name = format!(
            "{} {}",
            role["role"].as_str().unwrap(),
            role["path"].as_str().unwrap()
        );
        for (part, value) in role["parts"].as_object().unwrap() {
            parts.insert(format!("{name} {part}"), value.as_str().unwrap().to_owned());
        }
    }
    parts
}

/// How many parts are as they should be; says which are not.
fn compare(name: &str, report: &Value, expected: &[(&str, &str)]) {
    names_are_told_where_they_are_given(name, report);
    let found = parts(report);
    let right = expected
        .iter()
        .filter(|(part, value)| found.get(*part).is_some_and(|found| found == value));
    let right = right.count();
    say(&format!(
        "{name}: {right} of {} parts of roles found, {} proposed",
        expected.len(),
        found.len()
    ));
    for (part, value) in expected {
        assert_eq!(
            found.get(*part).map(String::as_str),
            Some(*value),
            "{name}: {part}\n{found:#?}"
        );
    }
    for part in found.keys() {
        assert!(
            expected.iter().any(|(known, _)| known == part),
            "{name}: {part} is too much\n{found:#?}"
        );
    }
}

/// What is told to be a name is among the places of its kind, however it was found out, and every kind that is referred to
/// is there.
fn names_are_told_where_they_are_given(name: &str, report: &Value) {
    let kinds = list(&report["kinds"]);
    let kind = |word: &Value| kinds.iter().find(|kind| kind["kind"] == *word);
    let mut given = 0;
    for one in list(&report["attributes"]) {
        for word in list(&one["refers"]) {
            assert!(kind(word).is_some(), "{name}: no kind {word}: {one}");
        }
        if one["type"] != "name" {
            continue;
        }
        given += 1;
        let kind = kind(&one["defines"]).unwrap_or_else(|| panic!("{name}: {one}"));
        let mut places = list(&kind["defined_by"]).iter();
        assert!(
            places.any(|place| place["path"] == one["path"]
                && place["attribute"] == one["attribute"]),
            "{name}: {one} is missing in {kind}"
        );
    }
    assert!(
        given > 0 && kinds.len() > 1,
        "{name}: {given} names of {} kinds",
        kinds.len()
    );
}

/// Nothing above a hint is found in the machine.
fn is_calm(quay: &Yard) {
    let (code, said) = run(quay, &["check", "--format", "json", "unseen"]);
    assert_eq!(code, Some(0), "{said}");
    assert!(
        !said.contains("\"error\"") && !said.contains("\"warning\""),
        "{said}"
    );
}

/// The machine's side parts become adjustable, with proof; and the machine is still sound afterwards.
fn adjusts(quay: &Yard, machine: &str, parts: &[&str]) -> String {
    let mut arguments = vec!["adjust", machine];
    arguments.extend(parts);
    arguments.push("--write");
    let (code, said) = run(quay, &arguments);
    assert_eq!(code, Some(0), "{said}");
    assert!(said.contains("Worst difference: 0 m, 0 degrees."), "{said}");
    is_calm(quay);
    said
}

#[test]
fn the_tide_workers_dialect_is_learnt_and_used() {
    let quay = Yard::empty();
    quay.copy(&corpus().join("tidework/library"), "library");
    quay.copy(&corpus().join("tidework/unseen"), "unseen");
    let report = learn(&quay);
    compare("tide workers", &report, tideworkers::PARTS);
    let dialect = quay.text("unseen/t.dialect.toml");
    for line in [
        "length = \"mm\"",
        "angle = \"turn\"",
        "time = \"min\"",
        "decimal-mark = \",\"",
        "root-mark = \"^\"",
        "yes = \"abroad\"",
        "no = \"stowed\"",
    ] {
        assert!(
            dialect.lines().any(|said| said == line),
            "{line}\n{dialect}"
        );
    }
    is_calm(&quay);
    in_the_editor(&quay);
    a_promoted_declaration_finds_mistakes(&quay);
    let said = adjusts(
        &quay,
        "unseen/grebe-7.contrivance.xml",
        &["port arm", "^1|2"],
    );
    assert!(
        said.contains("Track width of bow.port and bow.starboard"),
        "{said}"
    );
    let text = quay.text("unseen/grebe-7.contrivance.xml");
    let helm = text.lines().rfind(|line| line.contains("<helm ")).unwrap();
    assert!(
        helm.contains("drags=\"bow.port,stern.port,bow.starboard,stern.starboard\""),
        "{text}"
    );
}

/// Definition, completion and rename, over the wire.
fn in_the_editor(quay: &Yard) {
    let file = quay.join("unseen/grebe-7.contrivance.xml");
    let mut desk = Desk::with(file.to_str().unwrap(), &all_capabilities());
    let place = desk.at("whom=\"mast\"", 7);
    let links = desk.ask("textDocument/definition", &place, json!({}));
    assert_eq!(
        desk.slice(&links[0]["targetRange"]),
        "<byname says=\"mast\" lies=\"^1|3\"/>"
    );
    let path = desk.at("lies=\"^1|3\"", 7);
    let node = desk.ask("textDocument/definition", &path, json!({}));
    assert!(
        node[0]["targetUri"]
            .as_str()
            .unwrap()
            .ends_with("grebe-7.gltf"),
        "{node}"
    );
    let empty = desk.at("whom=\"mast\"", 6);
    let completion = desk.ask("textDocument/completion", &empty, json!({}));
    let all = completion["items"]
        .as_array()
        .or(completion.as_array())
        .unwrap();
    let labels: Vec<&str> = all
        .iter()
        .filter_map(|item| item["label"].as_str())
        .collect();
    for name in ["mast", "jib", "hook", "port arm"] {
        assert!(labels.contains(&name), "{name}: {labels:?}");
    }
    let renamed = desk.ask("textDocument/rename", &place, json!({ "newName": "pole" }));
    let edits = renamed.to_string().matches("\"pole\"").count();
    let uses = desk.text.matches("\"mast\"").count();
    assert_eq!(edits, uses, "{renamed}");
    desk.finish();
}

/// A mistake is a hint as long as the declaration is only learnt, and a fault once it is trusted.
fn a_promoted_declaration_finds_mistakes(quay: &Yard) {
    let machine = "unseen/grebe-7.contrivance.xml";
    let (text, learnt) = (quay.text(machine), quay.text("unseen/t.dialect.toml"));
    quay.write(machine, text.replacen("whom=\"mast\"", "whom=\"masst\"", 1));
    is_calm(quay);
    let (_, said) = run(quay, &["check", "--format", "json", "unseen"]);
    assert!(said.contains("unknown-name"), "{said}");
    quay.write(
        "unseen/t.dialect.toml",
        learnt.replace("strict = false", "strict = true"),
    );
    let (code, said) = run(quay, &["check", "unseen"]);
    assert_eq!(code, Some(1), "{said}");
    assert!(said.contains("masst"), "{said}");
    quay.write(machine, text);
    quay.write("unseen/t.dialect.toml", learnt);
}

/// The same machines as somebody else would have written them down.
fn in_style(style: &Style) {
    let quay = Yard::empty();
    let machines = styles::machines(&corpus().join("tidework"));
    assert!(machines.len() > 12);
    for machine in &machines {
        let folder = if machine.is_unseen {
            "unseen"
        } else {
            "library/all"
        };
        quay.write(&format!("{folder}/{}.gltf", machine.name), &machine.scene);
        for sound in machine.sounds.values() {
            quay.write(&format!("{folder}/{sound}"), b"OggS");
        }
        quay.write(
            &format!("{folder}/{}.xml", machine.name),
            (style.write)(machine),
        );
    }
    let report = learn(&quay);
    compare(style.name, &report, style.parts);
    let dialect = quay.text("unseen/t.dialect.toml");
    for line in style.notation {
        assert!(
            dialect.lines().any(|said| said == *line),
            "{line}\n{dialect}"
        );
    }
    is_calm(&quay);
    let unseen = machines.iter().find(|machine| machine.is_unseen).unwrap();
    let file = format!("unseen/{}.xml", unseen.name);
    adjusts(&quay, &file, &style.sides);
}

#[test]
fn values_as_texts_and_wheels_by_number() {
    in_style(&styles::TEXTS);
}

#[test]
fn controls_in_animations_and_several_motions_in_one_channel() {
    in_style(&styles::NESTED);
}

#[test]
fn elements_that_an_attribute_tells_apart() {
    in_style(&styles::VAGUE);
}

#[test]
fn keyframes_with_texts() {
    in_style(&styles::KEYED);
}

#[test]
fn keyframes_with_a_number_for_each_axis_below_the_element_with_the_node() {
    in_style(&styles::LAYERED);
}

#[test]
fn values_with_an_element_for_each_axis() {
    in_style(&styles::SPLIT);
}

#[test]
fn changes_from_where_nodes_rest() {
    in_style(&styles::CHANGES);
}

#[test]
fn changes_in_elements_that_are_called_after_what_they_move() {
    in_style(&styles::SORTED);
}

#[test]
fn nodes_by_their_names_in_the_scene() {
    in_style(&styles::NAMED);
}

#[test]
fn nodes_by_their_names_from_the_root_down() {
    in_style(&styles::TRAILED);
}

#[test]
fn numbers_along_axes_that_words_say() {
    in_style(&styles::WORDED);
}

#[test]
fn numbers_along_axes_that_vectors_say() {
    in_style(&styles::VECTORED);
}

#[test]
fn lists_of_two_numbers_along_axes() {
    in_style(&styles::PAIRED);
}

#[test]
fn numbers_along_axes_in_attributes_and_texts() {
    in_style(&styles::MIXED);
}

#[test]
fn keyframes_with_numbers_along_axes() {
    in_style(&styles::LETTERED);
}

#[test]
fn values_added_to_where_nodes_rest() {
    in_style(&styles::RESTED);
}

#[test]
fn channels_beside_their_animations() {
    in_style(&styles::BESIDE);
}

/// What the program asks while it learns the folder `library`.
fn ask(quay: &Yard, answers: &str) -> String {
    let mut child = quay
        .command(&["learn", "library", "-o", "t.dialect.toml", "--ask"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // A program that asks nothing may be gone by then.
    let _ = child.stdin.take().unwrap().write_all(answers.as_bytes());
    let output = child.wait_with_output().unwrap();
    assert_eq!(output.status.code(), Some(0));
    String::from_utf8(output.stderr).unwrap()
}

/// What a person said stays said, and what a person changed stays changed, when the library is learnt again.
#[test]
fn a_person_is_asked_and_heeded() {
    let quay = Yard::empty();
    quay.copy(&corpus().join("tidework/library"), "library");
    let ask = |answers: &str| ask(&quay, answers);
    // Scene and alias are right, wheels are not; the rest is left open.
    let asked = ask("y\n\nn\n");
    assert!(
        asked.contains("Is `contrivance/trundles/trundle` what dialects call `wheel`?"),
        "{asked}"
    );
    let text = quay.text("t.dialect.toml");
    assert!(
        !text.contains("[[role.wheel]]") && text.contains("[[role.animation]]"),
        "{text}"
    );
    assert_eq!(text.matches("confirmed = true").count(), 2, "{text}");
    assert!(dialect::Dialect::read(&text, None).is_ok());

    let edited = text.replace("linear = \"steady\"", "linear = [\"steady\"]");
    let edited = edited
        .replace("smooth = \"mellow\"", "smooth = [\"mellow\"]")
        .replace("rate = \"@haste\"\n", "");
    quay.write("t.dialect.toml", &edited);
    let (code, said) = run(&quay, &["learn", "library", "-o", "t.dialect.toml"]);
    assert_eq!(code, Some(0), "{said}");
    let again = quay.text("t.dialect.toml");
    assert!(
        !again.contains("[[role.wheel]]") && !again.contains("rate = \"@haste\""),
        "{again}"
    );
    assert_eq!(again.matches("confirmed = true").count(), 2, "{again}");
    assert!(dialect::Dialect::read(&again, None).is_ok(), "{again}");

    let asked = ask("");
    assert!(
        !asked.contains("what dialects call `scene`"),
        "what is confirmed is not asked again: {asked}"
    );
    assert!(asked.contains("what dialects call `sound`"), "{asked}");
}

/// Another value for a part of a role; what played it takes the other's place.
#[test]
fn a_person_puts_other_values_into_parts() {
    let quay = Yard::empty();
    quay.copy(&corpus().join("tidework/library"), "library");
    let asked = ask(&quay, "y\ny\nradius=@nothing\nradius=@broad\ny\n");
    assert!(asked.contains("radius=@stout width=@broad"), "{asked}");
    assert!(asked.contains("`radius=@nothing` is no answer"), "{asked}");
    let text = quay.text("t.dialect.toml");
    let wheel = text.split("[[role.wheel]]").nth(1).unwrap();
    let wheel = wheel.split("[[role").next().unwrap();
    // Wheels have a size.
    for size in [
        "stout = { type = \"number\", above = 0,",
        "broad = { type = \"number\", above = 0,",
    ] {
        assert!(text.contains(size), "{size}\n{text}");
    }
    for line in [
        "radius = \"@broad\"",
        "width = \"@stout\"",
        "confirmed = true",
    ] {
        assert!(wheel.contains(line), "{line}\n{wheel}");
    }
    assert!(dialect::Dialect::read(&text, None).is_ok());
    let (code, _) = run(&quay, &["learn", "library", "-o", "t.dialect.toml"]);
    assert_eq!(code, Some(0));
    assert!(quay.text("t.dialect.toml").contains("radius = \"@broad\""));
}

#[test]
fn wheels_without_shapes_are_told_by_where_they_stand_and_called_by_their_nodes() {
    let quay = Yard::empty();
    let put = |folder: &str, number: usize| {
        quay.write(
            &format!("{folder}/{number}.hauler.xml"),
            haulers::definition(number),
        );
        quay.write(&format!("{folder}/{number}.gltf"), haulers::scene(number));
        quay.write(&format!("{folder}/pump.wav"), "");
        quay.write(&format!("{folder}/motor.wav"), "");
    };
    (0..12).for_each(|number| put(&format!("library/{number}"), number));
    put("unseen", 13);
    let report = learn(&quay);
    compare("haulers", &report, haulers::PARTS);
    let dialect = quay.text("unseen/t.dialect.toml");
    assert!(!dialect.contains("exceptions"), "{dialect}");
    is_calm(&quay);
    let said = adjusts(&quay, "unseen/13.hauler.xml", &["strut-p", "strut-s"]);
    assert!(said.contains("Track width of aft-p and aft-s"), "{said}");
    // The words on the wheels go to the new control, and the old one is closed as the others are.
    let text = quay.text("unseen/13.hauler.xml");
    let grips = &text[text.find("<grips>").unwrap()..];
    assert!(grips.contains("pace=\"0.5\" hum=\"pump\"/>"), "{grips}");
    assert!(
        grips.contains(">\n      <rollers>aft-p aft-s</rollers>\n    </grip>\n  </grips>"),
        "{grips}"
    );
}

#[test]
fn paths_below_the_only_root_and_angles_in_radians() {
    let quay = Yard::empty();
    let put = |folder: &str, number: usize| {
        let mut text = haulers::definition(number).replace("\"#1:", "\"~:");
        for (degrees, radians) in [("30", "0.524"), ("40", "0.698"), ("50", "0.873")] {
            let turn = |number: &str| format!("b=\"-{number} 0 0\"");
            text = text.replace(&turn(degrees), &turn(radians));
        }
        text = text.replace("b=\"60 0 0\"", "b=\"1.047 0 0\"");
        quay.write(&format!("{folder}/{number}.hauler.xml"), text);
        quay.write(&format!("{folder}/{number}.gltf"), haulers::scene(number));
        quay.write(&format!("{folder}/pump.wav"), "");
        quay.write(&format!("{folder}/motor.wav"), "");
    };
    (0..12).for_each(|number| put(&format!("library/{number}"), number));
    put("unseen", 13);
    compare("rooted", &learn(&quay), haulers::PARTS);
    let dialect = quay.text("unseen/t.dialect.toml");
    for line in [
        "root-number = false",
        "root-mark = \"~\"",
        "angle = \"rad\"",
    ] {
        assert!(
            dialect.lines().any(|said| said == line),
            "{line}\n{dialect}"
        );
    }
    is_calm(&quay);
    adjusts(&quay, "unseen/13.hauler.xml", &["~:2", "~:6"]);
}

#[test]
fn a_plus_may_stand_between_the_numbers_of_paths_and_numbers_are_no_texts() {
    let quay = Yard::empty();
    for number in 0..12 {
        let seats = format!("<grip seats=\"{} {}\" ", 1 + number % 3, 4 + number % 2);
        let text = haulers::definition(number)
            .replace(':', "+")
            .replace("<grip ", &seats);
        let folder = format!("library/{number}");
        quay.write(&format!("{folder}/{number}.hauler.xml"), text);
        quay.write(&format!("{folder}/{number}.gltf"), haulers::scene(number));
        quay.write(&format!("{folder}/pump.wav"), "");
        quay.write(&format!("{folder}/motor.wav"), "");
    }
    quay.write("unseen/none.xml", "<none/>");
    let report = learn(&quay);
    compare("with a plus", &report, haulers::PARTS);
    let dialect = quay.text("unseen/t.dialect.toml");
    assert!(
        dialect.lines().any(|said| said == "separator = \"+\""),
        "{dialect}"
    );
    let text = parts(&report).remove("control hauler/grips/grip text");
    assert_eq!(text, None, "{dialect}");
}

#[test]
fn the_names_of_sounds_are_no_inputs_though_there_are_few_inputs() {
    let quay = Yard::empty();
    for number in 0..12 {
        let hums = ["pump", "motor", "winch"];
        let hum = |at: usize| format!("hum=\"{}\"", hums[(number + at) % 3]);
        let text = haulers::definition(number)
            .replace(&format!("\"knob-{}\"", number % 7), "\"left\"")
            .replace(&format!("\"knob-{}\"", 7 + number % 6), "\"right\"")
            .replacen("hum=\"pump\"", &hum(1), 1)
            .replacen(
                "pace=\"1\" hum=\"pump\"",
                &format!("pace=\"1\" {}", hum(2)),
                1,
            )
            .replace(
                "  </hums>",
                "    <hum call=\"winch\" played=\"winch.wav\"/>\n  </hums>",
            );
        let folder = format!("library/{number}");
        quay.write(&format!("{folder}/{number}.hauler.xml"), text);
        quay.write(&format!("{folder}/{number}.gltf"), haulers::scene(number));
        for hum in hums {
            quay.write(&format!("{folder}/{hum}.wav"), "");
        }
    }
    quay.write("unseen/none.xml", "<none/>");
    let found = parts(&learn(&quay));
    for (part, value) in [("input", "@call"), ("sounds", "@hum")] {
        let told = found.get(&format!("control hauler/grips/grip {part}"));
        assert_eq!(told.map(String::as_str), Some(value), "{part}: {found:#?}");
    }
}

#[test]
fn lamps_in_pairs_are_no_wheels_though_they_have_radii() {
    let quay = Yard::empty();
    let lit = |number: usize| {
        let text = haulers::definition(number);
        let (before, rest) = text.split_once("  <rollers>\n").unwrap();
        let (_, after) = rest.split_once("  </rollers>\n").unwrap();
        let glows = "  <glows>\n    <glow spot=\"gate-p\" radius=\"7\"/>\n    <glow spot=\"gate-s\" radius=\"7\"/>\n  </glows>\n";
        format!("{before}{glows}{after}").replace("      <rollers>aft-p aft-s</rollers>\n", "")
    };
    for number in 0..12 {
        quay.write(
            &format!("library/{number}/{number}.hauler.xml"),
            lit(number),
        );
        quay.write(
            &format!("library/{number}/{number}.gltf"),
            haulers::scene(number),
        );
    }
    quay.write("unseen/none.xml", "<none/>");
    let found = parts(&learn(&quay));
    assert!(
        found.contains_key("channel hauler/courses/course/part node"),
        "{found:#?}"
    );
    assert!(
        !found.keys().any(|part| part.starts_with("wheel ")),
        "{found:#?}"
    );
}
