//! How often children may stand where content models of XML Schema cannot say it.

use dialect::Dialect;
use schema::{Exported, Language, export};

const SLIPWAY: &str = r#"
[dialect]
name = "slipway"
format = 1
[[document]]
name = "slipway"
root = "slipway"
namespace = "urn:ternholt:slipway:1"
[element.slipway]
children = ["(bell? | rope | keel?)+", "fender*"]
order = "listed"
[element.bell]
text = "text"
[element.rope]
[element.keel]
children = ["beam"]
[element.beam]
attributes.length = { type = "number", required = true }
[element.fender]
children = ["(a | b)?", "c?", "d?", "e?", "f", "h?", "g*"]
[element.a]
[element.b.attributes]
weak = "text"
strong = { type = "text", required = true }
[element.c.attributes]
weak = "text"
[element.d]
text = "number"
[element.e]
children = ["beam"]
[element.f]
[element.g]
[element.h.attributes]
weak = "text"
"#;

fn exported(language: Language) -> Exported {
    let dialect = Dialect::read(SLIPWAY, None).unwrap_or_else(|problems| panic!("{problems:#?}"));
    export(&dialect, language).remove(0)
}

/// The text without the blanks between its tags.
fn dense(text: &str) -> String {
    text.lines().map(str::trim).collect()
}

#[test]
fn a_field_that_would_lead_to_two_nodes_allows_one_child() {
    let exported = exported(Language::Xsd);
    let xsd = dense(&exported.text);
    let fields: Vec<&str> = xsd
        .split(r#"<xs:selector xpath="."/><xs:field xpath=""#)
        .skip(1)
        .filter_map(|rest| rest.split('"').next())
        .collect();
    assert_eq!(
        fields,
        [
            "own:bell",
            "own:keel/own:beam/@length",
            "own:b/@strong",
            "own:c/@weak",
            "own:d",
            "own:e/own:beam/@length",
            "own:h/@weak",
        ],
        "{xsd}"
    );
    // The names of constraints are unique.
    let mut names: Vec<&str> = xsd.split("<xs:unique name=\"").skip(1).collect();
    let count = names.len();
    names.sort_unstable_by_key(|rest| rest.split('"').next());
    names.dedup_by_key(|rest| rest.split('"').next());
    assert_eq!(names.len(), count);
    // Nothing tells two `<a>` or two `<f>` from one: that is said.
    let mut notes = exported.notes.iter();
    let told = notes.find(|note| {
        note.text
            .starts_with("how often children may stand is looser")
    });
    assert_eq!(
        told.map(|note| note.about.as_slice()),
        Some(["fender".to_owned()].as_slice())
    );
}

#[test]
fn relax_ng_counts_each_of_several_that_stand_for_each_other() {
    let exported = exported(Language::Rng);
    let rng = dense(&exported.text);
    // One way for each of the three that may be the one that must be there.
    let rope = r#"<element name="rope"><ref name="rope"/></element>"#;
    assert_eq!(
        rng.matches(&format!("<oneOrMore>{rope}</oneOrMore>"))
            .count(),
        1,
        "{rng}"
    );
    assert_eq!(
        rng.matches(&format!("<zeroOrMore>{rope}</zeroOrMore>"))
            .count(),
        2,
        "{rng}"
    );
    let bell = r#"<element name="bell"><ref name="bell"/></element>"#;
    assert_eq!(
        rng.matches(&format!("<optional>{bell}</optional>")).count(),
        2,
        "{rng}"
    );
    assert!(
        exported
            .notes
            .iter()
            .all(|note| !note.text.contains("looser"))
    );
}
