//! What a control does not say is what the dialect says the game takes.

use dialect::{Dialect, Easing, Property};
use machine::Machine;

const HOUSE: &str = include_str!("../../dialect/src/house.dialect.toml");
const YARD: &str = include_str!("../../../corpus/dialects/yard/yard.dialect.toml");

fn read(dialect: &str, root: (Option<&str>, &str), file: &str, text: &str) -> Machine {
    let dialect = Dialect::read(dialect, None).unwrap();
    let kind = dialect.document_for(Some(root), file).unwrap();
    machine::read(&syntax::parse(text), &dialect, kind)
}

fn with_default(dialect: &str, was: &str, default: &str) -> String {
    let now = was.replace("default = \"1\"", &format!("default = \"{default}\""));
    assert!(dialect.contains(was) && was != now);
    dialect.replace(was, &now)
}

#[test]
fn of_attributes() {
    let gain = r#"gain = { type = "number", above = 0, max = 10, default = "1""#;
    let rate = r#"rate = { type = "number", above = 0, default = "1", usual = "1", doc = "How fast the animation may"#;
    let dialect = with_default(&with_default(HOUSE, gain, "3"), rate, "0.5");
    let root = (Some("urn:trunnion:machine:1"), "machine");
    let text = r#"<machine xmlns="urn:trunnion:machine:1"><controls>
        <lever animation="a" input="pointer.x"/><lever animation="a" input="pointer.y" gain="2" rate="4"/>
        <switch animation="a" input="button.open"/></controls></machine>"#;
    let machine = read(&dialect, root, "a.machine.xml", text);
    let said = |control: &machine::Control| (control.gain(), control.rate());
    let said: Vec<_> = machine.controls.iter().map(said).collect();
    // A switch has no gain, and a rate of its own declaration.
    assert_eq!(said, [(3.0, 0.5), (2.0, 4.0), (1.0, 1.0)]);
}

#[test]
fn of_elements_in_the_dialects_notation() {
    let tempo = "above = 0, required = true, default = \"1\", usual = \"1\" }";
    let dialect = with_default(YARD, tempo, "2,5");
    let text = r#"<rig><hands><hand way="key"><stroke>unfold</stroke><grip>key-a</grip></hand>
        <hand way="key"><stroke>unfold</stroke><grip>key-a</grip><tempo>0,5</tempo></hand></hands></rig>"#;
    let machine = read(&dialect, (None, "rig"), "a.rig.xml", text);
    let rates: Vec<f64> = machine
        .controls
        .iter()
        .map(machine::Control::rate)
        .collect();
    assert_eq!(rates, [2.5, 0.5]);
}

/// A word that is not written is the one that its declaration names, also where several motions go by it.
#[test]
fn a_word_that_is_left_out_is_the_default() {
    let dialect = r#"
[dialect]
name = "x"
format = 1
[[document]]
name = "x"
root = "x"
[element.x]
children = ["go*"]
[element.go.attributes]
node = "index-path"
from = "number"
until = "number"
what = { type = "word", words = ["slide", "turn"], default = "turn" }
pace = { type = "word", words = ["even", "soft"], default = "soft" }
a = "moved-value"
b = "moved-value"
[[role.animation]]
at = "x"
[[role.channel]]
at = "go"
node = "@node"
begin = "@from"
end = "@until"
easing = { at = "@pace", linear = "even", smooth = "soft" }
[[role.channel.motion]]
property = { at = "@what", translation = "slide" }
from = "@a"
to = "@b"
[[role.channel.motion]]
property = { at = "@what", rotation = "turn" }
from = "@a"
to = "@b"
"#;
    words_are_left_out(dialect);
    // What may stand in the documents' roots is not known then.
    let sorts = dialect
        .replace("children = [\"go*\"]", "open = true")
        .replace("[element.go.attributes]", "[element.go]\nopen = true\nattributes.k = { type = \"word\", words = [\"m\"] }\n[element.\"go[@k='m']\".attributes]\nk = { type = \"word\", words = [\"m\"] }")
        .replace("at = \"go\"", "at = \"go[@k='m']\"");
    words_are_left_out(&sorts);
}

fn words_are_left_out(dialect: &str) {
    let dialect = Dialect::read(dialect, None).unwrap_or_else(|problems| panic!("{problems:#?}"));
    let go =
        |said: &str| format!("<go k='m' node='0' from='0' until='1' a='0 0 0' b='0 90 0' {said}/>");
    let text = format!("<x>{}{}</x>", go(""), go("what='slide' pace='even'"));
    let machine = machine::read(&syntax::parse(&text), &dialect, &dialect.documents[0]);
    let channels = machine.animations[0].channels.iter();
    let read = channels.map(|channel| {
        let properties = channel.motions.iter().map(|motion| motion.property);
        (channel.easing, properties.collect::<Vec<_>>())
    });
    let turned = (Easing::Smooth, vec![Some(Property::Rotation)]);
    let slid = (Easing::Linear, vec![Some(Property::Translation)]);
    assert_eq!(read.collect::<Vec<_>>(), [turned, slid]);
}
