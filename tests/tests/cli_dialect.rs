//! `trunnion dialect` as a person or a script runs it.

use std::fs;

use acceptance::desk::corpus;
use acceptance::program::{stderr, stdout};
use acceptance::yard::Yard;

fn schema(body: &str) -> String {
    format!("<xs:schema xmlns:xs='http://www.w3.org/2001/XMLSchema'>{body}</xs:schema>")
}

#[test]
fn an_imported_dialect_is_used_at_once() {
    let main = schema(
        "<xs:include schemaLocation='parts/common.xsd'/>
         <xs:element name='hut'><xs:complexType><xs:attribute name='colour' type='Colour'/></xs:complexType></xs:element>",
    );
    let common = schema(
        "<xs:simpleType name='Colour'><xs:restriction base='xs:token'><xs:enumeration value='red'/>
         <xs:enumeration value='blue'/></xs:restriction></xs:simpleType>",
    );
    let yard = Yard::with(&[
        ("hut.xsd", main.as_str()),
        ("parts/common.xsd", &common),
        ("trunnion.toml", "dialects = [\"hut.dialect.toml\"]"),
        ("a.xml", "<hut colour='red'/>"),
        ("b.xml", "<hut colour='rad'/>"),
    ]);
    let imported = yard.run(&["dialect", "import", "hut.xsd", "-o", "hut.dialect.toml"]);
    assert_eq!(imported.status.code(), Some(0), "{}", stderr(&imported));
    assert!(stdout(&yard.run(&["check", "a.xml"])).contains("nothing to complain"));
    let checked = yard.run(&["check", "b.xml"]);
    assert!(
        stdout(&checked).contains("unknown-word"),
        "{}",
        stdout(&checked)
    );
    // It may have been edited since.
    let again = yard.run(&["dialect", "import", "hut.xsd", "-o", "hut.dialect.toml"]);
    assert_eq!(again.status.code(), Some(2));
    assert!(
        stderr(&again).contains("is there already"),
        "{}",
        stderr(&again)
    );
}

#[test]
fn nothing_is_read_from_elsewhere() {
    let main = schema(
        "<xs:include schemaLocation='../outside.xsd'/>
         <xs:include schemaLocation='http://127.0.0.1:9/net.xsd'/>
         <xs:include schemaLocation='//127.0.0.1/net.xsd'/>
         <xs:include schemaLocation='file:///etc/passwd'/>
         <xs:include schemaLocation='/etc/passwd'/>
         <xs:element name='hut' type='T'/>",
    );
    let outside = schema("<xs:complexType name='T'><xs:attribute name='secret'/></xs:complexType>");
    let yard = Yard::with(&[("in/hut.xsd", &main), ("outside.xsd", &outside)]);
    let refused = yard.run(&["dialect", "import", "in/hut.xsd"]);
    assert_eq!(refused.status.code(), Some(0), "{}", stderr(&refused));
    assert!(!stdout(&refused).contains("secret"));
    for location in [
        "../outside.xsd",
        "http://127.0.0.1:9/net.xsd",
        "file:///etc/passwd",
        "/etc/passwd",
    ] {
        assert!(stderr(&refused).contains(location), "{}", stderr(&refused));
    }
    assert!(stderr(&refused).contains("nothing is read from the network"));
    let allowed = yard.run(&["dialect", "import", "in/hut.xsd", "--within", "."]);
    assert!(stdout(&allowed).contains("secret"), "{}", stderr(&allowed));
}

#[test]
fn what_is_no_schema_is_refused_with_a_reason() {
    let yard = Yard::with(&[("a.xsd", "<a/>"), ("b.xsd", "<a>")]);
    for (file, reason) in [
        ("a.xsd", "it is no XML Schema"),
        ("b.xsd", "not well-formed"),
        ("none.xsd", "cannot be read"),
        (".", "cannot be read"),
    ] {
        let refused = yard.run(&["dialect", "import", file]);
        assert_eq!(refused.status.code(), Some(2), "{file}");
        assert!(stderr(&refused).contains(reason), "{}", stderr(&refused));
        assert!(refused.stdout.is_empty());
    }
}

#[test]
fn a_schema_is_about_one_namespace() {
    let yard = Yard::with(&[("keep.txt", "")]);
    let several = yard.run(&["dialect", "export", "house", "--xsd"]);
    assert_eq!(several.status.code(), Some(2));
    assert!(
        stderr(&several).contains("--document machine or --document mod"),
        "{}",
        stderr(&several)
    );
    let one = yard.run(&["dialect", "export", "house", "--rng", "--document", "mod"]);
    assert_eq!(one.status.code(), Some(0), "{}", stderr(&one));
    assert!(stdout(&one).contains("urn:trunnion:mod:1"));
    let all = yard.run(&["dialect", "export", "house", "--xsd", "-o", "all"]);
    assert_eq!(all.status.code(), Some(0), "{}", stderr(&all));
    assert!(
        stderr(&all).contains("roles, units"),
        "what is lost is told"
    );
    for name in ["machine.xsd", "mod.xsd"] {
        assert!(yard.join("all").join(name).is_file(), "{name}");
    }
    let dialect = corpus().join("dialects/yard/yard.dialect.toml");
    let out = yard.join("yard.xsd");
    let arguments = [
        "dialect",
        "export",
        dialect.to_str().unwrap(),
        "--xsd",
        "-o",
        out.to_str().unwrap(),
    ];
    // What is there already is written anew.
    for _ in 0..2 {
        let one = yard.run(&arguments);
        assert_eq!(one.status.code(), Some(0), "{}", stderr(&one));
    }
    assert!(fs::read_to_string(&out).unwrap().contains("xs:schema"));
}

#[test]
fn a_schema_takes_the_place_of_a_schema_only() {
    let yard = Yard::with(&[("own.xml", "<own/>\n")]);
    let export = |language: &str, file: &str| {
        yard.run(&[
            "dialect",
            "export",
            "house",
            language,
            "--document",
            "mod",
            "-o",
            file,
        ])
    };
    for (file, language, code) in [
        ("own.xml", "--xsd", 2),
        ("mod.xsd", "--xsd", 0),
        ("mod.xsd", "--xsd", 0),
        ("mod.xsd", "--rng", 2),
    ] {
        let output = export(language, file);
        assert_eq!(output.status.code(), Some(code), "{}", stderr(&output));
    }
    assert_eq!(yard.text("own.xml"), "<own/>\n");
    assert!(yard.text("mod.xsd").contains("<xs:schema"));
}
