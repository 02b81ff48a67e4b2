//! What is around an element matters to what it says, also through edits.

mod edits;

use dialect::{Dialect, DocumentKind};
use edits::{Numbers, edit};
use machine::{Machine, Outline};

const DIALECT: &str = r#"
[dialect]
name = "sleds"
format = 1

[[document]]
name = "sled"
root = "sled"
namespace = "urn:sled"

[element.sled]
children = ["feat*", "rig*", "tone?"]
attributes.scene = "file"

[element.tone]

[element.rig]
children = ["roll*", "mark*"]
attributes.id = { type = "name", of = "rig" }
attributes.on = "text"

[element.roll.attributes]
node = "node"
id = { type = "name", of = "roll" }

[element.mark.attributes]
name = { type = "name", of = "mark" }
path = "index-path"

[element.feat]
children = ["go*"]
attributes.id = { type = "name", of = "feat" }

[element.go.attributes]
limb = "node"
since = "number"
until = "number"
far = "vector"

[[role.scene]]
at = "sled"
file = "@scene"

[[role.wheel]]
at = "sled/rig[@on='yes']/roll"
node = "@node"
name = "@id" # of the wheel

[[role.alias]]
at = "sled/rig/mark"
name = "@name"
path = "@path"

[[role.animation]]
at = "sled/feat"
name = "@id"

[[role.channel]]
at = "go"
node = "@limb"
begin = "@since"
end = "@until"

[[role.channel.motion]]
property = "translation"
to = "@far"
"#;

/// Plays no part, but makes documents be read as a whole.
const FAR: &str = r#"
[[role.sound]]
at = "sled/tone/../tone"
"#;

/// The dialect, and one that says the same but looks far around.
fn dialects(text: &str) -> (Dialect, Dialect) {
    let near = Dialect::read(text, None).unwrap();
    let far = Dialect::read(&format!("{text}{FAR}"), None).unwrap();
    (near, far)
}

fn kind(dialect: &Dialect) -> &DocumentKind {
    dialect
        .document_for(Some((Some("urn:sled"), "sled")), "a.xml")
        .unwrap()
}

/// Wheels are called as the rig around them.
fn named_around() -> String {
    DIALECT.replace("\"@id\" # of the wheel", "\"../@id\"")
}

fn assert_same(now: &Machine, fresh: &Machine, when: &str) {
    if now == fresh {
        return;
    }
    let (now, fresh) = (format!("{now:#?}"), format!("{fresh:#?}"));
    let lines = now.lines().zip(fresh.lines()).enumerate();
    let mut context: Vec<&str> = Vec::new();
    for (n, (one, other)) in lines {
        context.push(one);
        assert_eq!(
            one,
            other,
            "{when}: line {n}: {:#?}",
            &context[context.len().saturating_sub(14)..]
        );
    }
    panic!("{when}: one says more");
}

/// Makes the edits one after the other.
fn follow(dialect: &str, mut text: String, edits: &[(&str, &str)]) {
    let (near, far) = dialects(dialect);
    let (kind, far_kind) = (kind(&near), kind(&far));
    let mut tree = syntax::parse(&text);
    let mut outline = Outline::read(&tree, &near, kind, None);
    for (nth, (old, new)) in [("", "")].iter().chain(edits).enumerate() {
        let at = text.find(old).unwrap_or_else(|| panic!("no {old}"));
        tree = edit(&mut text, &tree, at..at + old.len(), new);
        outline = Outline::read(&tree, &near, kind, Some(&outline));
        let fresh = machine::read(&syntax::parse(&text), &far, far_kind);
        assert_same(
            &outline.machine(&near, kind),
            &fresh,
            &format!("edit {nth}"),
        );
    }
}

fn long_rig(prefix: &str) -> String {
    let p = prefix;
    let row =
        |n: usize| format!("<{p}roll node=\"{n}\"/>\n<{p}mark name=\"m{n}\" path=\"{n}/0\"/>\n");
    let rows: String = (0..400).map(row).collect();
    format!("<{p}rig id=\"r\" on=\"yes\">\n{rows}</{p}rig>\n")
}

#[test]
fn what_stands_in_a_tag_around() {
    let rig = long_rig("");
    let text = format!("<sled xmlns=\"urn:sled\" scene=\"s.gltf\">\n{rig}</sled>");
    let edits = [
        ("on=\"yes\"", "on=\"no\""),
        ("on=\"no\"", "on=\"yes\""),
        ("id=\"r\"", "id=\"rrr\""),
        ("s.gltf", "longer.gltf"),
        ("m300", "m30000"),
        ("<sled", "<!-- c -->\n<sled"),
    ];
    follow(DIALECT, text.clone(), &edits);
    follow(&named_around(), text, &edits);
}

