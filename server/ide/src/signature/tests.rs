use super::*;
use crate::fixture::Fixture;

/// The label with the active attribute between stars.
fn told(body: &str) -> Option<String> {
    let fixture = Fixture::rig(body);
    let at = fixture.offset();
    let found = signature(&fixture.view(), at)?;
    for attribute in &found.attributes {
        assert!(!attribute.doc.is_empty());
    }
    let Some(active) = found.active else {
        return Some(found.label);
    };
    let range = found.attributes[active].range.clone();
    let (before, after) = (&found.label[..range.start], &found.label[range.end..]);
    Some(format!("{before}*{}*{after}", &found.label[range]))
}

#[test]
fn the_attribute_at_hand_is_active() {
    let label = "<lever animation *input* [gain] [rate] [sense] [glyph] [text]>";
    for body in [
        r#"<controls><lever animation="a" input="$0"/></controls>"#,
        r#"<controls><lever animation="a" in$0put="pointer.x"/></controls>"#,
        r#"<controls><lever animation="a" inp$0/></controls>"#,
        r#"<controls><lever animation="a" input=$0</controls>"#,
    ] {
        assert_eq!(told(body).as_deref(), Some(label), "{body}");
    }
}

#[test]
fn between_attributes_it_is_the_next_to_write() {
    let next = |body: &str| told(body).unwrap();
    assert_eq!(
        next(r#"<aliases><alias $0/></aliases>"#),
        "<alias *name* path>"
    );
    assert_eq!(
        next(r#"<aliases><alias path="0" $0/></aliases>"#),
        "<alias *name* path>"
    );
    assert!(
        next(r#"<controls><lever input="pointer.x" $0 animation="a"/></controls>"#)
            .contains("*gain*")
    );
    assert_eq!(
        next(r#"<aliases><alias name="a" path="0" $0/></aliases>"#),
        "<alias name path>"
    );
    assert_eq!(
        next(r#"<aliases><alias colour$0="a"/></aliases>"#),
        "<alias name path>"
    );
}

#[test]
fn elsewhere_there_is_none() {
    for body in [
        "<ali$0ases/>",
        "$0<aliases/>",
        "<aliases $0/>",
        "<strange $0/>",
        "<n:strange xmlns:n=\"urn:n\" $0/>",
        "<!-- <alias $0 -->",
    ] {
        assert_eq!(told(body), None, "{body}");
    }
}
