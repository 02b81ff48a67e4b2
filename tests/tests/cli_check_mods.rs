//! `trunnion check` on whole mods: what a mod has too much of, and what it lacks.

use std::fs;
use std::path::Path;

use acceptance::desk::corpus;
use acceptance::program::run;
use acceptance::yard::Yard;
use serde_json::Value;

/// Codes with the file that they speak of, in order.
fn found(folder: &Path) -> Vec<(String, String)> {
    let output = run(folder, &["check", "--format", "json", "."]);
    let found: Vec<Value> = serde_json::from_slice(&output.stdout).unwrap();
    let mut found: Vec<(String, String)> = found
        .iter()
        .map(|finding| {
            let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
            let file = match finding["related"][0]["file"].as_str() {
                Some(file) => file.to_owned(),
                None => text(&finding["file"]),
            };
            let file = file.trim_start_matches("./").to_owned();
            (text(&finding["code"]), file)
        })
        .collect();
    found.sort();
    found
}

fn pairs(found: &[(String, String)]) -> Vec<(&str, &str)> {
    found
        .iter()
        .map(|(code, file)| (code.as_str(), file.as_str()))
        .collect()
}

const MOD: &str = r#"<mod xmlns="urn:trunnion:mod:1" title="Quay" version="1" author="Quay">
  <machine file="rig.machine.xml"/>
  <text key="Raise mast" lang="en">Raise mast</text>
  <text key="Raise mast" lang="de">Mast heben</text>
</mod>"#;

const MACHINE: &str = r#"<machine xmlns="urn:trunnion:machine:1" id="rig" scene="big rig.gltf">
  <sounds><sound id="pump" file="noises/pump.wav"/></sounds>
  <animations><animation id="mast.raise">
    <channel target="0" property="translation" begin="0" end="4" from="0 0 0" to="0 1 0"/>
  </animation></animations>
  <controls><switch animation="mast.raise" input="button.raise" text="Raise mast"><cue sound="pump"/></switch></controls>
</machine>"#;

/// A scene with a mesh that nothing has, and a picture whose name is written as URIs have it.
const SCENE: &str = r#"{"asset":{"version":"2.0"},"scene":0,"scenes":[{"nodes":[0]}],"nodes":[{"name":"mast","mesh":0}],
"meshes":[{"name":"mast","primitives":[{"attributes":{}}]},{"name":"old","primitives":[{"attributes":{}}]}],
"images":[{"uri":"oak%20planks.png"}],"buffers":[{"uri":"data.bin","byteLength":4}]}"#;

fn wave(format: u8, bytes: usize) -> Vec<u8> {
    let mut wave = b"RIFF\0\0\0\0WAVEfmt \x10\0\0\0".to_vec();
    wave.extend([format, 0, 1, 0]);
    wave.resize(bytes, 7);
    wave
}

#[test]
fn what_nobody_names_and_what_is_large_for_no_reason() {
    let scene = format!("{SCENE}{}", " ".repeat(1 << 20));
    let plain = wave(1, 2 << 20);
    let spare = wave(1, 1000);
    let mut picture = b"\x89PNG\r\n\x1a\n\0\0\0\x0dIHDR\0\0\x20\0\0\0\x20\0".to_vec();
    picture.resize(2 << 20, 1);
    let files: &[(&str, &[u8])] = &[
        ("mod.xml", MOD.as_bytes()),
        ("rig.machine.xml", MACHINE.as_bytes()),
        ("big rig.gltf", scene.as_bytes()),
        ("data.bin", b"\0\0\0\0"),
        ("oak planks.png", &picture),
        ("noises/pump.wav", &plain),
        ("noises/spare.wav", &spare),
        (
            "spare.gltf",
            br#"{"asset":{"version":"2.0"},"buffers":[{"uri":"spare.bin"}]}"#,
        ),
        ("spare.bin", b"\0"),
        ("README.md", b"for people"),
        ("mod.xml~", b"spare.gltf noises/spare.wav"),
        ("noises/Thumbs.db", b"x"),
        (".hidden", b"x"),
        ("LICENCE", b"for people"),
        ("trunnion.toml", b"largest-document = 2\n"),
    ];
    let yard = Yard::with(files);
    let all = found(&yard);
    assert_eq!(
        pairs(&all),
        [
            ("heavy-file", "big rig.gltf"),
            ("heavy-file", "noises/pump.wav"),
            ("heavy-file", "oak planks.png"),
            ("leftover-file", "mod.xml~"),
            ("leftover-file", "noises/Thumbs.db"),
            ("unused-file", "noises/spare.wav"),
            ("unused-file", "spare.gltf"),
        ]
    );
    // Compressed, or below what is set: nothing to say.
    yard.write("noises/pump.wav", wave(0x55, 2 << 20));
    yard.write("trunnion.toml", "heavy-file = 3\n");
    let left = found(&yard);
    assert!(
        left.iter().all(|(code, _)| code != "heavy-file"),
        "{left:?}"
    );
    // A comment in the manifest accepts them.
    let accepted = format!(
        "<!-- trunnion: accept unused-file, leftover-file because the game looks for them -->\n{MOD}"
    );
    yard.write("mod.xml", accepted);
    assert_eq!(found(&yard), []);
}

