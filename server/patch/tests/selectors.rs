//! Which node a path leads to, and which paths lead to none.

use patch::{Refusal, apply};

fn patched(document: &str, operation: &str) -> Result<String, String> {
    let patch = format!("<diff xmlns:p='urn:n'>{operation}</diff>");
    apply(document, &patch).map_err(|refusal| match refusal {
        Refusal::Patch(problem) => format!("{}: {}", problem.code.name(), problem.message),
        Refusal::Document { .. } => panic!("{refusal:?}"),
    })
}

/// Marks the node that a path leads to.
fn marked(document: &str, selector: &str) -> Result<String, String> {
    patched(
        document,
        &format!("<add sel=\"{selector}\" type='@x'>1</add>"),
    )
}

#[track_caller]
fn assert_refused(done: Result<String, String>, code: &str) {
    let told = done.expect_err("it must be refused");
    assert!(told.starts_with(&format!("{code}: ")), "{told}");
}

#[test]
fn a_node_to_which_several_ways_lead_is_one() {
    let marked = marked("<r><a><b><q/></b></a></r>", "//*//q");
    assert_eq!(marked.unwrap(), r#"<r><a><b><q x="1"/></b></a></r>"#);
}

#[test]
fn no_more_than_five_of_too_many_nodes_are_told() {
    let told = |count: usize| {
        let document = format!("<r>{}</r>", "<q/>\n".repeat(count));
        marked(&document, "r/q").unwrap_err()
    };
    assert!(told(5).contains("5 nodes (lines 1, 2, 3, 4, 5)"));
    assert!(told(6).contains("6 nodes (lines 1, 2, 3, 4, 5, …)"));
}

#[test]
fn an_id_is_that_of_xml_id_without_the_white_space_around_it() {
    let document = "<r><q xml:id=' a '/></r>";
    let marked = marked(document, "id('a')").unwrap();
    assert_eq!(marked, document.replace("' a '", "' a ' x='1'"));
}

#[test]
fn an_id_that_is_not_there_may_be_declared_in_a_doctype() {
    assert_refused(marked("<r/>", "id('a')"), "unlocated-node");
    let declared = marked("<!DOCTYPE r><r/>", "id('a')");
    assert_refused(declared, "unsupported-id-function");
}

#[test]
fn a_value_is_compared_as_a_reader_sees_its_white_space() {
    let marked = marked("<r><q i='a\nb'/><q i='ab'/></r>", "r/q[@i='a b']");
    assert_eq!(marked.unwrap(), "<r><q i='a\nb' x='1'/><q i='ab'/></r>");
}

#[test]
fn a_cdata_section_is_a_part_of_an_elements_text() {
    let marked = marked("<r><q>a<![CDATA[<]]>b</q><q>ab</q></r>", "r/q[.='a&lt;b']");
    let expected = r#"<r><q x="1">a<![CDATA[<]]>b</q><q>ab</q></r>"#;
    assert_eq!(marked.unwrap(), expected);
}

#[test]
fn texts_with_an_element_between_them_are_two() {
    let replaced = patched("<r>a<q/>b</r>", "<replace sel='r/text()[2]'>c</replace>");
    assert_eq!(replaced.unwrap(), "<r>a<q/>c</r>");
}

#[test]
fn white_space_beside_the_root_element_is_no_text() {
    let replaced = patched("<!-- a -->\n<r/>", "<replace sel='text()'>b</replace>");
    assert_refused(replaced, "unlocated-node");
}

#[test]
fn an_instruction_is_told_by_its_target() {
    let removed = patched(
        "<r><?a 1?><?b 2?></r>",
        "<remove sel=\"r/processing-instruction('b')\"/>",
    );
    assert_eq!(removed.unwrap(), "<r><?a 1?></r>");
}

#[test]
fn an_attribute_without_prefix_is_in_no_namespace() {
    let patch = "<diff xmlns='urn:n'><replace sel='r/@i'>2</replace></diff>";
    let replaced = apply("<r xmlns='urn:n' i='1'/>", patch);
    assert_eq!(replaced.unwrap(), "<r xmlns='urn:n' i='2'/>");
}

#[test]
fn a_declaration_is_no_attribute() {
    let replaced = patched("<r xmlns=''/>", "<replace sel='*/@xmlns'>u</replace>");
    assert_refused(replaced, "unlocated-node");
}

#[test]
fn paths_that_a_patch_may_not_use_are_refused() {
    let document = "<r i='1'><q xml:id='a'/></r>";
    for selector in ["r/q[0]", "r/id('a')", "r/@i[1]", "r/@i/q", "r/q[", "r/"] {
        assert_refused(marked(document, selector), "invalid-attribute-value");
    }
}
