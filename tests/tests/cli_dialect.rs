//! `trunnion dialect` as a person or a script runs it.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use acceptance::{outside, program};

fn trunnion(arguments: &[&str], folder: &Path) -> Output {
    let mut command = Command::new(program::path());
    command
        .args(arguments)
        .current_dir(folder)
        .output()
        .unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

/// A folder of this test's own with these files.
fn folder(name: &str, files: &[(&str, &str)]) -> PathBuf {
    let folder = std::env::temp_dir().join(format!(
        "trunnion-cli-dialect-{}-{name}",
        std::process::id()
    ));
    let _ = fs::remove_dir_all(&folder);
    for (name, content) in files {
        let file = folder.join(name);
        fs::create_dir_all(file.parent().unwrap()).unwrap();
        fs::write(file, content).unwrap();
    }
    folder
}

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
    let folder = folder(
        "used",
        &[
            ("hut.xsd", &main),
            ("parts/common.xsd", &common),
            ("trunnion.toml", "dialects = [\"hut.dialect.toml\"]"),
            ("a.xml", "<hut colour='red'/>"),
            ("b.xml", "<hut colour='rad'/>"),
        ],
    );
    let imported = trunnion(
        &["dialect", "import", "hut.xsd", "-o", "hut.dialect.toml"],
        &folder,
    );
    assert_eq!(
        imported.status.code(),
        Some(0),
        "{}",
        text(&imported.stderr)
    );
    assert!(text(&trunnion(&["check", "a.xml"], &folder).stdout).contains("nothing to complain"));
    let checked = trunnion(&["check", "b.xml"], &folder);
    assert!(
        text(&checked.stdout).contains("unknown-word"),
        "{}",
        text(&checked.stdout)
    );
    // It may have been edited since.
    let again = trunnion(
        &["dialect", "import", "hut.xsd", "-o", "hut.dialect.toml"],
        &folder,
    );
    assert_eq!(again.status.code(), Some(2));
    assert!(
        text(&again.stderr).contains("is there already"),
        "{}",
        text(&again.stderr)
    );
    fs::remove_dir_all(folder).unwrap();
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
    let folder = folder(
        "elsewhere",
        &[("in/hut.xsd", &main), ("outside.xsd", &outside)],
    );
    let refused = trunnion(&["dialect", "import", "in/hut.xsd"], &folder);
    assert_eq!(refused.status.code(), Some(0), "{}", text(&refused.stderr));
    assert!(!text(&refused.stdout).contains("secret"));
    for location in [
        "../outside.xsd",
        "http://127.0.0.1:9/net.xsd",
        "file:///etc/passwd",
        "/etc/passwd",
    ] {
        assert!(
            text(&refused.stderr).contains(location),
            "{}",
            text(&refused.stderr)
        );
    }
    assert!(text(&refused.stderr).contains("nothing is read from the network"));
    let allowed = trunnion(
        &["dialect", "import", "in/hut.xsd", "--within", "."],
        &folder,
    );
    assert!(
        text(&allowed.stdout).contains("secret"),
        "{}",
        text(&allowed.stderr)
    );
    fs::remove_dir_all(folder).unwrap();
}

#[test]
fn what_is_no_schema_is_refused_with_a_reason() {
    let folder = folder("refused", &[("a.xsd", "<a/>"), ("b.xsd", "<a>")]);
    for (file, reason) in [
        ("a.xsd", "it is no XML Schema"),
        ("b.xsd", "not well-formed"),
        ("none.xsd", "cannot be read"),
        (".", "cannot be read"),
    ] {
        let refused = trunnion(&["dialect", "import", file], &folder);
        assert_eq!(refused.status.code(), Some(2), "{file}");
        assert!(
            text(&refused.stderr).contains(reason),
            "{}",
            text(&refused.stderr)
        );
        assert!(refused.stdout.is_empty());
    }
    fs::remove_dir_all(folder).unwrap();
}

#[test]
fn a_schema_is_about_one_namespace() {
    let folder = folder("namespaces", &[("keep.txt", "")]);
    let several = trunnion(&["dialect", "export", "house", "--xsd"], &folder);
    assert_eq!(several.status.code(), Some(2));
    assert!(
        text(&several.stderr).contains("--document machine or --document mod"),
        "{}",
        text(&several.stderr)
    );
    let one = trunnion(
        &["dialect", "export", "house", "--rng", "--document", "mod"],
        &folder,
    );
    assert_eq!(one.status.code(), Some(0), "{}", text(&one.stderr));
    assert!(text(&one.stdout).contains("urn:trunnion:mod:1"));
    let all = trunnion(
        &["dialect", "export", "house", "--xsd", "-o", "all"],
        &folder,
    );
    assert_eq!(all.status.code(), Some(0), "{}", text(&all.stderr));
    assert!(
        text(&all.stderr).contains("roles, units"),
        "what is lost is told"
    );
    for name in ["machine.xsd", "mod.xsd"] {
        assert!(folder.join("all").join(name).is_file(), "{name}");
    }
    let yard = outside::project().join("corpus/dialects/yard/yard.dialect.toml");
    let out = folder.join("yard.xsd");
    let yard = [
        "dialect",
        "export",
        yard.to_str().unwrap(),
        "--xsd",
        "-o",
        out.to_str().unwrap(),
    ];
    // What is there already is written anew.
    for _ in 0..2 {
        let one = trunnion(&yard, &folder);
        assert_eq!(one.status.code(), Some(0), "{}", text(&one.stderr));
    }
    assert!(fs::read_to_string(&out).unwrap().contains("xs:schema"));
    fs::remove_dir_all(folder).unwrap();
}