#[test]
fn texts_that_a_language_lacks_and_texts_that_all_lack() {
    let rest = "<text key=\"Lower mast\" lang=\"en\">Lower mast</text>\n<text key=\"Raise mast\" lang=\"fr\">Monter</text>\n";
    let rest = format!(
        "{rest}<text key=\"Slew\" lang=\"en\">Slew</text>\n<text key=\"Slew\" lang=\"de\">Drehen</text>\n</mod>"
    );
    let manifest = MOD.replace("</mod>", &rest);
    let machine = MACHINE
        .replace("noises/pump.wav", "pump.ogg")
        .replace("text=\"Raise mast\"", "text=\"Lift mast\"");
    let files: &[(&str, &[u8])] = &[
        ("mod.xml", manifest.as_bytes()),
        ("rig.machine.xml", machine.as_bytes()),
        ("pump.ogg", b"OggS"),
        ("big rig.gltf", SCENE.as_bytes()),
        ("data.bin", b"\0"),
        ("oak planks.png", b"\x89PNG"),
    ];
    let yard = Yard::with(files);
    let all = found(&yard);
    assert_eq!(
        pairs(&all),
        [
            ("missing-text", "rig.machine.xml"),
            // `Lower mast` in German; French has one of three.
            ("untranslated-text", "mod.xml"),
            ("untranslated-text", "mod.xml"),
        ]
    );
    // Both files have one name each, and the place in the machine is told though nothing is wrong in it.
    for (here, folder, shown) in [("yard", ".", ""), ("", "yard", "yard/")] {
        let inside = Yard::empty();
        for (name, content) in files {
            inside.write(&format!("yard/{name}"), content);
        }
        let output = run(&inside.join(here), &["check", "--format", "json", folder]);
        let found: Vec<Value> = serde_json::from_slice(&output.stdout).unwrap();
        assert_eq!(found[0]["file"], format!("{shown}mod.xml"));
        let place = &found[0]["related"][0];
        assert_eq!(place["file"], format!("{shown}rig.machine.xml"));
        assert_eq!(place["range"]["start"]["line"], 5, "{place}");
    }
    let without = MOD
        .lines()
        .filter(|line| !line.contains("<text"))
        .collect::<Vec<_>>();
    yard.write("mod.xml", without.join("\n"));
    assert_eq!(
        found(&yard),
        [],
        "a mod without texts shows what is written"
    );
}

/// In another dialect, whose files name others in texts and with other marks.
#[test]
fn another_dialect_has_the_same() {
    let yard = Yard::empty();
    yard.copy(&corpus().join("dialects/yard"), "");
    assert_eq!(found(&yard), []);
    yard.write("noises/old.ogg", "OggS");
    let dialect = yard.join("yard.dialect.toml");
    let text = fs::read_to_string(&dialect).unwrap();
    let manifest = yard.text("load.xml");
    let element = text.find("[element.\"/load\"]");
    let element = element.expect("the manifest's element is declared");
    let children = text[element..]
        .find("children = [")
        .expect("it has children");
    let mut text = text.clone();
    text.insert_str(element + children + "children = [".len(), "\"saying*\", ");
    text.push_str(
        "\n[element.saying]\ndoc = \"Words.\"\ntext = { type = \"text\" }\nattributes.of = \"text\"\nattributes.tongue = \"text\"\n\
         [[role.wording]]\nat = \"load/saying\"\nkey = \"@of\"\nlanguage = \"@tongue\"\n",
    );
    fs::write(&dialect, text).unwrap();
    let sayings = "<saying of=\"Up\" tongue=\"a\">Up</saying><saying of=\"Up\" tongue=\"b\">Auf</saying><saying of=\"Down\" tongue=\"a\">Down</saying>";
    let end = manifest.find("</load>").unwrap();
    let manifest = format!("{}{sayings}{}", &manifest[..end], &manifest[end..]);
    yard.write("load.xml", manifest);
    let all = found(&yard);
    let codes: Vec<&str> = all.iter().map(|(code, _)| code.as_str()).collect();
    assert!(
        codes.contains(&"unused-file") && codes.contains(&"untranslated-text"),
        "{all:?}"
    );
    assert!(
        all.contains(&("unused-file".to_owned(), "noises/old.ogg".to_owned())),
        "{all:?}"
    );
}

