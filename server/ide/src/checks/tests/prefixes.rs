//! What is said of elements with a prefix, and of those that have lost it.

use expect_test::expect;

use super::*;

#[test]
fn both_tags_of_a_misspelled_element_are_renamed_and_keep_their_prefix() {
    let text = r#"<m:machine xmlns:m="urn:trunnion:machine:1" id="rig" scene="rig.gltf"><m:wheles></m:wheles></m:machine>"#;
    expect![[r#"
        error unknown-element at `m:wheles`: `<m:wheles>` may not stand in `<m:machine>`. Did you mean `<m:wheels>`?
          safe fix "Rename to `<m:wheels>`": <m:machine xmlns:m="urn:trunnion:machine:1" id="rig" scene="rig.gltf"><m:wheels></m:wheels></m:machine>
    "#]].assert_eq(&said(&Fixture::house(text).scene(crate::fixture::RIG).file("rig.gltf")));
}

/// A machine whose elements have a prefix, with more in its tag.
fn prefixed(more: &str, body: &str) -> Fixture {
    let text = format!(
        r#"<m:machine xmlns:m="urn:trunnion:machine:1" id="rig" scene="rig.gltf"{more}>{body}</m:machine>"#
    );
    Fixture::house(&text)
        .scene(crate::fixture::RIG)
        .file("rig.gltf")
        .file("pump.ogg")
}

#[test]
fn an_element_that_has_lost_its_prefix_is_one_mistake_whatever_it_holds() {
    let sounds = r#"<sounds><sound id="pump" file="pump.ogg"/></sounds>"#;
    let use_of_it = r#"<m:animations><m:animation id="a"><m:channel target="0/2" property="translation" begin="0" end="1" from="0 1 0" to="0 2 0"/></m:animation></m:animations>
<m:controls><m:switch animation="a" input="button.raise"><m:cue sound="pump"/></m:switch></m:controls>"#;
    expect![[r#"
        error unknown-element at `sounds`: `<sounds>` is in no namespace, so it means nothing here. Did you mean `<m:sounds>`?
          safe fix "Rename to `<m:sounds>`": <m:sounds><sound id="pump" file="pump.ogg"/></m:sounds>
    "#]]
    .assert_eq(&said(&prefixed("", &format!("\n{sounds}\n{use_of_it}"))));
    let below = "<m:aliases>\n<alias name=\"a\" path=\"0/2\"/>\n</m:aliases><m:bodies><m:body node=\"a\" mass=\"1\"/></m:bodies>";
    expect![[r#"
        error unknown-element at `alias`: `<alias>` is in no namespace, so it means nothing here. Did you mean `<m:alias>`?
          safe fix "Rename to `<m:alias>`": <m:alias name="a" path="0/2"/>
    "#]]
    .assert_eq(&said(&prefixed("", below)));
}

/// What may be written beside a prefix is called with it.
#[test]
fn elements_that_are_missing_or_too_many_are_called_with_the_prefix_of_what_holds_them() {
    let body = "<m:sounds/><m:sounds><m:pump/><m:wheel/></m:sounds>";
    expect![[r#"
        error too-many at `m:sounds`: There is a `<m:sounds>` already: `<m:machine>` holds only one.
          see `m:sounds`: the first one
        error unknown-element at `m:pump`: `<m:pump>` may not stand in `<m:sounds>`. It can hold `<m:sound>`.
        error unknown-element at `m:wheel`: `<m:wheel>` may not stand in `<m:sounds>`. It belongs in `<m:wheels>`.
    "#]].assert_eq(&said(&prefixed("", body)));
    let manifest = "<n:mod xmlns:n=\"urn:trunnion:mod:1\" title=\"t\" version=\"1\" author=\"a\"/>";
    expect![[r#"
        error missing-child at `n:mod`: `<n:mod>` needs a `<n:machine>` inside.
    "#]]
    .assert_eq(&said(&Fixture::house(manifest).at("mod.xml")));
    let plain = "<mod xmlns=\"urn:trunnion:mod:1\" title=\"t\" version=\"1\" author=\"a\"/>";
    expect![[r#"
        error missing-child at `mod`: `<mod>` needs a `<machine>` inside.
    "#]]
    .assert_eq(&said(&Fixture::house(plain).at("mod.xml")));
}

#[test]
fn a_prefix_without_end_is_cut_short_wherever_a_message_has_it() {
    let prefix = "p".repeat(1000);
    let text = format!(
        r#"<{prefix}:machine xmlns:{prefix}="urn:trunnion:machine:1" id="rig" scene="rig.gltf"><{prefix}:sounds><{prefix}:pump/></{prefix}:sounds></{prefix}:machine>"#
    );
    let said = said(
        &Fixture::house(&text)
            .scene(crate::fixture::RIG)
            .file("rig.gltf"),
    );
    assert!(said.contains("ppp…>`. It can hold `<ppp"), "{said}");
    assert!(said.contains("ppp…:sound>`."), "{said}");
}

#[test]
fn an_element_of_others_is_no_element_that_has_lost_its_prefix() {
    for (more, body) in [
        // Not known here, or not at all.
        (
            "",
            "<alias name=\"a\" path=\"0/2\"/><notes/><m:aliases><sounds/></m:aliases>",
        ),
        // In a namespace.
        (" xmlns=\"urn:notes\"", "<sounds/>"),
        ("", "<sounds xmlns=\"urn:notes\"/>"),
        ("", "<n:sounds xmlns:n=\"urn:notes\"/>"),
        ("", "<n:x xmlns:n=\"urn:notes\"><sounds/></n:x>"),
        // The document's own.
        (" xmlns=\"urn:trunnion:machine:1\"", "<sounds/>"),
    ] {
        assert_eq!(said(&prefixed(more, body)), "", "{more} {body}");
    }
    let outer = r#"<m:sounds xmlns=""><sound id="pump" file="pump.ogg"/></m:sounds>"#;
    let said = said(&prefixed(" xmlns=\"urn:notes\"", outer));
    assert_eq!(
        said.matches("Did you mean `<m:sound>`?").count(),
        1,
        "{said}"
    );
}
