//! Elements that must stand inside another one.

use super::{difference, offered, titles};
use crate::{Trust, assists::safe_repairs, checks, fixture::Fixture};
use dialect::Dialect;
use expect_test::expect;
use std::sync::Arc;

const HOIST: &str = r#"
[dialect]
name = "hoist"
format = 1

[[document]]
name = "hoist"
root = "hoist"

[element."/hoist"]
order = "listed"
children = ["called", "drum*", "brake | clutch | pawl", "plate?"]

[element.called]
text = { type = "text", required = true }

[element.drum]
order = "listed"
children = ["size", "rope", "hook+"]

[element.size]
text = { type = "number", required = true, usual = "0.4" }

[element.rope]
attributes.strands = { type = "integer", required = true }
children = ["end"]

[element.end]

[element.hook]
text = { type = "number", required = true }

[element.brake]
attributes.kind = { type = "word", words = ["shoe"], required = true }

[element.clutch]

[element.pawl]

[element.plate]
children = ["nail"]

[element.nail]
"#;

fn hoist(text: &str) -> Fixture {
    let hoist = Dialect::read(HOIST, None).expect("the dialect is sound");
    Fixture::of(text, vec![Arc::new(hoist)]).at("a.xml")
}

fn additions(fixture: &Fixture) -> Vec<String> {
    let mut titles = titles(fixture);
    titles.retain(|title| title.starts_with("Add"));
    titles
}

#[test]
fn what_must_be_there_is_added_in_its_order_and_filled_up() {
    let fixture = hoist(
        "<hoist>\n  <called>a</called>\n  <dr$0um>\n    <!-- worn -->\n    <rope strands=\"3\"><end/></rope>\n  </drum>\n  <clutch/>\n</hoist>\n",
    );
    let offers = offered(&fixture);
    let offer = offers.iter().find(|offer| offer.title.starts_with("Add"));
    let offer = offer.expect("it is offered");
    assert_eq!(
        (offer.trust, offer.code, offer.is_preferred),
        (Trust::Draft, Some("missing-child"), true)
    );
    expect!["Add `<size>` and `<hook>`"].assert_eq(&offer.title);
    let change = offer.ready.as_ref().expect("it is worked out");
    let text = syntax::apply(fixture.text(), &change.edits).expect("the edits fit");
    // The hook's number is to be filled in; the size is what most write.
    let [place] = change.places[..] else {
        panic!("one place: {:?}", change.places)
    };
    assert!(text[usize::from(place.start())..].starts_with("</hook>"));
    expect![[r#"
        +    <size>0.4</size>
        ...
        +    <hook></hook>
    "#]]
    .assert_eq(&difference(&fixture, "Add"));
}

#[test]
fn an_empty_element_is_opened_for_all_at_once() {
    let fixture = hoist("<hoist>\n  <called>a</called>\n  <dr$0um/>\n  <clutch/>\n</hoist>\n");
    expect![[r#"
        -  <drum/>
        +  <drum>
        +    <size>0.4</size>
        +    <rope strands="">
        +      <end/>
        +    </rope>
        +    <hook></hook>
        +  </drum>
    "#]]
    .assert_eq(&difference(&fixture, "Add"));
}

#[test]
fn each_of_those_that_stand_for_each_other_is_offered() {
    let fixture = hoist("<ho$0ist>\n  <called>a</called>\n  <plate><nail/></plate>\n</hoist>\n");
    assert_eq!(
        additions(&fixture),
        ["Add `<brake>`", "Add `<clutch>`", "Add `<pawl>`"]
    );
    let offers = offered(&fixture);
    assert!(offers.iter().all(|offer| !offer.is_preferred));
    let brake = offers.iter().find(|offer| offer.title == "Add `<brake>`");
    // One word is possible only, so that nothing is left to fill in.
    assert_eq!(brake.map(|offer| offer.trust), Some(Trust::Review));
    expect![[r#"
        +  <brake kind="shoe"/>
    "#]]
    .assert_eq(&difference(&fixture, "Add `<brake>`"));
}

#[test]
fn what_is_missing_and_what_is_to_be_chosen_are_two_things() {
    let fixture = hoist(
        "<ho$0ist>\n  <drum><size>1</size><rope strands='1'><end/></rope><hook>1</hook></drum>\n</hoist>\n",
    );
    assert_eq!(
        additions(&fixture),
        [
            "Add `<called>`",
            "Add `<brake>`",
            "Add `<clutch>`",
            "Add `<pawl>`"
        ]
    );
    expect![[r#"
        +  <called></called>
    "#]]
    .assert_eq(&difference(&fixture, "Add `<called>`"));
}

#[test]
fn an_element_on_one_line_stays_there() {
    let fixture = hoist("<hoist><called>a</called><clutch/><pla$0te></plate></hoist>");
    expect![[r#"
        -<hoist><called>a</called><clutch/><plate></plate></hoist>
        +<hoist><called>a</called><clutch/><plate><nail/></plate></hoist>
    "#]]
    .assert_eq(&difference(&fixture, "Add"));
}

#[test]
fn nothing_is_added_where_the_child_may_be_there() {
    for text in [
        // Not closed yet.
        "<hoist>\n  <called>a</called>\n  <clutch/>\n  <pla$0te>\n</hoist>\n",
        // Perhaps the nail, misspelled.
        "<hoist>\n  <called>a</called>\n  <clutch/>\n  <pla$0te><nial/></plate>\n</hoist>\n",
        // It is there.
        "<hoist>\n  <called>a</called>\n  <clutch/>\n  <pla$0te><nail/></plate>\n</hoist>\n",
        // In another namespace, where nothing is declared.
        "<hoist>\n  <called>a</called>\n  <clutch/>\n  <x:pla$0te xmlns:x='urn:x'/>\n</hoist>\n",
    ] {
        assert_eq!(additions(&hoist(text)), [""; 0], "{text}");
    }
}

#[test]
fn nobody_adds_elements_without_being_asked() {
    let view = hoist("<hoist><called>a</called><clutch/><plate/></hoist>").view();
    let findings = checks::run(&view);
    assert!(
        findings
            .iter()
            .any(|finding| finding.code == "missing-child")
    );
    assert_eq!(safe_repairs(&view, &findings), []);
}
