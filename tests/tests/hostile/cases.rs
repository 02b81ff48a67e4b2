//! The cases: documents, and what lies beside them.

use std::fmt::Write as _;
use std::os::unix::fs::symlink;
use std::path::Path;

use crate::nothing;

pub(crate) struct Case {
    pub(crate) name: &'static str,
    /// Beside the document: names and contents.
    pub(crate) files: Vec<(&'static str, Vec<u8>)>,
    /// What else is to be done to the folder.
    pub(crate) prepare: fn(&Path),
    pub(crate) document: &'static str,
    pub(crate) text: String,
    /// One of these codes must be found.
    pub(crate) expected: &'static [&'static str],
}

impl Case {
    pub(crate) fn size(&self) -> usize {
        self.text.len()
            + self
                .files
                .iter()
                .map(|(_, bytes)| bytes.len())
                .sum::<usize>()
    }

    pub(crate) fn document(
        name: &'static str,
        text: String,
        expected: &'static [&'static str],
    ) -> Self {
        Self {
            name,
            files: Vec::new(),
            prepare: nothing,
            document: "a.machine.xml",
            text,
            expected,
        }
    }

    /// A machine that drives this scene.
    pub(crate) fn scene(
        name: &'static str,
        file: &'static str,
        bytes: Vec<u8>,
        expected: &'static [&'static str],
    ) -> Self {
        Self {
            files: vec![(file, bytes)],
            ..Self::document(name, machine_with(file, ALIASES), expected)
        }
    }
}

