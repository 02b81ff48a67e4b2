//! Values that name entities of the document's own.

use super::{Fixture, said};

/// The codes and places of what is said of a machine with such a head and body.
fn codes(subset: &str, body: &str) -> Vec<String> {
    let text = format!(
        "<!DOCTYPE machine [{subset}]>\n<machine xmlns=\"urn:trunnion:machine:1\" id=\"rig\" scene=\"rig.gltf\">\n{body}</machine>\n"
    );
    let said = said(&Fixture::house(&text).file("rig.gltf"));
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
