//! `trunnion patch` as a person or a script runs it.

use std::process::Output;

use acceptance::yard::Yard;

fn patched(yard: &Yard, more: &[&str]) -> Output {
    yard.run(&[&["patch", "a.xml", "p.xml"], more].concat())
}

const DOCUMENT: &[u8] = b"<a>\r\n\t<b id='x'  n='1' />\r\n</a>";

#[test]
fn only_what_is_touched_changes_and_only_if_it_is_asked_for() {
    let yard = Yard::empty();
    yard.write("a.xml", DOCUMENT);
    let patch = "<d><replace sel=\"a/b[@id='x']/@n\">2</replace></d>";
    yard.write("p.xml", patch);
    let after = b"<a>\r\n\t<b id='x'  n='2' />\r\n</a>";

    assert_eq!(patched(&yard, &[]).status.code(), Some(0));
    assert_eq!(yard.read("a.xml"), DOCUMENT);
    assert_eq!(patched(&yard, &["-o", "new.xml"]).status.code(), Some(0));
    assert_eq!(yard.read("new.xml"), after);
    // What is there already is not overwritten.
    assert_eq!(patched(&yard, &["-o", "new.xml"]).status.code(), Some(2));
    assert_eq!(patched(&yard, &["--write"]).status.code(), Some(0));
    assert_eq!(yard.read("a.xml"), after);
    assert_eq!(yard.names("").len(), 3);
}

#[test]
fn a_patch_whose_last_operation_does_not_fit_changes_nothing() {
    let yard = Yard::empty();
    yard.write("a.xml", DOCUMENT);
    let patch = "<d><replace sel=\"a/b/@n\">2</replace>\n <remove sel=\"a/c\"/></d>";
    yard.write("p.xml", patch);
    let output = patched(&yard, &["--write"]);
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(1), "{said}");
    assert!(said.contains("p.xml:2:15: unlocated-node: "), "{said}");
    assert_eq!(yard.read("a.xml"), DOCUMENT);
}
