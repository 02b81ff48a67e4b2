//! Values that name entities of the document's own.

use super::{Fixture, said};

/// What is said of a machine with such a head and body.
fn said_of_all(subset: &str, body: &str) -> String {
    let text = format!(
        "<!DOCTYPE machine [{subset}]>\n<machine xmlns=\"urn:trunnion:machine:1\" id=\"rig\" scene=\"rig.gltf\">\n{body}</machine>\n"
    );
    said(&Fixture::house(&text).file("rig.gltf"))
}

/// The codes of its errors.
fn codes(subset: &str, body: &str) -> Vec<String> {
    let said = said_of_all(subset, body);
    let errors = said.lines().filter(|line| line.starts_with("error"));
    errors
        .filter_map(|line| Some(line.split(' ').nth(1)?.to_owned()))
        .collect()
}

const BODY: &str = r#"  <aliases>
    <alias name="mast" path="&node;"/>
  </aliases>
  <animations>
    <animation id="raise" duration="&long;&long;">
      <channel target="&mast;" property="translation" begin="0" end="1" from="0 1 0" to="0 2 0"/>
    </animation>
  </animations>
  <controls>
    <switch animation="&raise;" input="button.raise" glyph="&lift;"/>
  </controls>
"#;

#[test]
fn nobody_can_say_whether_they_are_right() {
    let declared = ["node", "long", "mast", "raise", "lift"];
    let subset = declared.map(|name| format!("<!ENTITY {name} \"x\">"));
    assert_eq!(codes(&subset.concat(), BODY), Vec::<String>::new());
}

/// A name that is given, or used, by what an entity stands for.
#[test]
fn names_in_them_are_known_to_others() {
    let body = r#"  <aliases>
    <alias name="&part;" path="0/2"/>
    <alias name="boom" path="0/1"/>
  </aliases>
  <bodies>
    <body node="mast" mass="1"/>
    <body node="&other;" mass="1"/>
    <body node="jib" mass="1"/>
  </bodies>
"#;
    let part = "<!ENTITY part \"mast\">";
    let other = "<!ENTITY other \"boom\">";
    let said = |subset: &str| {
        let found = said_of_all(subset, body);
        let about = found.lines().filter(|line| line.contains(" at `"));
        let about = about.filter_map(|line| line.split('`').nth(1));
        about.map(str::to_owned).collect::<Vec<_>>()
    };
    assert_eq!(said(&format!("{part}{other}")), ["jib"]);
    // What is not known to be plain text stands for nothing.
    let inner = "<!ENTITY m \"mast\"><!ENTITY part \"&m;\">";
    assert_eq!(said(&format!("{inner}{other}")), ["mast", "jib"]);
    assert_eq!(
        said(&format!("{part}<!ENTITY other \"boo\">")),
        ["boom", "jib"]
    );
}

#[test]
fn values_beside_them_and_plain_references_are_judged() {
    let subset = "<!ENTITY long \"4\">";
    let body = r#"  <animations>
    <animation id="raise" duration="&long;">
      <channel target="0" property="&lt;turn" begin="&#120;" end="&long;" from="0 1 0" to="0 2 0"/>
    </animation>
  </animations>
"#;
    let found = codes(subset, body);
    assert!(found.contains(&"wrong-type".to_owned()), "{found:?}");
    assert!(found.contains(&"unknown-word".to_owned()), "{found:?}");
    assert_eq!(found.len(), 2, "{found:?}");
}
