//! What an operation brings along bears the document's prefixes.

use patch::apply;

fn patched(document: &str, operation: &str) -> String {
    let patch = format!("<diff xmlns:p='urn:n'>{operation}</diff>");
    apply(document, &patch).unwrap_or_else(|refusal| panic!("{refusal:?}"))
}

#[test]
fn an_attribute_takes_the_documents_prefix_unless_its_own_means_the_same() {
    let add = "<add sel='*' type='@p:x'>1</add>";
    let other = patched("<a xmlns:b='urn:n'/>", add);
    assert_eq!(other, "<a xmlns:b='urn:n' b:x='1'/>");
    let both = patched("<a xmlns:b='urn:n' xmlns:p='urn:n'/>", add);
    assert_eq!(both, "<a xmlns:b='urn:n' xmlns:p='urn:n' p:x='1'/>");
}

#[test]
fn an_element_may_go_without_prefix_and_its_attributes_may_not() {
    let document = "<a xmlns='urn:n'>-</a>";
    let plain = patched(document, "<add sel='*'><p:b/></add>");
    assert_eq!(plain, "<a xmlns='urn:n'>-<b/></a>");
    let with_attribute = patched(document, "<add sel='*'><p:b p:x='1'/></add>");
    let expected = r#"<a xmlns='urn:n'>-<p:b xmlns:p="urn:n" p:x='1'/></a>"#;
    assert_eq!(with_attribute, expected);
}

#[test]
fn a_prefix_that_the_content_declares_itself_is_not_the_documents() {
    let patched = patched(
        "<a xmlns:b='urn:n'>-</a>",
        "<add sel='a'><p:c xmlns:b='urn:z'/></add>",
    );
    let expected = r#"<a xmlns:b='urn:n'>-<p:c xmlns:p="urn:n" xmlns:b='urn:z'/></a>"#;
    assert_eq!(patched, expected);
}
