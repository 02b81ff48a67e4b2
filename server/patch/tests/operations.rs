//! What an operation may do to the node that it is about.

use patch::{Refusal, apply};

fn refused(document: &str, operation: &str) -> &'static str {
    let patch = format!("<diff xmlns:p='urn:n'>{operation}</diff>");
    match apply(document, &patch) {
        Err(Refusal::Patch(problem)) => problem.code.name(),
        other => panic!("{operation} must be refused: {other:?}"),
    }
}

#[test]
fn a_root_element_is_not_removed() {
    let code = refused("<r/>", "<remove sel='r'/>");
    assert_eq!(code, "invalid-root-element-operation");
}

#[test]
fn white_space_goes_with_elements_comments_and_instructions_only() {
    for side in ["before", "after", "both"] {
        for node in ["r/text()", "r/@i"] {
            let remove = format!("<remove sel='{node}' ws='{side}'/>");
            let code = refused("<r i='1'> a </r>", &remove);
            assert_eq!(code, "invalid-patch-directive", "{remove}");
        }
    }
}

#[test]
fn white_space_that_is_to_go_must_be_there_and_be_all_there_is() {
    for document in ["<r><q/></r>", "<r> a <q/> a </r>"] {
        for side in ["before", "after", "both"] {
            let code = refused(document, &format!("<remove sel='r/q' ws='{side}'/>"));
            assert_eq!(code, "invalid-whitespace-directive", "{document} {side}");
        }
    }
}

#[test]
fn what_is_added_beside_the_content_is_an_attribute_or_a_prefix() {
    for kind in [
        "@a:b:c",
        "@xmlns",
        "@xmlns:q",
        "@",
        "@a b",
        "namespace::",
        "q",
    ] {
        let code = refused("<r/>", &format!("<add sel='r' type='{kind}'>1</add>"));
        assert_eq!(code, "invalid-attribute-value", "{kind}");
    }
}

#[test]
fn a_prefix_that_stands_for_something_else_in_the_document_is_not_used() {
    let code = refused(
        "<r xmlns:p='urn:other'/>",
        "<add sel='r' type='@p:x'>1</add>",
    );
    assert_eq!(code, "invalid-namespace-prefix");
}

#[test]
fn the_habits_are_those_of_the_document_as_it_came() {
    let patch = "<diff><add sel='r'><s a=\"1\" b=\"2\" c=\"3\"/></add><add sel='r/q' type='@x'>1</add></diff>";
    let after = patch::apply("<r><q i='1'/></r>", patch).unwrap();
    assert_eq!(after, "<r><q i='1' x='1'/><s a=\"1\" b=\"2\" c=\"3\"/></r>");
}
