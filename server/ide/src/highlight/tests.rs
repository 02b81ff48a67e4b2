use super::*;
use crate::fixture::Fixture;

fn shown(fixture: &Fixture) -> Vec<String> {
    let view = fixture.view();
    highlight(&view, fixture.offset())
        .into_iter()
        .map(|light| format!("{:?} {}", light.kind, &view.text()[light.range]))
        .collect()
}

#[test]
fn giving_a_name_writes_and_using_it_reads() {
    let fixture = Fixture::rig(
        r#"<aliases><alias name="mast" path="0/2"/></aliases><lamps><lamp id="l" node="mast$0" kind="work"/></lamps>"#,
    );
    assert_eq!(shown(&fixture), ["Write mast", "Read mast"]);
}

#[test]
fn both_tags_of_an_element_light_up() {
    assert_eq!(
        shown(&Fixture::rig("<la$0mps></lamps>")),
        ["Text lamps", "Text lamps"]
    );
    assert_eq!(shown(&Fixture::rig("<lam$0ps/>")), ["Text lamps"]);
}

#[test]
fn a_stray_end_tag_lights_up_alone() {
    assert_eq!(
        shown(&Fixture::rig("<lamps></lamps></couplin$0gs>")),
        ["Text couplings"]
    );
}

#[test]
fn free_text_does_not_light_up() {
    let text = r#"<controls><switch animation="a" input="b" text="Go$0"/></controls>"#;
    assert_eq!(shown(&Fixture::rig(text)), [""; 0]);
}