/// In a dialect that was only learnt, in which a manifest is known by its root element alone.
#[test]
fn a_learnt_dialect_has_the_same() {
    let tide = corpus().join("tidework");
    let yard = Yard::with(&[("trunnion.toml", "dialects = [\"tide.dialect.toml\"]\n")]);
    let library = tide.join("library");
    let library = library.to_str().unwrap();
    yard.ends_with(0, &["learn", library, "-o", "tide.dialect.toml"]);
    yard.copy(&tide.join("unseen"), "");
    assert_eq!(found(&yard), []);
    yard.write("reels/rattle.ogg", "OggS");
    yard.write("bundle.xml.bak", "rattle.ogg");
    let all = found(&yard);
    let expected = [
        ("leftover-file", "bundle.xml.bak"),
        ("unused-file", "reels/rattle.ogg"),
    ];
    assert_eq!(pairs(&all), expected);
}

/// Scenes and what machines bring in are no machines, though the dialect knows such documents.
#[test]
fn what_no_machine_is_need_not_be_listed() {
    let yard = Yard::empty();
    yard.copy(&corpus().join("dialects/yard"), "");
    let dialect = format!(
        "{}\n[[document]]\nname = \"limbs\"\nroot = \"limbs\"\n[element.limbs]\nopen = true\n\
         [[document]]\nname = \"tapes\"\nroot = \"tapes\"\n[element.tapes]\ntext = \"text\"\n",
        yard.text("yard.dialect.toml")
    );
    yard.write("yard.dialect.toml", dialect);
    yard.write("noises/tapes.xml", "<tapes>clunk.ogg</tapes>");
    let unlisted = ("unlisted-machine".to_owned(), "rigs/new.rig.xml".to_owned());
    let unused = ("unused-file".to_owned(), "noises/tapes.xml".to_owned());
    assert_eq!(found(&yard), std::slice::from_ref(&unused));
    yard.write("rigs/new.rig.xml", yard.text("rigs/dorrik-9.rig.xml"));
    let all = found(&yard);
    assert!(all.contains(&unlisted) && all.contains(&unused), "{all:?}");
    assert_eq!(all.len(), 2, "{all:?}");
}

#[test]
fn a_baseline_is_no_file_of_the_mod() {
    let yard = Yard::with(&[("mod.xml", MOD), ("rig.machine.xml", MACHINE)]);
    yard.write("spare.bin", "");
    run(&yard, &["check", "--write-baseline", "known.json", "."]);
    let spare = ("unused-file".to_owned(), "spare.bin".to_owned());
    let unused = |yard: &Yard| {
        let found = found(yard).into_iter();
        found
            .filter(|(code, _)| code == "unused-file")
            .collect::<Vec<_>>()
    };
    // What it says of files is no mention of them.
    let known = yard
        .text("known.json")
        .replace("rig.machine.xml", "spare.bin");
    yard.write("known.json", known);
    assert_eq!(unused(&yard), [spare]);
}

#[test]
fn nothing_is_called_unused_beside_more_documents_than_are_looked_at() {
    let yard = Yard::with(&[("mod.xml", MOD), ("rig.machine.xml", MACHINE)]);
    yard.write("notes.bin", "");
    let is_told = |yard: &Yard| {
        let unused = ("unused-file".to_owned(), "notes.bin".to_owned());
        found(yard).contains(&unused)
    };
    assert!(is_told(&yard));
    let said = acceptance::yard::said(&yard.run(&["check", "."]));
    assert!(!said.contains("Only the first"), "{said}");
    for number in 0..2_000 {
        yard.write(&format!("deck/{number}.xml"), "<deck/>");
    }
    assert!(!is_told(&yard));
    // That it is not looked for is told.
    let said = acceptance::yard::said(&yard.run(&["check", "."]));
    assert!(said.contains("Only the first 2000 files"), "{said}");
}
