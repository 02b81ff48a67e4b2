//! The examples on the pages of the codes: the bad one yields its code, the good one is fine.
//!
//! An example is a whole document, or some sections of one, or some elements of one section. What it leaves out is
//! put around it. A block of kind `text` lists the files around it.

use std::fs;
use std::path::{Path, PathBuf};

use ide::codes::{self, Code, Group};
use ide::{Finding, Severity};
use project::{Disk, SettingsStore};
use tempfile::TempDir;

/// Pages whose examples are not checked like this, and why.
const NOT_CHECKED: [(&str, &str); 10] = [
    (
        "wrong-order",
        "the house dialect has no fixed order; checks/tests.rs has a dialect that does",
    ),
    (
        "encoding",
        "a page is UTF-8 itself; the tests of the command line have a file that is not",
    ),
    ("too-large", "nobody wants such a file"),
    (
        "two-dialects",
        "a page has no two dialect files; checks/tests/dialects.rs does",
    ),
    (
        "heavy-file",
        "nobody wants such a file here; the tests of the command line make some",
    ),
    (
        "archive-refused",
        "it is not about a document; the tests of the command line have such archives",
    ),
    (
        "out-of-step",
        "it is about an editor; the tests over the wire have one that errs",
    ),
    (
        "too-deep",
        "the page shows only the ends of a long file; checks/tests.rs makes one",
    ),
    (
        "too-many-attributes",
        "the page shows only the ends of a long tag; the tests over the wire make one",
    ),
    (
        "too-many-errors",
        "the page does not show thousands of errors; checks/tests.rs makes some",
    ),
];

/// What stands in the sections that an example does not show.
const SECTIONS: [(&str, &str); 5] = [
    (
        "aliases",
        r#"<alias name="leg.left" path="0/0/0"/><alias name="leg.right" path="0/0/1"/>
        <alias name="mast" path="0/1"/><alias name="beacon" path="0/3"/>"#,
    ),
    (
        "wheels",
        r#"<wheel id="front.left" node="0/0/0/0" radius="0.62" width="0.35"/>
        <wheel id="front.right" node="0/0/1/0" radius="0.62" width="0.35"/>"#,
    ),
    ("sounds", r#"<sound id="pump" file="sounds/pump.ogg"/>"#),
    (
        "animations",
        r#"<animation id="mast.raise"><channel target="0/1" property="translation" begin="0" end="6"
        from="0 1.1 0" to="0 2.9 0"/></animation>"#,
    ),
    (
        "controls",
        r#"<switch animation="mast.raise" input="button.raise"/>"#,
    ),
];

/// Where an element belongs that an example shows by itself.
const HOMES: [(&str, &str); 8] = [
    ("alias", "aliases"),
    ("wheel", "wheels"),
    ("lamp", "lamps"),
    ("sound", "sounds"),
    ("animation", "animations"),
    ("channel", "animation"),
    ("switch", "controls"),
    ("lever", "controls"),
];

/// `bram-6` with two legs that mirror each other and hold a wheel each, a mast, a drawbar and a beacon.
const SCENE: &str = r#"{"asset":{"version":"2.0"},"scene":0,"scenes":[{"nodes":[0]}],"nodes":[
    {"name":"bram-6","children":[1,6,7,8]},
    {"name":"legs","children":[2,4]},
    {"name":"leg.left","translation":[1.3,0,0],"children":[3]},
    {"name":"wheel.left","translation":[0,0.6,0]},
    {"name":"leg.right","translation":[-1.3,0,0],"children":[5]},
    {"name":"wheel.right","translation":[0,0.6,0]},
    {"name":"mast","translation":[0,1.1,0]},
    {"name":"drawbar"},
    {"name":"beacon"}]}"#;

