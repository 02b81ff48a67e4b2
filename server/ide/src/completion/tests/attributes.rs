use super::*;
use expect_test::expect;

#[test]
fn required_ones_come_first_and_present_ones_not_again() {
    check(
        Fixture::rig("<wheels><wheel brake=\"1\" radius=\"0.5\" $0/></wheels>"),
        expect![[r#"
        id (required) id="·"|
        node (required) node="·"|
        width (required) width="·"|
        steer () steer="·"|
        drive () drive="·"|"#]],
    );
}

#[test]
fn a_name_in_the_making() {
    check(
        Fixture::rig("<aliases><alias na$0/></aliases>"),
        expect![[r#"
        name (required) name="·"|
        path (required) path="·"|"#]],
    );
}

#[test]
fn a_name_with_a_value_is_replaced_alone() {
    check(
        Fixture::rig("<aliases><alias na$0=\"mast\"/></aliases>"),
        expect![[r#"
        name (required) name
        path (required) path"#]],
    );
}

#[test]
fn neighbours_stay_apart() {
    let before = Fixture::rig("<aliases><alias $0path=\"0\"/></aliases>");
    assert!(taken(&before, "name").contains("<alias name=\"\" path=\"0\"/>"));
    let behind = Fixture::rig("<aliases><alias path=\"0\"$0/></aliases>");
    assert!(taken(&behind, "name").contains("<alias path=\"0\" name=\"\"/>"));
    let between = Fixture::rig("<aliases><alias path=\"0\"$0xml:id=\"a\"/></aliases>");
    assert!(taken(&between, "name").contains("<alias path=\"0\" name=\"\""));
}

#[test]
fn nothing_stands_behind_a_slash() {
    assert_eq!(
        labels(&Fixture::rig("<aliases><alias /$0></aliases>")),
        [""; 0]
    );
}

#[test]
fn the_namespace_is_proposed_where_it_lacks() {
    let fixture = Fixture::house("<machine $0></machine>");
    assert_eq!(
        labels(&fixture),
        ["id", "scene", "title", "category", "xmlns"]
    );
    assert_eq!(
        taken(&fixture, "xmlns"),
        "<machine xmlns=\"urn:trunnion:machine:1\"></machine>"
    );
    let fixture = Fixture::house("<machine xmlns=\"urn:trunnion:machine:1\" $0></machine>");
    assert!(!labels(&fixture).contains(&"xmlns".to_owned()));
}

#[test]
fn every_attribute_is_explained() {
    let fixture = Fixture::rig("<wheels><wheel $0/></wheels>");
    let view = fixture.view();
    let completion = complete(&view, fixture.offset()).unwrap();
    assert!(
        completion
            .items
            .iter()
            .all(|item| !about(&view, &item.about).is_empty())
    );
}