pub(crate) const ALL: &[fn() -> Case] = &[
    || {
        Case::document(
            "a document of 100 MB",
            machine(&"<x/>\n".repeat(20_000_000)),
            &["too-large"],
        )
    },
    || Case::document("nested 100,000 deep", nested(100_000, true), &["too-deep"]),
    || {
        Case::document(
            "nested 100,000 deep, nothing closed",
            nested(100_000, false),
            &["too-deep"],
        )
    },
    || {
        Case::document(
            "nested 1,000,000 deep",
            nested(1_000_000, true),
            &["too-deep"],
        )
    },
    || {
        Case::document(
            "a million attributes",
            attributes(|n| format!(" a{n}=\"\"")),
            GRAMMAR,
        )
    },
    || {
        Case::document(
            "a million times one attribute",
            attributes(|_| " a=\"\"".to_owned()),
            &["duplicate-attribute"],
        )
    },
    || {
        Case::document(
            "a million namespaces",
            attributes(|n| format!(" xmlns:a{n}=\"u\"")),
            GRAMMAR,
        )
    },
    || Case::document("500,000 times <", "<".repeat(500_000), FORM),
    || Case::document("5,000,000 times <", "<".repeat(5_000_000), FORM),
    || Case::document("500,000 times &", machine(&"&".repeat(500_000)), FORM),
    || Case::document("500,000 times \"<a \"", "<a ".repeat(500_000), FORM),
    || Case::document("500,000 end tags", machine(&"</a>".repeat(500_000)), FORM),
    || Case::document("500,000 times <![CDATA[", "<![CDATA[".repeat(500_000), FORM),
    || Case::document("entities that grow by ten, ten deep", laughs(), ENTITIES),
    || Case::document("one long entity, used 10,000 times", quadratic(), ENTITIES),
    || Case::document("100,000 entities declared", many_entities(), ENTITIES),
    || Case::document("one line of 10 MB", one_line(10_000_000), GRAMMAR),
    || {
        Case::document(
            "one attribute of 10 MB",
            machine(&format!("<bodies a=\"{}\"/>", "x".repeat(10_000_000))),
            GRAMMAR,
        )
    },
    || {
        Case::document(
            "one text of 10 MB",
            machine(&"x ".repeat(5_000_000)),
            GRAMMAR,
        )
    },
    || {
        Case::document(
            "a comment of 10 MB that does not end",
            machine(&format!("<!-- {}", "x ".repeat(5_000_000))),
            FORM,
        )
    },
    || {
        Case::document(
            "10 MB of line breaks",
            machine(&format!("{} & ", "\n".repeat(10_000_000))),
            FORM,
        )
    },
    || Case::document("10 MB of 0 bytes", "\0".repeat(10_000_000), FORM),
    || {
        Case::document(
            "a million unknown elements",
            machine(&"<x/>\n".repeat(1_000_000)),
            GRAMMAR,
        )
    },
    || {
        Case::document(
            "a million findings in values",
            machine(&format!(
                "<aliases>\n{}</aliases>",
                "<alias/>\n".repeat(500_000)
            )),
            GRAMMAR,
        )
    },
    || {
        Case::document(
            "200,000 times the same name",
            repeated(
                "aliases",
                |_| "<alias name=\"x\" path=\"0\"/>\n".to_owned(),
                200_000,
            ),
            &["duplicate-name"],
        )
    },
    || {
        Case::document(
            "200,000 names that nobody uses",
            repeated(
                "aliases",
                |n| format!("<alias name=\"x{n}\" path=\"0\"/>\n"),
                200_000,
            ),
            &["unused-alias"],
        )
    },
    || Case::document("100,000 channels on one part", contested(), MOTION),
    || {
        Case::document(
            "100,000 controls on one input",
            clashing(),
            &["input-clash", "unknown-name"],
        )
    },
    || Case::document("numbers of a million digits", huge_numbers(), GRAMMAR),
    || {
        Case::document(
            "an index path of a million steps",
            machine_with(
                "",
                &format!(
                    "<aliases><alias name=\"x\" path=\"{}0\"/></aliases>",
                    "0/".repeat(1_000_000)
                ),
            ),
            GRAMMAR,
        )
    },
    || {
        Case::scene(
            "scene: nodes in a cycle",
            "s.gltf",
            gltf("{\"children\":[1]},{\"children\":[0]}", "0"),
            SCENE,
        )
    },
    || {
        Case::scene(
            "scene: a node that is its own child",
            "s.gltf",
            gltf("{\"children\":[0]}", "0"),
            SCENE,
        )
    },
    || {
        Case::scene(
            "scene: one child 1,000,000 times",
            "s.gltf",
            gltf(
                &format!("{{\"children\":[1{}]}},{{}}", ",1".repeat(999_999)),
                "0",
            ),
            SCENE,
        )
    },
    || {
        Case::scene(
            "scene: 1,000,000 nodes side by side",
            "s.gltf",
            gltf(&format!("{{}}{}", ",{}".repeat(999_999)), "0"),
            SCENE,
        )
    },
    || {
        Case::scene(
            "scene: 1,000,000 nodes in a chain",
            "s.gltf",
            chain(1_000_000),
            SCENE,
        )
    },
    || {
        Case::scene(
            "scene: children that are not there",
            "s.gltf",
            gltf(
                &format!("{{\"children\":[{}1]}}", "4000000000,".repeat(100_000)),
                "0",
            ),
            SCENE,
        )
    },
    || {
        Case::scene(
            "scene: numbers out of all bounds",
            "s.gltf",
            gltf(
                "{\"translation\":[1e999,-1e308,1e308],\"scale\":[1e308,1e308,1e308],\"children\":[1]},{\"matrix\":[1e308,0,0,0,0,1e308,0,0,0,0,1e308,0,0,0,0,1e308]}",
                "0",
            ),
            SCENE,
        )
    },
    || {
        Case::scene(
            "scene: JSON nested 1,000,000 deep",
            "s.gltf",
            "[".repeat(1_000_000).into_bytes(),
            SCENE,
        )
    },
    || Case::scene("scene: a GLB that claims 4 GB", "s.glb", lying_glb(), SCENE),
    || {
        Case::scene(
            "scene: a GLB with 100 MB of meshes",
            "s.glb",
            heavy_glb(),
            SCENE,
        )
    },
    || {
        Case::scene(
            "scene: 100 MB of data in a glTF",
            "s.gltf",
            gltf_with_data(),
            SCENE,
        )
    },
    || {
        Case::scene(
            "scene: 100 MB of blanks",
            "s.gltf",
            " ".repeat(100_000_000).into_bytes(),
            SCENE,
        )
    },
    deep_xml_scene,
    || Case {
        prepare: link_loops,
        document: "mod.xml",
        ..Case::document("a folder with link loops", MANIFEST.to_owned(), FILES)
    },
    || Case {
        prepare: many_files,
        document: "mod.xml",
        ..Case::document("a folder of 30,000 files", MANIFEST.to_owned(), FILES)
    },
    || Case {
        prepare: endless_dialect,
        ..Case::document("a dialect that never ends", machine("<x/>"), GRAMMAR)
    },
    || Case {
        prepare: pipes,
        ..Case::document(
            "pipes for scene, dialect and settings",
            machine_with("s.gltf", "<x/>"),
            GRAMMAR,
        )
    },
];

