//! What is written as a dialect file is read as what it was.

use dialect::{Dialect, Draft};

const HEAD: &str = "[dialect]\nname = \"quay\"\nformat = 1\n";
const RIG: &str = "[[document]]\nname = \"rig\"\nroot = \"rig\"\n";

fn read(toml: &str) -> Dialect {
    Dialect::read(toml, None).unwrap_or_else(|problems| panic!("{problems:#?}\n{toml}"))
}

/// All of a dialect that a draft can hold, but for its roles.
fn draft(dialect: &Dialect) -> Draft {
    let elements = dialect.elements().iter();
    Draft {
        name: dialect.name.clone(),
        title: dialect.title.clone(),
        doc: dialect.doc.clone(),
        notation: dialect.notation.clone(),
        documents: dialect
            .documents
            .iter()
            .map(|kind| (**kind).clone())
            .collect(),
        word_lists: dialect.word_lists.clone(),
        scopes: dialect.scopes.clone(),
        elements: elements
            .map(|element| (element.clone(), Vec::new()))
            .collect(),
        inputs: dialect.inputs.clone(),
        scene_format: dialect
            .scene_format
            .clone()
            .map(|format| (format, Vec::new())),
        ..Draft::default()
    }
}

/// What was written, after it was read again and found to be the same.
fn written(toml: &str) -> String {
    let was = read(&format!("{HEAD}{toml}"));
    let written = draft(&was).write();
    let is = read(&written);
    assert_eq!(is.notation, was.notation, "{written}");
    assert_eq!(is.documents, was.documents, "{written}");
    assert_eq!(is.word_lists, was.word_lists, "{written}");
    assert_eq!(is.scopes, was.scopes, "{written}");
    assert_eq!(is.elements(), was.elements(), "{written}");
    assert_eq!(is.inputs, was.inputs, "{written}");
    assert_eq!(is.scene_format, was.scene_format, "{written}");
    written
}

#[test]
fn of_the_notation_only_what_differs_is_written() {
    let plain = written(&format!("{RIG}[element.rig]\n"));
    for section in ["[notation", "[units]", "[files]"] {
        assert!(!plain.contains(section), "{plain}");
    }
    for said in [
        "[units]\nlength = \"cm\"\n",
        "[units]\nangle = \"rad\"\ntime = \"ms\"\nmass = \"t\"\n",
        "[notation]\ndecimal-mark = \",\"\nvector-separator = \";\"\n",
        "[notation]\nyes = [\"aye\", \"yes\"]\n",
        "[notation]\nno = \"nay\"\n",
        "[notation]\neuler = \"yxz\"\n",
        "[notation.index-path]\nseparator = \".\"\nafter-root = \":\"\nafter-root-always = true\nroot-mark = \"#\"\nfirst = 1\n",
        "[notation.index-path]\nseparator = \"|\"\nroot-number = false\nfirst = 0\n",
        "[notation.node-name]\nseparator = \"/\"\nfrom = \"root\"\n",
        "[files]\ngame-prefix = \"yard:\"\nfolder-separator = [\"\\\\\", \"/\"]\nfrom = \"mod\"\n",
    ] {
        let written = written(&format!("{said}{RIG}[element.rig]\n"));
        for line in said.lines() {
            assert!(
                written.lines().any(|known| known == line),
                "{line}\n{written}"
            );
        }
        let lines = said.lines().count() + 1;
        assert_eq!(
            written.lines().count(),
            plain.lines().count() + lines,
            "{written}"
        );
    }
}

#[test]
fn every_type_of_value_is_written_as_it_was() {
    let attributes = r##"text = "text"
answer = { type = "boolean", yes = ["on", "up"], no = "off" }
count = { type = "integer", min = 1, below = 9 }
wide = { type = "number", quantity = "length", unit = "cm", above = 0, max = 2.5 }
place = { type = "vector", count = 3, separator = ",", quantity = "length", unit = "mm", min = -1 }
hex = { type = "colour", mark = "0x" }
hash = "colour"
bytes = { type = "colour", parts = "bytes", separator = "," }
shares = { type = "colour", parts = "shares" }
pace = { type = "word", words = "pace" }
knot = { type = "word", words = ["hitch", "bend"] }
told = { type = "word", words = { hitch = "Holds." } }
id = { type = "name", of = "rig" }
other = { type = "reference", of = ["rig", "limb"], list = { separator = ",", min = 1, max = 3 } }
nth = { type = "position", of = "rig", first = 1 }
node = { type = "node", accepts = ["limb", "index-path", "node-name"] }
way = "index-path"
file = { type = "file", extensions = ["ogg", "wav"] }
any = "file"
input = { type = "input", kind = "analog" }
button = "input"
moved = { type = "moved-value", separator = ";", unit = ["cm", "rad"] }
plainly = "moved-value"
spot = { type = "vector", count = 2 }
"##;
    let written = written(&format!(
        r##"{RIG}
[words.pace]
even = "At constant speed."
[inputs]
analog = ["thumb"]
digital = ["key"]
[element.rig]
children = ["limb*"]
[element.rig.attributes]
{attributes}[element.limb.attributes]
id = {{ type = "name", of = "limb", required = true }}
"##
    ));
    // As it was, and nothing more.
    for line in attributes.lines() {
        assert!(
            written.lines().any(|known| known == line),
            "{line}\n{written}"
        );
    }
}

#[test]
fn every_way_of_writing_scenes_is_written_as_it_was() {
    let notation = "[notation]\ndecimal-mark = \",\"\neuler = \"zyx\"\n";
    for said in [
        "name = \"@id\"\n",
        "namespace = \"urn:quay:tree\"\nfiles = [\"*.tree.xml\"]\ntop = \"limbs\"\nchildren = \"parts\"\n",
        "translation = \"@at\"\nrotation = \"@turn\"\nscale = \"@size\"\nvisible = \"@shown\"\nyes = \"on\"\nno = \"off\"\n",
        "euler = \"xyz\"\n",
        "rotation = \"@turn\"\neuler = \"xyz\"\n",
        "rotation = \"@turn\"\nrotation-form = \"quaternion-xyzw\"\n",
        "rotation = \"@turn\"\nrotation-form = \"quaternion-wxyz\"\n",
        "rotation = \"turn\"\nrotation-form = \"axis-angle\"\n",
        "matrix = \"@matrix\"\nmatrix-order = \"columns\"\n",
        "matrix = \"@matrix\"\nbounds = \"@box\"\ndecimal-mark = \".\"\nvector-separator = \";\"\n",
        "bounds-min = \"@least\"\nbounds-max = \"@most\"\nunits = { length = \"cm\", angle = \"rad\" }\n",
    ] {
        let scene = format!("[scene]\nroot = \"tree\"\nnode = [\"limb\"]\n{said}");
        let written = written(&format!("{notation}{RIG}[element.rig]\n{scene}"));
        // Nothing is said that need not be.
        let (_, written) = written.split_once("[scene]\n").unwrap();
        let mut lines: Vec<&str> = written.lines().collect();
        let mut expected: Vec<&str> = scene.lines().skip(1).collect();
        lines.sort_unstable();
        expected.sort_unstable();
        assert_eq!(lines, expected, "{scene}");
    }
}
