//! What was learnt with exceptions is binding in a schema as far as all examples keep it.

use dialect::Dialect;
use schema::{Language, export};

const CANAL: &str = r#"
[dialect]
name = "canal"
format = 1
[[document]]
name = "canal"
root = "canal"
namespace = ""
[element.canal]
children = ["sluice+", "boat*"]
[element.sluice]
children = ["gate", "pump?"]
order = "listed"
strict = false
learnt = { seen = 40, exceptions = ["3.xml:1"], kept = { children = ["gate+", "pump?"], order = "listed" } }
[element.sluice.attributes]
name = { type = "name", of = "sluice", required = true, strict = false, learnt = { seen = 40 } }
depth = { type = "number", strict = false, learnt = { seen = 38, of = 40, exceptions = ["5.xml:1"], besides = ["", "abyss"] } }
[element.gate]
[element.pump]
[element.boat.attributes]
at = { type = "reference", of = "sluice", required = true, strict = false, learnt = { seen = 9, exceptions = ["8.xml:1"], besides = [] } }
"#;

fn schema(language: Language, changes: &[(&str, &str)]) -> String {
    let toml = changes.iter().fold(CANAL.to_owned(), |toml, (from, to)| {
        assert!(toml.contains(from), "{from}");
        toml.replace(from, to)
    });
    let dialect = Dialect::read(&toml, None).unwrap_or_else(|problems| panic!("{problems:#?}"));
    export(&dialect, language).remove(0).text
}

/// The text without the blanks between its tags.
fn dense(text: &str) -> String {
    text.lines().map(str::trim).collect()
}

#[test]
fn of_elements_that_an_attribute_tells_apart_anything_is_allowed() {
    let sorts = "[element.boat]\n[element.\"boat[@sort='raft']\"]\nchildren = [\"gate\"]\ntext = \"text\"\n";
    let whole =
        "[element.boat.attributes]\nat = { type = \"reference\", of = \"sluice\", required = true";
    let xsd = dense(&schema(
        Language::Xsd,
        &[(
            whole,
            &format!(
                "{sorts}{}",
                whole.replace("element.boat.", "element.\"boat[@sort='barge']\".")
            ),
        )],
    ));
    let boat = xsd.split("<xs:complexType name=\"boat\"").nth(1).unwrap();
    let boat = boat.split("</xs:complexType>").next().unwrap();
    assert!(boat.starts_with(" mixed=\"true\""), "{xsd}");
    assert!(
        boat.contains("<xs:any ") && boat.contains("<xs:anyAttribute "),
        "{xsd}"
    );
}

#[test]
fn xml_schema_says_what_is_kept() {
    let xsd = dense(&schema(Language::Xsd, &[]));
    let sluice = r#"<xs:complexType name="sluice"><xs:sequence><xs:element name="gate" type="gate" maxOccurs="unbounded"/><xs:element name="pump" type="pump" minOccurs="0"/></xs:sequence>"#;
    assert!(xsd.contains(sluice), "{xsd}");
    let abyss = r#"<xs:simpleType><xs:restriction base="xs:token"><xs:enumeration value="abyss"/></xs:restriction></xs:simpleType>"#;
    assert!(xsd.contains(abyss), "{xsd}");
    assert!(xsd.contains("<xs:unique "), "{xsd}");
    assert!(!xsd.contains("<xs:keyref "), "{xsd}");
    // Names that were given twice are not unique, but still names.
    let repeated = "learnt = { seen = 40, exceptions = [\"6.xml:1\"], besides = [] } }";
    let xsd = schema(Language::Xsd, &[("learnt = { seen = 40 } }", repeated)]);
    assert!(!xsd.contains("<xs:unique "), "{xsd}");
    assert!(xsd.contains("<xs:minLength value=\"1\"/>"), "{xsd}");
}

#[test]
fn relax_ng_says_what_is_kept() {
    let rng = dense(&schema(Language::Rng, &[]));
    let sluice = r#"<group><oneOrMore><element name="gate"><ref name="gate"/></element></oneOrMore><optional><element name="pump"><ref name="pump"/></element></optional></group>"#;
    assert!(rng.contains(sluice), "{rng}");
    assert!(
        rng.contains(r#"<value type="token">abyss</value></choice>"#),
        "{rng}"
    );
}

#[test]
fn nothing_is_said_of_what_is_not_known() {
    for (from, to) in [
        // A record as it was before there was such a key, and one that is about other children.
        (
            ", kept = { children = [\"gate+\", \"pump?\"], order = \"listed\" }",
            "",
        ),
        (
            "children = [\"gate+\", \"pump?\"]",
            "children = [\"gate+\"]",
        ),
    ] {
        let rng = dense(&schema(Language::Rng, &[(from, to)]));
        let sluice =
            r#"<zeroOrMore><element name="gate"><ref name="gate"/></element></zeroOrMore>"#;
        assert!(rng.contains(sluice), "{rng}");
    }
    let rng = dense(&schema(
        Language::Rng,
        &[(", besides = [\"\", \"abyss\"]", "")],
    ));
    assert!(
        rng.contains(r#"<attribute name="depth" ns=""><text/>"#),
        "{rng}"
    );
    // What somebody vouches for is not loosened.
    let rng = dense(&schema(
        Language::Rng,
        &[(
            "order = \"listed\"\nstrict = false\nlearnt",
            "order = \"listed\"\nlearnt",
        )],
    ));
    let sluice = r#"<group><element name="gate"><ref name="gate"/></element><optional>"#;
    assert!(rng.contains(sluice), "{rng}");
}