const FORM: &[&str] = &[
    "unclosed-element",
    "unclosed-tag",
    "stray-end-tag",
    "bad-reference",
    "bad-name",
    "unclosed-comment",
    "bad-cdata",
    "bad-character",
    "stray-characters",
    "missing-root",
    "too-many-errors",
];
pub(crate) const GRAMMAR: &[&str] = &[
    "unknown-element",
    "unknown-attribute",
    "missing-attribute",
    "wrong-type",
    "out-of-range",
    "unexpected-text",
    "too-many-attributes",
    "path-not-in-scene",
    "file-missing",
];
const ENTITIES: &[&str] = &[
    "bad-entity",
    "bad-reference",
    "bad-doctype",
    "unknown-element",
    "missing-attribute",
];
pub(crate) const MOTION: &[&str] = &[
    "contested-part",
    "empty-window",
    "still-channel",
    "jump",
    "unreachable-animation",
];
pub(crate) const SCENE: &[&str] = &["scene-unreadable", "path-not-in-scene"];
const FILES: &[&str] = &["file-missing", "unlisted-machine", "missing-attribute"];

const ALIASES: &str = "<aliases><alias name=\"x\" path=\"7/7/7\"/></aliases>";
const MANIFEST: &str = "<mod xmlns=\"urn:trunnion:mod:1\" title=\"t\" version=\"1\" author=\"a\"><machine file=\"gone.machine.xml\"/></mod>";

pub(crate) fn machine_with(scene: &str, content: &str) -> String {
    format!(
        "<machine xmlns=\"urn:trunnion:machine:1\" id=\"m\" scene=\"{scene}\">\n{content}\n</machine>\n"
    )
}

pub(crate) fn machine(content: &str) -> String {
    machine_with("gone.gltf", content)
}

fn nested(depth: usize, closed: bool) -> String {
    let end = if closed {
        "</a>".repeat(depth)
    } else {
        String::new()
    };
    format!("{}{end}", "<a>".repeat(depth))
}

fn attributes(attribute: impl Fn(usize) -> String) -> String {
    let all: String = (0..1_000_000).map(attribute).collect();
    machine(&format!("<bodies{all}/>"))
}

fn laughs() -> String {
    let mut text = "<!DOCTYPE a [\n<!ENTITY l0 \"lol\">\n".to_owned();
    for level in 1..=10 {
        let inner = format!("&l{};", level - 1).repeat(10);
        let _ = writeln!(text, "<!ENTITY l{level} \"{inner}\">");
    }
    text + "]>\n<a>&l10;</a>"
}

fn quadratic() -> String {
    let long = "x".repeat(100_000);
    let used = "&long;".repeat(10_000);
    format!("<!DOCTYPE a [\n<!ENTITY long \"{long}\">\n]>\n<a b=\"{used}\">{used}</a>")
}

fn many_entities() -> String {
    let mut text = "<!DOCTYPE a [\n".to_owned();
    for number in 0..100_000 {
        let _ = writeln!(text, "<!ENTITY e{number} SYSTEM \"file:///etc/passwd\">");
    }
    text + "]>\n<a>&e1;&gone;</a>"
}

fn one_line(bytes: usize) -> String {
    let wheel = "<wheel id=\"w\" node=\"0/0\" radius=\"0.5\"/>";
    machine(&format!(
        "<wheels>{}</wheels>",
        wheel.repeat(bytes / wheel.len())
    ))
}

pub(crate) fn repeated(section: &str, entry: impl Fn(usize) -> String, count: usize) -> String {
    let entries: String = (0..count).map(entry).collect();
    machine(&format!("<{section}>\n{entries}</{section}>"))
}

fn contested() -> String {
    let channel = "<channel target=\"x\" property=\"translation\" begin=\"0\" end=\"1\" from=\"0 0 0\" to=\"1 0 0\"/>\n";
    machine(&format!(
        "<aliases><alias name=\"x\" path=\"0\"/></aliases><animations><animation id=\"a\">\n{0}</animation>\
         <animation id=\"b\">\n{0}</animation></animations>",
        channel.repeat(50_000)
    ))
}

fn clashing() -> String {
    let switch = "<switch animation=\"a\" input=\"button.raise\"/>\n";
    machine(&format!(
        "<controls>\n{}</controls>",
        switch.repeat(100_000)
    ))
}

fn huge_numbers() -> String {
    let digits = "9".repeat(1_000_000);
    machine(&format!(
        "<bodies><body node=\"0\" mass=\"{digits}\" centre=\"1e999999 -{digits} 1e-{digits}\"/></bodies>\
         <wheels><wheel id=\"w\" node=\"{digits}/{digits}\" radius=\"1e308\" width=\"NaN\"/></wheels>"
    ))
}

