//! Elements of other namespaces may stand where some were learnt.

use dialect::Dialect;
use schema::{Language, export};

const CANAL: &str = r#"
[dialect]
name = "canal"
format = 1
[[document]]
name = "canal"
root = "canal"
namespace = "urn:ternholt:canal:1"
[element.canal]
children = ["gate", "sluice*"]
order = "listed"
learnt = { seen = 3, foreign = 1 }
[element.gate]
text = { type = "name", of = "gate", required = true }
learnt = { seen = 3, foreign = 2 }
[element.sluice]
children = ["pump?", "depth?"]
learnt = { seen = 9, foreign = 4 }
[element.pump]
[element.depth]
text = "number"
"#;

fn exported(language: Language) -> String {
    exported_of(CANAL, language)
}

fn exported_of(dialect: &str, language: Language) -> String {
    let dialect = Dialect::read(dialect, None).unwrap_or_else(|problems| panic!("{problems:#?}"));
    let text = export(&dialect, language).remove(0).text;
    text.lines().map(str::trim).collect()
}

const FOREIGN: &str = r###"<xs:any namespace="##other" processContents="lax" minOccurs="0" maxOccurs="unbounded"/>"###;

#[test]
fn in_xml_schema_behind_each_element() {
    let xsd = exported(Language::Xsd);
    let behind = |element: &str, counts: &str| {
        format!(
            "<xs:sequence{counts}><xs:element name=\"{element}\" type=\"{element}\"/>{FOREIGN}</xs:sequence>"
        )
    };
    let canal = format!(
        "<xs:complexType name=\"canal\"><xs:sequence>{FOREIGN}<xs:sequence>{}{}</xs:sequence></xs:sequence>",
        behind("gate", ""),
        behind("sluice", " minOccurs=\"0\" maxOccurs=\"unbounded\"")
    );
    assert!(xsd.contains(&canal), "{xsd}");
    // Nothing can stand in `all`.
    assert!(!xsd.contains("<xs:all>"), "{xsd}");
    // Text beside elements has no type, and gives no name.
    let gate = format!(
        "<xs:complexType name=\"gate\" mixed=\"true\"><xs:sequence>{FOREIGN}</xs:sequence>"
    );
    assert!(xsd.contains(&gate), "{xsd}");
    assert!(!xsd.contains("<xs:unique"), "{xsd}");
}

#[test]
fn in_relax_ng_anywhere() {
    let rng = exported(Language::Rng);
    let gate = r#"<interleave><text/><ref name="foreign..elements"/></interleave>"#;
    assert!(rng.contains(gate), "{rng}");
}

/// Whatever an open element may have besides, attributes with a prefix are among it: a name without a namespace has none.
#[test]
fn in_relax_ng_attributes_with_a_prefix_go_without_a_name() {
    let open = "[element.pump]\nopen = true\nattributes.\"v:sort\" = \"text\"\n";
    let with = |attribute: &str| {
        let canal = CANAL.replace("[element.pump]\n", &format!("{open}{attribute}"));
        exported_of(&canal, Language::Rng)
    };
    let rng = with("");
    let any = "<attribute><anyName></anyName></attribute>";
    assert!(rng.contains(any) && !rng.contains("v:sort"), "{rng}");
    let rng = with("attributes.high = \"number\"\n");
    let any = r#"<anyName><except><name ns="">high</name></except></anyName>"#;
    assert!(rng.contains(any) && !rng.contains("v:sort"), "{rng}");
}