#[test]
fn bad_examples_yield_their_code_and_good_ones_do_not() {
    let mut wrong = Vec::new();
    for code in codes::all().filter(|code| !is_left_out(code)) {
        let (bad, good) = (findings(code, "Bad"), findings(code, "Good"));
        if !bad.iter().any(|finding| finding.code == code.name) {
            wrong.push(format!(
                "{}: the bad example yields {}",
                code.name,
                listed(&bad)
            ));
        }
        let serious =
            |finding: &&Finding| finding.severity <= Severity::Warning || finding.code == code.name;
        if good.iter().any(|finding| serious(&finding)) {
            wrong.push(format!(
                "{}: the good example yields {}",
                code.name,
                listed(&good)
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn a_bad_example_shows_one_mistake() {
    let mut wrong = Vec::new();
    for code in codes::all().filter(|code| !is_left_out(code)) {
        let bad = findings(code, "Bad");
        let serious: Vec<&Finding> = bad
            .iter()
            .filter(|finding| finding.severity <= Severity::Warning)
            .collect();
        if serious.len() > 2 || serious.iter().any(|finding| finding.code != code.name) {
            wrong.push(format!(
                "{}: the bad example yields {}",
                code.name,
                listed(&bad)
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_page_that_is_left_out_exists() {
    assert!(
        NOT_CHECKED
            .iter()
            .all(|(name, _)| codes::find(name).is_some())
    );
}

fn is_left_out(code: &Code) -> bool {
    NOT_CHECKED.iter().any(|(name, _)| *name == code.name)
}

fn listed(findings: &[Finding]) -> String {
    let listed: Vec<String> = findings
        .iter()
        .map(|finding| format!("{} ({})", finding.code, finding.message))
        .collect();
    if listed.is_empty() {
        "nothing".to_owned()
    } else {
        listed.join(", ")
    }
}

/// What the checks say of an example.
fn findings(code: &Code, section: &str) -> Vec<Finding> {
    let folder = TempDir::with_prefix("trunnion-").unwrap();
    let folder = folder.path();
    let root = folder.join("mods/ternholt");
    fs::create_dir_all(root.join("sounds")).unwrap();
    for (name, text) in [("test.gltf", SCENE), ("sounds/pump.ogg", "")] {
        fs::write(root.join(name), text).unwrap();
    }
    if code.page.contains("broken.gltf") {
        fs::write(root.join("broken.gltf"), "{").unwrap();
    }
    if code.page.contains("doubtful.gltf") {
        let doubtful = r#"{"asset":{"version":"2.0"},"nodes":[{"rotation":[0,0,0,3]}]}"#;
        fs::write(root.join("doubtful.gltf"), doubtful).unwrap();
    }
    let mut found = Vec::new();
    for (kind, text) in blocks(code, section) {
        match kind {
            "text" => lay_out(folder, text),
            "toml" => found.extend(setup_findings(code, &root, text)),
            _ => found.extend(document_findings(code, &root, text)),
        }
    }
    found
}

/// The blocks of a section with their kinds.
fn blocks<'p>(code: &Code, section: &str) -> Vec<(&'p str, &'p str)> {
    let body = code.page.split(&format!("## {section}\n")).nth(1).unwrap();
    let body = body.split("\n## ").next().unwrap();
    let blocks = body.split("```").skip(1).step_by(2);
    blocks
        .map(|block| block.split_once('\n').unwrap())
        .collect()
}

fn document_findings(code: &Code, root: &Path, example: &str) -> Vec<Finding> {
    let text = completed(code, example);
    let name = if text.contains("urn:trunnion:mod:1") {
        "mod.xml"
    } else {
        "bram-6.machine.xml"
    };
    for machine in ["bram-6.machine.xml", "ostrel-12.machine.xml"] {
        if text.contains(machine) && !root.join(machine).exists() {
            fs::write(root.join(machine), document("")).unwrap();
        }
    }
    let path = root.join(name);
    fs::write(&path, &text).unwrap();
    ide::checks::run(&project::view_of(
        path,
        text,
        &Disk::default(),
        &SettingsStore::default(),
    ))
}

fn setup_findings(code: &Code, root: &Path, text: &str) -> Vec<Finding> {
    let dialect = "quay.dialect.toml";
    if code.name == codes::CONFIG_PROBLEM.name {
        fs::write(root.join("trunnion.toml"), text).unwrap();
        fs::write(root.join(dialect), dialect::Dialect::house_source()).unwrap();
    } else {
        fs::write(
            root.join("trunnion.toml"),
            format!("dialects = [\"{dialect}\"]"),
        )
        .unwrap();
        fs::write(root.join(dialect), text).unwrap();
    }
    let view = project::view_of(
        root.join("x.xml"),
        String::new(),
        &Disk::default(),
        &SettingsStore::default(),
    );
    ide::checks::settings(&view.settings)
        .into_iter()
        .map(|(_, finding)| finding)
        .collect()
}

/// Makes the files of an indented listing; folders end with a slash.
fn lay_out(folder: &Path, listing: &str) {
    let mut open: Vec<PathBuf> = vec![folder.to_path_buf()];
    for line in listing.lines() {
        let depth = (line.len() - line.trim_start().len()) / 2;
        open.truncate(depth + 1);
        let path = open.last().unwrap().join(line.trim());
        if line.ends_with('/') {
            fs::create_dir_all(&path).unwrap();
            open.push(path);
        } else {
            let is_machine = line.ends_with(".machine.xml");
            fs::write(
                &path,
                if is_machine {
                    document("")
                } else {
                    String::new()
                },
            )
            .unwrap();
        }
    }
}

/// An example as a whole document.
fn completed(code: &Code, example: &str) -> String {
    let first = first_element(example);
    let is_section = SECTIONS.iter().any(|(name, _)| *name == first);
    match HOMES.iter().find(|(name, _)| *name == first) {
        _ if code.group == Group::Form
            && !is_section
            && !HOMES.iter().any(|(name, _)| *name == first) =>
        {
            example.to_owned()
        }
        Some((_, "animation")) => document(&format!(
            "<animations><animation id=\"mast.raise\">\n{example}</animation></animations>"
        )),
        Some((_, home)) => document(&format!("<{home}>\n{example}</{home}>")),
        None if is_section => document(example),
        None => example.to_owned(),
    }
}

fn first_element(example: &str) -> &str {
    let after = example.trim_start().trim_start_matches('<');
    after.split(|c: char| !c.is_alphanumeric()).next().unwrap()
}

/// A machine with these sections, and the usual ones for the others that these need.
fn document(sections: &str) -> String {
    let missing = SECTIONS.iter().filter(|(name, _)| {
        let shown = |name: &str| sections.contains(&format!("<{name}>"));
        // A control of the usual animation would play nothing where other animations are shown.
        !(shown(name) || *name == "controls" && shown("animations"))
    });
    let rest: String = missing
        .map(|(name, content)| format!("<{name}>{content}</{name}>\n"))
        .collect();
    format!(
        "<machine xmlns=\"urn:trunnion:machine:1\" id=\"bram-6\" scene=\"test.gltf\">\n{sections}\n{rest}</machine>\n"
    )
}
