use super::*;
use crate::fixture::Fixture;

fn linked(text: &str) -> Option<Vec<String>> {
    let fixture = Fixture::house(text).at("a.xml");
    let view = fixture.view();
    let names = linked_editing(&view, fixture.offset())?;
    Some(
        names
            .iter()
            .map(|range| format!("{range:?} {}", &view.text()[*range]))
            .collect(),
    )
}

#[test]
fn both_names_of_an_element() {
    let names = Some(vec!["1..3 ab".to_owned(), "10..12 ab".to_owned()]);
    assert_eq!(linked("<ab$0>text</ab>"), names);
    assert_eq!(linked("<$0ab>text</ab>"), names);
    assert_eq!(linked("<ab>text</a$0b>"), names);
}

#[test]
fn not_without_two_equal_names() {
    assert_eq!(linked("<ab$0/>"), None);
    assert_eq!(linked("<ab$0>text"), None);
    assert_eq!(linked("<ab$0>text</ac>"), None);
    assert_eq!(linked("<ab></ab></a$0b>"), None);
}

#[test]
fn not_outside_names() {
    assert_eq!(linked("<ab c$0=\"\">text</ab>"), None);
    assert_eq!(linked("<ab>te$0xt</ab>"), None);
    assert_eq!(linked("<!-- <ab$0></ab> --><x/>"), None);
}