#[test]
fn the_prefix_of_the_root() {
    let rig = long_rig("a:");
    let text = format!("<a:sled xmlns:a=\"urn:sled\" xmlns:b=\"urn:other\">\n{rig}</a:sled>");
    let edits = [
        ("<a:sled", "<b:sled"),
        ("</a:sled", "</b:sled"),
        ("urn:other", "urn:sled"),
        ("urn:sled", "urn:x"),
    ];
    follow(DIALECT, text, &edits);
}

const SEEDS: u64 = 2;

#[test]
fn edits_at_random() {
    let (near, far) = dialects(DIALECT);
    let (kind, far_kind) = (kind(&near), kind(&far));
    let pieces = [
        "a:",
        "b:",
        "xmlns=\"\"",
        " xmlns=\"urn:sled\" ",
        " xmlns:b=\"urn:sled\"",
        " xmlns:b=\"urn:no\"",
        "yes",
        "no",
        "<rig on=\"yes\" id=\"k\">",
        "</rig>",
        "<roll node=\"1\"/>",
        "<roll node=\"1\"/><roll node=\"1\"/><roll node=\"1\"/>",
        "<!-- ",
        "-->",
        "<sled>",
        "</sled>",
        "<feat id=\"f\">",
        "</feat>",
        "<go limb=\"0\" since=\"0\" until=\"2\" far=\"1 2 3\"/>",
        "\"",
        "<",
        ">",
        "/",
        " ",
        "\n",
        "x",
    ];
    let words = [
        "on=\"", "id=\"", "<rig", "</rig", "<sled", "</sled", "xmlns", "<feat", "</feat",
        "scene=\"", "urn:sled", "<a:roll", "<roll", "/>",
    ];
    for seed in 0..SEEDS {
        let mut numbers = Numbers(seed);
        let go = "<go limb=\"0\" since=\"0\" until=\"2\" far=\"1 2 3\"/>\n".repeat(130);
        let same = "<roll node=\"7\"/>".repeat(400);
        let original = format!(
            "<?xml version=\"1.0\"?>\n<sled xmlns=\"urn:sled\" xmlns:a=\"urn:sled\" xmlns:b=\"urn:other\" scene=\"s.gltf\">\n{}{}<rig id=\"t\" on=\"yes\">{same}</rig><feat id=\"g\">\n{go}</feat>\n</sled>\n<!-- end -->",
            long_rig(""),
            long_rig("a:")
        );
        let mut text = original.clone();
        let mut tree = syntax::parse(&text);
        let mut outline = Outline::read(&tree, &near, kind, None);
        for step in 0..25 {
            for _ in 0..=numbers.below(2) {
                let mut start = numbers.below(text.len() + 1);
                if numbers.below(2) == 0 {
                    let word = words[numbers.below(words.len())];
                    let from = if numbers.below(2) == 0 { 0 } else { start };
                    if let Some(at) = text[from..].find(word) {
                        start = from + at + if numbers.below(2) == 0 { word.len() } else { 1 };
                    }
                }
                let longest = if numbers.below(6) == 0 { 700 } else { 6 };
                let end = if numbers.below(2) == 0 {
                    start
                } else {
                    (start + numbers.below(longest)).min(text.len())
                };
                let insert = match numbers.below(5) {
                    0 => String::new(),
                    1 => text[end..(end + 100).min(text.len())].to_owned(),
                    _ => pieces[numbers.below(pieces.len())].to_owned(),
                };
                tree = edit(&mut text, &tree, start..end, &insert);
            }
            outline = Outline::read(&tree, &near, kind, Some(&outline));
            let parsed = syntax::parse(&text);
            assert_eq!(tree.errors(), parsed.errors(), "seed {seed}, step {step}");
            let now = outline.machine(&near, kind);
            assert_same(
                &now,
                &machine::read(&parsed, &near, kind),
                &format!("kept: seed {seed}, step {step}"),
            );
            assert_same(
                &now,
                &machine::read(&parsed, &far, far_kind),
                &format!("whole: seed {seed}, step {step}"),
            );
            if numbers.below(10) == 0 {
                text = original.clone();
                tree = syntax::parse(&text);
            }
        }
    }
}