pub(crate) fn gltf(nodes: &str, roots: &str) -> Vec<u8> {
    format!(
        "{{\"asset\":{{\"version\":\"2.0\"}},\"scene\":0,\"scenes\":[{{\"nodes\":[{roots}]}}],\"nodes\":[{nodes}]}}"
    )
    .into_bytes()
}

fn chain(length: usize) -> Vec<u8> {
    let mut nodes = String::new();
    for node in 1..length {
        let _ = write!(nodes, "{{\"children\":[{node}]}},");
    }
    gltf(&(nodes + "{}"), "0")
}

fn lying_glb() -> Vec<u8> {
    let mut bytes = b"glTF\x02\0\0\0\xFF\xFF\xFF\xFF\xF0\xFF\xFF\xFFJSON".to_vec();
    bytes.extend_from_slice(b"{\"asset\":{\"version\":\"2.0\"}}");
    bytes
}

const MESHES: usize = 100_000_000;

fn heavy_glb() -> Vec<u8> {
    let mut json = gltf("{\"name\":\"a\"}", "0");
    json.resize(json.len().next_multiple_of(4), b' ');
    let size = |bytes: usize| {
        u32::try_from(bytes)
            .expect("it is less than 4 GB")
            .to_le_bytes()
    };
    let mut bytes = b"glTF\x02\0\0\0".to_vec();
    bytes.extend(size(12 + 8 + json.len() + 8 + MESHES));
    bytes.extend(size(json.len()));
    bytes.extend(b"JSON");
    bytes.extend(json);
    bytes.extend(size(MESHES));
    bytes.extend(b"BIN\0");
    bytes.resize(bytes.len() + MESHES, 7);
    bytes
}

fn gltf_with_data() -> Vec<u8> {
    let json = gltf("{\"name\":\"a\"}", "0");
    let data = "A".repeat(MESHES);
    let buffers =
        format!("{{\"buffers\":[{{\"uri\":\"data:application/octet-stream;base64,{data}\"}}],");
    [buffers.as_bytes(), &json[1..]].concat()
}

fn deep_xml_scene() -> Case {
    let limbs = format!(
        "<limbs>{}{}</limbs>",
        "<limb call=\"a\"><grows>".repeat(100_000),
        "</grows></limb>".repeat(100_000)
    );
    let dialect = include_bytes!("../../../corpus/dialects/yard/yard.dialect.toml");
    let text = "<rig><called>c</called><limbs-file>s.limbs.xml</limbs-file><handles><handle><call>x</call>\
                <spot>#9:9.9</spot></handle></handles></rig>";
    Case {
        files: vec![
            ("s.limbs.xml", limbs.into_bytes()),
            ("yard.dialect.toml", dialect.to_vec()),
            (
                "trunnion.toml",
                b"dialects = [\"yard.dialect.toml\"]".to_vec(),
            ),
        ],
        document: "a.rig.xml",
        ..Case::document("scene: XML nested 100,000 deep", text.to_owned(), SCENE)
    }
}

fn link_loops(folder: &Path) {
    std::fs::create_dir_all(folder.join("a/b")).unwrap();
    for (link, target) in [
        ("a/b/up", "../.."),
        ("a/self", "."),
        ("round", "round"),
        ("a/b/root", "/"),
    ] {
        symlink(target, folder.join(link)).unwrap();
    }
}

fn many_files(folder: &Path) {
    for number in 0..300 {
        let inner = folder.join(format!("d{number}"));
        std::fs::create_dir_all(&inner).unwrap();
        for file in 0..100 {
            std::fs::write(inner.join(format!("{file}.xml")), "<a/>").unwrap();
        }
    }
}

fn endless_dialect(folder: &Path) {
    symlink("/dev/zero", folder.join("link.toml")).unwrap();
    std::fs::write(
        folder.join("trunnion.toml"),
        "dialects = [\"/dev/zero\", \"link.toml\", \"/proc/self/maps\"]",
    )
    .unwrap();
}

fn pipes(folder: &Path) {
    for name in ["s.gltf", "d.toml"] {
        let made = std::process::Command::new("mkfifo")
            .arg(folder.join(name))
            .status();
        assert!(made.unwrap().success());
    }
    std::fs::write(folder.join("trunnion.toml"), "dialects = [\"d.toml\"]").unwrap();
}
