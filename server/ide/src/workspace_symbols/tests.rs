use super::*;
use crate::fixture::Fixture;

fn found(query: &str) -> Vec<String> {
    let view = Fixture::rig(
        r#"<aliases><alias name="mast" path="0/2"/><alias name="Main arm" path="0/0"/></aliases>
        <animations><animation id="raise"><channel target="mast"/></animation></animations>"#,
    )
    .view();
    let places = workspace_symbols(&view, query).into_iter();
    places
        .map(|place| format!("{:?} {} in {}", place.kind, place.name, place.container))
        .collect()
}

#[test]
fn letters_in_order_are_enough() {
    assert_eq!(found("mst"), ["Alias mast in aliases"]);
    assert_eq!(
        found("MA"),
        [
            "Document machine in ",
            "Alias mast in aliases",
            "Alias Main arm in aliases"
        ]
    );
    assert_eq!(found("main a"), ["Alias Main arm in aliases"]);
    assert_eq!(found("tsam"), [""; 0]);
}

#[test]
fn an_empty_query_finds_all_that_has_a_name() {
    assert_eq!(
        found(""),
        [
            "Document machine in ",
            "Alias mast in aliases",
            "Alias Main arm in aliases",
            "Animation raise in animations"
        ]
    );
}
